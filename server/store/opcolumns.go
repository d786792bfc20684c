package store

import (
	"bytes"
	"encoding/binary"
	"encoding/hex"
	"maps"
	"slices"
	"strconv"

	"evenpull/sync/ops"
)

// columns hold the ops of one block by what they are made of: all stamps, then
// all ids, and so on. What stands in a column is alike, so that it packs into
// two thirds of what the ops' own bytes would, in less time. The bytes come back
// exactly, because an op has one spelling only.
type columns struct {
	replica ops.ID
	ms      int64 // of the op before
	ids     map[ops.ID]uint64
	words   map[string]uint64 // shapes: kind and names of fields
	parts   [columnCount][]byte
}

const (
	columnStamps = iota // difference of ms, count
	columnShapes        // number of one that was met, or 0 and kind, how many fields, their names
	columnIDs           // record, person, replicas of dots: number of one that was met, or 0 and 16 bytes
	columnOver          // for each field how many dots, and their numbers
	columnSizes         // of values
	columnValues
	columnCount
)

func newColumns(replica ops.ID) *columns {
	return &columns{replica: replica, ids: map[ops.ID]uint64{replica: 1, {}: 2}, words: map[string]uint64{}}
}

func (c *columns) num(column int, v uint64) {
	c.parts[column] = binary.AppendUvarint(c.parts[column], v)
}

func (c *columns) diff(column int, v int64) {
	c.parts[column] = binary.AppendVarint(c.parts[column], v)
}

func (c *columns) id(id ops.ID) {
	if n, ok := c.ids[id]; ok {
		c.num(columnIDs, n)
		return
	}
	c.ids[id] = uint64(len(c.ids) + 1)
	c.parts[columnIDs] = append(append(c.parts[columnIDs], 0), id[:]...)
}

// add takes an op apart; false where its bytes could not be put together again.
func (c *columns) add(raw []byte) bool {
	op, err := ops.Parse(raw)
	if err != nil || op.Replica != c.replica {
		return false
	}
	c.diff(columnStamps, op.At.MS-c.ms)
	c.num(columnStamps, uint64(op.At.Count))
	c.ms = op.At.MS
	c.id(op.ID)
	var by ops.ID
	if op.By != "" {
		if by, err = ops.ParseID(op.By); err != nil || by == (ops.ID{}) {
			return false
		}
	}
	c.id(by)
	names := slices.Sorted(maps.Keys(op.Set))
	shape := appendPart(nil, []byte(op.Kind))
	shape = binary.AppendUvarint(shape, uint64(len(names)))
	for _, name := range names {
		shape = appendPart(shape, []byte(name))
	}
	if n, ok := c.words[string(shape)]; ok {
		c.num(columnShapes, n)
	} else {
		c.words[string(shape)] = uint64(len(c.words) + 1)
		c.parts[columnShapes] = append(append(c.parts[columnShapes], 0), shape...)
	}
	for _, name := range names {
		dots := op.Over[name]
		c.num(columnOver, uint64(len(dots)))
		for _, d := range dots {
			c.id(d.Replica)
			c.diff(columnOver, int64(op.N)-int64(d.N))
		}
		c.num(columnSizes, uint64(len(op.Set[name])))
		c.parts[columnValues] = append(c.parts[columnValues], op.Set[name]...)
	}
	return true
}

func (c *columns) append(b []byte) []byte {
	for _, part := range c.parts {
		b = appendPart(b, part)
	}
	return b
}

// A rebuilder puts the ops of one block together again, in order.
type rebuilder struct {
	replica ops.ID
	ms      int64
	ids     []ops.ID
	shapes  []opShape
	parts   [columnCount]scan
}

type opShape struct {
	kind  string
	names []string
}

func newRebuilder(replica ops.ID, s *scan) *rebuilder {
	r := &rebuilder{replica: replica, ids: []ops.ID{replica, {}}}
	for i := range r.parts {
		r.parts[i] = scan{tOps, s.part()}
	}
	return r
}

func (r *rebuilder) id() ops.ID {
	s := &r.parts[columnIDs]
	n := s.num()
	if n == 0 {
		r.ids = append(r.ids, ops.ID(s.take(16)))
		n = uint64(len(r.ids))
	}
	return known(r.ids, n)
}

// known is the n-th of those met so far, from 1.
func known[T any](met []T, n uint64) T {
	if n > uint64(len(met)) {
		panic("a row of table " + tOps + ": names what was never met")
	}
	return met[n-1]
}

func (r *rebuilder) shape() opShape {
	s := &r.parts[columnShapes]
	n := s.num()
	if n == 0 {
		shape := opShape{kind: string(s.part())}
		for range s.num() {
			shape.names = append(shape.names, string(s.part()))
		}
		r.shapes = append(r.shapes, shape)
		n = uint64(len(r.shapes))
	}
	return known(r.shapes, n)
}

// next returns the bytes of the next op, whose number is n.
func (r *rebuilder) next(n uint64) []byte {
	r.ms += r.parts[columnStamps].diff()
	b := strconv.AppendInt(append(make([]byte, 0, 320), `{"at":[`...), r.ms, 10)
	b = strconv.AppendUint(append(b, ','), r.parts[columnStamps].num(), 10)
	record, by, shape := r.id(), r.id(), r.shape()
	b = append(b, `],"by":"`...)
	if by != (ops.ID{}) {
		b = hex.AppendEncode(b, by[:])
	}
	b = hex.AppendEncode(append(b, `","id":"`...), record[:])
	b = append(append(b, `","kind":"`...), shape.kind...)
	b = strconv.AppendUint(append(b, `","n":`...), n, 10)
	b = append(b, `,"over":{`...)
	some := false
	for _, name := range shape.names {
		dots := r.parts[columnOver].num()
		if dots == 0 {
			continue
		}
		if some {
			b = append(b, ',')
		}
		some = true
		b = append(append(append(b, '"'), name...), `":[`...)
		for i := range dots {
			if i > 0 {
				b = append(b, ',')
			}
			b = appendDot(b, ops.Dot{Replica: r.id(), N: uint64(int64(n) - r.parts[columnOver].diff())})
		}
		b = append(b, ']')
	}
	b = hex.AppendEncode(append(b, `},"replica":"`...), r.replica[:])
	b = append(b, `","set":{`...)
	for i, name := range shape.names {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(append(append(b, '"'), name...), `":`...)
		b = append(b, r.parts[columnValues].take(r.parts[columnSizes].num())...)
	}
	return append(b, '}', '}')
}

// same reports whether the ops come back as they were.
func (r *rebuilder) same(first uint64, raws [][]byte) (ok bool) {
	defer func() { ok = recover() == nil && ok }()
	for i, raw := range raws {
		if raw != nil && !bytes.Equal(raw, r.next(first+uint64(i))) {
			return false
		}
	}
	return true
}
