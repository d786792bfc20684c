package store

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"maps"
	"slices"
	"sync"

	"evenpull/server/account"
	"evenpull/server/fault"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// What a hub needs: its key, which studios it carries, and for each of their
// copies how far the exchange with the upstream is.

func (c *studioCopy) Voids() []merge.Void {
	return all[merge.Void](under(c.t.rows, tVoids, c.studio[:], nil), tVoids)
}

func (c *studioCopy) Ticked() uint64 { return c.ticked }

// aboves are the exchanges with the upstream, by copy.
type aboves struct {
	mu sync.Mutex
	of map[ops.ID]*replication.Upstream
}

// above is what is kept of an exchange. Pages and parts of one that is under way
// are not: after a restart it begins where it began.
type above struct {
	Server  string
	Epoch   string
	After   uint64
	Digest  string
	Theirs  ops.Vector
	Stale   bool
	Handed  uint64
	Parting map[ops.ID]bool
}

func (s *Store) upstreamOf(r rows, id ops.ID) *replication.Upstream {
	s.above.mu.Lock()
	defer s.above.mu.Unlock()
	u := s.above.of[id]
	if u == nil {
		var kept above
		getJSON(r, tAbove, id[:], &kept)
		u = &replication.Upstream{Server: kept.Server, Theirs: kept.Theirs, Stale: kept.Stale, Handed: kept.Handed, Parting: kept.Parting}
		u.Epoch, u.After, u.Digest = kept.Epoch, kept.After, kept.Digest
		s.keep(id, u)
	}
	return u
}

func (s *Store) keep(id ops.ID, u *replication.Upstream) {
	if s.above.of == nil {
		s.above.of = map[ops.ID]*replication.Upstream{}
	}
	s.above.of[id] = u
}

func copyOf(studio ops.ID, roll bool) ops.ID {
	if roll {
		return account.RollOf(studio)
	}
	return studio
}

// NextUp returns what to send the upstream next of a studio, or of its roll.
func (s *Store) NextUp(studio ops.ID, roll bool) (req *replication.Request, err error) {
	id := copyOf(studio, roll)
	err = s.engine.view(func(r rows) error {
		req = s.upstreamOf(r, id).Next(s.begin(r).copy(id), replication.RelayBytes)
		return nil
	})
	return req, err
}

// TakeUp takes the upstream's answer in. more says that there is more to ask or to send.
func (s *Store) TakeUp(ctx context.Context, studio ops.ID, roll bool, req *replication.Request, a *replication.Answer) (more bool, err error) {
	id := copyOf(studio, roll)
	was := s.upstreamOf(nil, id)
	if quiet(was, req, a) {
		return false, nil
	}
	var now *replication.Upstream
	err = s.write(ctx, func(t *tx) error {
		u := *was // the transaction may run again, or fail
		u.Theirs, u.Parting, u.Pages = maps.Clone(u.Theirs), maps.Clone(u.Parting), slices.Clip(u.Pages)
		now = &u
		c := t.copy(id)
		if err := u.Take(c, req, a); err != nil {
			return fault.New(fault.Invalid, "", "The upstream's answer can't be read: %v", err)
		}
		if len(u.Pages) == 0 {
			putJSON(t.rows, tAbove, id[:], above{u.Server, u.Epoch, u.After, u.Digest, u.Theirs, u.Stale, u.Handed, u.Parting})
		}
		if roll && c.moved {
			account.Follow(t, studio, s.now())
		}
		return nil
	})
	if err != nil {
		return false, err
	}
	s.above.mu.Lock()
	s.keep(id, now)
	s.above.mu.Unlock()
	return true, nil
}

// quiet reports whether nothing went up and nothing came down.
func quiet(u *replication.Upstream, req *replication.Request, a *replication.Answer) bool {
	for replica, e := range a.Have {
		if e.N > u.Theirs[replica].N {
			return false
		}
	}
	return u.Theirs != nil && u.Server == a.Server && a.Wrong == "" && !a.More && a.UpTo == u.After && a.Epoch == u.Epoch && u.Reading == 0 &&
		len(u.Pages)+len(a.Records)+len(a.Voids)+len(a.Forks)+len(a.Refused)+len(req.Frames) == 0 && req.Back == nil
}

