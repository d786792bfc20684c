package store

import (
	"fmt"
	"strings"
	"testing"

	"evenpull/server/account"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// A phone that knows nothing of a large studio has the bench and the last
// reading with its first page; the whole reading ends as any other.
func TestAFirstReadingBeginsWithTheBench(t *testing.T) {
	s := Memory()
	t.Cleanup(func() { s.Close() })
	studio, phone := ops.ID{1}, ops.ID{2}
	must(t, s.Accounts(t.Context(), func(tx account.Tx) error {
		tx.AddStudio(account.Studio{ID: studio})
		tx.PutSeat(studio, account.Seat{Phone: phone, Person: phone})
		tx.PutMember(studio, account.Member{Person: phone, Role: account.Keeper})
		return nil
	}))
	b := &branch{ops.ID{3}, nil, []ops.Digest{{}}}
	w := &twin{T: t}
	numbered := func(n int) (id ops.ID) { copy(id[:], fmt.Sprintf("%016d", n)); return id }
	words := strings.Repeat("words that take room ", 10)
	for n := range 3000 {
		w.write(b, "note", numbered(n), "text", words, nil)
		if n == 1500 {
			w.write(b, "bench", numbered(9001), "machine", "Big frame", nil)
			w.write(b, "machine", numbered(9001), "name", "Big frame", nil)
		}
	}
	w.write(b, "reading", numbered(9002), "drop", 15, nil)
	ask := func(req *replication.Request) *replication.Answer {
		t.Helper()
		a, err := s.Exchange(t.Context(), studio, phone, req)
		must(t, err)
		return through(t, a)
	}
	ask(b.request(1))
	fresh := merge.NewState()
	pages, first := 0, map[string]bool{}
	req := &replication.Request{Format: ops.Format, Ops: []replication.Element{}}
	for more := true; more; pages++ {
		a := ask(req)
		records, err := replication.ReadRecords(a.Records)
		must(t, err)
		if pages == 0 {
			for _, r := range records {
				first[r.Kind] = true
			}
		}
		fresh.Take(records, a.Have)
		req.Server, req.Epoch, req.After, req.AfterDigest, req.Reading = a.Server, a.Epoch, a.UpTo, a.UpToDigest, a.Reading
		if more = a.More; !more {
			fresh.Raise(a.Have)
		}
	}
	if pages < 2 || !first["bench"] || !first["machine"] || !first["reading"] {
		t.Errorf("of %d pages the first has %v", pages, first)
	}
	want := merge.NewState()
	for i, raw := range b.raws {
		op, err := ops.Parse(raw)
		must(t, err)
		want.Apply(op, b.chains[i+1].Short())
	}
	if fresh.Key() != want.Key() {
		t.Error("the whole reading is another state than the ops")
	}
}
