package replication

import (
	"fmt"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
)

// CheckRecord refuses a foreign record that is not of the format: what a
// hand-back, a page or a file brings is as hostile as an op.
func CheckRecord(r *merge.Record) error {
	if r == nil || !ops.Word(r.Kind, 32, false) || len(r.Fields) > 4*ops.MaxFields {
		return fmt.Errorf("%w: a record that can't be read", ErrBad)
	}
	for name, f := range r.Fields {
		if f == nil || !ops.Word(name, 64, true) {
			return fmt.Errorf("%w: field %.40q", ErrBad, name)
		}
		seen := map[ops.Dot]bool{}
		for _, v := range f.Live {
			if v.Dot.N == 0 || seen[v.Dot] || v.Value != nil && (len(v.Value) > ops.MaxOpBytes || !ops.CanonicalValue(v.Value)) {
				return fmt.Errorf("%w: a value of field %s", ErrBad, name)
			}
			if _, err := ops.ParseID(v.By); err != nil && v.By != "" {
				return fmt.Errorf("%w: the writer of a value of field %s", ErrBad, name)
			}
			seen[v.Dot] = true
		}
	}
	return nil
}
