package store

import (
	"maps"
	"slices"

	"evenpull/server/account"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// History returns what was written in a record, newest first, and whether there
// is more than so many writes. It goes from the values that stand to those they
// replaced, and so reads the log of this record alone. What came by a hand-back
// or was purged is known by its name only and ends the way there.
func (s *Store) History(studio, phone ops.ID, k merge.Key, most int) (values []replication.Written, more bool, err error) {
	err = s.Look(func(a account.Tx) error {
		t := a.(*tx)
		if _, err := account.Access(t, studio, phone); err != nil {
			return err
		}
		values, more = t.copy(studio).history(k, most)
		return nil
	})
	return values, more, err
}

func (c *studioCopy) history(k merge.Key, most int) (values []replication.Written, more bool) {
	seen, live := map[ops.Dot]bool{}, map[ops.Dot]map[string]bool{}
	var next []ops.Op // found and not told yet
	reach := func(d ops.Dot) {
		if seen[d] {
			return
		}
		seen[d] = true
		l, ok := c.Logged(d)
		if !ok || l.Op == nil {
			return
		}
		op, err := ops.Parse(l.Op)
		if err != nil || op.Kind != k.Kind || op.ID != k.ID {
			return
		}
		for _, dots := range op.Over {
			for i, o := range dots {
				dots[i] = l.Now(o)
			}
		}
		op.Replica, op.N = d.Replica, d.N
		next = append(next, op)
	}
	for name, f := range c.Record(k.Kind, k.ID).Fields {
		for _, v := range f.Live {
			if live[v.Dot] == nil {
				live[v.Dot] = map[string]bool{}
			}
			live[v.Dot][name] = true
			reach(v.Dot)
		}
	}
	for told := 0; len(next) > 0; told++ {
		if told == most {
			return values, true
		}
		i := newest(next)
		op := next[i]
		next = slices.Delete(next, i, i+1)
		for _, name := range slices.Sorted(maps.Keys(op.Set)) {
			values = append(values, replication.Written{Field: name, Dot: op.Dot(), At: op.At, By: op.By, Value: op.Set[name], Live: live[op.Dot()][name]})
		}
		for _, dots := range op.Over {
			for _, d := range dots {
				reach(d)
			}
		}
	}
	return values, false
}

// newest is the place of the op that was written last.
func newest(list []ops.Op) (at int) {
	for i, o := range list {
		if c := o.At.Compare(list[at].At); c > 0 || c == 0 && o.Dot().Compare(list[at].Dot()) > 0 {
			at = i
		}
	}
	return at
}
