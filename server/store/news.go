package store

import (
	"sync"

	"evenpull/sync/ops"
)

// news tells whoever listens that a studio has moved.
type news struct {
	mu    sync.Mutex
	heads map[ops.ID]*head
}

type head struct {
	seq     uint64
	changed chan struct{} // closed at the next change
}

func (n *news) of(studio ops.ID) *head {
	if n.heads == nil {
		n.heads = map[ops.ID]*head{}
	}
	h := n.heads[studio]
	if h == nil {
		h = &head{changed: make(chan struct{})}
		n.heads[studio] = h
	}
	return h
}

func (n *news) tell(studio ops.ID, seq uint64) {
	n.mu.Lock()
	defer n.mu.Unlock()
	h := n.of(studio)
	if seq <= h.seq {
		return
	}
	h.seq = seq
	close(h.changed)
	h.changed = make(chan struct{})
}

// Head returns a studio's last sequence number, and a channel that is closed when it moves on.
func (s *Store) Head(studio ops.ID) (seq uint64, changed <-chan struct{}) {
	s.news.mu.Lock()
	h := s.news.of(studio)
	seq, changed = h.seq, h.changed
	s.news.mu.Unlock()
	if seq == 0 { // nothing written in this run
		_ = s.engine.view(func(r rows) error { seq = s.begin(r).copy(studio).Head(); return nil })
	}
	return seq, changed
}
