package merge

import (
	"encoding/json"
	"errors"
	"slices"

	"evenpull/sync/ops"
)

// What others send is read here: nothing that is not of the format becomes a Void
// or a Fork, and so nothing of it is stored and handed on to phones, which refuse it.

var (
	errVoid = errors.New("not a void")
	errFork = errors.New("not a fork")
)

// MaxReason is how long the reason of a refusal may be, in bytes.
const MaxReason = 64

// UnmarshalJSON reads a void. One whose record is not named well stands for no
// record, as where the op could not be read at all.
func (v *Void) UnmarshalJSON(raw []byte) error {
	type plain Void
	if err := json.Unmarshal(raw, (*plain)(v)); err != nil {
		return err
	}
	if v.Dot.N == 0 || len(v.Reason) > MaxReason || !Replaceable(v.Over) {
		return errVoid
	}
	v.Kind, v.ID = Named(v.Kind, v.ID)
	return nil
}

// Replaceable reports whether an op could replace these dots of these fields.
func Replaceable(over map[string][]ops.Dot) bool {
	if len(over) > ops.MaxFields {
		return false
	}
	for field, dots := range over {
		if !ops.Word(field, 64, true) || len(dots) == 0 || len(dots) > ops.MaxOver || slices.ContainsFunc(dots, Nameless) {
			return false
		}
	}
	return true
}

// Nameless reports whether a dot names no op: JSON's null comes to be one.
func Nameless(d ops.Dot) bool { return d.N == 0 }

// Named returns the kind and id of a record, or nothing where they name none.
func Named(kind, id string) (string, string) {
	if _, err := ops.ParseID(id); err != nil || !ops.Word(kind, 32, false) {
		return "", ""
	}
	return kind, id
}

// UnmarshalJSON reads a fork. Its new name follows from its first digest.
func (k *Fork) UnmarshalJSON(raw []byte) error {
	type plain Fork
	if err := json.Unmarshal(raw, (*plain)(k)); err != nil {
		return err
	}
	if k.From == 0 || len(k.Digests) == 0 || len(k.Renamed) != len(k.Digests) || k.To != ops.ForkName(k.Replica, k.Digests[0]) {
		return errFork
	}
	return nil
}