// ExchangeRoll is Exchange for the roll of a studio, with another server.
func (s *Store) ExchangeRoll(ctx context.Context, studio, hub ops.ID, req *replication.Request) (*replication.Answer, error) {
	return s.exchange(ctx, req, func(t *tx, req *replication.Request) (*replication.Answer, error) {
		m, err := account.Access(t, studio, hub)
		if err != nil {
			return nil, err
		}
		if m.Role != account.Hub {
			return nil, fault.New(fault.Denied, "role", "Servers read this and nobody else.")
		}
		c := t.copy(account.RollOf(studio))
		a, err := replication.Serve(c, req, replication.Rights{Write: true, Servers: true, Own: t.ownFor(req, account.RollOf(studio))}, pageFor(req))
		if err == nil && c.moved {
			account.Follow(t, studio, s.now())
		}
		return a, err
	})
}

// Carry makes this server a hub for a studio of its upstream.
func (s *Store) Carry(ctx context.Context, studio ops.ID, name string) error {
	return s.write(ctx, func(t *tx) error {
		carried := t.rows.get(tCarried, studio[:]) != nil
		t.rows.put(tCarried, key(studio[:]), []byte{})
		return account.Carry(t, account.Studio{ID: studio, Name: name}, carried)
	})
}

// CarriedNews returns channels that are closed when the studio, or its roll, moves on here.
func (s *Store) CarriedNews(studio ops.ID) (book, roll <-chan struct{}) {
	_, book = s.Head(studio)
	_, roll = s.Head(account.RollOf(studio))
	return book, roll
}

// Carried lists the studios that this server carries.
func (s *Store) Carried() (list []ops.ID, err error) {
	err = s.engine.view(func(r rows) error {
		for k := range r.scan(tCarried, nil) {
			list = append(list, ops.ID(k))
		}
		return nil
	})
	return list, err
}

// HubKey returns the public key by which an upstream knows this server, raw P-256
// in base64url. It is made the first time.
func (s *Store) HubKey(ctx context.Context) (public string, err error) {
	err = s.write(ctx, func(t *tx) error {
		if t.rows.get(tMeta, []byte("hub-key")) != nil {
			return nil
		}
		made, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
		if err != nil {
			return err
		}
		raw, err := made.Bytes()
		if err == nil {
			t.rows.put(tMeta, []byte("hub-key"), raw)
		}
		return err
	})
	if err != nil {
		return "", err
	}
	key, err := s.hubKey()
	if err != nil {
		return "", err
	}
	raw, err := key.PublicKey.Bytes()
	return base64.RawURLEncoding.EncodeToString(raw), err
}

func (s *Store) hubKey() (key *ecdsa.PrivateKey, err error) {
	err = s.engine.view(func(r rows) error {
		key, err = ecdsa.ParseRawPrivateKey(elliptic.P256(), r.get(tMeta, []byte("hub-key")))
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("this server's own key can't be read: %w", err)
	}
	return key, nil
}

// SignIn answers an upstream's challenge: as which phone, and the signature.
func (s *Store) SignIn(server, challenge string) (phone ops.ID, signature string, err error) {
	key, err := s.hubKey()
	if err != nil {
		return phone, "", err
	}
	public, err := key.PublicKey.Bytes()
	if err != nil {
		return phone, "", err
	}
	id := sha256.Sum256(public)
	sum := sha256.Sum256([]byte(account.SignInText(server, challenge)))
	a, b, err := ecdsa.Sign(rand.Reader, key, sum[:])
	if err != nil {
		return phone, "", err
	}
	raw := append(a.FillBytes(make([]byte, 32)), b.FillBytes(make([]byte, 32))...)
	return ops.ID(id[:16]), base64.RawURLEncoding.EncodeToString(raw), nil
}

// WantedPhotos lists photos that records of a studio name and that are not here.
func (s *Store) WantedPhotos(studio ops.ID, most int) (list []string, err error) {
	err = s.engine.view(func(r rows) error { list = s.begin(r).copy(studio).PhotosWanted(most); return nil })
	return list, err
}

// OwnPhoto returns a photo for the upstream; nil where it is not here.
func (s *Store) OwnPhoto(studio ops.ID, d ops.Digest) (raw []byte, err error) {
	var row photoRow
	err = s.engine.view(func(r rows) error { getJSON(r, tPhotos, key(studio[:], d[:]), &row); return nil })
	if err != nil || row.Size == 0 {
		return nil, err
	}
	return s.photos.read(photoName(studio, d))
}

// BringPhoto takes in a photo that the upstream sent.
func (s *Store) BringPhoto(ctx context.Context, studio ops.ID, d ops.Digest, raw []byte) error {
	_, _, err := s.putPhoto(ctx, studio, d, 0, int64(len(raw)), raw)
	return err
}
