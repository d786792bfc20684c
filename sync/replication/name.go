package replication

import (
	"bytes"
	"maps"
	"slices"

	"evenpull/sync/clock"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
)

// Under which name a phone writes: whether it may go on under one, and how what
// waits in the outbox gets another.

// A Writer is a name to write under, with the last number acknowledged and the whole chain there.
type Writer struct {
	Replica ops.ID
	N       uint64
	Acked   ops.Digest
}

// turn takes the name under which this phone writes to that server.
func (p *Phone) turn(server string, c *Cursor) {
	if p.Home == server {
		return
	}
	if left := p.Cursors[p.Home]; left != nil {
		left.interrupt()
		left.Left = &Writer{p.Replica, p.Base.C[p.Replica].N, p.Acked}
	}
	p.Home = server
	c.Ask = true // what another server acknowledged may be on no disk but ours by now
	if w := c.Left; w != nil && w.N == p.Base.C[w.Replica].N {
		p.rename(w.Replica, w.Acked)
		return
	}
	p.rename(p.Random(), ops.Digest{})
}

// interrupt notes that another server was read meanwhile: what it sent must not
// come between the pages of a reading here, and may be on no disk but ours by now.
func (c *Cursor) interrupt() {
	if c.Reading > 0 {
		c.After, c.Digest, c.Reading = c.Start, c.StartAt, 0
	}
	c.Ask = true
}

// forget begins anew with a server that is not where we left it, under a new name.
func (p *Phone) forget(a *Answer) {
	p.Cursors[a.Server] = &Cursor{Epoch: a.Epoch, Ask: true}
	if p.Home == a.Server {
		p.Home = ""
	}
}

// bears reports whether an answer holds ops of a replica beyond n. Where it is a
// name of ours they are ours, whose answer was lost, or a clone's.
func bears(replica ops.ID, n uint64, have ops.Vector, records []*merge.Record) bool {
	beyond := func(d ops.Dot) bool { return d.Replica == replica && d.N > n }
	if have[replica].N > n {
		return true
	}
	for _, r := range records {
		for _, f := range r.Fields {
			if slices.ContainsFunc(f.Dead, beyond) || slices.ContainsFunc(f.Live, func(v merge.Value) bool { return beyond(v.Dot) }) {
				return true
			}
		}
	}
	return false
}

// wrote reports whether all that records hold under our name, beyond what was
// acknowledged, waits in our outbox: it went up once and came back by another
// copy, to a server that lost what came before it and so can't judge it.
func (p *Phone) wrote(records []*merge.Record) bool {
	for _, r := range records {
		for name, f := range r.Fields {
			for _, d := range f.Dead {
				if !p.waits(r, name, merge.Value{Dot: d}) {
					return false
				}
			}
			for _, v := range f.Live {
				if !p.waits(r, name, v) {
					return false
				}
			}
		}
	}
	return true
}

// waits reports whether a value is not under our name beyond what was
// acknowledged, or is what the outbox says there; one without a stamp is a dot alone.
func (p *Phone) waits(r *merge.Record, field string, v merge.Value) bool {
	if v.Dot.Replica != p.Replica || v.Dot.N <= p.Base.C[p.Replica].N {
		return true
	}
	i := slices.IndexFunc(p.Outbox, func(o Pending) bool { return o.Op.N == v.Dot.N })
	if i < 0 || p.Outbox[i].Op.Kind != r.Kind || p.Outbox[i].Op.ID != r.ID {
		return false
	}
	value, set := p.Outbox[i].Op.Set[field]
	return set && (v.At == clock.Stamp{} || v.At == p.Outbox[i].Op.At && (v.Value == nil || bytes.Equal(v.Value, value)))
}

// rename goes on under another name, whose chain stands at acked, with what was not acknowledged.
func (p *Phone) rename(to ops.ID, acked ops.Digest) {
	old, rest := p.Replica, p.Outbox
	p.Replica, p.Acked, p.Outbox = to, acked, nil
	n := p.Base.C[to].N
	for _, o := range rest {
		p.rewrite(o.Op, func(d ops.Dot) ops.Dot {
			if d.Replica == old && d.N >= rest[0].Op.N {
				return ops.Dot{Replica: to, N: n + d.N - rest[0].Op.N + 1}
			}
			return d
		})
	}
}

// rewrite puts an op back into the outbox under the next number, with the dots
// that it names under their new name.
func (p *Phone) rewrite(op ops.Op, to func(ops.Dot) ops.Dot) {
	n, prev := p.last()
	op.Replica, op.N = p.Replica, n+1
	over := maps.Clone(op.Over)
	for name, dots := range over {
		over[name] = slices.Clone(dots)
		for i, d := range dots {
			over[name][i] = to(d)
		}
	}
	op.Over = over
	set := maps.Clone(op.Set)
	for name, value := range set {
		set[name] = merge.References(op.Kind, name, value, to)
	}
	op.Set = set
	op, err := ops.Encode(op)
	if err != nil {
		panic(err) // it was within the limits under the other name
	}
	p.Outbox = append(p.Outbox, Pending{op, ops.Chain(prev, op.Bytes())})
}

// takeFork follows a server that gave our branch of a replica another name.
func (p *Phone) takeFork(k merge.Fork) {
	mine := k.Replica == p.Replica
	if !k.Concerns(p.Base.C[k.Replica]) {
		return
	}
	p.Base.Rename(k)
	rest := p.Outbox
	p.Outbox = nil
	to := k.Dot
	if mine { // whoever writes under that name next is not us
		p.Replica, p.Acked = p.Random(), ops.Digest{}
		fresh := p.Replica
		to = func(d ops.Dot) ops.Dot {
			if len(rest) > 0 && d.Replica == k.Replica && d.N >= rest[0].Op.N {
				return ops.Dot{Replica: fresh, N: d.N - rest[0].Op.N + 1}
			}
			return k.Dot(d)
		}
	}
	for _, o := range rest {
		p.rewrite(o.Op, to)
	}
}
