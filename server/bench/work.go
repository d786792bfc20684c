package main

import (
	"encoding/json"
	"math/rand/v2"
	"strings"

	"evenpull/sync/clock"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// A shape says what a workload's changes fall on.
type shape struct {
	changes int
	records int // 0: each change is a record of its own
	fields  int // of a record
}

// A plot is where changes fall, and what stands there.
type plot struct {
	r     *rand.Rand
	shape shape
	ids   []ops.ID
	live  map[place][]ops.Dot
	now   int64
}

type place struct {
	record, field int
}

var fieldNames = []string{"text", "name", "caption", "needle", "batting", "backing", "reason", "label"}

// Words of a studio's notes. A value is about 60 bytes of them, so that a
// change (record, field, value) has about 120 as JSON.
var words = strings.Fields(`lint under the case spring card drawn through twice then seated again bobbin unwinds the right way pulled firm
smooth top thread cotton polyester forty sixty quilt edge rows left done tension looked fine on both faces after half an hour one small
turn tighter looser back five minutes marked with pen line needle new size sixteen eighteen batting wool bamboo backing wide muslin
stitches lift near corners moved slower away toward circles good enough for custom work tomorrow first before lunch with rosa checked
oil drop hook cleaned brush thread guide missed path threaded check spring bent slightly spare case blue label works better here`)

// newPlot lays out the records of a shape, the same each time; what is written
// on them follows from the seed.
func newPlot(seed uint64, s shape) *plot {
	p := &plot{r: rand.New(rand.NewPCG(0, 1)), shape: s, live: map[place][]ops.Dot{}, now: 1_764_064_800_000}
	for range s.records {
		p.ids = append(p.ids, p.id())
	}
	p.r = rand.New(rand.NewPCG(seed, 2))
	return p
}

func (p *plot) id() (id ops.ID) {
	for i := range id {
		id[i] = byte(p.r.UintN(256))
	}
	return id
}

func (p *plot) value() json.RawMessage {
	var b strings.Builder
	for b.Len() < 56 {
		if b.Len() > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(words[p.r.IntN(len(words))])
	}
	return ops.String(b.String())
}

// write makes a writer's next changes, each over what stood there: a few on one
// record, then on another, as somebody works.
func (p *plot) write(replica ops.ID, changes int) []replication.Pending {
	out := make([]replication.Pending, 0, changes)
	var chain ops.Digest
	left, at := 0, place{}
	for n := range changes {
		if left == 0 {
			left, at.record = 1+p.r.IntN(5), 0
			if p.shape.records > 0 {
				at.record = p.r.IntN(p.shape.records)
			}
		}
		left--
		at.field = p.r.IntN(p.shape.fields)
		p.now += int64(500 + p.r.IntN(60_000))
		id := ops.ID{}
		if p.shape.records > 0 {
			id = p.ids[at.record]
		} else {
			id = p.id()
		}
		out = append(out, p.op(replica, uint64(n+1), id, at, &chain))
	}
	return out
}

// each changes the first field of every record so many times.
func (p *plot) each(replica ops.ID, times int) []replication.Pending {
	var out []replication.Pending
	var chain ops.Digest
	for range times {
		for i := range p.ids {
			out = append(out, p.op(replica, uint64(len(out)+1), p.ids[i], place{i, 0}, &chain))
		}
	}
	return out
}

func (p *plot) op(replica ops.ID, n uint64, id ops.ID, at place, chain *ops.Digest) replication.Pending {
	name := fieldNames[at.field]
	over := map[string][]ops.Dot{}
	if dots := p.live[at]; p.shape.records > 0 && len(dots) > 0 {
		over[name] = dots
	}
	op, err := ops.Encode(ops.Op{Replica: replica, N: n, At: clock.Stamp{MS: p.now}, By: person, Kind: "note", ID: id,
		Set: map[string]json.RawMessage{name: p.value()}, Over: over})
	if err != nil {
		panic(err) // the generator is at fault
	}
	if p.shape.records > 0 {
		p.live[at] = []ops.Dot{op.Dot()}
	}
	*chain = ops.Chain(*chain, op.Bytes())
	return replication.Pending{Op: op, Chain: *chain}
}

const person = "0a1b2c3d4e5f60718293a4b5c6d7e8f9"
