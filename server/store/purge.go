package store

import (
	"context"
	"crypto/rand"
	"slices"

	"evenpull/server/account"
	"evenpull/server/fault"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
)

// purgeDots is how many dots one op names: well within the 64 KiB of an op.
const purgeDots = 1000

// Purge takes all that was ever written in the records away for good, for a
// keeper: what stands there, what stood there before, and photos that belong to
// them. It returns how many values that were. Every copy follows.
func (s *Store) Purge(ctx context.Context, studio, phone ops.ID, records []merge.Key) (values int, err error) {
	err = s.write(ctx, func(t *tx) error {
		k, err := account.MayPurge(t, studio, phone)
		if err != nil {
			return err
		}
		if t.rows.get(tCarried, key(studio[:])) != nil {
			return fault.New(fault.Conflict, "hub", "This server is a hub: not all that was ever written is here. Do this at the server above it.")
		}
		for _, r := range records {
			if m, ok := t.Member(studio, r.ID); ok && r.Kind == "person" && m.EndedMS == 0 {
				return fault.New(fault.Conflict, "records", "That person still has access. End it first.")
			}
		}
		c := t.copy(studio)
		c.flush()
		named := c.withPhotos(records)
		dots := c.dotsOf(named)
		values = len(dots)
		for part := range slices.Chunk(dots, purgeDots) {
			c.PutPurged(part)
			if err := t.Write(studio, k.Person, merge.KindPurge, newID(), map[string]any{merge.FieldDots: part}); err != nil {
				return err
			}
		}
		for key := range named {
			if len(c.Record(key.Kind, key.ID).Fields) == 0 {
				continue // nothing stands there
			}
			if err := t.Remove(studio, k.Person, key.Kind, key.ID); err != nil { // what is left of it is out of sight
				return err
			}
			if slices.Contains(records, key) {
				t.Note(studio, account.Deed{AtMS: s.now().UnixMilli(), By: k.Person, What: account.Purged, Kind: key.Kind})
			}
		}
		return nil
	})
	return values, err
}

func newID() (id ops.ID) { rand.Read(id[:]); return id }

// withPhotos adds the photo records that name one of the records as their parent.
func (c *studioCopy) withPhotos(records []merge.Key) map[merge.Key]bool {
	named, parents := map[merge.Key]bool{}, map[string]bool{}
	for _, k := range records {
		named[k] = true
		parents[string(ops.String(k.ID.String()))] = true
	}
	for e := range c.entries(0) {
		if e.k.Kind != kindPhoto {
			continue
		}
		if f := readRecord(e.k, e.raw).Fields["parent"]; f != nil && slices.ContainsFunc(f.Live, func(v merge.Value) bool { return parents[string(v.Value)] }) {
			named[e.k] = true
		}
	}
	return named
}

// dotsOf lists every op that wrote in one of the records: those whose bytes are
// kept, and those whose values still stand. What is purged already is left out.
func (c *studioCopy) dotsOf(records map[merge.Key]bool) []ops.Dot {
	found := map[ops.Dot]bool{}
	for k, raw := range under(c.t.rows, tOps, c.studio[:], nil) {
		if raw[0] == rowShort {
			continue
		}
		b := decodeOps(c.t.s.blocks, k, raw)
		for i, l := range b.ops {
			if l.Op == nil {
				continue
			}
			if op, err := ops.Parse(l.Op); err == nil && records[merge.Key{Kind: op.Kind, ID: op.ID}] {
				found[ops.Dot{Replica: b.replica, N: b.first + uint64(i)}] = true
			}
		}
	}
	for k := range records {
		for _, f := range c.Record(k.Kind, k.ID).Fields {
			for _, v := range f.Live {
				if v.Value != nil {
					found[v.Dot] = true
				}
			}
		}
	}
	dots := make([]ops.Dot, 0, len(found))
	for d := range found {
		dots = append(dots, d)
	}
	slices.SortFunc(dots, ops.Dot.Compare)
	return dots
}
