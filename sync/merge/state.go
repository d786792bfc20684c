package merge

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"evenpull/sync/ops"
)

// A Key names a record.
type Key struct {
	Kind string
	ID   ops.ID
}

// A State is a whole copy in memory: what phones and servers hold on disk.
type State struct {
	Records map[Key]*Record
	C       ops.Vector
	Voids   map[ops.Dot]Void
	purged  map[ops.Dot]bool
	revived map[string]bool
}

// NewState returns an empty copy.
func NewState() *State {
	return &State{map[Key]*Record{}, ops.Vector{}, map[ops.Dot]Void{}, map[ops.Dot]bool{}, map[string]bool{}}
}

// Clone returns a copy that shares nothing that changes.
func (s *State) Clone() *State {
	c := &State{make(map[Key]*Record, len(s.Records)), s.C.Clone(), maps.Clone(s.Voids), maps.Clone(s.purged), maps.Clone(s.revived)}
	for k, r := range s.Records {
		c.Records[k] = r.Clone()
	}
	return c
}

func (s *State) Has(d ops.Dot) bool          { return s.C.Has(d) }
func (s *State) Purged(d ops.Dot) bool       { return s.purged[d] }
func (s *State) Void(d ops.Dot) (Void, bool) { v, ok := s.Voids[d]; return v, ok }
func (s *State) Revived(field string, d ops.Dot) bool {
	return s.revived[field+"/"+d.String()]
}

func (s *State) record(kind string, id ops.ID) *Record {
	k := Key{kind, id}
	r := s.Records[k]
	if r == nil {
		r = &Record{Kind: kind, ID: id, Fields: map[string]*Field{}}
		s.Records[k] = r
	}
	return r
}

// Apply adds the next op of a replica; at is the chain digest there. Ops the
// vector covers are passed over; a gap is the caller's mistake.
func (s *State) Apply(op ops.Op, at ops.Short) {
	d := op.Dot()
	if s.C.Has(d) {
		return
	}
	if d.N != s.C[d.Replica].N+1 {
		panic(fmt.Sprintf("apply %s after %d", d, s.C[d.Replica].N))
	}
	s.NotePurge(PurgedBy(op.Kind, op.Set[FieldDots]))
	Apply(s.record(op.Kind, op.ID), op, s)
	s.C[d.Replica] = ops.Entry{N: d.N, Digest: at}
}

// NotePurge takes the values of the named dots out of the copy, now and whenever they come.
func (s *State) NotePurge(dots []ops.Dot) {
	named := map[ops.Dot]bool{}
	for _, d := range dots {
		if !s.purged[d] {
			s.purged[d], named[d] = true, true
		}
	}
	if len(named) == 0 {
		return
	}
	for _, r := range s.Records {
		Purge(r, named)
	}
}

// AddVoid takes in a void. raise is for the copy that stores it in its place of
// the replica's sequence; with a page the vector comes later.
func (s *State) AddVoid(v Void, raise bool) {
	if _, ok := s.Voids[v.Dot]; !ok {
		for _, r := range s.Records {
			for field, dots := range Undone(r, v, s) {
				for _, d := range dots {
					s.revived[field+"/"+d.String()] = true
				}
			}
		}
		s.Voids[v.Dot] = v
		for _, r := range s.Records {
			TakeVoid(r, v, s)
		}
	}
	if raise && !s.C.Has(v.Dot) {
		s.C[v.Dot.Replica] = ops.Entry{N: v.Dot.N, Digest: v.Digest}
	}
}

// Take merges one page's records, read under theirC. It does not raise the vector.
func (s *State) Take(records []*Record, theirC ops.Vector) {
	for _, t := range records {
		if f := t.Fields[FieldDots]; t.Kind == KindPurge && f != nil {
			for _, v := range f.Live {
				s.NotePurge(PurgedBy(t.Kind, v.Value))
			}
		}
	}
	for _, t := range records {
		Take(s.record(t.Kind, t.ID), t, theirC, s)
	}
}

// Raise takes in the vector of a whole reading.
func (s *State) Raise(c ops.Vector) {
	s.C.Raise(c)
	for k, r := range s.Records {
		Trim(r, s)
		if len(r.Fields) == 0 {
			delete(s.Records, k)
		}
	}
}

// Merge takes in another whole copy.
func (s *State) Merge(o *State) {
	for _, v := range o.Voids {
		s.AddVoid(v, false)
	}
	records := make([]*Record, 0, len(o.Records))
	for _, r := range o.Records {
		records = append(records, r.Clone())
	}
	s.Take(records, o.C)
	s.Raise(o.C)
}

// Rename applies a fork between servers to this copy, if it followed the branch
// that lost its name. It reports whether it did.
func (s *State) Rename(k Fork) bool {
	e := s.C[k.Replica]
	if !k.Concerns(e) {
		return false
	}
	for _, r := range s.Records {
		k.Rename(r)
	}
	for d, v := range s.Voids {
		if n := k.Dot(d); n != d {
			delete(s.Voids, d)
			v.Dot = n
			v.Digest = k.Renamed[n.N-1]
			s.Voids[n] = v
		}
	}
	for d := range maps.Clone(s.purged) {
		if n := k.Dot(d); n != d {
			delete(s.purged, d)
			s.purged[n] = true
		}
	}
	last := e.N - k.From
	if k.From == 1 {
		delete(s.C, k.Replica)
	} else {
		s.C[k.Replica] = ops.Entry{N: k.From - 1, Digest: k.Before}
	}
	s.C.Raise(ops.Vector{k.To: {N: last + 1, Digest: k.Renamed[last]}})
	return true
}

// Key spells the state, so that two copies can be compared and seen to differ.
func (s *State) Key() string {
	keys := slices.SortedFunc(maps.Keys(s.Records), func(a, b Key) int {
		if a.Kind != b.Kind {
			return slices.Compare([]byte(a.Kind), []byte(b.Kind))
		}
		return slices.Compare(a.ID[:], b.ID[:])
	})
	var out []byte
	for _, k := range keys {
		r := s.Records[k].Clone()
		Trim(r, s)
		r.Known = nil
		if len(r.Fields) > 0 {
			b, err := json.Marshal(r)
			if err != nil {
				panic(err)
			}
			out = append(append(out, b...), '\n')
		}
	}
	c, err := json.Marshal(s.C)
	if err != nil {
		panic(err)
	}
	return string(append(out, c...))
}
