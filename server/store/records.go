package store

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"encoding/json"
	"iter"
	"maps"
	"slices"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
)

// A cached record is one that this transaction looked at.
type cached struct {
	*merge.Record
	was    uint64 // seq it lies under in the tables, 0 for a new one
	seq    uint64
	dirty  bool
	purged bool
	photos []ops.Digest // that it named when it was read
}

func (c *studioCopy) Record(kind string, id ops.ID) *merge.Record {
	return c.cached(merge.Key{Kind: kind, ID: id}).Record
}

func (c *studioCopy) cached(k merge.Key) *cached {
	if r := c.records[k]; r != nil {
		return r
	}
	r := &cached{}
	name := recordName(k.Kind, k.ID)
	if place := c.t.rows.get(c.places, name); place != nil {
		r.was, _ = binary.Uvarint(place)
		r.seq = r.was
		b := c.blockOf(r.was, name)
		r.Record = readRecord(k, b.entries[b.find(r.was, name)].raw)
		r.photos = photosOf(r.Record)
		c.readKnown(r.Record)
	} else {
		r.Record = &merge.Record{Kind: k.Kind, ID: k.ID, Fields: map[string]*merge.Field{}}
	}
	c.records[k] = r
	return r
}

// readKnown adds what stands beside the record: it is no other's business and
// never part of what travels.
func (c *studioCopy) readKnown(r *merge.Record) {
	if !c.none[tKnown] {
		getJSON(c.t.rows, tKnown, c.key(recordName(r.Kind, r.ID)), &r.Known)
	}
}

func (c *studioCopy) writeKnown(r *merge.Record) {
	name := c.key(recordName(r.Kind, r.ID))
	switch {
	case len(r.Known) > 0:
		putJSON(c.t.rows, tKnown, name, r.Known)
		c.none[tKnown] = false
	case !c.none[tKnown]:
		c.t.rows.drop(tKnown, name)
	}
}

// entries goes through the records that are in the tables, in the order of
// their last change, from those that changed after a sequence number on.
func (c *studioCopy) entries(after uint64) iter.Seq[entry] {
	return func(yield func(entry) bool) {
		from := c.key(num(after + 1))
		if k, _ := atOrBefore(c.t.rows, tRecords, c.studio[:], from[16:]); k != nil {
			from = k
		}
		for k, raw := range under(c.t.rows, tRecords, c.studio[:], from[16:]) {
			if last, _, _, _ := blockHead(raw); last <= after {
				continue
			}
			for _, e := range readBlock(c.t.s.blocks, k, raw, c.t.rows.get(tDead, k)).live() {
				if e.seq > after && !yield(e) {
					return
				}
			}
		}
	}
}

// All returns copies of all records of the studio.
func (c *studioCopy) All() (all []*merge.Record) {
	c.write(false) // the caller looks at what each knows beyond the vector
	for e := range c.entries(0) {
		r := readRecord(e.k, e.raw)
		c.readKnown(r)
		all = append(all, r)
	}
	return all
}

// Put says that a record that Record returned was changed by the op at the current head.
func (c *studioCopy) Put(r *merge.Record) {
	cr := c.cached(merge.Key{Kind: r.Kind, ID: r.ID})
	cr.Record, cr.seq, cr.dirty = r, c.head, true
}

// flush writes what changed.
func (c *studioCopy) flush() {
	c.write(true)
	c.flushLinks()
	for _, replica := range slices.SortedFunc(maps.Keys(c.open), func(a, b ops.ID) int { return bytes.Compare(a[:], b[:]) }) {
		c.flushOps(replica)
	}
	c.flushVector()
}

// write writes the records that changed: places in key order, so that neighbours
// fall on one page; records behind all others. trim drops from records what the
// vector says by now.
func (c *studioCopy) write(trim bool) {
	var changes []*cached
	for _, r := range c.records {
		if r.dirty {
			changes = append(changes, r)
		}
	}
	if len(changes) == 0 {
		return
	}
	names := make(map[*cached][]byte, len(changes))
	for _, r := range changes {
		names[r] = recordName(r.Kind, r.ID)
	}
	slices.SortFunc(changes, func(a, b *cached) int { return bytes.Compare(names[a], names[b]) })
	for _, r := range changes {
		if r.was != 0 {
			b := c.blockOf(r.was, names[r])
			b.kill(b.find(r.was, names[r]))
		}
		c.t.rows.put(c.places, names[r], binary.AppendUvarint(nil, r.seq))
		if r.Kind == kindPhoto {
			c.namePhotos(r)
		}
	}
	slices.SortStableFunc(changes, func(a, b *cached) int { return cmp.Compare(a.seq, b.seq) })
	fresh := make([]entry, len(changes))
	for i, r := range changes {
		if trim {
			merge.Trim(r.Record, c)
		}
		fresh[i] = entry{r.seq, merge.Key{Kind: r.Kind, ID: r.ID}, names[r], appendRecord(nil, r.Record)}
		c.writeKnown(r.Record)
		r.was, r.dirty = r.seq, false
	}
	c.writeBlocks(fresh)
}

