package account

import (
	"crypto/sha256"
	"time"

	"evenpull/server/fault"
	"evenpull/sync/ops"
)

// The roll of a studio says who is in it and what they may do. Servers that
// share the studio tell each other by it, and their tables follow it. It is a
// copy of its own, which no phone reads or writes: what a phone hands back of
// people is shown, and gives nobody a right. It is begun with the first link.

// A Roll is what the servers of a studio say together.
type Roll struct {
	Phones map[ops.ID]Told
	Roles  map[ops.ID]Role // of people; where servers differ, the one that may do least
	Ended  map[ops.ID]bool // phones and people: an ending beats what did not know of it
}

// Told is what the roll says of a phone.
type Told struct {
	Person ops.ID `json:"person"`
	Key    []byte `json:"key"`
	Hub    bool   `json:"hub"`
}

// RollOf names a studio's roll among the copies of a store.
func RollOf(studio ops.ID) ops.ID {
	sum := sha256.Sum256(append([]byte("evenpull roll\n"), studio[:]...))
	return ops.ID(sum[:16])
}

// bring adds a studio, unless its id would open the roll of another.
func bring(tx Tx, studio Studio) error {
	for _, s := range tx.Studios() {
		if RollOf(s.ID) == studio.ID || RollOf(studio.ID) == s.ID {
			return fault.New(fault.Conflict, "studio.id", "Another studio has that id.")
		}
	}
	tx.AddStudio(studio)
	return nil
}

// Carry brings the studio that an upstream names, and begins its roll. One that
// is at home here is not given away because another server names it.
func Carry(tx Tx, studio Studio, carried bool) error {
	if _, here := tx.Studio(studio.ID); !here {
		if err := bring(tx, studio); err != nil {
			return err
		}
	} else if !carried {
		return fault.New(fault.Conflict, "studio", "That studio is at home on this server already. A hub starts with a data folder of its own.")
	}
	return Seed(tx, studio.ID)
}

// Seed writes into the roll whatever the tables hold and it does not.
func Seed(tx Tx, studio ops.ID) error {
	roll := tx.Roll(studio)
	for _, m := range tx.Members(studio) {
		if _, told := roll.Roles[m.Person]; told {
			continue
		}
		if err := toldRole(tx, studio, ops.ID{}, m); err != nil {
			return err
		}
		if err := toldEnding(tx, studio, ops.ID{}, kindPerson, m.Person, m.EndedMS); err != nil {
			return err
		}
	}
	for _, s := range tx.Seats(studio) {
		if _, told := roll.Phones[s.Phone]; told {
			continue
		}
		if err := toldPhone(tx, studio, ops.ID{}, s); err != nil {
			return err
		}
		if err := toldEnding(tx, studio, ops.ID{}, kindPhone, s.Phone, s.EndedMS); err != nil {
			return err
		}
	}
	return nil
}

// Follow makes the tables what the roll says. An ending holds from when it was
// heard of: another server's clock decides nothing here.
func Follow(tx Tx, studio ops.ID, now time.Time) {
	roll := tx.Roll(studio)
	since := func(id ops.ID, known int64) int64 {
		switch {
		case !roll.Ended[id]:
			return 0
		case known == 0:
			return now.UnixMilli()
		}
		return known
	}
	for person, role := range roll.Roles {
		old, known := tx.Member(studio, person)
		if m := (Member{Person: person, Role: role, EndedMS: since(person, old.EndedMS)}); !known || m != old {
			tx.PutMember(studio, m)
		}
	}
	for phone, told := range roll.Phones {
		if _, known := tx.Phone(phone); !known {
			p, err := phoneOf(told.Key)
			if err != nil || p.ID != phone {
				continue // a key that is not this phone's
			}
			tx.PutPhone(p)
		}
		old, known := tx.Seat(studio, phone)
		if s := (Seat{Phone: phone, Person: told.Person, EndedMS: since(phone, old.EndedMS), Hub: told.Hub}); !known || s != old {
			tx.PutSeat(studio, s)
		}
	}
}

func toldRole(tx Tx, studio, by ops.ID, m Member) error {
	return tx.Write(RollOf(studio), by, kindRole, m.Person, map[string]any{"role": m.Role})
}

func toldPhone(tx Tx, studio, by ops.ID, s Seat) error {
	p, _ := tx.Phone(s.Phone)
	return tx.Write(RollOf(studio), by, kindPhone, s.Phone, map[string]any{"person": s.Person, "key": base64Of(p.Key), "hub": s.Hub})
}

func toldEnding(tx Tx, studio, by ops.ID, kind string, id ops.ID, endedMS int64) error {
	if endedMS == 0 {
		return nil
	}
	return tx.Write(RollOf(studio), by, kindEnding, id, map[string]any{kind: id})
}

// The writes below tell phones by a record and, where the studio has a roll, other servers.

func writeRole(tx Tx, studio, by ops.ID, m Member) error {
	if tx.Rolled(studio) {
		if err := toldRole(tx, studio, by, m); err != nil {
			return err
		}
	}
	return tx.Write(studio, by, kindRole, m.Person, map[string]any{"person": m.Person, "role": m.Role})
}

func writePhone(tx Tx, studio, by ops.ID, s Seat, label string) error {
	if tx.Rolled(studio) {
		if err := toldPhone(tx, studio, by, s); err != nil {
			return err
		}
	}
	return tx.Write(studio, by, kindPhone, s.Phone, map[string]any{"person": s.Person, "label": label})
}

// writeEnding says that a phone's or a person's access ended.
func writeEnding(tx Tx, studio, by ops.ID, kind string, id ops.ID) error {
	if tx.Rolled(studio) {
		if err := toldEnding(tx, studio, by, kind, id, 1); err != nil {
			return err
		}
	}
	return tx.Write(studio, by, kindEnding, id, map[string]any{kind: id})
}

// dropEnding takes it back.
func dropEnding(tx Tx, studio, by, id ops.ID) error {
	if tx.Rolled(studio) {
		if err := tx.Remove(RollOf(studio), by, kindEnding, id); err != nil {
			return err
		}
	}
	return tx.Remove(studio, by, kindEnding, id)
}
