package store

import (
	"bytes"
	"encoding/binary"
	"encoding/json"

	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// An opBlock is a run of one replica's accepted ops. The chain is worked out
// again from their bytes; a digest stands only where the bytes do not.
type opBlock struct {
	replica ops.ID
	first   uint64
	before  ops.Digest // whole chain before the first
	ops     []replication.Logged
	size    int // of the bytes
}

// A row of the op table: the kind of row, then a short digest alone, or the
// chain before, how many ops and their size, and the packed block.
const (
	rowShort   = iota // known only by the digest of a hand-back
	rowColumns        // ops in columns
	rowBlock          // ops as they are
)

// What an entry of a block holds.
const (
	hasChain = 1 << iota // 32 bytes: there is no op to work it out from
	hasHow               // JSON
	hasOp
)

type how struct {
	Via     string                `json:"via,omitempty"`
	Renamed []replication.Renamed `json:"renamed,omitempty"`
}

func (b *opBlock) add(l replication.Logged) {
	b.ops = append(b.ops, l)
	b.size += len(l.Op) + 40
}

func (b *opBlock) encode(p *blocks) []byte {
	heads := make([]byte, 0, 40*len(b.ops))
	cols, raws := newColumns(b.replica), make([][]byte, len(b.ops))
	inColumns := true
	for i, l := range b.ops {
		flags := byte(0)
		if l.Op != nil {
			flags |= hasOp
		} else {
			flags |= hasChain
		}
		if l.Via != "" || len(l.Renamed) > 0 {
			flags |= hasHow
		}
		heads = append(heads, flags)
		if flags&hasChain != 0 {
			heads = append(heads, l.Chain[:]...)
		}
		if flags&hasHow != 0 {
			raw, err := json.Marshal(how{l.Via, l.Renamed})
			if err != nil {
				panic(err)
			}
			heads = appendPart(heads, raw)
		}
		if raws[i] = l.Op; l.Op != nil {
			inColumns = inColumns && cols.add(l.Op)
		}
	}
	inColumns = inColumns && newRebuilder(b.replica, cols.parts).same(b.first, raws)
	out := append([]byte{rowColumns}, b.before[:]...)
	out = binary.AppendUvarint(out, uint64(len(b.ops)))
	out = binary.AppendUvarint(out, uint64(b.size))
	out = appendPart(out, p.pack(p.in, nil, heads))
	if inColumns {
		return cols.append(out, p)
	}
	out[0] = rowBlock
	var body []byte
	for _, raw := range raws {
		if raw != nil {
			body = appendPart(body, raw)
		}
	}
	return p.pack(p.in, out, body)
}

func blockSize(raw []byte) (count, size uint64) {
	s := scan{tOps, raw[33:]}
	return s.num(), s.num()
}

func decodeOps(p *blocks, key, raw []byte) *opBlock {
	b := &opBlock{replica: ops.ID(key[16:32]), first: binary.BigEndian.Uint64(key[32:]), before: ops.Digest(raw[1:33])}
	head := scan{tOps, raw[33:]}
	count := head.num()
	b.size = int(head.num())
	s := scan{tOps, p.unpack(tOps, head.part())}
	var next func(n uint64) []byte
	if raw[0] == rowColumns {
		next = newRebuilder(b.replica, readColumns(&head, p)).next
	} else {
		body := scan{tOps, p.unpack(tOps, head.b)}
		next = func(uint64) []byte { return body.part() }
	}
	chain := b.before
	for i := range count {
		var l replication.Logged
		flags := s.take(1)[0]
		if flags&hasChain != 0 {
			chain = ops.Digest(s.take(32))
		}
		if flags&hasHow != 0 {
			var h how
			mustRead(tOps, s.part(), &h)
			l.Via, l.Renamed = h.Via, h.Renamed
		}
		if flags&hasOp != 0 {
			l.Op = next(b.first + i)
			chain = ops.Chain(chain, l.Op)
		}
		l.Chain = chain
		b.ops = append(b.ops, l)
	}
	return b
}

// Append stores an accepted op under the next sequence number.
func (c *studioCopy) Append(d ops.Dot, l replication.Logged) {
	before := c.chains[d.Replica]
	if l.Before != nil {
		before = *l.Before
	}
	at := l.Chain.Short()
	c.next(d, at)
	c.vector[d.Replica] = ops.Entry{N: d.N, Digest: at}
	c.chains[d.Replica] = l.Chain
	c.raised[d.Replica] = true
	b := c.open[d.Replica]
	if b == nil {
		b = &opBlock{replica: d.Replica, first: d.N, before: before}
		c.open[d.Replica] = b
	}
	b.add(l)
	if b.size >= opsBytes*c.t.s.blocks.bytes {
		c.flushOps(d.Replica)
	}
}

// Raise takes an entry of a hand-back's vector: what is known there is its short digest only.
func (c *studioCopy) Raise(replica ops.ID, e ops.Entry) {
	c.flushOps(replica)
	d := ops.Dot{Replica: replica, N: e.N}
	c.next(d, e.Digest)
	c.vector[replica] = e
	delete(c.chains, replica)
	c.raised[replica] = true
	c.t.rows.put(tOps, dotKey(c.studio, d), append([]byte{rowShort}, e.Digest[:]...))
}

// flushOps writes the open block of a replica, with those before it that are not twice as large.
func (c *studioCopy) flushOps(replica ops.ID) {
	b := c.open[replica]
	if b == nil {
		return
	}
	delete(c.open, replica)
	delete(c.opened, replica)
	for b.first > 1 {
		k, raw := c.opsAt(ops.Dot{Replica: replica, N: b.first - 1})
		if raw == nil || raw[0] == rowShort {
			break
		}
		count, size := blockSize(raw)
		if binary.BigEndian.Uint64(k[32:])+count != b.first || int(size) >= 2*b.size || int(size)+b.size > opsBytes*c.t.s.blocks.bytes {
			break
		}
		older := decodeOps(c.t.s.blocks, k, raw)
		c.t.rows.drop(tOps, bytes.Clone(k))
		older.ops = append(older.ops, b.ops...)
		older.size += b.size
		b = older
	}
	c.t.rows.put(tOps, dotKey(c.studio, ops.Dot{Replica: replica, N: b.first}), b.encode(c.t.s.blocks))
}

func (c *studioCopy) opsAt(d ops.Dot) (k, raw []byte) {
	return atOrBefore(c.t.rows, tOps, c.key(d.Replica[:]), num(d.N))
}

// find returns the block that an accepted op is in, with its place there; a
// block without ops is a digest alone.
func (c *studioCopy) find(d ops.Dot) (b *opBlock, i int, short *ops.Short) {
	in := func(b *opBlock) bool { return b != nil && d.N >= b.first && d.N < b.first+uint64(len(b.ops)) }
	for _, b := range []*opBlock{c.open[d.Replica], c.opened[d.Replica]} {
		if in(b) {
			return b, int(d.N - b.first), nil
		}
	}
	k, raw := c.opsAt(d)
	switch {
	case raw == nil:
		return nil, 0, nil
	case raw[0] == rowShort:
		if binary.BigEndian.Uint64(k[32:]) != d.N {
			return nil, 0, nil
		}
		at := ops.Short(raw[1:9])
		return nil, 0, &at
	}
	b = decodeOps(c.t.s.blocks, k, raw)
	if !in(b) {
		return nil, 0, nil
	}
	c.opened[d.Replica] = b
	return b, int(d.N - b.first), nil
}

func (c *studioCopy) DigestAt(d ops.Dot) (ops.Short, bool) {
	if e := c.vector[d.Replica]; e.N == d.N && e.N > 0 {
		return e.Digest, true
	}
	b, i, short := c.find(d)
	if b != nil {
		return b.ops[i].Chain.Short(), true
	}
	if short != nil {
		return *short, true
	}
	return ops.Short{}, false
}

// Logged returns what is kept of an accepted op; false where only its digest is known, or nothing.
func (c *studioCopy) Logged(d ops.Dot) (l replication.Logged, ok bool) {
	b, i, _ := c.find(d)
	if b == nil {
		return l, false
	}
	l = b.ops[i]
	if i == 0 {
		l.Before = &b.before
	}
	return l, true
}

// forget takes the bytes of an op out of the log; its digest stays.
func (c *studioCopy) forget(d ops.Dot) {
	c.flushOps(d.Replica)
	b, i, _ := c.find(d)
	if b == nil {
		return
	}
	b.size -= len(b.ops[i].Op)
	b.ops[i].Op = nil
	c.t.rows.put(tOps, dotKey(c.studio, ops.Dot{Replica: d.Replica, N: b.first}), b.encode(c.t.s.blocks))
}
