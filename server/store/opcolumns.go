package store

import (
	"bytes"
	"encoding/binary"
	"encoding/hex"
	"strconv"

	"evenpull/sync/ops"
)

// columns hold the ops of one block by what they are made of: all stamps, then
// all ids, and so on. What stands in a column is alike, and each is packed by itself: into
// two thirds of what the ops' own bytes would take, in less time. The bytes come back
// exactly, because an op has one spelling only.
type columns struct {
	replica ops.ID
	ms      int64 // of the op before
	ids     map[ops.ID]uint64
	met     uint64            // ids so far: a replica of zeros stands twice
	words   map[string]uint64 // shapes: kind and names of fields
	parts   [columnCount][]byte
}

const (
	columnTimes  = iota // ms of stamps, as the distance to the one before
	columnCounts        // of stamps
	columnShapes        // number of one that was met, or 0 and kind, and each field's name and how many dots it replaces
	columnIDs           // record, person, replicas of dots: number of one that was met, or 0 and 16 bytes
	columnOver          // numbers of dots, as the distance to the op's own
	columnSizes         // of values
	columnValues
	columnCount
)

func newColumns(replica ops.ID) *columns {
	return &columns{replica: replica, ids: map[ops.ID]uint64{replica: 1, {}: 2}, met: 2, words: map[string]uint64{}}
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
	c.met++
	c.ids[id] = c.met
	c.parts[columnIDs] = append(append(c.parts[columnIDs], 0), id[:]...)
}

// add takes an op apart; false where it can't.
func (c *columns) add(raw []byte) bool {
	t := taker{raw, true}
	ms := t.number(`{"at":[`)
	count := t.number(",")
	by, record := t.hex(`],"by":"`), t.hex(`","id":"`)
	kind := t.until(`","kind":"`, '"')
	n := t.number(`","n":`)
	t.word(`,"over":{`)
	type overField struct {
		name []byte
		dots int
	}
	c.diff(columnTimes, ms-c.ms)
	c.num(columnCounts, uint64(count))
	c.ms = ms
	c.id(record)
	c.id(by)
	var over []overField
	for t.ok && !t.has("}") {
		if len(over) > 0 {
			t.word(",")
		}
		f := overField{name: t.until(`"`, '"')}
		for t.word(`":[`); t.ok && !t.has(`]`); f.dots++ {
			if f.dots > 0 {
				t.word(",")
			}
			replica := t.hex(`"`)
			c.id(replica)
			c.diff(columnOver, n-t.number(":"))
			t.word(`"`)
		}
		over = append(over, f)
	}
	t.hex(`,"replica":"`)
	t.word(`","set":{`)
	shape := appendPart(make([]byte, 0, 64), kind)
	for fields := 0; t.ok && !t.has("}"); fields++ {
		if fields > 0 {
			t.word(",")
		}
		name := t.until(`"`, '"')
		t.word(`":`)
		value := t.value()
		dots := 0
		if len(over) > 0 && bytes.Equal(over[0].name, name) {
			dots, over = over[0].dots, over[1:]
		}
		shape = binary.AppendUvarint(appendPart(shape, name), uint64(dots))
		c.num(columnSizes, uint64(len(value)))
		c.parts[columnValues] = append(c.parts[columnValues], value...)
	}
	if t.word("}"); !t.ok || len(t.b) > 0 || len(over) > 0 {
		return false
	}
	if n, ok := c.words[string(shape)]; ok {
		c.num(columnShapes, n)
	} else {
		c.words[string(shape)] = uint64(len(c.words) + 1)
		c.parts[columnShapes] = appendPart(append(c.parts[columnShapes], 0), shape)
	}
	return true
}

func (c *columns) append(b []byte, p *blocks) []byte {
	for _, part := range c.parts {
		b = appendPart(b, p.pack(p.in, nil, part))
	}
	return b
}

// A taker takes the bytes of an accepted op apart. It judges nothing: what does
// not come back from its columns as it was is kept as it is.
type taker struct {
	b  []byte
	ok bool
}

func (t *taker) has(lead string) bool {
	if len(t.b) < len(lead) || string(t.b[:len(lead)]) != lead {
		return false
	}
	t.b = t.b[len(lead):]
	return true
}

func (t *taker) word(lead string) { t.ok = t.has(lead) && t.ok }

func (t *taker) number(lead string) (n int64) {
	t.word(lead)
	i := 0
	for ; i < len(t.b) && i < 17 && t.b[i] >= '0' && t.b[i] <= '9'; i++ {
		n = 10*n + int64(t.b[i]-'0')
	}
	t.b = t.b[i:]
	return n
}

// hex takes an id, or nothing where none stands.
func (t *taker) hex(lead string) (id ops.ID) {
	if t.word(lead); len(t.b) < 32 || t.b[0] == '"' {
		return id
	}
	_, err := hex.Decode(id[:], t.b[:32])
	t.ok = t.ok && err == nil
	t.b = t.b[32:]
	return id
}

func (t *taker) until(lead string, end byte) []byte {
	t.word(lead)
	i := bytes.IndexByte(t.b, end)
	if i < 0 {
		t.ok = false
		return nil
	}
	part := t.b[:i]
	t.b = t.b[i:]
	return part
}

// value takes one JSON value.
func (t *taker) value() []byte {
	depth, quoted := 0, false
	for i := 0; i < len(t.b); i++ {
		switch c := t.b[i]; {
		case quoted && c == '\\':
			i++
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '{' || c == '[':
			depth++
		case depth == 0 && (c == ',' || c == '}'):
			v := t.b[:i]
			t.b = t.b[i:]
			return v
		case c == '}' || c == ']':
			depth--
		}
	}
	t.ok = false
	return nil
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
	kind   string
	fields []opField
}

type opField struct {
	name string
	dots uint64
}

func newRebuilder(replica ops.ID, parts [columnCount][]byte) *rebuilder {
	r := &rebuilder{replica: replica, ids: []ops.ID{replica, {}}}
	for i, part := range parts {
		r.parts[i] = scan{tOps, part}
	}
	return r
}

func readColumns(s *scan, p *blocks) (parts [columnCount][]byte) {
	for i := range parts {
		parts[i] = p.unpack(tOps, s.part())
	}
	return parts
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
		p := scan{tOps, s.part()}
		shape := opShape{kind: string(p.part())}
		for len(p.b) > 0 {
			shape.fields = append(shape.fields, opField{string(p.part()), p.num()})
		}
		r.shapes = append(r.shapes, shape)
		n = uint64(len(r.shapes))
	}
	return known(r.shapes, n)
}

// next returns the bytes of the next op, whose number is n.
func (r *rebuilder) next(n uint64) []byte {
	r.ms += r.parts[columnTimes].diff()
	b := strconv.AppendInt(append(make([]byte, 0, 320), `{"at":[`...), r.ms, 10)
	b = strconv.AppendUint(append(b, ','), r.parts[columnCounts].num(), 10)
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
	for _, f := range shape.fields {
		if f.dots == 0 {
			continue
		}
		if some {
			b = append(b, ',')
		}
		some = true
		b = append(append(append(b, '"'), f.name...), `":[`...)
		for i := range f.dots {
			if i > 0 {
				b = append(b, ',')
			}
			b = appendDot(b, ops.Dot{Replica: r.id(), N: uint64(int64(n) - r.parts[columnOver].diff())})
		}
		b = append(b, ']')
	}
	b = hex.AppendEncode(append(b, `},"replica":"`...), r.replica[:])
	b = append(b, `","set":{`...)
	for i, f := range shape.fields {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(append(append(b, '"'), f.name...), `":`...)
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
