package replication

import (
	"maps"
	"slices"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
)

// What a phone hands back to a server that lost it, or never heard of it.

func (c *Cursor) doubt(k merge.Key) {
	if c.Doubt == nil {
		c.Doubt = map[merge.Key]bool{}
	}
	c.Doubt[k] = true
}

func (p *Phone) doubt(c *Cursor, records []*merge.Record) {
	for _, t := range records {
		mine := p.Base.Records[merge.Key{Kind: t.Kind, ID: t.ID}]
		for name, f := range t.Fields {
			for _, v := range f.Live {
				if p.Base.Has(v.Dot) && !mine.Holds(name, v.Dot) || mine.HoldsDead(name, v.Dot) || mine.SaysElse(name, v) {
					c.doubt(merge.Key{Kind: t.Kind, ID: t.ID})
				}
			}
		}
	}
}

// refusedNow returns why a hand-back was not taken, or "".
func refusedNow(a *Answer) string {
	for _, r := range a.Refused {
		if r.Replica == (ops.ID{}) {
			return r.Reason
		}
	}
	return ""
}

// handBack lists, in parts of size records, what a server with vector c lacks.
func (p *Phone) handBack(c ops.Vector, doubt map[merge.Key]bool, size int) (parts []Back) {
	beyond := len(doubt) > 0
	for r, e := range p.Base.C {
		beyond = beyond || e.N > c[r].N
	}
	var records []*merge.Record
	for _, k := range slices.SortedFunc(maps.Keys(p.Base.Records), compareKeys) {
		// A purge always: a server may know of it as seen, and have it of nobody who may purge.
		if r := p.Base.Records[k]; r.Beyond(c) || doubt[k] || k.Kind == merge.KindPurge {
			records = append(records, r.Clone())
		}
	}
	if !beyond && len(records) == 0 {
		return nil
	}
	voids := []merge.Void{}
	for _, d := range slices.SortedFunc(maps.Keys(p.Base.Voids), ops.Dot.Compare) {
		if !c.Has(d) {
			voids = append(voids, p.Base.Voids[d])
		}
	}
	have := p.Base.C.Clone()
	for {
		n := min(size, len(records))
		parts = append(parts, Back{Have: have, Records: records[:n], Voids: voids})
		records, voids = records[n:], []merge.Void{}
		if len(records) == 0 {
			parts[len(parts)-1].Last = true
			return parts
		}
	}
}

func compareKeys(a, b merge.Key) int {
	if a.Kind != b.Kind {
		return slices.Compare([]byte(a.Kind), []byte(b.Kind))
	}
	return slices.Compare(a.ID[:], b.ID[:])
}
