package account

import (
	"slices"
	"time"

	"evenpull/server/fault"
	"evenpull/sync/ops"
)

// A Joiner is who comes with a code.
type Joiner struct {
	Hash     Hash
	Person   ops.ID
	Name     string // of the person; not looked at with a code of kind my-phone
	Phone    Phone
	Label    string // of the phone
	Loopback bool   // comes from the server's own machine
	Hub      bool   // is another server
}

// Joined is where a phone now has its place.
type Joined struct {
	Studio Studio
	Person ops.ID
	Phone  ops.ID
	Role   Role
}

// Claim makes an unclaimed server the joiner's and brings the first studio.
func Claim(tx Tx, j Joiner, studio Studio, now time.Time) (Joined, error) {
	i, ok := tx.Invite(j.Hash)
	if !ok || i.Kind != ForClaim {
		return Joined{}, errCode()
	}
	if err := i.Check(j.Phone.ID, now); err != nil {
		return Joined{}, err
	}
	if slices.Contains(i.Used, j.Phone.ID) {
		return Join(tx, j, now)
	}
	if len(tx.Studios()) > 0 {
		return Joined{}, fault.New(fault.Conflict, "", "This server was claimed already. Ask its keeper for a code.")
	}
	joined, err := found(tx, j, studio, Keeper, now)
	if err != nil {
		return Joined{}, err
	}
	i.Studio, i.Person, i.Used = joined.Studio.ID, j.Person, []ops.ID{j.Phone.ID}
	tx.PutInvite(i)
	return joined, nil
}

// AddStudio brings another studio. Any keeper of any studio here may.
func AddStudio(tx Tx, phone ops.ID, studio Studio, name, label string, now time.Time) (Joined, error) {
	if m, err := Access(tx, studio.ID, phone); err == nil {
		return Joined{studio, m.Person, phone, m.Role}, nil // the same again
	}
	if _, taken := tx.Studio(studio.ID); taken {
		return Joined{}, fault.New(fault.Conflict, "studio.id", "That studio is here already. Ask its keeper for a code.")
	}
	p, _ := tx.Phone(phone)
	for _, s := range tx.Studios() {
		if m, err := keeper(tx, s.ID, phone); err == nil {
			return found(tx, Joiner{Person: m.Person, Name: name, Phone: p, Label: label}, studio, Keeper, now)
		}
	}
	return Joined{}, fault.New(fault.Denied, "role", "Only a keeper of a studio on this server can bring another.")
}

func found(tx Tx, j Joiner, studio Studio, role Role, now time.Time) (Joined, error) {
	if err := bring(tx, studio); err != nil {
		return Joined{}, err
	}
	tx.Note(studio.ID, Deed{AtMS: now.UnixMilli(), By: j.Person, What: Brought, Person: j.Person, Phone: j.Phone.ID, Role: role})
	return seat(tx, j, studio, Member{Person: j.Person, Role: role}, true)
}

// Join lets a phone in by a code. A phone that the code let in before gets the
// same answer again. It never takes a right away from anyone: who may already
// do more keeps it.
func Join(tx Tx, j Joiner, now time.Time) (Joined, error) {
	i, ok := tx.Invite(j.Hash)
	if !ok || i.Loopback && !j.Loopback {
		return Joined{}, errCode()
	}
	if err := i.Check(j.Phone.ID, now); err != nil {
		return Joined{}, err
	}
	studio, err := studioOf(tx, i)
	if err != nil {
		return Joined{}, err
	}
	if slices.Contains(i.Used, j.Phone.ID) {
		m, err := Access(tx, studio.ID, j.Phone.ID)
		return Joined{studio, m.Person, j.Phone.ID, m.Role}, err
	}
	if i.Kind == ForClaim || j.Hub && i.Kind != ForHub {
		return Joined{}, errCode()
	}
	if i.Kind == ForHub {
		return linked(tx, i, j, studio, now)
	}
	if i.Kind == ForMyPhone {
		m, ok := tx.Member(studio.ID, i.Person)
		if !ok || m.EndedMS != 0 {
			return Joined{}, errCode()
		}
		j.Person = i.Person
	} else if j.Person == (ops.ID{}) {
		return Joined{}, fault.New(fault.Invalid, "person.id", "Say who comes in.")
	} else if err := free(tx, j); err != nil {
		return Joined{}, err
	}
	m, known := tx.Member(studio.ID, j.Person)
	if !known || m.EndedMS != 0 {
		m.Person, m.Role = j.Person, i.Role
	} else if i.Kind != ForMyPhone && i.Role.rank() > m.Role.rank() {
		m.Role = i.Role
	}
	if old, ok := tx.Seat(studio.ID, j.Phone.ID); ok && old.EndedMS == 0 && (old.Hub || old.Person != j.Person) {
		return Joined{}, fault.New(fault.Conflict, "person.id", "This phone is in that studio as somebody else.")
	} else if ended := max(m.EndedMS, old.EndedMS); ended != 0 && ended >= i.MadeMS {
		return Joined{}, fault.New(fault.Denied, "code", "This phone's access ended after that code was made. Ask for a new one.")
	}
	joined, err := seat(tx, j, studio, m, i.Kind != ForMyPhone)
	if err != nil {
		return Joined{}, err
	}
	i.Used = append(i.Used, j.Phone.ID)
	tx.PutInvite(i)
	tx.Note(studio.ID, Deed{AtMS: now.UnixMilli(), By: j.Person, What: CameIn, Person: j.Person, Phone: j.Phone.ID, Role: joined.Role, Kind: i.Kind})
	return joined, nil
}

