package account

import (
	"net/netip"
	"sync"
	"time"
)

const (
	freeTries   = 5                // wrong codes from one address before it waits: people mistype
	freeAll     = 200              // from all addresses together
	longestWait = 30 * time.Second // for one address
	longestAll  = 5 * time.Second  // that others' wrong codes can put on one
	forgetAfter = 15 * time.Minute // without another failure; a short code has ended by then
	mostCounted = 10000            // addresses
)

// Waits counts wrong codes for each address and for the whole server, and says
// how long the next wrong one must wait for its answer. A right code is never
// counted and never waits: whoever floods a server can't lock others out.
type Waits struct {
	mu     sync.Mutex
	counts map[netip.Prefix]tally
	all    tally
}

type tally struct {
	n    int
	last time.Time
}

func (t tally) next(now time.Time) tally {
	if now.Sub(t.last) > forgetAfter {
		t.n = 0
	}
	return tally{t.n + 1, now}
}

// Failed counts a wrong code from a Network and returns its wait.
func (w *Waits) Failed(net netip.Prefix, now time.Time) time.Duration {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.counts == nil {
		w.counts = map[netip.Prefix]tally{}
	}
	if len(w.counts) >= mostCounted {
		for p, t := range w.counts {
			if now.Sub(t.last) > forgetAfter {
				delete(w.counts, p)
			}
		}
		if len(w.counts) >= mostCounted { // so many that the common count does the slowing
			clear(w.counts)
		}
	}
	t := w.counts[net].next(now)
	w.counts[net], w.all = t, w.all.next(now)
	return max(grown(t.n-freeTries, longestWait), grown((w.all.n-freeAll+49)/50, longestAll))
}

// grown is 1, 2, 4 … seconds for 1, 2, 3 … too many.
func grown(over int, most time.Duration) time.Duration {
	if over <= 0 {
		return 0
	}
	return min(time.Second<<min(over-1, 10), most)
}

// Network is what one subscriber holds: one IPv4 address, a /64 of IPv6.
func Network(a netip.Addr) netip.Prefix {
	bits := 32
	if a = a.Unmap(); a.Is6() {
		bits = 64
	}
	p, _ := a.WithZone("").Prefix(bits)
	return p
}
