package store

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"slices"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// Tables of version 1, in which each op, each record and each sequence number had a row of its own.
const (
	oldLog     = "log"     // seq → short link, dot, digest, what was known of that replica before
	oldOps     = "ops"     // replica, n → flags, digest, how it came, the sender's bytes
	oldRecords = "records" // seq of the last change, kind, 0, id → the record as JSON
	oldPlaces  = "places"  // kind, 0, id → that seq
)

// intoBlocks leads from version 1 to 2.
func intoBlocks(r rows) error {
	return intoBlocksOf(r, blockBytes, mostLinks)
}

func intoBlocksOf(r rows, bytes, links int) error {
	b, err := newBlocks(bytes, links)
	if err != nil {
		return err
	}
	t := (&Store{blocks: b}).begin(r)
	var studios []ops.ID
	for k := range r.scan(tHeads, nil) {
		studios = append(studios, ops.ID(k))
	}
	for _, studio := range studios {
		c := openCopy(t, studio)
		head, link := c.head, c.link
		c.head, c.link, c.vector, c.chains = 0, ops.Digest{}, ops.Vector{}, map[ops.ID]ops.Digest{}
		for _, raw := range under(r, oldLog, studio[:], nil) {
			d := ops.Dot{Replica: ops.ID(raw[8:24]), N: binary.BigEndian.Uint64(raw[24:])}
			c.vector[d.Replica] = readEntry(raw[40:])
			c.next(d, ops.Short(raw[32:40]))
		}
		if c.head != head || c.link != link {
			return fmt.Errorf("the log of a studio ends at %d; it should end at %d", c.head, head)
		}
		c.flushLinks()
		if err := c.oldOps(); err != nil {
			return err
		}
		var entries []entry
		for k, raw := range under(r, oldRecords, studio[:], nil) {
			var rec merge.Record
			mustRead(oldRecords, raw, &rec)
			key := merge.Key{Kind: rec.Kind, ID: rec.ID}
			r.put(c.places, recordName(rec.Kind, rec.ID), binary.AppendUvarint(nil, binary.BigEndian.Uint64(k[16:])))
			entries = append(entries, entry{binary.BigEndian.Uint64(k[16:]), key, recordName(rec.Kind, rec.ID), appendRecord(nil, &rec)})
		}
		c.writeBlocks(entries)
	}
	for _, table := range []string{oldLog, oldOps, oldRecords, oldPlaces} {
		var keys [][]byte
		for k := range r.scan(table, nil) {
			keys = append(keys, slices.Clone(k))
		}
		for _, k := range keys {
			r.drop(table, k)
		}
	}
	return nil
}

func (c *studioCopy) oldOps() error {
	const shortOnly, how, op = 1, 2, 4
	var b *opBlock
	flush := func() {
		if b != nil {
			c.open[b.replica] = b
			c.flushOps(b.replica)
		}
		b = nil
	}
	for k, raw := range under(c.t.rows, oldOps, c.studio[:], nil) {
		d := readDot(k)
		if raw[0]&shortOnly != 0 {
			flush()
			c.t.rows.put(tOps, slices.Clone(k), append([]byte{rowShort}, raw[1:9]...))
			continue
		}
		l := replication.Logged{Chain: ops.Digest(raw[1:33])}
		rest := raw[33:]
		if raw[0]&how != 0 {
			var h struct {
				Via     string
				Renamed []replication.Renamed
				Before  *ops.Digest
			}
			n := binary.BigEndian.Uint16(rest)
			if err := json.Unmarshal(rest[2:2+n], &h); err != nil {
				return fmt.Errorf("how op %s came: %w", d, err)
			}
			l.Via, l.Renamed, l.Before = h.Via, h.Renamed, h.Before
			rest = rest[2+n:]
		}
		if raw[0]&op != 0 {
			l.Op = slices.Clone(rest)
		}
		if b != nil && (b.replica != d.Replica || b.first+uint64(len(b.ops)) != d.N || b.size >= opsBytes*c.t.s.blocks.bytes) {
			flush()
		}
		if b == nil {
			b = &opBlock{replica: d.Replica, first: d.N}
			switch before, _, _ := c.find(ops.Dot{Replica: d.Replica, N: d.N - 1}); {
			case l.Before != nil:
				b.before = *l.Before
			case before != nil:
				b.before = before.ops[len(before.ops)-1].Chain
			case d.N > 1:
				return fmt.Errorf("nothing tells the chain before op %s", d)
			}
		}
		b.add(l)
	}
	flush()
	return nil
}