// linked gives another server its place, and begins the roll.
func linked(tx Tx, i Invite, j Joiner, studio Studio, now time.Time) (Joined, error) {
	if !j.Hub {
		return Joined{}, fault.New(fault.Denied, "code", "This code links a hub. On the hub: evenpull --upstream ADDRESS --link CODE")
	}
	old, was := tx.Seat(studio.ID, j.Phone.ID)
	switch {
	case was && !old.Hub:
		return Joined{}, fault.New(fault.Conflict, "phone.key", "That key is a phone's here.")
	case old.EndedMS != 0 && old.EndedMS >= i.MadeMS:
		return Joined{}, fault.New(fault.Denied, "code", "This hub's link ended after that code was made. Ask for a new one.")
	}
	tx.PutPhone(j.Phone)
	place := Seat{Phone: j.Phone.ID, Person: j.Person, Hub: true}
	tx.PutSeat(studio.ID, place)
	if err := Seed(tx, studio.ID); err != nil { // the hub with it, where it is new
		return Joined{}, err
	}
	if old.EndedMS != 0 {
		if err := dropEnding(tx, studio.ID, i.By, j.Phone.ID); err != nil {
			return Joined{}, err
		}
	}
	if err := writePhone(tx, studio.ID, i.By, place, j.Label); err != nil {
		return Joined{}, err
	}
	i.Used = append(i.Used, j.Phone.ID)
	tx.PutInvite(i)
	tx.Note(studio.ID, Deed{AtMS: now.UnixMilli(), By: i.By, What: CameIn, Phone: j.Phone.ID, Kind: i.Kind})
	return Joined{studio, j.Person, j.Phone.ID, Hub}, nil
}

func studioOf(tx Tx, i Invite) (Studio, error) {
	if all := tx.Studios(); i.Studio == (ops.ID{}) && len(all) > 0 {
		return all[0], nil
	}
	s, ok := tx.Studio(i.Studio)
	if !ok {
		return s, fault.New(fault.NotFound, "code", "The studio of this code is not on this server.")
	}
	return s, nil
}

// free refuses a person's id that others hold: ids stand in records for all to
// read, and must not be a way to somebody's rights.
func free(tx Tx, j Joiner) error {
	taken := false
	for _, s := range tx.Studios() {
		if seat, ok := tx.Seat(s.ID, j.Phone.ID); ok && seat.Person == j.Person {
			return nil
		}
		_, there := tx.Member(s.ID, j.Person)
		taken = taken || there
	}
	if taken {
		return fault.New(fault.Conflict, "person.id", "That person is here already. Use a code for another phone of theirs.")
	}
	return nil
}

// Settle makes somebody a member who has no phone here, such as a demo's people.
func Settle(tx Tx, studio, person ops.ID, name string, role Role) error {
	tx.PutMember(studio, Member{Person: person, Role: role})
	if err := tx.Write(studio, person, kindPerson, person, map[string]any{"name": name}); err != nil {
		return err
	}
	return writeRole(tx, studio, person, Member{Person: person, Role: role})
}

// seat gives a phone its place and writes the records that say so.
func seat(tx Tx, j Joiner, studio Studio, m Member, named bool) (Joined, error) {
	by := m.Person
	if m.EndedMS != 0 {
		if err := dropEnding(tx, studio.ID, by, m.Person); err != nil {
			return Joined{}, err
		}
		m.EndedMS = 0
	}
	if old, ok := tx.Seat(studio.ID, j.Phone.ID); ok && old.EndedMS != 0 {
		if err := dropEnding(tx, studio.ID, by, j.Phone.ID); err != nil {
			return Joined{}, err
		}
	}
	tx.PutPhone(j.Phone)
	place := Seat{Phone: j.Phone.ID, Person: m.Person}
	tx.PutSeat(studio.ID, place)
	tx.PutMember(studio.ID, m)
	if named {
		if err := tx.Write(studio.ID, by, kindPerson, m.Person, map[string]any{"name": j.Name}); err != nil {
			return Joined{}, err
		}
	}
	if err := writePhone(tx, studio.ID, by, place, j.Label); err != nil {
		return Joined{}, err
	}
	err := writeRole(tx, studio.ID, by, m)
	return Joined{studio, m.Person, j.Phone.ID, m.Role}, err
}
