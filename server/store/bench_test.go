package store

import (
	"crypto/rand"
	"encoding/json"
	"testing"

	"evenpull/server/account"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// BenchmarkTenThousand is 10,000 small ops of new records taken in two
// exchanges, each on disk before its answer.
func BenchmarkTenThousand(b *testing.B) {
	for range b.N {
		b.StopTimer()
		s, err := Open(b.TempDir())
		if err != nil {
			b.Fatal(err)
		}
		studio, phone := ops.ID{1}, ops.ID{2}
		if err := s.Accounts(b.Context(), func(tx account.Tx) error {
			tx.AddStudio(account.Studio{ID: studio})
			tx.PutSeat(studio, account.Seat{Phone: phone, Person: phone})
			tx.PutMember(studio, account.Member{Person: phone, Role: account.Keeper})
			return nil
		}); err != nil {
			b.Fatal(err)
		}
		reqs := small(b, 10000)
		b.StartTimer()
		for _, req := range reqs {
			if a, err := s.Exchange(b.Context(), studio, phone, req); err != nil || len(a.Refused) > 0 {
				b.Fatal(err, a)
			}
		}
		b.StopTimer()
		if err := s.Close(); err != nil {
			b.Fatal(err)
		}
		b.StartTimer()
	}
}

func small(b *testing.B, n int) (reqs []*replication.Request) {
	var chain ops.Digest
	replica := ops.ID{3}
	for i := range n {
		if i%ops.MaxBatchOps == 0 {
			reqs = append(reqs, &replication.Request{Format: ops.Format, Replica: replica, From: uint64(i + 1), PrevDigest: chain, After: 0})
		}
		var id ops.ID
		rand.Read(id[:])
		op, err := ops.Encode(ops.Op{Replica: replica, N: uint64(i + 1), Kind: "note", ID: id, Set: map[string]json.RawMessage{"text": ops.String("small change")}})
		if err != nil {
			b.Fatal(err)
		}
		chain = ops.Chain(chain, op.Bytes())
		r := reqs[len(reqs)-1]
		r.Ops = append(r.Ops, op.Bytes())
	}
	return reqs
}
