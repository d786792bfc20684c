package merge

import (
	"bytes"
	"encoding/json"
	"slices"

	"evenpull/sync/ops"
)

// A Fork says that a replica wrote two histories and that the one with these
// digests goes on under another name.
type Fork struct {
	Replica ops.ID      `json:"replica"`
	From    uint64      `json:"from"`    // the first differing op
	To      ops.ID      `json:"to"`      // ForkName(replica, digests[0])
	Before  ops.Short   `json:"before"`  // digest at from−1, shared by both
	Digests []ops.Short `json:"digests"` // of the renamed branch at from, from+1 …
	Renamed []ops.Short `json:"renamed"` // the same ops' digests under the new name at 1, 2 …
}

// Dot returns a dot of the renamed branch under its new name, others as they
// are: what lies behind the branch's end is the other branch's.
func (k Fork) Dot(d ops.Dot) ops.Dot {
	if d.Replica == k.Replica && d.N >= k.From && d.N-k.From < uint64(len(k.Renamed)) {
		return ops.Dot{Replica: k.To, N: d.N - k.From + 1}
	}
	return d
}

// Concerns reports whether a copy with this entry for the replica followed the
// branch that is renamed, and so must rename.
func (k Fork) Concerns(e ops.Entry) bool {
	i := int(e.N) - int(k.From)
	return i >= 0 && i < len(k.Digests) && k.Digests[i] == e.Digest
}

// References returns a value with the dots it names, of a removal or a purge,
// under the names that to gives them. Other values come back as they are.
func References(kind, field string, value json.RawMessage, to func(ops.Dot) ops.Dot) json.RawMessage {
	return references(kind, field, value, func(d ops.Dot) (ops.Dot, bool) { return to(d), true })
}

// references is References for a to that may also say that a dot is left out.
func references(kind, field string, value json.RawMessage, to func(ops.Dot) (ops.Dot, bool)) json.RawMessage {
	var dots []ops.Dot
	switch {
	case value == nil:
		return nil
	case kind == KindPurge && field == FieldDots:
		if json.Unmarshal(value, &dots) != nil {
			return value
		}
	case field == FieldRemoved:
		var removal struct{ Seen []ops.Dot }
		if json.Unmarshal(value, &removal) != nil {
			return value
		}
		dots = removal.Seen
	}
	named := make([]ops.Dot, 0, len(dots))
	for _, d := range dots {
		if d, ok := to(d); ok {
			named = append(named, d)
		}
	}
	if slices.Equal(named, dots) {
		return value
	}
	var v any = named
	if field == FieldRemoved {
		v = map[string]any{"seen": named}
	}
	renamed, err := ops.Canonical(v)
	if err != nil {
		return value
	}
	return renamed
}

// Rename gives the branch's dots in the record their new name.
func (k Fork) Rename(r *Record) (changed bool) {
	for name, f := range r.Fields {
		for i := range f.Live {
			if v := References(r.Kind, name, f.Live[i].Value, k.Dot); !bytes.Equal(v, f.Live[i].Value) {
				f.Live[i].Value, changed = v, true
			}
			if d := k.Dot(f.Live[i].Dot); d != f.Live[i].Dot {
				f.Live[i].Dot, changed = d, true
			}
		}
		for i := range f.Dead {
			if d := k.Dot(f.Dead[i]); d != f.Dead[i] {
				f.Dead[i], changed = d, true
			}
		}
		slices.SortFunc(f.Live, newestFirst)
		slices.SortFunc(f.Dead, ops.Dot.Compare)
		f.once(r.Kind, name)
	}
	return changed
}

// once makes one of what a record held under both names, as it may when the new
// one came with another copy: what is dead under one of them is dead.
func (f *Field) once(kind, name string) {
	f.Dead = slices.Compact(f.Dead)
	var live []Value
	for _, v := range f.Live {
		if n := len(live); n > 0 && live[n-1].Dot == v.Dot {
			live[n-1].Value = common(kind, name, live[n-1].Value, v.Value)
		} else if !slices.Contains(f.Dead, v.Dot) {
			live = append(live, v)
		}
	}
	f.Live = live
}
