package store

import (
	"encoding/json"
	"errors"
	"math/rand/v2"
	"sync"
	"testing"

	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// A weak disk loses what was to be written, now and then, and says so.
type weakDisk struct {
	engine
	mu   sync.Mutex
	r    *rand.Rand
	lost int
}

var errLost = errors.New("the disk lost it")

func (d *weakDisk) update(fn func(rows) error) error {
	return d.engine.update(func(r rows) error {
		if err := fn(r); err != nil {
			return err
		}
		d.mu.Lock()
		defer d.mu.Unlock()
		if d.r != nil && d.r.IntN(3) == 0 {
			d.lost++
			return errLost
		}
		return nil
	})
}

// Many phones write to a server whose disk is weak, at the same time, so that
// several share one write to it. Whatever a phone takes for acknowledged is there,
// and in the end everything is.
func TestWhatIsAcknowledgedIsOnTheDisk(t *testing.T) {
	lost, acknowledged := 0, 0
	for seed := range uint64(10) {
		disk := &weakDisk{engine: &memEngine{tables: map[string][]row{}}}
		s, err := start("", disk, &memBlobs{whole: map[string][]byte{}, parts: map[string][]byte{}})
		must(t, err)
		chance, studio := rand.New(rand.NewPCG(seed, 11)), ops.ID{9}
		id := func() (id ops.ID) {
			for i := range id {
				id[i] = byte(chance.UintN(256))
			}
			return id
		}
		var phones []*replication.Phone
		for range 6 {
			phones = append(phones, replication.NewPhone("", id))
		}
		exchange := func(p *replication.Phone) {
			req := through(t, p.Request(s.server, 100))
			var a *replication.Answer
			if err := s.write(t.Context(), func(x *tx) (err error) {
				a, err = replication.Serve(x.copy(studio), req, everything, replication.PageBytes)
				return err
			}); err == nil && a != nil {
				must(t, p.Take(req, through(t, a), 100, 1000))
			}
		}
		for _, p := range phones { // a first visit takes a name, which must not depend on who comes first
			exchange(p)
			p.Request(s.server, 1)
		}
		disk.r = rand.New(rand.NewPCG(seed, 12))
		for round := range 30 {
			var all sync.WaitGroup
			for _, p := range phones {
				if round < 25 {
					_, err := p.Write("note", ops.ID{1}, map[string]json.RawMessage{"text": ops.String("words")}, 1000)
					must(t, err)
				} else {
					disk.mu.Lock()
					disk.r = nil
					disk.mu.Unlock()
				}
				all.Go(func() { exchange(p) })
			}
			all.Wait()
			must(t, s.engine.view(func(r rows) error {
				there := s.begin(r).copy(studio)
				for i, p := range phones {
					if d := (ops.Dot{Replica: p.Replica, N: p.Base.C[p.Replica].N}); d.N > 0 && !there.Has(d) {
						t.Fatalf("seed %d, round %d: phone %d takes %d for acknowledged; on the disk are %d", seed, round, i, d.N, there.Vector()[p.Replica].N)
					}
					acknowledged += int(p.Base.C[p.Replica].N)
				}
				return nil
			}))
		}
		for i, p := range phones {
			if len(p.Outbox) > 0 {
				t.Errorf("seed %d: phone %d still holds %d ops", seed, i, len(p.Outbox))
			}
		}
		lost += disk.lost
		must(t, s.Close())
	}
	if lost < 50 || acknowledged < 1000 {
		t.Errorf("%d writes were lost and %d acknowledgements looked at: this proves nothing", lost, acknowledged)
	}
}
