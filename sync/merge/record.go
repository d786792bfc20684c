// Package merge turns ops and other copies' records into state, the same
// whatever order they come in. Its functions work on one record at a time, so
// that a store need load no more than that; State holds a whole copy in memory.
package merge

import (
	"bytes"
	"encoding/json"
	"maps"
	"slices"

	"evenpull/sync/clock"
	"evenpull/sync/ops"
)

// Kinds that this package knows. All others are kept without knowing what they mean.
const (
	KindPurge    = "purge"
	FieldDots    = "dots"    // of a purge: the dots it names
	FieldRemoved = "removed" // of any record: {seen: [dots]}
)

// A Value is one live value of a field. Value is nil where a purge took it: the
// entry keeps its place, so that what it replaced stays replaced.
type Value struct {
	Dot   ops.Dot         `json:"dot"`
	At    clock.Stamp     `json:"at"`
	By    string          `json:"by"`
	Value json.RawMessage `json:"value,omitempty"`
}

// A Field holds its live values, newest first, and the dots that some op named
// before they themselves arrived.
type Field struct {
	Live []Value   `json:"live"`
	Dead []ops.Dot `json:"dead,omitempty"`
}

// A Record is everything with one kind and id. It is also the unit that travels down.
type Record struct {
	Kind   string            `json:"kind"`
	ID     ops.ID            `json:"id"`
	Fields map[string]*Field `json:"fields"`
	// Known is what this record holds beyond the copy's vector, where a hand-back
	// of several parts is not finished. It is a server's own and no other's business.
	Known ops.Vector `json:"known,omitempty"`
}

// A Void stands where an op was refused for good. It replaces nothing by
// itself; an op that names it replaces what the void would have.
type Void struct {
	Dot    ops.Dot              `json:"dot"`
	Digest ops.Short            `json:"digest"`
	Kind   string               `json:"kind,omitempty"`
	ID     string               `json:"id,omitempty"`
	Over   map[string][]ops.Dot `json:"over"`
	Reason string               `json:"reason"`
}

// A Context is what a copy knows beyond the one record at hand.
type Context interface {
	Has(ops.Dot) bool             // covered by the copy's vector
	Void(ops.Dot) (Void, bool)    // refused for good
	Purged(ops.Dot) bool          // named by a purge
	Revived(string, ops.Dot) bool // was replaced here, in that field, only by what turned out to be a void
}

func (r *Record) field(name string) *Field {
	if r.Fields == nil {
		r.Fields = map[string]*Field{}
	}
	f := r.Fields[name]
	if f == nil {
		f = &Field{}
		r.Fields[name] = f
	}
	return f
}

// Clone returns a record that can be changed without changing r.
func (r *Record) Clone() *Record {
	c := &Record{Kind: r.Kind, ID: r.ID, Fields: make(map[string]*Field, len(r.Fields)), Known: r.Known.Clone()}
	for name, f := range r.Fields {
		c.Fields[name] = &Field{Live: slices.Clone(f.Live), Dead: slices.Clone(f.Dead)}
	}
	return c
}

// Apply adds an op to its record: its dot unless some op replaced it before it
// came, minus what it names. The caller raises the vector afterwards.
func Apply(r *Record, op ops.Op, ctx Context) {
	for name, value := range op.Set {
		f := r.field(name)
		for _, d := range named(name, op.Over[name], ctx) {
			f.kill(d, ctx)
		}
		if r.Known.Has(op.Dot()) || f.live(op.Dot()) >= 0 {
			continue // it came with a record already, live or replaced
		}
		if i := slices.Index(f.Dead, op.Dot()); i >= 0 {
			f.Dead = slices.Delete(f.Dead, i, i+1)
			continue
		}
		if f.live(op.Dot()) >= 0 {
			continue // a page that is not finished brought it already
		}
		v := Value{Dot: op.Dot(), At: op.At, By: op.By, Value: value}
		if ctx.Purged(v.Dot) {
			v.Value = nil
		}
		f.add(v)
	}
}

// named returns the dots and, for each that is a void, what the void would have replaced.
func named(field string, dots []ops.Dot, ctx Context) []ops.Dot {
	all := slices.Clone(dots)
	for i := 0; i < len(all); i++ {
		if v, ok := ctx.Void(all[i]); ok {
			for _, d := range v.Over[field] {
				if !slices.Contains(all, d) {
					all = append(all, d)
				}
			}
		}
	}
	return all
}

