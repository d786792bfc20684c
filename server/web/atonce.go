package web

import (
	"sync"
	"time"

	"evenpull/server/fault"
)

// atOnce counts what is under way for each of those who ask, so that nobody
// takes all there is.
type atOnce[K comparable] struct {
	mu sync.Mutex
	n  map[K]int
}

// enter reports whether who may begin one more of most; then leave must follow.
func (a *atOnce[K]) enter(who K, most int) bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.n[who] >= most {
		return false
	}
	if a.n == nil {
		a.n = map[K]int{}
	}
	a.n[who]++
	return true
}

func (a *atOnce[K]) leave(who K) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.n[who]--; a.n[who] == 0 {
		delete(a.n, who)
	}
}

// tooMany is what those are told who are turned away.
func tooMany(field, text string, after time.Duration) error {
	f := fault.New(fault.TooMany, field, "%s", text)
	f.After = after
	return f
}
