// Package synctest plays many replicas against each other on a seeded, lossy
// network in memory. It is for tests only.
package synctest

import (
	"encoding/json"
	"maps"
	"slices"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// A Server is a working server's copy in memory, with the log a disk would hold.
type Server struct {
	ID, Epoch string
	*merge.State
	links   []ops.Digest // links[seq]
	entries []entry      // entries[seq-1]
	digests map[ops.Dot]ops.Short
	chains  map[ops.ID]ops.Digest
	log     map[ops.Dot]replication.Logged
	changed map[merge.Key]uint64
	voidSeq map[ops.Dot]uint64
	forks   []seqFork
	ticked  uint64
}

type entry struct {
	replica ops.ID
	n       uint64
	digest  ops.Short
}

type seqFork struct {
	seq  uint64
	fork merge.Fork
}

// NewServer returns an empty server.
func NewServer(id, epoch string) *Server {
	return &Server{ID: id, Epoch: epoch, State: merge.NewState(), links: []ops.Digest{{}}, digests: map[ops.Dot]ops.Short{},
		chains: map[ops.ID]ops.Digest{}, log: map[ops.Dot]replication.Logged{}, changed: map[merge.Key]uint64{}, voidSeq: map[ops.Dot]uint64{}}
}

// Backup returns what a backup of now would restore.
func (s *Server) Backup() *Server {
	c := *s
	c.State = s.State.Clone()
	c.links, c.entries, c.forks = slices.Clone(s.links), slices.Clone(s.entries), slices.Clone(s.forks)
	c.digests, c.chains, c.log = maps.Clone(s.digests), maps.Clone(s.chains), maps.Clone(s.log)
	c.changed, c.voidSeq = maps.Clone(s.changed), maps.Clone(s.voidSeq)
	return &c
}

func (s *Server) Server() (string, string) { return s.ID, s.Epoch }
func (s *Server) Head() uint64             { return uint64(len(s.entries)) }
func (s *Server) Vector() ops.Vector       { return s.C }

func (s *Server) LinkAt(seq uint64) (ops.Short, bool) {
	if seq > s.Head() {
		return ops.Short{}, false
	}
	return s.links[seq].Short(), true
}

func (s *Server) VectorAt(seq uint64) ops.Vector {
	c := ops.Vector{}
	for _, e := range s.entries[:seq] {
		if e.n > 0 {
			c[e.replica] = ops.Entry{N: e.n, Digest: e.digest}
		}
	}
	for r, e := range c { // a rename took part of it away since
		if now := s.C[r]; now.N < e.N {
			c[r] = now
		}
	}
	return c
}

func (s *Server) DigestAt(d ops.Dot) (ops.Short, bool) { at, ok := s.digests[d]; return at, ok }

func (s *Server) Chain(r ops.ID) (ops.Digest, bool) { c, ok := s.chains[r]; return c, ok }
func (s *Server) SetChain(r ops.ID, c ops.Digest)   { s.chains[r] = c }

func (s *Server) Record(kind string, id ops.ID) *merge.Record {
	k := merge.Key{Kind: kind, ID: id}
	if s.Records[k] == nil {
		s.Records[k] = &merge.Record{Kind: kind, ID: id, Fields: map[string]*merge.Field{}}
	}
	return s.Records[k]
}

func (s *Server) Put(r *merge.Record) {
	k := merge.Key{Kind: r.Kind, ID: r.ID}
	s.Records[k], s.changed[k] = r, s.Head()
}

func (s *Server) next(e entry) {
	link := ops.ServerLink(s.links[len(s.links)-1], ops.Dot{Replica: e.replica, N: e.n}, e.digest)
	s.links, s.entries = append(s.links, link), append(s.entries, e)
}

func (s *Server) Append(d ops.Dot, l replication.Logged) {
	at := l.Chain.Short()
	s.next(entry{d.Replica, d.N, at})
	s.C[d.Replica] = ops.Entry{N: d.N, Digest: at}
	s.digests[d], s.chains[d.Replica], s.log[d] = at, l.Chain, l
}

func (s *Server) Logged(d ops.Dot) (replication.Logged, bool) { l, ok := s.log[d]; return l, ok }

func (s *Server) All() (all []*merge.Record) {
	for _, r := range s.Records {
		all = append(all, r.Clone())
	}
	return all
}

func (s *Server) Voids() []merge.Void { return slices.Collect(maps.Values(s.State.Voids)) }

// Rename gives a branch its other name everywhere but in the links already handed out.
func (s *Server) Rename(k merge.Fork, branch []replication.Logged) {
	for i, e := range s.entries {
		if d := k.Dot(ops.Dot{Replica: e.replica, N: e.n}); d.Replica != e.replica && d.N <= uint64(len(k.Renamed)) {
			s.entries[i] = entry{d.Replica, d.N, k.Renamed[d.N-1]}
		}
	}
	for d, seq := range s.voidSeq {
		if to := k.Dot(d); to != d {
			delete(s.voidSeq, d)
			s.voidSeq[to] = seq
		}
	}
	s.State.Rename(k)
	for i := range branch {
		from, to := ops.Dot{Replica: k.Replica, N: k.From + uint64(i)}, ops.Dot{Replica: k.To, N: uint64(i) + 1}
		delete(s.log, from)
		delete(s.digests, from)
		s.log[to], s.digests[to] = branch[i], branch[i].Chain.Short()
	}
	delete(s.chains, k.Replica)
	s.chains[k.To] = branch[len(branch)-1].Chain
	read := replication.Renamed{Replica: k.Replica, From: k.From, To: k.To}
	for d, l := range s.log {
		if d.Replica != k.To {
			l.Renamed = append(slices.Clone(l.Renamed), read)
			s.log[d] = l
		}
	}
	s.Tick()
	s.forks = append(s.forks, seqFork{s.Head(), k})
	for _, r := range s.Records {
		s.Put(r)
	}
}

func (s *Server) Tick() {
	s.next(entry{})
	s.ticked = s.Head()
}

func (s *Server) Ticked() uint64 { return s.ticked }

func (s *Server) Raise(r ops.ID, e ops.Entry) {
	s.next(entry{r, e.N, e.Digest})
	s.C[r] = e
	s.digests[ops.Dot{Replica: r, N: e.N}] = e.Digest
	delete(s.chains, r)
}

func (s *Server) PutVoid(v merge.Void) {
	s.AddVoid(v, false)
	s.voidSeq[v.Dot] = s.Head()
}

func (s *Server) PutPurged(dots []ops.Dot) {
	s.NotePurge(dots)
	for _, d := range dots {
		if l, ok := s.log[d]; ok {
			l.Op = nil
			s.log[d] = l
		}
	}
}

func (s *Server) Since(after uint64, maxBytes int) (records []json.RawMessage, upTo uint64, more bool) {
	keys := slices.SortedFunc(maps.Keys(s.changed), func(a, b merge.Key) int {
		if c := int(s.changed[a]) - int(s.changed[b]); c != 0 {
			return c
		}
		return slices.Compare(append([]byte(a.Kind), a.ID[:]...), append([]byte(b.Kind), b.ID[:]...))
	})
	size := 0
	for _, k := range keys {
		seq := s.changed[k]
		if seq <= after {
			continue
		}
		if size >= maxBytes && seq > upTo {
			return records, upTo, true
		}
		b, err := replication.Marshal(s.Records[k])
		if err != nil {
			panic(err)
		}
		records, upTo, size = append(records, b), seq, size+len(b)
	}
	return records, upTo, false
}

func (s *Server) VoidsSince(after uint64) (voids []merge.Void) {
	for _, d := range slices.SortedFunc(maps.Keys(s.voidSeq), ops.Dot.Compare) {
		if s.voidSeq[d] > after {
			voids = append(voids, s.State.Voids[d])
		}
	}
	return voids
}

func (s *Server) ForksSince(after uint64) (forks []merge.Fork) {
	for _, f := range s.forks {
		if f.seq > after {
			forks = append(forks, f.fork)
		}
	}
	return forks
}

func (s *Server) PhotosWanted(int) []string { return nil }

var _ replication.RelayTx = (*Server)(nil)
