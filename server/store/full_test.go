package store

import (
	"encoding/json"
	"fmt"
	"syscall"
	"testing"

	"evenpull/server/account"
	"evenpull/server/fault"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// A fullEngine has no room left while full is set: its commits fail after all was written, as a disk's do.
type fullEngine struct {
	engine
	full bool
}

func (e *fullEngine) update(fn func(rows) error) error {
	return e.engine.update(func(r rows) error {
		if err := fn(r); err != nil || !e.full {
			return err
		}
		return fmt.Errorf("write evenpull.db: %w", syscall.ENOSPC)
	})
}

func TestAFullDiskRefusesForNow(t *testing.T) {
	e := &fullEngine{engine: &memEngine{tables: map[string][]row{}}}
	s, err := start("", e, &memBlobs{whole: map[string][]byte{}, parts: map[string][]byte{}})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	studio, phone := ops.ID{1}, ops.ID{2}
	bring := func(tx account.Tx) error {
		tx.AddStudio(account.Studio{ID: studio})
		tx.PutSeat(studio, account.Seat{Phone: phone, Person: phone})
		tx.PutMember(studio, account.Member{Person: phone, Role: account.Keeper})
		return nil
	}
	e.full = true
	if err := s.Accounts(t.Context(), bring); !fault.Is(err, fault.Full) {
		t.Errorf("accounts on a full disk: %v", err)
	}
	if err := s.Ready(t.Context()); err == nil {
		t.Error("a full disk is ready")
	}
	e.full = false
	if err := s.Accounts(t.Context(), bring); err != nil {
		t.Fatal(err)
	}
	op, err := ops.Encode(ops.Op{Replica: ops.ID{3}, N: 1, Kind: "note", ID: ops.ID{4}, Set: map[string]json.RawMessage{"text": ops.String("words")}})
	if err != nil {
		t.Fatal(err)
	}
	req := func() *replication.Request {
		return &replication.Request{Format: ops.Format, Replica: ops.ID{3}, From: 1, Ops: []replication.Element{op.Bytes()}}
	}
	for _, full := range []bool{true, false} {
		e.full = full
		a, err := s.Exchange(t.Context(), studio, phone, req())
		if err != nil {
			t.Fatal(err)
		}
		if !full {
			if a.Acked[ops.ID{3}].N != 1 || len(a.Refused) != 0 || a.UpTo != 1 {
				t.Errorf("with room again: acked %v, refused %v, up to %d", a.Acked, a.Refused, a.UpTo)
			}
			continue
		}
		want := replication.Refusal{Replica: ops.ID{3}, N: 1, Reason: replication.DiskFull}
		if len(a.Refused) != 1 || a.Refused[0] != want || a.Acked[ops.ID{3}].N != 0 || a.UpTo != 0 {
			t.Errorf("on a full disk: acked %v, refused %v, up to %d", a.Acked, a.Refused, a.UpTo)
		}
	}
}
