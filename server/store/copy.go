package store

import (
	"encoding/binary"
	"slices"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// A studioCopy is one studio's state within a transaction: what replication
// works on. Records, vector and head are decoded once and written once, when
// the transaction ends or a page is read; all else goes to the tables at once.
type studioCopy struct {
	t       *tx
	studio  ops.ID
	places  string // table
	head    uint64
	link    ops.Digest
	ticked  uint64 // seq of the last Tick
	moved   bool
	vector  ops.Vector
	chains  map[ops.ID]ops.Digest
	raised  map[ops.ID]bool // entries of the vector that are not in the tables yet
	records map[merge.Key]*cached
	blocks  map[string]*recordBlock // by key, as they are in the tables but for who is dead
	links   *linkBlock              // the log's end that is not in the tables yet
	open    map[ops.ID]*opBlock     // the end of a replica's ops that is not in the tables yet
	opened  map[ops.ID]*opBlock     // the last one read of each
	none    map[string]bool         // tables that hold nothing of this studio: most never will
}

var _ replication.RelayTx = (*studioCopy)(nil)

func openCopy(t *tx, studio ops.ID) *studioCopy {
	c := &studioCopy{t: t, studio: studio, places: placesOf(studio), vector: ops.Vector{}, chains: map[ops.ID]ops.Digest{}, raised: map[ops.ID]bool{},
		records: map[merge.Key]*cached{}, blocks: map[string]*recordBlock{}, open: map[ops.ID]*opBlock{}, opened: map[ops.ID]*opBlock{},
		none: map[string]bool{}}
	if raw := t.rows.get(tHeads, studio[:]); raw != nil {
		c.head, c.link = binary.BigEndian.Uint64(raw), ops.Digest(raw[8:])
		if c.ticked = c.head; len(raw) == 48 { // else of a program that did not note it
			c.ticked = binary.BigEndian.Uint64(raw[40:])
		}
	}
	for k, v := range under(t.rows, tVector, studio[:], nil) {
		replica := ops.ID(k[16:])
		c.vector[replica] = readEntry(v)
		if len(v) > 16 {
			c.chains[replica] = ops.Digest(v[16:])
		}
	}
	for _, table := range []string{tVoids, tPurged, tRevived, tKnown} {
		c.none[table] = true
		for range under(t.rows, table, studio[:], nil) {
			c.none[table] = false
			break
		}
	}
	return c
}

func readEntry(b []byte) ops.Entry {
	return ops.Entry{N: binary.BigEndian.Uint64(b), Digest: ops.Short(b[8:16])}
}

func entryBytes(e ops.Entry) []byte { return key(num(e.N), e.Digest[:]) }

func (c *studioCopy) key(parts ...[]byte) []byte {
	n := len(c.studio)
	for _, p := range parts {
		n += len(p)
	}
	b := append(make([]byte, 0, n), c.studio[:]...)
	for _, p := range parts {
		b = append(b, p...)
	}
	return b
}

func (c *studioCopy) Server() (id, epoch string) { return c.t.s.server, c.t.s.epoch }
func (c *studioCopy) Head() uint64               { return c.head }
func (c *studioCopy) Vector() ops.Vector         { return c.vector }

func (c *studioCopy) Has(d ops.Dot) bool { return c.vector.Has(d) }

func (c *studioCopy) Void(d ops.Dot) (v merge.Void, ok bool) {
	if c.none[tVoids] {
		return v, false
	}
	ok = getJSON(c.t.rows, tVoids, dotKey(c.studio, d), &v)
	return v, ok
}

func (c *studioCopy) Purged(d ops.Dot) bool {
	return !c.none[tPurged] && c.t.rows.get(tPurged, dotKey(c.studio, d)) != nil
}

func (c *studioCopy) Revived(field string, d ops.Dot) bool {
	return !c.none[tRevived] && c.t.rows.get(tRevived, c.revivedKey(field, d)) != nil
}

func (c *studioCopy) revivedKey(field string, d ops.Dot) []byte {
	return c.key([]byte(field), []byte{0}, d.Replica[:], num(d.N))
}

func (c *studioCopy) Chain(replica ops.ID) (ops.Digest, bool) {
	chain, ok := c.chains[replica]
	return chain, ok
}

// SetChain keeps the whole digest at the vector's entry.
func (c *studioCopy) SetChain(replica ops.ID, chain ops.Digest) {
	if known, ok := c.chains[replica]; ok && known == chain || c.vector[replica].N == 0 {
		return
	}
	c.chains[replica] = chain
	c.raised[replica] = true
}

func (c *studioCopy) flushVector() {
	for replica := range c.raised {
		v := entryBytes(c.vector[replica])
		if chain, ok := c.chains[replica]; ok {
			v = append(v, chain[:]...)
		}
		c.t.rows.put(tVector, c.key(replica[:]), v)
	}
	clear(c.raised)
	if c.moved {
		c.t.rows.put(tHeads, c.key(), key(num(c.head), c.link[:], num(c.ticked)))
	}
}

// PutVoid stores a void. If the op was taken for real before, what only it
// replaced may come back from copies that know better.
func (c *studioCopy) PutVoid(v merge.Void) {
	if id, err := ops.ParseID(v.ID); err == nil && c.Has(v.Dot) {
		for field, dots := range merge.Undone(c.Record(v.Kind, id), v, c) {
			for _, d := range dots {
				c.t.rows.put(tRevived, c.revivedKey(field, d), []byte{})
				c.none[tRevived] = false
			}
		}
	}
	putJSON(c.t.rows, tVoids, dotKey(c.studio, v.Dot), v)
	c.t.rows.put(tVoidLog, c.key(num(c.head), v.Dot.Replica[:], num(v.Dot.N)), []byte{})
	c.none[tVoids] = false
}

func (c *studioCopy) VoidsSince(after uint64) (voids []merge.Void) {
	if c.none[tVoids] {
		return nil
	}
	for k := range under(c.t.rows, tVoidLog, c.studio[:], num(after+1)) {
		v, _ := c.Void(readDot(k))
		voids = append(voids, v)
	}
	slices.SortFunc(voids, func(a, b merge.Void) int { return a.Dot.Compare(b.Dot) })
	return voids
}

func (c *studioCopy) ForksSince(after uint64) []merge.Fork {
	return all[merge.Fork](under(c.t.rows, tForks, c.studio[:], num(after+1)), tForks)
}

// PutPurged takes the values of the named dots out of records and the bytes out
// of the log, now and whenever they come.
func (c *studioCopy) PutPurged(dots []ops.Dot) {
	named := map[ops.Dot]bool{}
	places := map[merge.Key]bool{}
	for _, d := range dots {
		if c.Purged(d) {
			continue
		}
		named[d] = true
		c.t.rows.put(tPurged, dotKey(c.studio, d), []byte{})
		c.none[tPurged] = false
		l, ok := c.Logged(d)
		if !ok || l.Op == nil {
			continue
		}
		if op, err := ops.Parse(l.Op); err == nil {
			places[merge.Key{Kind: op.Kind, ID: op.ID}] = true
		}
		c.forget(d)
	}
	if len(named) == 0 {
		return
	}
	for _, k := range c.holders(named, places) {
		r := c.cached(k)
		if merge.Purge(r.Record, named) {
			r.dirty, r.purged = true, true
		}
	}
}
