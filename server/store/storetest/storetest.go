// Package storetest holds the tests that every store passes, whatever keeps its
// tables. It is for tests only.
package storetest

import (
	"context"
	"math/rand/v2"
	"testing"

	"evenpull/server/account"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// A Store is what is tested.
type Store interface {
	Server() string
	Accounts(context.Context, func(account.Tx) error) error
	Look(func(account.Tx) error) error
	Exchange(ctx context.Context, studio, phone ops.ID, req *replication.Request) (*replication.Answer, error)
	Head(studio ops.ID) (uint64, <-chan struct{})
	PutPhoto(ctx context.Context, studio, phone ops.ID, d ops.Digest, at, total int64, piece []byte) (int64, bool, error)
	PhotoState(studio, phone ops.ID, d ops.Digest) (int64, bool, error)
	Photo(studio, phone ops.ID, d ops.Digest) ([]byte, error)
	Ready(context.Context) error
}

// Run plays all of them; open returns an empty store.
func Run(t *testing.T, open func(*testing.T) Store) {
	for name, test := range map[string]func(*testing.T, Store){
		"rights":                  rights,
		"all or nothing":          allOrNothing,
		"people are records":      peopleAreRecords,
		"many at once":            manyAtOnce,
		"photos":                  photos,
		"a purged photo is gone":  purgedPhoto,
		"pages":                   pages,
		"a page of one number":    oneNumber,
		"hostile bytes":           hostile,
		"ready":                   func(t *testing.T, s Store) { must(t, s.Ready(t.Context())) },
		"the reference, a studio": func(t *testing.T, s Store) { reference(t, s) },
	} {
		t.Run(name, func(t *testing.T) { test(t, open(t)) })
	}
}

// A bench is one studio with a keeper, an operator and a guest, each with a phone.
type bench struct {
	s                       Store
	studio                  ops.ID
	keeper, operator, guest ops.ID // phones; each person has the id of their phone
}

func newBench(t *testing.T, s Store) *bench {
	t.Helper()
	b := &bench{s: s, studio: newID(), keeper: newID(), operator: newID(), guest: newID()}
	must(t, s.Accounts(t.Context(), func(tx account.Tx) error {
		tx.AddStudio(account.Studio{ID: b.studio, Name: "Barn"})
		for phone, role := range map[ops.ID]account.Role{b.keeper: account.Keeper, b.operator: account.Operator, b.guest: account.Guest} {
			tx.PutPhone(account.Phone{ID: phone})
			tx.PutSeat(b.studio, account.Seat{Phone: phone, Person: phone})
			tx.PutMember(b.studio, account.Member{Person: phone, Role: role})
		}
		return nil
	}))
	return b
}

func (b *bench) exchange(t *testing.T, phone ops.ID, p *replication.Phone) *replication.Answer {
	t.Helper()
	req := p.Request(b.s.Server(), ops.MaxBatchOps)
	a, err := b.s.Exchange(t.Context(), b.studio, phone, req)
	must(t, err)
	must(t, p.Take(req, a, 100, 1_800_000_000_000))
	return a
}

// settle exchanges until a phone has nothing to send and nothing to fetch.
func (b *bench) settle(t *testing.T, phone ops.ID, p *replication.Phone) {
	t.Helper()
	for range 20 {
		if a := b.exchange(t, phone, p); !a.More && len(p.Outbox) == 0 {
			return
		}
	}
	t.Fatalf("%d ops wait after 20 exchanges", len(p.Outbox))
}

func newPhone() *replication.Phone { return replication.NewPhone("", newID) }

// phone returns one that has met the server already: it keeps its name from here on.
func (b *bench) phone(t *testing.T, caller ops.ID) *replication.Phone {
	t.Helper()
	p := newPhone()
	for range 2 {
		b.exchange(t, caller, p)
	}
	return p
}

func write(t *testing.T, p *replication.Phone, kind string, id ops.ID, set map[string]any) ops.Op {
	t.Helper()
	return writeAt(t, p, kind, id, set, 1_700_000_000_000)
}

func newID() (id ops.ID) {
	for i := range id {
		id[i] = byte(rand.Uint())
	}
	return id
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