func (f *Field) kill(d ops.Dot, ctx Context) {
	f.drop(d)
	if !ctx.Has(d) && !slices.Contains(f.Dead, d) {
		f.Dead = append(f.Dead, d)
		slices.SortFunc(f.Dead, ops.Dot.Compare)
	}
}

func (f *Field) drop(d ops.Dot) {
	f.Live = slices.DeleteFunc(f.Live, func(v Value) bool { return v.Dot == d })
}

func (f *Field) add(v Value) {
	i, _ := slices.BinarySearchFunc(f.Live, v, newestFirst)
	f.Live = slices.Insert(f.Live, i, v)
}

func (f *Field) live(d ops.Dot) int {
	return slices.IndexFunc(f.Live, func(v Value) bool { return v.Dot == d })
}

// newestFirst orders values by (at, replica, n), the newest first.
func newestFirst(a, b Value) int {
	if c := b.At.Compare(a.At); c != 0 {
		return c
	}
	return b.Dot.Compare(a.Dot)
}

// Take merges another copy's record, read under that copy's vector theirC. It
// does not raise the vector: that comes with the last page. A dot stays if both
// hold it, or if one holds it and the other neither covers it nor holds it dead.
// A purge stays wherever it comes: nothing replaces it, and a copy of somebody who
// may not bring it can have raised a vector over it.
func Take(mine *Record, theirs *Record, theirC ops.Vector, ctx Context) {
	names := slices.Collect(maps.Keys(mine.Fields))
	for name := range theirs.Fields {
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	stays := mine.Kind == KindPurge
	for _, name := range names {
		f, t := mine.field(name), theirs.Fields[name]
		if t == nil {
			t = &Field{}
		}
		dead := named(name, t.Dead, ctx)
		for _, v := range slices.Clone(f.Live) {
			if !stays && t.live(v.Dot) < 0 && theirC.Has(v.Dot) {
				f.drop(v.Dot)
			}
		}
		for _, v := range t.Live {
			if ctx.Purged(v.Dot) {
				v.Value = nil
			}
			if i := f.live(v.Dot); i >= 0 {
				f.Live[i].Value = common(mine.Kind, name, f.Live[i].Value, v.Value)
				continue
			}
			_, void := ctx.Void(v.Dot)
			known := !stays && (ctx.Has(v.Dot) || mine.Known.Has(v.Dot)) && !ctx.Revived(name, v.Dot)
			if !void && !known && !slices.Contains(f.Dead, v.Dot) {
				f.add(v)
			}
		}
		for _, d := range dead {
			f.kill(d, ctx)
		}
		if len(f.Live) == 0 && len(f.Dead) == 0 {
			delete(mine.Fields, name)
		}
	}
}

// KeepSaid puts back what another state of the record says in fields that say
// nothing here.
func KeepSaid(r, before *Record) {
	for name, f := range before.Fields {
		if mine := r.Fields[name]; len(f.Live) > 0 && (mine == nil || len(mine.Live) == 0) {
			r.field(name).Live = slices.Clone(f.Live)
		}
	}
}

// common returns what two copies of one value agree on: nothing where one was
// purged. Copies differ otherwise only where a fork renamed dots that a removal or
// a purge names in one of them; they then keep the dots that both name.
func common(kind, field string, a, b json.RawMessage) json.RawMessage {
	if a == nil || b == nil {
		return nil
	}
	if bytes.Equal(a, b) {
		return a
	}
	theirs := map[ops.Dot]bool{}
	References(kind, field, b, func(d ops.Dot) ops.Dot { theirs[d] = true; return d })
	return references(kind, field, a, func(d ops.Dot) (ops.Dot, bool) { return d, theirs[d] })
}

// Undone returns what a void replaced, by field, while this copy held its op as
// real: copies that know better may bring it back. Where another op replaced the
// void's, that one stands for all that the void replaced.
func Undone(r *Record, v Void, ctx Context) map[string][]ops.Dot {
	undone := map[string][]ops.Dot{}
	for field, dots := range v.Over {
		if r.Holds(field, v.Dot) || ctx.Revived(field, v.Dot) {
			undone[field] = named(field, dots, ctx)
		}
	}
	return undone
}

// TakeVoid drops the value of a void that this copy held as real, and replaces
// what the void would have where an op already named it. changed says whether
// the record is another one now.
func TakeVoid(r *Record, v Void, ctx Context) (changed bool) {
	for name, f := range r.Fields {
		if f.live(v.Dot) >= 0 {
			f.drop(v.Dot)
			changed = true
		}
		if slices.Contains(f.Dead, v.Dot) {
			for _, d := range named(name, v.Over[name], ctx) {
				f.kill(d, ctx)
			}
			changed = true
		}
	}
	return changed
}

// Purge takes the values of the named dots out of the record.
func Purge(r *Record, dots map[ops.Dot]bool) (changed bool) {
	for _, f := range r.Fields {
		for i := range f.Live {
			if dots[f.Live[i].Dot] && f.Live[i].Value != nil {
				f.Live[i].Value = nil
				changed = true
			}
		}
	}
	return changed
}

// PurgedBy returns the dots that an op of kind purge names. A list that can't
// be read names none.
func PurgedBy(kind string, dots json.RawMessage) []ops.Dot {
	var named []ops.Dot
	if kind != KindPurge || json.Unmarshal(dots, &named) != nil {
		return nil
	}
	return named
}

// Trim drops the dead dots that the vector covers by now, and what it knew beyond it.
func Trim(r *Record, ctx Context) {
	maps.DeleteFunc(r.Known, func(replica ops.ID, e ops.Entry) bool { return ctx.Has(ops.Dot{Replica: replica, N: e.N}) })
	for name, f := range r.Fields {
		f.Dead = slices.DeleteFunc(f.Dead, ctx.Has)
		if len(f.Live) == 0 && len(f.Dead) == 0 {
			delete(r.Fields, name)
		}
	}
}

// Beyond reports whether the record holds a dot, live or dead, that the vector
// does not cover: only then has a copy with that vector anything to learn from it.
func (r *Record) Beyond(c ops.Vector) bool {
	for _, f := range r.Fields {
		for _, v := range f.Live {
			if !c.Has(v.Dot) {
				return true
			}
		}
		for _, d := range f.Dead {
			if !c.Has(d) {
				return true
			}
		}
	}
	return false
}

// Any reports whether some live dot of the record is one of those.
func (r *Record) Any(one func(ops.Dot) bool) bool {
	for _, f := range r.Fields {
		if slices.ContainsFunc(f.Live, func(v Value) bool { return one(v.Dot) }) {
			return true
		}
	}
	return false
}

// Lacks reports whether the other record has a live dot that this one has not, or
// says something else under one.
func Lacks(mine, theirs *Record) bool {
	for name, f := range theirs.Fields {
		for _, v := range f.Live {
			if !mine.Holds(name, v.Dot) || mine.SaysElse(name, v) {
				return true
			}
		}
	}
	return false
}

// SaysElse reports whether the dot is live in that field, and names other dots
// than v does: a fork renamed them in one copy when the other could not tell.
func (r *Record) SaysElse(field string, v Value) bool {
	if !r.Holds(field, v.Dot) || field != FieldRemoved && r.Kind != KindPurge {
		return false
	}
	f := r.Fields[field]
	return !bytes.Equal(f.Live[f.live(v.Dot)].Value, v.Value)
}

// Holds reports whether the dot is live in that field.
func (r *Record) Holds(field string, d ops.Dot) bool {
	return r != nil && r.Fields[field] != nil && r.Fields[field].live(d) >= 0
}

// HoldsDead reports whether the dot was named in that field before it came.
func (r *Record) HoldsDead(field string, d ops.Dot) bool {
	return r != nil && r.Fields[field] != nil && slices.Contains(r.Fields[field].Dead, d)
}

// Hidden reports whether the record is removed: each live dot of its other
// fields is in the seen list of some live removal. A dot outside brings it back.
func (r *Record) Hidden() bool {
	removed := r.Fields[FieldRemoved]
	if removed == nil || len(removed.Live) == 0 {
		return false
	}
	seen := map[ops.Dot]bool{}
	for _, v := range removed.Live {
		var removal struct{ Seen []ops.Dot }
		if json.Unmarshal(v.Value, &removal) != nil {
			continue
		}
		for _, d := range removal.Seen {
			seen[d] = true
		}
	}
	for name, f := range r.Fields {
		for _, v := range f.Live {
			if name != FieldRemoved && !seen[v.Dot] {
				return false
			}
		}
	}
	return true
}

// Equal reports whether two records hold the same dots and values.
func Equal(a, b *Record) bool {
	x, _ := json.Marshal(a)
	y, _ := json.Marshal(b)
	return bytes.Equal(x, y)
}
