package main

import (
	"fmt"
	"time"

	"evenpull/server/drive"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// limits of one size of studio; 0 is none.
type limits struct {
	up, upMB, upSlow       float64
	down, downMB, downSlow float64
	diskMB, memMB          float64
}

// oneWriter is W1 to W3: one phone pushes what it wrote, an empty one catches up.
func (b *bench) oneWriter(name string, s shape, runs int, l limits, slowToo bool) error {
	pending := newPlot(1, s).write(ops.ID{9}, s.changes)
	f, err := measureFloors(pending)
	if err != nil {
		return err
	}
	var up, down, upMB, downMB, disk, mem, busyUp, busyDown []float64
	for run := range runs {
		if err := b.once(pending, func(r *rig, c *drive.Caller, over *link) error {
			start, busy := time.Now(), r.busy()
			if err := push(c, pending); err != nil {
				return err
			}
			up, busyUp = append(up, since(start)), append(busyUp, r.busy()-busy)
			sent, _ := over.moved()
			upMB = append(upMB, float64(sent)/mb)
			if run == 0 { // the power goes at the moment of the acknowledgement
				if err := r.restart(); err != nil {
					return err
				}
				over = direct(r.URL)
				if c, err = r.over(over); err != nil {
					return err
				}
			}
			over.reset()
			start, busy = time.Now(), r.busy()
			state, err := catchUp(c)
			if err != nil {
				return err
			}
			down, busyDown = append(down, since(start)), append(busyDown, r.busy()-busy)
			_, got := over.moved()
			downMB = append(downMB, float64(got)/mb)
			if err := holds(state, pending); err != nil {
				return err
			}
			m, err := r.memory()
			if err != nil {
				return err
			}
			d, err := r.disk()
			mem, disk = append(mem, float64(m)/mb), append(disk, float64(d)/mb)
			return err
		}); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	b.add(figure{name + ", push until all is acknowledged", median(up), "ms", l.up, f.LogUp, "a bare log over HTTP"})
	b.add(figure{name + ", the same beside bbolt alone", median(up), "ms", 0, f.Bolt, "bbolt, 500 a commit"})
	b.add(figure{name + ", one append and fsync of 1,000", f.Append, "ms", 0, 0, ""})
	b.add(figure{name + ", push: the server's processor time", median(busyUp), "ms", 0, 0, ""})
	b.add(figure{name + ", bytes up", median(upMB), "MB", l.upMB, 0, ""})
	b.add(figure{name + ", an empty phone catches up", median(down), "ms", l.down, f.LogDown, "a bare log over HTTP"})
	b.add(figure{name + ", catch-up: the server's processor time", median(busyDown), "ms", 0, 0, ""})
	b.add(figure{name + ", bytes down", median(downMB), "MB", l.downMB, 0, ""})
	b.add(figure{name + ", disk after", median(disk), "MB", l.diskMB, 0, ""})
	b.add(figure{name + ", anonymous memory after", median(mem), "MB", l.memMB, 0, ""})
	if !slowToo {
		return nil
	}
	return b.once(pending, func(r *rig, _ *drive.Caller, _ *link) error {
		over, err := slow(r.URL[len("http://"):])
		if err != nil {
			return err
		}
		defer over.close()
		c, err := r.over(over)
		if err != nil {
			return err
		}
		start := time.Now()
		if err := push(c, pending); err != nil {
			return err
		}
		b.add(figure{name + ", push on the slow link", since(start) / 1000, "s", l.upSlow, 0, ""})
		start = time.Now()
		state, err := catchUp(c)
		if err != nil {
			return err
		}
		b.add(figure{name + ", catch up on the slow link", since(start) / 1000, "s", l.downSlow, 0, ""})
		return holds(state, pending)
	})
}

func (b *bench) once(pending []replication.Pending, work func(*rig, *drive.Caller, *link) error) error {
	r, err := newRig(b.binary)
	if err != nil {
		return err
	}
	defer r.end()
	over := direct(r.URL)
	c, err := r.over(over)
	if err != nil {
		return err
	}
	return work(r, c, over)
}

// holds compares a copy with what the ops say when they are applied one by one.
func holds(got *merge.State, pending []replication.Pending) error {
	want := merge.NewState()
	for _, o := range pending {
		want.Apply(o.Op, o.Chain.Short())
	}
	if got.C[pending[0].Op.Replica] != want.C[pending[0].Op.Replica] {
		return fmt.Errorf("the copy knows %v of the writer", got.C[pending[0].Op.Replica])
	}
	for k, r := range want.Records {
		if mine := got.Records[k]; mine == nil || !merge.Equal(mine, r) {
			return fmt.Errorf("record %s %s is another one", k.Kind, k.ID)
		}
	}
	return nil
}

// conflicts is W4: two phones wrote 1,000 changes each, apart, on the same 500 fields.
func (b *bench) conflicts() error {
	var took, bare []float64
	for range 5 {
		if err := b.once(nil, func(r *rig, c *drive.Caller, _ *link) error {
			ms, floor, err := b.conflict(r, c)
			took, bare = append(took, ms), append(bare, floor)
			return err
		}); err != nil {
			return fmt.Errorf("W4: %w", err)
		}
	}
	b.add(figure{"W4, two phones, 1,000 conflicting changes each, converge", median(took), "ms", 60, median(bare), "the same on a bare log over HTTP"})
	return nil
}

// conflict returns how long two phones take, and what a bare log needs to take the
// same changes and give them to both.
func (b *bench) conflict(r *rig, c *drive.Caller) (ms, floor float64, err error) {
	phones := []*replication.Phone{replication.NewPhone(person, drive.NewID), replication.NewPhone(person, drive.NewID)}
	for _, p := range phones { // they know the server, and each other's beginnings
		if err := c.Exchange(r.Server, p); err != nil {
			return 0, 0, err
		}
	}
	var pending []replication.Pending
	for i, p := range phones {
		p.Outbox = newPlot(uint64(2+i), shape{500, 500, 1}).each(p.Replica, 2)
		pending = append(pending, p.Outbox...)
	}
	start := time.Now()
	for range 2 { // both send at once, then both read
		errs := make(chan error, len(phones))
		for _, p := range phones {
			go func() { errs <- c.Exchange(r.Server, p) }()
		}
		for range phones {
			if err := <-errs; err != nil {
				return 0, 0, err
			}
		}
	}
	ms = since(start)
	fresh := replication.NewPhone(person, drive.NewID)
	if err := c.Exchange(r.Server, fresh); err != nil {
		return 0, 0, err
	}
	for _, p := range append(phones, fresh) {
		if n := values(p.Base); n != 1000 {
			return 0, 0, fmt.Errorf("%d of 1,000 concurrent values can be read", n)
		}
	}
	if phones[0].Base.Key() != phones[1].Base.Key() || phones[0].Base.Key() != fresh.Base.Key() {
		return 0, 0, fmt.Errorf("the copies differ")
	}
	f, err := measureFloors(pending)
	return ms, f.LogUp + 2*f.LogDown, err
}

// nothing is an exchange in which nobody has anything new.
func (b *bench) nothing() error {
	return b.once(nil, func(r *rig, c *drive.Caller, over *link) error {
		p := replication.NewPhone(person, drive.NewID)
		if err := c.Exchange(r.Server, p); err != nil {
			return err
		}
		over.reset()
		var took []float64
		for range 100 {
			start := time.Now()
			if err := c.Exchange(r.Server, p); err != nil {
				return err
			}
			took = append(took, since(start))
		}
		up, down := over.moved()
		body, err := replication.Marshal(p.Request(r.Server, ops.MaxBatchOps))
		if err != nil {
			return err
		}
		got, err := c.Send("POST", "/v1/studios/"+c.Studio+"/exchange", body)
		if err != nil {
			return err
		}
		b.add(figure{"nothing new: bodies both ways together", float64(len(body)+len(got)) / 1000, "kB", 1, 0, ""})
		b.add(figure{"nothing new: up, with all of HTTP", float64(up) / 100 / 1000, "kB", 1, 0, ""})
		b.add(figure{"nothing new: down, with all of HTTP", float64(down) / 100 / 1000, "kB", 1, 0, ""})
		b.add(figure{"nothing new: one exchange", median(took), "ms", 0, 0, ""})
		return nil
	})
}
