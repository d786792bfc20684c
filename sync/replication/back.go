package replication

import (
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"slices"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
)

// How a server takes in what a copy hands back.

// maxReplicas is how many names a copy's vector may hold: a hundred phones that
// are restored a hundred times. Whoever makes names up can't make every answer longer than that.
const maxReplicas = 10_000

// takeBack takes in what a copy hands back; after is how far that copy read
// here. The last part must wait (again) while something was handed back since by
// another: only the sender knows which of that its own vector means as replaced.
func takeBack(tx Tx, b *Back, may Rights, after uint64) (again bool, err error) {
	have := b.Have.Clone()
	delete(have, may.Own) // nobody else can know of more
	more := beyond(tx, have)
	if names := tx.Vector(); len(more) > 0 && len(names)+len(more) > maxReplicas {
		fresh := 0
		for replica := range more {
			if _, known := names[replica]; !known {
				fresh++
			}
		}
		if len(names)+fresh > maxReplicas {
			return false, fmt.Errorf("%w: a vector of more than %d replicas", ErrBad, maxReplicas)
		}
	}
	if b.Last && unread(tx, more, after) {
		return true, nil
	}
	for _, r := range b.Records {
		if err := CheckRecord(r); err != nil {
			return false, err
		}
		r.Known = nil
	}
	takeVoids(tx, may.voids(tx, b.Voids))
	takeRecords(tx, may.records(tx, b.Records), have, b.Last, !may.Servers)
	if b.Last && len(more) > 0 {
		settle(tx)
	}
	return false, nil
}

// records leaves out what its sender may not bring: what only servers write, which
// a server's own accounts say, and a purge that is not known here yet. That one comes with a keeper's copy.
func (may Rights) records(tx Tx, all []*merge.Record) []*merge.Record {
	return slices.DeleteFunc(slices.Clone(all), func(r *merge.Record) bool {
		if ServerOnly[r.Kind] {
			return !may.Servers
		}
		return r.Kind == merge.KindPurge && !may.Purge && slices.ContainsFunc(purges(r), func(d ops.Dot) bool { return !tx.Purged(d) })
	})
}

// voids leaves out those of ops that were taken in here: a phone hands back only
// what lies beyond our vector, and an op that was acknowledged is no void.
func (may Rights) voids(tx Tx, all []merge.Void) []merge.Void {
	return slices.DeleteFunc(slices.Clone(all), func(v merge.Void) bool { return tx.Has(v.Dot) && !may.Servers })
}

// purges lists the dots that a purge names; of another record, nothing.
func purges(r *merge.Record) (dots []ops.Dot) {
	f := r.Fields[merge.FieldDots]
	if f == nil || r.Kind != merge.KindPurge {
		return nil
	}
	for _, v := range f.Live {
		dots = append(dots, merge.PurgedBy(r.Kind, v.Value)...)
	}
	return dots
}

// takeVoids takes in voids that came from another copy, at a sequence number of
// their own: who has read all that there was must hear of them.
func takeVoids(tx Tx, voids []merge.Void) {
	known := func(v merge.Void) bool { _, ok := tx.Void(v.Dot); return ok }
	if voids = slices.DeleteFunc(slices.Clone(voids), known); len(voids) == 0 {
		return
	}
	tx.Tick()
	for _, v := range voids {
		takeVoid(tx, v)
	}
}

// settle gives all records out once more after a hand-back raised the vector.
// Who read them before did so under a vector that said less, and of a value that
// is live nowhere no one can tell any more in which record it stood.
func settle(tx Tx) {
	tx.Tick()
	for _, r := range tx.All() {
		merge.Trim(r, tx)
		tx.Put(r)
	}
}

// unread reports whether a record changed after that point holds a dot that the
// vector covers and ours does not.
func unread(tx Tx, more ops.Vector, after uint64) bool {
	if len(more) == 0 {
		return false
	}
	changed, _, _ := tx.Since(after, math.MaxInt)
	for _, raw := range changed {
		var r merge.Record
		if json.Unmarshal(raw, &r) == nil && r.Any(func(d ops.Dot) bool { return more.Has(d) && !tx.Has(d) }) {
			return true
		}
	}
	return false
}

// beyond returns the entries of a vector that reach beyond the copy's own.
func beyond(tx Tx, v ops.Vector) ops.Vector {
	more := ops.Vector{}
	for replica, e := range v {
		if e.N > tx.Vector()[replica].N {
			more[replica] = e
		}
	}
	return more
}

// takeRecords merges records read under have. With the last part it raises the
// vector; until then each record remembers what it knows beyond it, because parts
// of other hand-backs come in between and may bring what this one knows to be replaced.
// With keep no field that says something is left with nothing to say: an honest
// copy knows a value as replaced only by another one that it holds.
// It reports whether they held a value that is known here to be replaced.
func takeRecords(tx Tx, records []*merge.Record, have ops.Vector, last, keep bool) (stale bool) {
	for _, r := range records {
		if dots := purges(r); len(dots) > 0 {
			tx.PutPurged(dots)
		}
	}
	more := beyond(tx, have) // who read a record before did so under a vector that said less
	touched := make([]*merge.Record, 0, len(records))
	for _, t := range records {
		r := tx.Record(t.Kind, t.ID)
		before := r.Clone()
		merge.Take(r, t, have, tx)
		if keep {
			merge.KeepSaid(r, before)
		}
		if !last {
			r.Known = r.Known.Clone()
			r.Known.Raise(more)
		}
		stale = stale || merge.Lacks(r, t)
		if last && len(more) > 0 || !merge.Equal(before, r) {
			touched = append(touched, r)
		}
	}
	if len(touched) > 0 {
		tx.Tick()
		for _, r := range touched {
			tx.Put(r)
		}
	}
	if last {
		for _, replica := range slices.SortedFunc(maps.Keys(more), func(a, b ops.ID) int { return slices.Compare(a[:], b[:]) }) {
			tx.Raise(replica, more[replica])
		}
	}
	return stale
}
