package synctest

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// What a server holds must at every moment be what its log says, worked out here
// the plain way: of all ops together, what none of them replaces.

// A place is a field of a record.
type place struct {
	key   merge.Key
	field string
}

// plain is what the ops of a log make of each field.
type plain struct {
	replaced map[place]map[ops.Dot]bool // named by some op
	written  map[place][]ops.Dot
	whole    bool // every op that the vector covers is in the log, with its bytes
}

// model works a server's log out.
func (w *World) model(s *Server) (m plain, err error) {
	m = plain{map[place]map[ops.Dot]bool{}, map[place][]ops.Dot{}, true}
	for replica, e := range s.C {
		for n := uint64(1); n <= e.N; n++ {
			_, kept := s.log[ops.Dot{Replica: replica, N: n}]
			m.whole = m.whole && kept
		}
	}
	for _, r := range s.Records { // what a page or a part brought knows of more
		m.whole = m.whole && len(r.Known) == 0 && !r.Beyond(s.C)
	}
	for d, l := range s.log {
		if _, void := s.State.Voids[d]; void {
			continue
		}
		if l.Op == nil {
			m.whole = false // a purge took it: what it replaced stands in no log
			continue
		}
		op, err := w.read(d, l)
		if err != nil {
			return m, err
		}
		for field := range op.Set {
			at := place{merge.Key{Kind: op.Kind, ID: op.ID}, field}
			m.written[at] = append(m.written[at], d)
			m.replace(at, op.Over[field], s.State.Voids)
		}
	}
	return m, nil
}

// replace notes dots as replaced, and of a void among them what it would have replaced.
func (m plain) replace(at place, dots []ops.Dot, voids map[ops.Dot]merge.Void) {
	for _, d := range dots {
		if m.replaced[at] == nil {
			m.replaced[at] = map[ops.Dot]bool{}
		}
		if m.replaced[at][d] {
			continue
		}
		m.replaced[at][d] = true
		m.replace(at, voids[d].Over[at.field], voids)
	}
}

// A reading of an op: which one, and how many forks ago its names were written.
type reading struct {
	chain   ops.Digest
	renamed int
}

// read returns a logged op with what it names under the names of now.
func (w *World) read(d ops.Dot, l replication.Logged) (ops.Op, error) {
	key := reading{l.Chain, len(l.Renamed)}
	if op, ok := w.parsed[key]; ok {
		return op, nil
	}
	op, err := ops.Parse(slices.Clone(l.Op))
	if w.lax[string(l.Op)] {
		op, err = w.slips[string(l.Op)], nil
		op.Over = maps.Clone(op.Over)
		for field, dots := range op.Over {
			op.Over[field] = slices.Clone(dots)
		}
	}
	if err != nil || op.Dot() != d {
		return op, fmt.Errorf("the log holds %s as %.200s: %w", d, l.Op, err)
	}
	for _, dots := range op.Over {
		for i := range dots {
			for _, k := range l.Renamed {
				if dots[i].Replica == k.Replica && dots[i].N >= k.From {
					dots[i] = ops.Dot{Replica: k.To, N: dots[i].N - k.From + 1}
				}
			}
		}
	}
	w.parsed[key] = op
	return op, nil
}

// holds compares a server with its log.
func (w *World) holds(s *Server) error {
	m, err := w.model(s)
	if err != nil {
		return err
	}
	for key, r := range s.Records {
		for field, f := range r.Fields {
			at := place{key, field}
			for i, v := range f.Live {
				if m.replaced[at][v.Dot] {
					return fmt.Errorf("%s shows %s, which an op that it has replaces", s.ID, v.Value)
				}
				if i > 0 && !newer(f.Live[i-1], v) {
					return fmt.Errorf("%s shows %s before a newer value", s.ID, f.Live[i-1].Value)
				}
			}
			for _, d := range f.Dead {
				if m.whole && !m.replaced[at][d] {
					return fmt.Errorf("%s takes %s for replaced, which no op names", s.ID, d)
				}
			}
		}
	}
	if err := taken(s.ID, s.Records, s.State.Voids); err != nil {
		return err
	}
	for at, dots := range m.written {
		for _, d := range dots {
			if m.whole && !m.replaced[at][d] && !s.Records[at.key].Holds(at.field, d) {
				return fmt.Errorf("%s does not show %s %s, which no op replaces", s.ID, d, s.log[d].Op)
			}
		}
	}
	for at, dots := range m.replaced {
		for d := range dots {
			if len(s.forks) == 0 && !s.C.Has(d) && !s.Records[at.key].HoldsDead(at.field, d) {
				return fmt.Errorf("%s forgot that %s is replaced before it came", s.ID, d)
			}
		}
	}
	return w.chains(s)
}

