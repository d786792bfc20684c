// Package hub carries studios between this server and the one above it: ops and
// what was handed back up, records down, photos both ways, and who may do what.
// It knows nothing of what they mean.
package hub

import (
	"context"
	"errors"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"sync"
	"time"

	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// A Store is what a hub needs of storage.
type Store interface {
	Server() string
	HubKey(context.Context) (public string, err error)
	SignIn(server, challenge string) (phone ops.ID, signature string, err error)
	Carry(ctx context.Context, studio ops.ID, name string) error
	Carried() ([]ops.ID, error)
	CarriedNews(studio ops.ID) (book, roll <-chan struct{})
	NextUp(studio ops.ID, roll bool) (*replication.Request, error)
	TakeUp(ctx context.Context, studio ops.ID, roll bool, req *replication.Request, a *replication.Answer) (more bool, err error)
	WantedPhotos(studio ops.ID, most int) ([]string, error)
	OwnPhoto(studio ops.ID, d ops.Digest) ([]byte, error)
	BringPhoto(ctx context.Context, studio ops.ID, d ops.Digest, raw []byte) error
}

// Config is what main wires. Zero times are those of a real hub.
type Config struct {
	Upstream string // as Address returns it
	Store    Store
	Label    string // what the upstream's phones list calls this hub
	Log      *slog.Logger

	Soonest, Latest time.Duration // between two tries while the upstream is not heard
	Round           time.Duration // between two rounds without news
}

// A Hub carries until its context ends.
type Hub struct {
	Config
	http  *http.Client
	token struct {
		sync.Mutex
		text  string
		until time.Time
	}
	mu      sync.Mutex
	heard   time.Time
	trouble string
}

// New returns a hub that has not begun.
func New(c Config) *Hub {
	if c.Soonest == 0 {
		c.Soonest = time.Second
	}
	if c.Latest == 0 {
		c.Latest = time.Minute
	}
	if c.Round == 0 {
		c.Round = time.Minute
	}
	// No redirects: a token goes nowhere but to the address that was given.
	return &Hub{Config: c, http: &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
}

// Run carries every studio that the store names until ctx ends.
func (h *Hub) Run(ctx context.Context) error {
	studios, err := h.Store.Carried()
	if err != nil {
		return err
	}
	var group sync.WaitGroup
	for _, studio := range studios {
		poke := make(chan struct{}, 1)
		group.Go(func() { h.carry(ctx, studio, poke) })
		group.Go(func() { h.listen(ctx, studio, poke) })
	}
	group.Wait()
	return nil
}

// Standing says when the upstream was last heard, and why it is not heard now.
func (h *Hub) Standing() (heard time.Time, trouble string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.heard, h.trouble
}

func (h *Hub) carry(ctx context.Context, studio ops.ID, poke <-chan struct{}) {
	wait := h.Soonest
	for ctx.Err() == nil {
		book, roll := h.Store.CarriedNews(studio)
		err := h.round(ctx, studio)
		if ctx.Err() != nil {
			return
		}
		h.note(err)
		if err != nil {
			pause(ctx, wait+rand.N(wait/2+1)) // hubs that lost one upstream do not come back as one
			wait = min(2*wait, h.Latest)
			continue
		}
		wait = h.Soonest
		timer := time.NewTimer(h.Round)
		select {
		case <-book:
		case <-roll:
		case <-poke:
		case <-timer.C:
		case <-ctx.Done():
		}
		timer.Stop()
	}
}

func pause(ctx context.Context, d time.Duration) {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-ctx.Done():
	}
}

// note keeps how things stand, and logs it when it changes.
func (h *Hub) note(err error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	before := h.trouble
	if err == nil {
		if h.heard, h.trouble = time.Now(), ""; before != "" {
			h.Log.Info("the upstream is heard again")
		}
		return
	}
	if h.trouble = troubleOf(err); h.trouble != before {
		h.Log.Warn("upstream", "trouble", h.trouble, "err", err.Error())
	}
}

// troubleOf is what anybody may read on the health page.
func troubleOf(err error) string {
	var r *refusal
	var f *refusedNow
	switch {
	case errors.As(err, &f):
		return "the upstream refuses for now: " + f.reason
	case errors.As(err, &r) && r.status == http.StatusUnauthorized:
		return "the upstream does not know this hub any more; link it again with a new code"
	case errors.As(err, &r) && r.status == http.StatusForbidden:
		return "the upstream ended this hub's access; link it again with a new code"
	case errors.As(err, &r) && r.status == http.StatusUpgradeRequired:
		return "the upstream understands another format; bring both to the same version"
	case errors.As(err, &r):
		return "the upstream refuses"
	case errors.Is(err, errStrange):
		return "the upstream's answer can't be read"
	}
	return "the upstream can't be reached"
}