// blockOf returns the block that a record lies in, decoded once in a transaction.
func (c *studioCopy) blockOf(seq uint64, name []byte) *recordBlock {
	k, raw := atOrBefore(c.t.rows, tRecords, c.studio[:], key(num(seq), name))
	if k == nil {
		panic("a record's place leads nowhere")
	}
	return c.block(k, raw)
}

func (c *studioCopy) block(k, raw []byte) *recordBlock {
	b := c.blocks[string(k)]
	if b == nil {
		b = readBlock(c.t.s.blocks, k, raw, c.t.rows.get(tDead, k))
		c.blocks[string(k)] = b
	}
	return b
}

// writeBlocks puts fresh entries behind all others and keeps up which of the
// earlier are dead. Where a third of a block is dead the rest is written anew; small
// blocks at the end are taken into the fresh one, as in the log.
func (c *studioCopy) writeBlocks(fresh []entry) {
	size := 0
	for _, e := range fresh {
		size += e.size()
	}
	for len(fresh) > 0 {
		k, raw := atOrBefore(c.t.rows, tRecords, c.studio[:], num(1<<63)) // the last one
		if k == nil {
			break
		}
		last, _, _, _ := blockHead(raw)
		b := c.block(k, raw)
		left := b.size - b.gone
		if last < fresh[0].seq && (left >= 2*size || left+size > c.t.s.blocks.bytes) {
			break
		}
		fresh = append(b.live(), fresh...)
		slices.SortFunc(fresh, func(x, y entry) int { return x.compare(y.seq, y.name) })
		size += left
		c.dropBlock(b)
	}
	most := size / 2 // to write anew in one commit: the rest has time
	for _, k := range slices.Sorted(maps.Keys(c.blocks)) {
		b := c.blocks[k]
		switch {
		case !b.touched:
		case b.gone == b.size:
			c.dropBlock(b)
		case 3*b.gone > b.size && most > 0:
			most -= b.size - b.gone
			c.putBlock(b.key, b.live())
		default:
			c.t.rows.put(tDead, b.key, b.dead)
			b.touched = false
		}
	}
	for len(fresh) > 0 {
		n, bytes := 0, 0
		for n < len(fresh) && (n == 0 || bytes+fresh[n].size() <= c.t.s.blocks.bytes) {
			bytes += fresh[n].size()
			n++
		}
		c.putBlock(c.key(num(fresh[0].seq), fresh[0].name), fresh[:n])
		fresh = fresh[n:]
	}
}

func (c *studioCopy) putBlock(k []byte, entries []entry) {
	c.t.rows.put(tRecords, k, encodeBlock(c.t.s.blocks, entries))
	c.t.rows.drop(tDead, k)
	delete(c.blocks, string(k))
}

func (c *studioCopy) dropBlock(b *recordBlock) {
	c.t.rows.drop(tRecords, b.key)
	c.t.rows.drop(tDead, b.key)
	delete(c.blocks, string(b.key))
}

// Since returns the records changed after a sequence number, in that order, in
// about maxBytes; never a part of those that changed at one number.
func (c *studioCopy) Since(after uint64, maxBytes int) (records []json.RawMessage, upTo uint64, more bool) {
	c.flush()
	if after >= c.head {
		return nil, 0, false
	}
	buf, size := make([]byte, 0, 4<<10), 0
	for e := range c.entries(after) {
		if size >= maxBytes && e.seq > upTo {
			return records, upTo, true
		}
		if len(buf) > cap(buf)/2 {
			buf = make([]byte, 0, min(max(cap(buf)*2, 4*len(e.raw)), 256<<10))
		}
		start := len(buf)
		buf = appendJSON(buf, readRecord(e.k, e.raw))
		records = append(records, buf[start:len(buf):len(buf)])
		upTo, size = e.seq, size+len(buf)-start
	}
	return records, upTo, false
}

// holders lists the records that may hold a value under one of the dots: those
// that kept ops tell, and, where only a state was handed back, all.
func (c *studioCopy) holders(named map[ops.Dot]bool, told map[merge.Key]bool) []merge.Key {
	if len(told) < len(named) {
		for e := range c.entries(0) {
			if merge.Purge(readRecord(e.k, e.raw), named) {
				told[e.k] = true
			}
		}
		for k, r := range c.records { // not written yet
			if merge.Purge(r.Record.Clone(), named) {
				told[k] = true
			}
		}
	}
	return slices.Collect(maps.Keys(told))
}
