package account

import (
	"cmp"
	"slices"
	"time"

	"evenpull/server/fault"
	"evenpull/sync/ops"
)

// EndPhone ends a phone's access to a studio. Keepers may, and anyone for a
// phone of their own. Ending twice is the same as once.
func EndPhone(tx Tx, studio, asks, phone ops.ID, now time.Time) error {
	m, err := Access(tx, studio, asks)
	if err != nil {
		return err
	}
	s, ok := tx.Seat(studio, phone)
	if m.Role != Keeper && (!ok || s.Person != m.Person) {
		return fault.New(fault.Denied, "role", "Only a keeper of the studio can do this.")
	}
	if !ok {
		return fault.New(fault.NotFound, "phone", "No such phone in this studio.")
	}
	if s.EndedMS != 0 {
		return nil
	}
	if err := anotherWayIn(tx, studio, s); err != nil {
		return err
	}
	s.EndedMS = now.UnixMilli()
	tx.PutSeat(studio, s)
	tx.Note(studio, Deed{AtMS: s.EndedMS, By: m.Person, What: EndedPhone, Person: s.Person, Phone: phone})
	return writeEnding(tx, studio, m.Person, kindPhone, phone)
}

// EndPerson ends a person's access to a studio on all their phones.
func EndPerson(tx Tx, studio, asks, person ops.ID, now time.Time) error {
	k, err := keeper(tx, studio, asks)
	if err != nil {
		return err
	}
	m, ok := tx.Member(studio, person)
	if !ok {
		return fault.New(fault.NotFound, "person", "No such person in this studio.")
	}
	if m.EndedMS != 0 {
		return nil
	}
	if err := anotherKeeper(tx, studio, m); err != nil {
		return err
	}
	m.EndedMS = now.UnixMilli()
	tx.PutMember(studio, m)
	tx.Note(studio, Deed{AtMS: m.EndedMS, By: k.Person, What: EndedPerson, Person: person})
	return writeEnding(tx, studio, k.Person, kindPerson, person)
}

// OpenInvites lists the codes of a studio that still let somebody in.
func OpenInvites(tx Tx, studio, asks ops.ID, now time.Time) (open []Invite, err error) {
	if _, err := keeper(tx, studio, asks); err != nil {
		return nil, err
	}
	for _, i := range tx.Invites() {
		if i.Studio == studio && i.ID != (ops.ID{}) && i.Kind != ForClaim && now.UnixMilli() < i.EndsMS && len(i.Used) < i.Most {
			open = append(open, i)
		}
	}
	slices.SortFunc(open, func(a, b Invite) int { return cmp.Compare(a.MadeMS, b.MadeMS) })
	return open, nil
}

// EndInvite ends a code early: it lets nobody in from now on. Whom it let in stays.
func EndInvite(tx Tx, studio, asks, id ops.ID, now time.Time) error {
	k, err := keeper(tx, studio, asks)
	if err != nil {
		return err
	}
	for _, i := range tx.Invites() {
		if i.Studio != studio || i.ID != id || i.Kind == ForClaim {
			continue
		}
		if i.EndsMS > now.UnixMilli() {
			i.EndsMS = now.UnixMilli()
			tx.PutInvite(i)
			tx.Note(studio, Deed{AtMS: i.EndsMS, By: k.Person, What: EndedCode, Role: i.Role, Kind: i.Kind})
		}
		return nil
	}
	return fault.New(fault.NotFound, "invite", "No such code in this studio.")
}

// SetRole gives a person another role.
func SetRole(tx Tx, studio, asks, person ops.ID, role Role, now time.Time) error {
	k, err := keeper(tx, studio, asks)
	if err != nil {
		return err
	}
	if !role.Known() {
		return fault.New(fault.Invalid, "role", "A role is keeper, operator or guest.")
	}
	m, ok := tx.Member(studio, person)
	if !ok {
		return fault.New(fault.NotFound, "person", "No such person in this studio.")
	}
	if m.EndedMS != 0 {
		return fault.New(fault.Conflict, "person", "That person's access has ended. Let them in again with a new code.")
	}
	if m.Role == role {
		return nil
	}
	if err := anotherKeeper(tx, studio, m); err != nil && role != Keeper {
		return err
	}
	m.Role = role
	tx.PutMember(studio, m)
	tx.Note(studio, Deed{AtMS: now.UnixMilli(), By: k.Person, What: GaveRole, Person: person, Role: role})
	return writeRole(tx, studio, k.Person, m)
}

// anotherWayIn refuses to end the last phone of the last keeper: nobody could let anybody in any more.
func anotherWayIn(tx Tx, studio ops.ID, but Seat) error {
	m, ok := tx.Member(studio, but.Person)
	if !ok || m.EndedMS != 0 || anotherKeeper(tx, studio, m) == nil {
		return nil
	}
	for _, s := range tx.Seats(studio) {
		if s.Person == but.Person && s.Phone != but.Phone && s.EndedMS == 0 {
			return nil
		}
	}
	return fault.New(fault.Conflict, "phone", "This is the last phone of the last keeper. Let another phone in, or make somebody else keeper, first.")
}

func anotherKeeper(tx Tx, studio ops.ID, but Member) error {
	if but.Role != Keeper {
		return nil
	}
	for _, m := range tx.Members(studio) {
		if m.Role == Keeper && m.EndedMS == 0 && m.Person != but.Person {
			return nil
		}
	}
	return fault.New(fault.Conflict, "person", "A studio needs a keeper. Make somebody else keeper first.")
}
