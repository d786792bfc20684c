package storetest

import (
	"bytes"
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"evenpull/server/account"
	"evenpull/server/fault"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

func rights(t *testing.T, s Store) {
	b := newBench(t, s)
	for _, c := range []struct {
		name  string
		phone ops.ID
		kind  string
		taken bool
	}{
		{"keeper writes", b.keeper, "note", true},
		{"operator writes", b.operator, "note", true},
		{"guest does not", b.guest, "note", false},
		{"keeper purges", b.keeper, "purge", true},
		{"operator does not purge", b.operator, "purge", false},
	} {
		p := b.phone(t, c.phone)
		set := map[string]any{"text": "words"}
		if c.kind == "purge" {
			set = map[string]any{"dots": []string{}}
		}
		write(t, p, c.kind, newID(), set)
		a := b.exchange(t, c.phone, p)
		if taken := len(p.Outbox) == 0; taken != c.taken {
			t.Errorf("%s: taken %v; want %v", c.name, taken, c.taken)
		}
		if !c.taken && (len(a.Refused) != 1 || a.Refused[0].Reason != replication.NoRight || a.Refused[0].ForGood) {
			t.Errorf("%s: refused %v; want no-right for now", c.name, a.Refused)
		}
	}
	// A guest hands back, and relays for others: neither is a way to write.
	p := b.phone(t, b.guest)
	op := write(t, p, "note", newID(), map[string]any{"text": "smuggled"})
	req := p.Request(s.Server(), 0)
	req.Frames = []replication.Frame{{Replica: p.Replica, From: 1, Ops: []json.RawMessage{op.Bytes()}}}
	state := merge.NewState()
	state.Apply(op, ops.Chain(ops.Digest{}, op.Bytes()).Short())
	req.Back = &replication.Back{Have: state.C, Records: []*merge.Record{state.Records[merge.Key{Kind: "note", ID: op.ID}]}, Last: true}
	_, err := s.Exchange(t.Context(), b.studio, b.guest, req)
	must(t, err)
	reader := newPhone()
	b.settle(t, b.guest, reader)
	if reader.Base.Records[merge.Key{Kind: "note", ID: op.ID}] != nil {
		t.Error("a guest's words came into the studio")
	}
	// Ended, or never let in: nothing at all.
	must(t, s.Accounts(t.Context(), func(tx account.Tx) error {
		return account.EndPhone(tx, b.studio, b.keeper, b.operator, time.Now())
	}))
	for name, phone := range map[string]ops.ID{"ended": b.operator, "stranger": newID()} {
		if a, err := s.Exchange(t.Context(), b.studio, phone, newPhone().Request("", 0)); !fault.Is(err, fault.Denied) || a != nil {
			t.Errorf("%s: %v, %v; want denied", name, a, err)
		}
	}
}

func allOrNothing(t *testing.T, s Store) {
	b := newBench(t, s)
	broken := errors.New("changed my mind")
	var group sync.WaitGroup
	for i := range 20 { // several at once, so that they share commits
		group.Go(func() {
			bad := i%2 == 0
			person := ops.ID{byte(i), 1}
			err := s.Accounts(t.Context(), func(tx account.Tx) error {
				tx.PutMember(b.studio, account.Member{Person: person, Role: account.Guest})
				if err := tx.Write(b.studio, b.keeper, "role", person, map[string]any{"person": person, "role": "guest"}); err != nil {
					return err
				}
				if bad {
					return broken
				}
				return nil
			})
			if bad != errors.Is(err, broken) || !bad && err != nil {
				t.Errorf("%d: %v", i, err)
			}
		})
	}
	group.Wait()
	p := newPhone()
	b.settle(t, b.keeper, p)
	for i := range 20 {
		person := ops.ID{byte(i), 1}
		inRecords := p.Base.Records[merge.Key{Kind: "role", ID: person}] != nil
		inTables := false
		must(t, s.Look(func(tx account.Tx) error { _, inTables = tx.Member(b.studio, person); return nil }))
		if want := i%2 == 1; inRecords != want || inTables != want {
			t.Errorf("%d: in records %v, in tables %v; want %v", i, inRecords, inTables, want)
		}
	}
}

func peopleAreRecords(t *testing.T, s Store) {
	b := newBench(t, s)
	now := time.Now()
	invite := func() account.Hash {
		var i account.Invite
		must(t, s.Accounts(t.Context(), func(tx account.Tx) (err error) {
			_, i, err = account.MakeInvite(tx, b.studio, b.keeper, account.ForPerson, account.Operator, time.Time{}, now)
			return err
		}))
		return i.Hash
	}
	j := account.Joiner{Hash: invite(), Person: newID(), Name: "Rosa", Phone: account.Phone{ID: newID()}, Label: "Rosa's phone"}
	join := func() (err error) {
		return s.Accounts(t.Context(), func(tx account.Tx) error { _, err := account.Join(tx, j, now); return err })
	}
	must(t, join())
	p := newPhone()
	look := func() { t.Helper(); b.settle(t, b.keeper, p) }
	value := func(kind string, id ops.ID, field string) string {
		r := p.Base.Records[merge.Key{Kind: kind, ID: id}]
		if r == nil || r.Hidden() || r.Fields[field] == nil {
			return ""
		}
		if len(r.Fields[field].Live) != 1 {
			t.Errorf("%s.%s holds %d values", kind, field, len(r.Fields[field].Live))
		}
		return strings.Trim(string(r.Fields[field].Live[0].Value), `"`)
	}
	look()
	for _, c := range [][3]string{{"person", "name", "Rosa"}, {"role", "role", "operator"}} {
		if got := value(c[0], j.Person, c[1]); got != c[2] {
			t.Errorf("%s.%s = %q; want %q", c[0], c[1], got, c[2])
		}
	}
	if got := value("phone", j.Phone.ID, "label"); got != "Rosa's phone" {
		t.Errorf("label = %q", got)
	}
	must(t, s.Accounts(t.Context(), func(tx account.Tx) error { return account.EndPerson(tx, b.studio, b.keeper, j.Person, now) }))
	look()
	if got := value("ending", j.Person, "person"); got != j.Person.String() {
		t.Errorf("ending.person = %q", got)
	}
	now = now.Add(time.Second)
	j.Hash = invite()
	must(t, join())
	look()
	if got := value("ending", j.Person, "person"); got != "" {
		t.Error("a new code let them in and the ending is still shown")
	}
	must(t, s.Accounts(t.Context(), func(tx account.Tx) error { return account.EndPerson(tx, b.studio, b.keeper, j.Person, now) }))
	look()
	if got := value("ending", j.Person, "person"); got != j.Person.String() {
		t.Error("ended again, and not shown")
	}
}

func manyAtOnce(t *testing.T, s Store) {
	b := newBench(t, s)
	_, changed := s.Head(b.studio)
	var group sync.WaitGroup
	for range 8 {
		group.Go(func() {
			p := b.phone(t, b.operator)
			for range 10 {
				write(t, p, "note", newID(), map[string]any{"text": "words"})
				b.exchange(t, b.operator, p)
			}
			if len(p.Outbox) > 0 {
				t.Errorf("%d ops wait", len(p.Outbox))
			}
		})
	}
	group.Wait()
	select {
	case <-changed:
	default:
		t.Error("nobody was told of news")
	}
	if seq, _ := s.Head(b.studio); seq != 80 {
		t.Errorf("head %d; want 80", seq)
	}
	p := newPhone()
	b.settle(t, b.guest, p)
	if len(p.Base.Records) != 80 {
		t.Errorf("%d records; want 80", len(p.Base.Records))
	}
}

func pages(t *testing.T, s Store) {
	b := newBench(t, s)
	p := newPhone()
	for range 80 {
		write(t, p, "note", newID(), map[string]any{"text": strings.Repeat("x", 40<<10)})
	}
	b.settle(t, b.operator, p)
	reader, cuts := newPhone(), 0
	for {
		a := b.exchange(t, b.guest, reader)
		size := 0
		for _, r := range a.Records {
			size += len(r)
		}
		most := 4 * replication.PageBytes
		if cuts == 0 { // the first is small
			most = replication.PageBytes
		}
		if size > most+50<<10 {
			t.Fatalf("page %d has %d bytes", cuts, size)
		}
		if !a.More {
			break
		}
		if cuts++; cuts == 1 { // written while the reading goes on
			write(t, p, "note", newID(), map[string]any{"text": "late"})
			b.settle(t, b.operator, p)
		}
	}
	b.settle(t, b.guest, reader)
	if cuts < 2 || len(reader.Base.Records) != 81 {
		t.Errorf("%d cuts and %d records; want at least 2 and 81", cuts, len(reader.Base.Records))
	}
}

// What changed at one number goes on one page, however large: a cursor can't stand in the middle of it.
func oneNumber(t *testing.T, s Store) {
	b := newBench(t, s)
	w := newID()
	back := &replication.Back{Have: ops.Vector{w: {N: 12, Digest: ops.Short{1}}}, Last: true}
	for n := uint64(1); n <= 12; n++ {
		v := merge.Value{Dot: ops.Dot{Replica: w, N: n}, Value: ops.String(strings.Repeat("x", 40<<10))}
		back.Records = append(back.Records, &merge.Record{Kind: "note", ID: newID(), Fields: map[string]*merge.Field{"text": {Live: []merge.Value{v}}}})
	}
	req := newPhone().Request("", 0)
	req.Back = back
	_, err := s.Exchange(t.Context(), b.studio, b.operator, req)
	must(t, err)
	reader := newPhone()
	b.settle(t, b.guest, reader)
	if len(reader.Base.Records) != 12 {
		t.Errorf("%d records came; want 12", len(reader.Base.Records))
	}
}

func hostile(t *testing.T, s Store) {
	b := newBench(t, s)
	p := b.phone(t, b.operator)
	write(t, p, "note", newID(), map[string]any{"text": "mine"})
	b.settle(t, b.operator, p)
	before, _ := s.Head(b.studio)
	req := newPhone().Request("", 0)
	req.Back = &replication.Back{Have: ops.Vector{}, Records: []*merge.Record{{Kind: "no such kind", ID: newID()}}, Last: true}
	if _, err := s.Exchange(t.Context(), b.studio, b.operator, req); !errors.Is(err, replication.ErrBad) {
		t.Errorf("a record of no kind: %v; want ErrBad", err)
	}
	good := write(t, p, "note", newID(), map[string]any{"text": "more"})
	req = p.Request(s.Server(), 10)
	req.Frames = []replication.Frame{{Replica: newID(), From: 0, Ops: []json.RawMessage{good.Bytes()}}}
	if _, err := s.Exchange(t.Context(), b.studio, b.operator, req); !errors.Is(err, replication.ErrBad) {
		t.Errorf("a frame from 0: %v; want ErrBad", err)
	}
	if after, _ := s.Head(b.studio); after != before {
		t.Errorf("head moved from %d to %d by requests that were refused whole", before, after)
	}
	b.settle(t, b.operator, p) // and the good op of the bad request comes through now
	raw := json.RawMessage(`{"not":"an op"}`)
	req = newPhone().Request("", 0)
	req.Ops = []json.RawMessage{raw}
	a, err := s.Exchange(t.Context(), b.studio, b.operator, req)
	must(t, err)
	if !slices.ContainsFunc(a.Refused, func(r replication.Refusal) bool { return r.ForGood && r.Reason == ops.Malformed }) {
		t.Errorf("refused %v; want malformed for good", a.Refused)
	}
	if !bytes.Equal(raw, req.Ops[0]) {
		t.Error("the sender's bytes were changed")
	}
}
