package store

import (
	"bytes"
	"encoding/binary"
	"slices"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// Rename gives a branch of a replica its other name: in the kept ops, in voids,
// in the vector and in all records, which everybody then reads anew. The log
// keeps its links, which stand in cursors; names tells how to read it. Seldom:
// it takes a phone that was cloned and wrote on at two servers.
func (c *studioCopy) Rename(k merge.Fork, branch []replication.Logged) {
	c.flush()
	clear(c.opened)
	c.cutOps(ops.Dot{Replica: k.Replica, N: k.From})
	c.noteRenamed(replication.Renamed{Replica: k.Replica, From: k.From, To: k.To})
	known := c.vector[k.To]
	before := ops.Digest{}
	for i, l := range branch {
		if n := uint64(i) + 1; n > known.N {
			b := c.open[k.To]
			if b == nil {
				b = &opBlock{replica: k.To, first: n, before: before}
				c.open[k.To] = b
			}
			if b.add(l); b.size >= opsBytes*c.t.s.blocks.bytes {
				c.flushOps(k.To)
			}
		}
		before = l.Chain
	}
	c.flushOps(k.To)
	c.renameVoids(k)
	c.renameEntry(k, before)
	c.Tick()
	putJSON(c.t.rows, tForks, c.key(num(c.head)), k)
	for _, key := range c.keys() {
		r := c.Record(key.Kind, key.ID)
		k.Rename(r)
		c.Put(r)
	}
	if w := c.t.s.own[c.studio]; w != nil && w.replica == k.Replica {
		delete(c.t.s.own, c.studio)
	}
}

// cutOps drops the kept ops of a replica from a number on.
func (c *studioCopy) cutOps(from ops.Dot) {
	if k, raw := c.opsAt(from); raw != nil && raw[0] != rowShort {
		b := decodeOps(c.t.s.blocks, k, raw)
		if keep := from.N - b.first; keep > 0 && keep < uint64(len(b.ops)) {
			for _, l := range b.ops[keep:] {
				b.size -= len(l.Op) + 40
			}
			b.ops = b.ops[:keep]
			c.t.rows.put(tOps, bytes.Clone(k), b.encode(c.t.s.blocks))
		}
	}
	var gone [][]byte
	for k := range under(c.t.rows, tOps, c.key(from.Replica[:]), num(from.N)) {
		gone = append(gone, bytes.Clone(k))
	}
	for _, k := range gone {
		c.t.rows.drop(tOps, k)
	}
}

// noteRenamed notes with each kept op that dots it names may mean the new name.
func (c *studioCopy) noteRenamed(how replication.Renamed) {
	blocks := map[string][]byte{}
	for k, raw := range under(c.t.rows, tOps, c.studio[:], nil) {
		if raw[0] == rowShort || ops.ID(k[16:32]) == how.To {
			continue
		}
		b := decodeOps(c.t.s.blocks, k, raw)
		for i := range b.ops {
			b.ops[i].Renamed = append(slices.Clone(b.ops[i].Renamed), how)
		}
		blocks[string(k)] = b.encode(c.t.s.blocks)
	}
	for k, raw := range blocks {
		c.t.rows.put(tOps, []byte(k), raw)
	}
}

// renameVoids gives the branch's voids, and purges of its ops, their new names.
func (c *studioCopy) renameVoids(k merge.Fork) {
	for _, v := range c.Voids() {
		to := k.Dot(v.Dot)
		if to == v.Dot {
			continue
		}
		c.t.rows.drop(tVoids, dotKey(c.studio, v.Dot))
		v.Dot, v.Digest = to, k.Renamed[to.N-1]
		putJSON(c.t.rows, tVoids, dotKey(c.studio, to), v)
	}
	for _, table := range []string{tVoidLog, tPurged} {
		var keys [][]byte
		for key := range under(c.t.rows, table, c.studio[:], nil) {
			keys = append(keys, bytes.Clone(key))
		}
		for _, key := range keys {
			if to := k.Dot(readDot(key)); to != readDot(key) {
				c.t.rows.drop(table, key)
				c.t.rows.put(table, append(bytes.Clone(key[:len(key)-24]), append(to.Replica[:], num(to.N)...)...), []byte{})
			}
		}
	}
}

// renameEntry moves the branch in the vector; last is the whole chain at its end.
func (c *studioCopy) renameEntry(k merge.Fork, last ops.Digest) {
	delete(c.chains, k.Replica)
	if k.From == 1 {
		delete(c.vector, k.Replica)
		delete(c.raised, k.Replica)
		c.t.rows.drop(tVector, c.key(k.Replica[:]))
	} else {
		c.vector[k.Replica] = ops.Entry{N: k.From - 1, Digest: k.Before}
		c.raised[k.Replica] = true
	}
	if n := uint64(len(k.Renamed)); n > c.vector[k.To].N {
		c.vector[k.To] = ops.Entry{N: n, Digest: k.Renamed[n-1]}
		c.chains[k.To], c.raised[k.To] = last, true
	}
}

// keys lists the records that are in the tables.
func (c *studioCopy) keys() (keys []merge.Key) {
	for e := range c.entries(0) {
		keys = append(keys, e.k)
	}
	return keys
}

// Names tell under which name something stands now that was logged under another.
type names []renamedAt

type renamedAt struct {
	seq  uint64
	fork merge.Fork
}

func (c *studioCopy) names() (list names) {
	for k, raw := range under(c.t.rows, tForks, c.studio[:], nil) {
		var f merge.Fork
		mustRead(tForks, raw, &f)
		list = append(list, renamedAt{binary.BigEndian.Uint64(k[16:]), f})
	}
	return list
}

// now returns the name and digest of today of what was accepted at a sequence number.
func (n names) now(seq uint64, d ops.Dot, at ops.Short) (ops.Dot, ops.Short) {
	for _, r := range n {
		if to := r.fork.Dot(d); r.seq > seq && to != d {
			d, at = to, r.fork.Renamed[to.N-1]
		}
	}
	return d, at
}

// of does the same with what was known of the replica before.
func (n names) of(seq uint64, d ops.Dot, before ops.Entry) (ops.Dot, ops.Entry) {
	for _, r := range n {
		if to := r.fork.Dot(d); r.seq > seq && to != d {
			d, before = to, ops.Entry{}
			if to.N > 1 {
				before = ops.Entry{N: to.N - 1, Digest: r.fork.Renamed[to.N-2]}
			}
		}
	}
	return d, before
}
