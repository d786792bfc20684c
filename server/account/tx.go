package account

import (
	"crypto/rand"
	"time"

	"evenpull/server/fault"
	"evenpull/sync/ops"
)

// A Studio that this server holds.
type Studio struct {
	ID   ops.ID
	Name string // as it was brought; its record may say otherwise since
}

// A Tx is one transaction over the tables of accounts: all of it or nothing.
type Tx interface {
	Studios() []Studio // the first brought first
	Studio(id ops.ID) (Studio, bool)
	AddStudio(Studio)
	Phone(id ops.ID) (Phone, bool)
	PutPhone(Phone)
	Seat(studio, phone ops.ID) (Seat, bool)
	Seats(studio ops.ID) []Seat
	PutSeat(studio ops.ID, s Seat)
	Member(studio, person ops.ID) (Member, bool)
	Members(studio ops.ID) []Member
	PutMember(studio ops.ID, m Member)
	Invite(h Hash) (Invite, bool)
	Invites() []Invite
	PutInvite(Invite)
	DropInvite(Hash)
	Note(studio ops.ID, d Deed)
	Deeds(studio ops.ID, most int) []Deed // the newest first
	Rolled(studio ops.ID) bool            // whether the studio's roll was begun
	Roll(studio ops.ID) Roll
	// Write makes an op of the server's own replica that replaces what is in
	// those fields; Remove hides the record as it is now.
	Write(studio, by ops.ID, kind string, id ops.ID, set map[string]any) error
	Remove(studio, by ops.ID, kind string, id ops.ID) error
}

// Kinds of record that only a server writes.
const (
	kindPerson = "person"
	kindPhone  = "phone"
	kindRole   = "role"
	kindEnding = "ending"
)

// Access returns who holds a phone and what they may do in a studio now. The
// fault is Denied where the phone was never let in or was ended.
func Access(tx Tx, studio, phone ops.ID) (Member, error) {
	seat, ok := tx.Seat(studio, phone)
	if !ok {
		return Member{}, fault.New(fault.Denied, "studio", "This phone is not in that studio.")
	}
	if seat.Hub && seat.EndedMS == 0 {
		return Member{Person: seat.Person, Role: Hub}, nil
	}
	m, ok := tx.Member(studio, seat.Person)
	if !ok || seat.EndedMS != 0 || m.EndedMS != 0 || !m.Role.Known() {
		return Member{}, fault.New(fault.Denied, "studio", "This phone's access to the studio has ended.")
	}
	return m, nil
}

func keeper(tx Tx, studio, phone ops.ID) (Member, error) {
	m, err := Access(tx, studio, phone)
	if err == nil && m.Role != Keeper {
		err = fault.New(fault.Denied, "role", "Only a keeper of the studio can do this.")
	}
	return m, err
}

// MakeInvite stores an invite and returns its code. The caller says kind, role
// and end; what a kind fixes is fixed here.
func MakeInvite(tx Tx, studio, phone ops.ID, kind string, role Role, ends, now time.Time) (string, Invite, error) {
	m, err := Access(tx, studio, phone)
	if err != nil {
		return "", Invite{}, err
	}
	if m.Role == Hub {
		return "", Invite{}, fault.New(fault.Denied, "role", "A hub invites nobody.")
	}
	i := Invite{Kind: kind, Studio: studio, Role: role, By: m.Person, Most: 1, EndsMS: now.Add(shortLife).UnixMilli()}
	switch kind {
	case ForMyPhone:
		i.Person, i.Role = m.Person, m.Role
	case ForHub:
		i.Role = Hub
		if _, err = keeper(tx, studio, phone); err != nil {
			return "", Invite{}, err
		}
	case ForPerson, ForClass:
		if _, err = keeper(tx, studio, phone); err != nil {
			return "", Invite{}, err
		}
		if !role.Known() || kind == ForClass && role == Keeper {
			return "", Invite{}, fault.New(fault.Invalid, "role", "Say what they may do: operator or guest, or keeper for one person.")
		}
	default:
		return "", Invite{}, fault.New(fault.Invalid, "kind", "An invite is for a person, for my phone, for a class or for a hub.")
	}
	if kind == ForClass {
		if !ends.After(now) || ends.After(now.Add(classLife)) {
			return "", Invite{}, fault.New(fault.Invalid, "ends", "A class ends within the next 31 days.")
		}
		i.Most, i.EndsMS = ClassMost, ends.UnixMilli()
	}
	tx.Note(studio, Deed{AtMS: now.UnixMilli(), By: m.Person, What: Invited, Role: i.Role, Kind: kind})
	return Issue(tx, i, now)
}

// Issue stores an invite that the server's own shell or start made, and returns its code.
func Issue(tx Tx, i Invite, now time.Time) (string, Invite, error) {
	for _, old := range tx.Invites() {
		if now.UnixMilli() > old.EndsMS+keptAfter.Milliseconds() || i.Kind == ForClaim && old.Kind == ForClaim {
			tx.DropInvite(old.Hash)
		}
	}
	code := NewCode()
	h, err := HashCode(code)
	if err != nil {
		return "", Invite{}, err
	}
	i.Hash, i.MadeMS = h, now.UnixMilli()
	rand.Read(i.ID[:])
	if i.Kind == ForClaim {
		i.EndsMS = now.Add(claimLife).UnixMilli()
	}
	tx.PutInvite(i)
	return code, i, nil
}
