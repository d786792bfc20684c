package store

import (
	"bytes"
	"encoding/binary"

	"evenpull/sync/ops"
)

// A linkBlock is a stretch of the server's log: what was accepted at each
// sequence number, in runs of one replica. Links are worked out again when they
// are asked for: only the one before the block is kept.
type linkBlock struct {
	first  uint64     // sequence number
	before ops.Digest // the link there − 1
	runs   []linkRun
	count  int
}

// A linkRun is ops n, n+1 … of one replica. Before is what was known of it until then.
type linkRun struct {
	replica ops.ID
	n       uint64 // 0: nothing was accepted, the sequence moved on
	before  ops.Entry
	at      []ops.Short
}

func (b *linkBlock) add(d ops.Dot, at ops.Short, before ops.Entry) {
	b.count++
	if i := len(b.runs) - 1; i >= 0 && d.N > 0 {
		r := &b.runs[i]
		if r.replica == d.Replica && r.n > 0 && d.N == r.n+uint64(len(r.at)) && before == (ops.Entry{N: d.N - 1, Digest: r.at[len(r.at)-1]}) {
			r.at = append(r.at, at)
			return
		}
	}
	b.runs = append(b.runs, linkRun{d.Replica, d.N, before, []ops.Short{at}})
}

// each calls yield for each sequence number in order, until it returns false.
func (b *linkBlock) each(yield func(seq uint64, d ops.Dot, at ops.Short, before ops.Entry) bool) {
	seq := b.first
	for _, r := range b.runs {
		before := r.before
		for i, at := range r.at {
			d := ops.Dot{Replica: r.replica}
			if r.n > 0 {
				d.N = r.n + uint64(i)
			}
			if !yield(seq, d, at, before) {
				return
			}
			seq, before = seq+1, ops.Entry{N: d.N, Digest: at}
		}
	}
}

func (b *linkBlock) encode() []byte {
	out := append(binary.AppendUvarint(nil, uint64(b.count)), b.before[:]...)
	for _, r := range b.runs {
		out = append(out, r.replica[:]...)
		out = binary.AppendUvarint(out, r.n)
		out = binary.AppendUvarint(out, r.before.N)
		out = append(out, r.before.Digest[:]...)
		out = binary.AppendUvarint(out, uint64(len(r.at)))
		for _, at := range r.at {
			out = append(out, at[:]...)
		}
	}
	return out
}

func decodeLinks(key, raw []byte) *linkBlock {
	s := scan{tLinks, raw}
	b := &linkBlock{first: binary.BigEndian.Uint64(key[16:]), count: int(s.num()), before: ops.Digest(s.take(32))}
	for len(s.b) > 0 {
		r := linkRun{replica: ops.ID(s.take(16)), n: s.num()}
		r.before = ops.Entry{N: s.num(), Digest: ops.Short(s.take(8))}
		for range s.num() {
			r.at = append(r.at, ops.Short(s.take(8)))
		}
		b.runs = append(b.runs, r)
	}
	return b
}

// next gives what was accepted the next sequence number and the server's chain the next link.
func (c *studioCopy) next(d ops.Dot, at ops.Short) {
	b := c.links
	if b == nil || b.count >= c.t.s.blocks.links {
		c.flushLinks()
		b = &linkBlock{first: c.head + 1, before: c.link}
		c.links = b
	}
	b.add(d, at, c.vector[d.Replica])
	c.head++
	c.link = ops.ServerLink(c.link, d, at)
	c.moved = true
}

// Tick moves the sequence on with nothing accepted.
func (c *studioCopy) Tick() {
	c.next(ops.Dot{}, ops.Short{})
	c.ticked = c.head
}

// flushLinks writes the open block. Blocks before it that are not twice as large
// are taken into it: so a phone that writes op by op leaves few rows, and each is
// written a few times at most.
func (c *studioCopy) flushLinks() {
	b := c.links
	if b == nil {
		return
	}
	c.links = nil
	for b.first > 1 {
		k, raw := c.linksAt(b.first - 1)
		if raw == nil {
			break
		}
		if count, _ := binary.Uvarint(raw); int(count) >= 2*b.count || int(count)+b.count > c.t.s.blocks.links {
			break
		}
		older := decodeLinks(k, raw)
		c.t.rows.drop(tLinks, bytes.Clone(k))
		b.each(func(_ uint64, d ops.Dot, at ops.Short, before ops.Entry) bool { older.add(d, at, before); return true })
		b = older
	}
	c.t.rows.put(tLinks, c.key(num(b.first)), b.encode())
}

// linksAt finds the block that a sequence number is in.
func (c *studioCopy) linksAt(seq uint64) (k, raw []byte) {
	return atOrBefore(c.t.rows, tLinks, c.studio[:], num(seq))
}

func (c *studioCopy) LinkAt(seq uint64) (short ops.Short, ok bool) {
	switch {
	case seq == 0:
		return short, true
	case seq == c.head:
		return c.link.Short(), true
	case seq > c.head:
		return short, false
	}
	c.flushLinks()
	k, raw := c.linksAt(seq)
	if raw == nil {
		return short, false
	}
	b := decodeLinks(k, raw)
	link := b.before
	b.each(func(at uint64, d ops.Dot, digest ops.Short, _ ops.Entry) bool {
		link = ops.ServerLink(link, d, digest)
		ok = at == seq
		return !ok
	})
	return link.Short(), ok
}

// VectorAt goes back from the vector of now: the log says what was known of a
// replica before, and the oldest mention after seq says it last.
func (c *studioCopy) VectorAt(seq uint64) ops.Vector {
	v := c.vector.Clone()
	if seq >= c.head {
		return v
	}
	c.flushLinks()
	seen, names := map[ops.ID]bool{}, c.names()
	from, _ := c.linksAt(seq + 1)
	for k, raw := range under(c.t.rows, tLinks, c.studio[:], from[16:]) {
		decodeLinks(k, raw).each(func(at uint64, d ops.Dot, _ ops.Short, before ops.Entry) bool {
			if at <= seq || d.N == 0 {
				return true
			}
			if d, before = names.of(at, d, before); seen[d.Replica] {
				return true
			}
			seen[d.Replica] = true
			if before.N > 0 {
				v[d.Replica] = before
			} else {
				delete(v, d.Replica)
			}
			return true
		})
	}
	return v
}
