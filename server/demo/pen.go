package demo

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"time"

	"evenpull/sync/clock"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// fields of one write: integers, strings, bools, lists and maps of them.
type fields map[string]any

// A pen writes ops as one phone would: numbered, stamped, naming what it saw.
type pen struct {
	replica ops.ID
	by      string
	clock   clock.Clock
	chain   ops.Digest
	n       uint64
	ops     []replication.Element
	saw     map[string][]ops.Dot // kind/id/field → what is there
	err     error
}

// id makes the same id from the same words each time.
func id(words ...any) ops.ID {
	sum := sha256.Sum256([]byte("evenpull demo " + fmt.Sprint(words...)))
	return ops.ID(sum[:16])
}

func newPen(name string, person ops.ID) *pen {
	return &pen{replica: id("replica", name), by: person.String(), saw: map[string][]ops.Dot{}}
}

// write sets fields of a record at a moment, replacing what this pen saw there.
func (p *pen) write(at time.Time, kind string, record ops.ID, set fields) ops.ID {
	if p.err != nil {
		return record
	}
	op := ops.Op{Replica: p.replica, N: p.n + 1, By: p.by, Kind: kind, ID: record, Set: map[string]json.RawMessage{}, Over: map[string][]ops.Dot{}}
	op.At, p.clock = p.clock.Next(at.UnixMilli())
	for name, value := range set {
		raw, err := ops.Canonical(value)
		if err != nil {
			p.err = fmt.Errorf("%s %s: %w", kind, name, err)
			return record
		}
		op.Set[name] = raw
		key := kind + "/" + record.String() + "/" + name
		if saw := p.saw[key]; len(saw) > 0 {
			op.Over[name] = saw
		}
		p.saw[key] = []ops.Dot{op.Dot()}
	}
	op, err := ops.Encode(op)
	if err != nil {
		p.err = fmt.Errorf("%s: %w", kind, err)
		return record
	}
	p.n = op.N
	p.chain = ops.Chain(p.chain, op.Bytes())
	p.ops = append(p.ops, op.Bytes())
	return record
}

// reads makes what the other pen wrote known here, as an exchange would.
func (p *pen) reads(other *pen) {
	for key, dots := range other.saw {
		p.saw[key] = dots
	}
	if other.clock.Last.Compare(p.clock.Last) > 0 {
		p.clock = other.clock
	}
}

func (p *pen) request() *replication.Request {
	return &replication.Request{Format: ops.Format, Replica: p.replica, From: 1, Ops: p.ops}
}
