package store

import (
	"os"
	"sync"
	"time"
)

// A spare is room on the disk that is given up when the disk is full and
// something must be written all the same.
type spare struct {
	file  string // "" where there is no disk
	mu    sync.Mutex
	there bool
	tried time.Time
}

const (
	spareBytes  = 256 << 10 // a commit of a few rows grows the store by less
	refillAfter = time.Minute
)

// spend gives the room up; false where it was given up before.
func (s *spare) spend() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.there {
		return false
	}
	s.there = false
	return os.Remove(s.file) == nil
}

// refill takes the room again, once there is some.
func (s *spare) refill(now time.Time) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.file == "" || s.there || now.Sub(s.tried) < refillAfter {
		return
	}
	s.tried = now
	if info, err := os.Stat(s.file); err == nil && info.Size() == spareBytes {
		s.there = true
		return
	}
	if err := os.WriteFile(s.file, make([]byte, spareBytes), 0o600); err != nil {
		_ = os.Remove(s.file) // the disk is full: what was written of it is needed more elsewhere
		return
	}
	s.there = true
}