// taken looks that no value is there which was refused for good or which a purge names, as
// far as the same copy knows.
func taken(who string, records map[merge.Key]*merge.Record, voids map[ops.Dot]merge.Void) error {
	named := map[ops.Dot]bool{}
	for key, r := range records {
		if f := r.Fields[merge.FieldDots]; key.Kind == merge.KindPurge && f != nil {
			for _, v := range f.Live {
				var dots []ops.Dot
				if err := json.Unmarshal(v.Value, &dots); err != nil {
					return fmt.Errorf("%s holds a purge of %s", who, v.Value)
				}
				for _, d := range dots {
					named[d] = true
				}
			}
		}
	}
	for _, r := range records {
		for _, f := range r.Fields {
			for _, v := range f.Live {
				if _, void := voids[v.Dot]; void {
					return fmt.Errorf("%s shows %s, which was refused for good", who, v.Value)
				}
				if named[v.Dot] && v.Value != nil {
					return fmt.Errorf("%s shows %s, which a purge that it has names", who, v.Value)
				}
			}
		}
	}
	return nil
}

// newer is the order in which values are shown.
func newer(a, b merge.Value) bool {
	switch {
	case a.At.MS != b.At.MS:
		return a.At.MS > b.At.MS
	case a.At.Count != b.At.Count:
		return a.At.Count > b.At.Count
	case a.Dot.Replica != b.Dot.Replica:
		return a.Dot.Replica.String() > b.Dot.Replica.String()
	}
	return a.Dot.N > b.Dot.N
}

// chains works the digests out anew: over the bytes as their writers sent them, each
// with all that came before.
func (w *World) chains(s *Server) error {
	for d, l := range s.log {
		before, ok := s.log[ops.Dot{Replica: d.Replica, N: d.N - 1}]
		if l.Op == nil || d.N > 1 && !ok {
			continue
		}
		if want := sha256.Sum256(slices.Concat(before.Chain[:], l.Op)); ops.Digest(want) != l.Chain {
			return fmt.Errorf("%s keeps %s under a digest that is not that of its bytes", s.ID, d)
		}
	}
	for _, f := range s.forks {
		if want := sha256.Sum256(slices.Concat(f.fork.Replica[:], f.fork.Digests[0][:])); ops.ID(want[:16]) != f.fork.To {
			return fmt.Errorf("%s names a branch of %s otherwise than by its first digest", s.ID, f.fork.Replica)
		}
	}
	if len(s.forks) > 0 {
		return nil // the links that were handed out stand on the names of then
	}
	for i, e := range s.entries {
		n := binary.BigEndian.AppendUint64(nil, e.n)
		if want := sha256.Sum256(slices.Concat(s.links[i][:], e.replica[:], n, e.digest[:])); ops.Digest(want) != s.links[i+1] {
			return fmt.Errorf("%s: link %d is not that of what it took", s.ID, i+1)
		}
	}
	return nil
}

// look compares each server that moved with its log.
func (w *World) look() error {
	for i, s := range w.servers {
		if at := fmt.Sprint(s.Epoch, s.Head(), len(s.State.Voids)); at != w.looked[i] {
			w.looked[i] = at
			if err := w.holds(s); err != nil {
				return err
			}
		}
	}
	for i, p := range w.phones {
		if err := taken(fmt.Sprint("phone ", i), p.Base.Records, p.Base.Voids); err != nil {
			return err
		}
	}
	return nil
}
