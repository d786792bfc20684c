package replication

import (
	"encoding/json"
	"fmt"
	"slices"

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
		if slices.ContainsFunc(f.Dead, merge.Nameless) {
			return fmt.Errorf("%w: what field %s replaced", ErrBad, name)
		}
		seen := map[ops.Dot]bool{}
		for _, v := range f.Live {
			if merge.Nameless(v.Dot) || seen[v.Dot] || v.Value != nil && (len(v.Value) > ops.MaxOpBytes || !ops.CanonicalValue(v.Value)) {
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

// UnmarshalJSON reads a void as hostile as any other: it is stored and handed on.
func (v *VoidAt) UnmarshalJSON(raw []byte) error {
	type plain VoidAt
	if err := json.Unmarshal(raw, (*plain)(v)); err != nil {
		return err
	}
	if v.Reason == "" || len(v.Reason) > merge.MaxReason || !merge.Replaceable(v.Over) {
		return fmt.Errorf("%w: a void that can't be read", ErrBad)
	}
	v.Kind, v.ID = merge.Named(v.Kind, v.ID)
	return nil
}

// UnmarshalJSON refuses one that begins before the first op: the dots would grow.
func (k *Renamed) UnmarshalJSON(raw []byte) error {
	type plain Renamed
	if err := json.Unmarshal(raw, (*plain)(k)); err != nil {
		return err
	}
	if k.From == 0 {
		return fmt.Errorf("%w: a name for what lies before the first op", ErrBad)
	}
	return nil
}
