package store

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"encoding/json"
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
	r := &cached{Record: &merge.Record{Kind: k.Kind, ID: k.ID, Fields: map[string]*merge.Field{}}}
	if place := c.t.rows.get(tPlaces, c.key(recordName(k.Kind, k.ID))); place != nil {
		r.was = binary.BigEndian.Uint64(place)
		r.seq = r.was
		mustRead(tRecords, c.t.rows.get(tRecords, c.recordKey(r.was, k)), r.Record)
		r.photos = photosOf(r.Record)
		c.readKnown(r.Record)
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

// All returns copies of all records of the studio.
func (c *studioCopy) All() (all []*merge.Record) {
	c.write(false) // the caller looks at what each knows beyond the vector
	for _, raw := range under(c.t.rows, tRecords, c.studio[:], nil) {
		r := &merge.Record{}
		mustRead(tRecords, raw, r)
		c.readKnown(r)
		all = append(all, r)
	}
	return all
}

func (c *studioCopy) recordKey(seq uint64, k merge.Key) []byte {
	return c.key(num(seq), recordName(k.Kind, k.ID))
}

// Put says that a record that Record returned was changed by the op at the current head.
func (c *studioCopy) Put(r *merge.Record) {
	cr := c.cached(merge.Key{Kind: r.Kind, ID: r.ID})
	cr.Record, cr.seq, cr.dirty = r, c.head, true
}

// flush writes what changed.
func (c *studioCopy) flush() { c.write(true) }

// write writes what changed: places in key order, records in theirs, so that
// neighbours fall on one page. trim drops from records what the vector says by now.
func (c *studioCopy) write(trim bool) {
	c.flushVector()
	type change struct {
		*cached
		k    merge.Key
		name []byte
	}
	var changes []change
	for k, r := range c.records {
		if r.dirty {
			changes = append(changes, change{r, k, recordName(k.Kind, k.ID)})
		}
	}
	slices.SortFunc(changes, func(a, b change) int { return bytes.Compare(a.name, b.name) })
	for _, r := range changes {
		if r.was != 0 {
			c.t.rows.drop(tRecords, c.recordKey(r.was, r.k))
		}
		c.t.rows.put(tPlaces, c.key(r.name), num(r.seq))
		if r.k.Kind == kindPhoto {
			c.namePhotos(r.cached)
		}
	}
	slices.SortStableFunc(changes, func(a, b change) int { return cmp.Compare(a.seq, b.seq) })
	for _, r := range changes {
		if trim {
			merge.Trim(r.Record, c)
		}
		c.t.rows.put(tRecords, c.recordKey(r.seq, r.k), encodeRecord(r.Record))
		c.writeKnown(r.Record)
		r.was, r.dirty = r.seq, false
	}
}

// Since returns the records changed after a sequence number, in that order, in
// about maxBytes; never a part of those that changed at one number.
func (c *studioCopy) Since(after uint64, maxBytes int) (records []json.RawMessage, upTo uint64, more bool) {
	c.flush()
	size := 0
	for k, v := range under(c.t.rows, tRecords, c.studio[:], num(after+1)) {
		seq := binary.BigEndian.Uint64(k[16:])
		if size >= maxBytes && seq > upTo {
			return records, upTo, true
		}
		records = append(records, bytes.Clone(v)) // outlives the transaction
		upTo, size = seq, size+len(v)
	}
	return records, upTo, false
}

// holders lists the records that may hold a value under one of the dots: those
// that kept ops tell, and, where only a state was handed back, all.
func (c *studioCopy) holders(named map[ops.Dot]bool, told map[merge.Key]bool) []merge.Key {
	if len(told) < len(named) {
		for _, raw := range under(c.t.rows, tRecords, c.studio[:], nil) {
			var r merge.Record
			mustRead(tRecords, raw, &r)
			if merge.Purge(&r, named) {
				told[merge.Key{Kind: r.Kind, ID: r.ID}] = true
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

// encodeRecord writes a record as it travels: fields in order, entries as they
// stand. By hand, because ten thousand of them pass in one commit.
func encodeRecord(r *merge.Record) []byte {
	b := make([]byte, 0, 512)
	b = append(b, `{"kind":"`...)
	b = append(b, r.Kind...)
	b = append(b, `","id":"`...)
	b = append(b, r.ID.String()...)
	b = append(b, `","fields":{`...)
	for i, name := range slices.Sorted(maps.Keys(r.Fields)) {
		f := r.Fields[name]
		if i > 0 {
			b = append(b, ',')
		}
		b = append(b, '"')
		b = append(b, name...)
		b = append(b, `":{"live":[`...)
		for j, v := range f.Live {
			if j > 0 {
				b = append(b, ',')
			}
			b = append(b, `{"dot":"`...)
			b = append(b, v.Dot.String()...)
			b = append(b, `","at":[`...)
			b = appendUint(b, uint64(v.At.MS))
			b = append(b, ',')
			b = appendUint(b, uint64(v.At.Count))
			b = append(b, `],"by":"`...)
			b = append(b, v.By...)
			b = append(b, '"')
			if v.Value != nil {
				b = append(b, `,"value":`...)
				b = append(b, v.Value...)
			}
			b = append(b, '}')
		}
		b = append(b, ']')
		for j, d := range f.Dead {
			if j == 0 {
				b = append(b, `,"dead":[`...)
			} else {
				b = append(b, ',')
			}
			b = append(b, '"')
			b = append(b, d.String()...)
			b = append(b, '"')
			if j == len(f.Dead)-1 {
				b = append(b, ']')
			}
		}
		b = append(b, '}')
	}
	return append(b, '}', '}')
}
