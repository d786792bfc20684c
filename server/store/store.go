// Package store keeps what a server holds: accounts, each studio's copy with
// its log, and photos. Everything it acknowledges is on disk. bbolt is used
// here only, behind engine.
package store

import (
	"context"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"sync"
	"time"

	"evenpull/server/account"
	"evenpull/server/fault"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// ErrLocked says that another process has the store open.
var ErrLocked = errors.New("the data folder is in use by another Evenpull; stop that one or choose another folder with --data")

// A Store is one server's data. Its methods may be called from many goroutines.
type Store struct {
	folder string // "" in memory
	engine engine
	photos blobs
	blocks *blocks
	server string
	epoch  string
	key    ed25519.PrivateKey
	now    func() time.Time
	news   news
	above  aboves
	own    map[ops.ID]*writer // this run's own replica in each studio; only the committer touches it
	jobs   chan job
	stop   chan struct{}
	done   chan struct{}
	once   sync.Once
	photo  sync.Mutex
	spare  spare
	tidied time.Time // only the committer touches it
}

// Open opens or makes the store in a folder that exists. Errors are sentences for the one who starts the program.
func Open(folder string) (*Store, error) {
	name := filepath.Join(folder, "evenpull.db")
	e, err := openBolt(name)
	if err != nil {
		return nil, err
	}
	if err := migrate(e, name, migrations(), time.Now()); err != nil {
		return nil, errors.Join(err, e.close())
	}
	photos, err := openFiles(filepath.Join(folder, "photos"))
	if err != nil {
		return nil, errors.Join(err, e.close())
	}
	return start(folder, e, photos)
}

// Memory returns an empty store that is gone when the process is.
func Memory() *Store {
	s, err := start("", &memEngine{tables: map[string][]row{}}, &memBlobs{whole: map[string][]byte{}, parts: map[string][]byte{}})
	if err != nil {
		panic(err)
	}
	return s
}

func start(folder string, e engine, photos blobs) (*Store, error) {
	s := &Store{folder: folder, engine: e, photos: photos, now: time.Now, own: map[ops.ID]*writer{},
		jobs: make(chan job), stop: make(chan struct{}), done: make(chan struct{})}
	var err error
	if s.blocks, err = newBlocks(blockBytes, mostLinks); err != nil {
		return nil, errors.Join(err, e.close())
	}
	if err := s.identity(); err != nil {
		return nil, errors.Join(err, e.close())
	}
	if folder != "" {
		s.spare.file = filepath.Join(folder, "spare")
	}
	s.tidy(s.now())
	go s.commits()
	return s, nil
}

// identity reads who this server is, or makes it up the first time.
func (s *Store) identity() error {
	var seed []byte
	read := func(r rows) error {
		s.server, s.epoch = string(r.get(tMeta, []byte("server"))), string(r.get(tMeta, []byte("epoch")))
		seed = append(seed[:0], r.get(tMeta, []byte("key"))...)
		return nil
	}
	if err := s.engine.view(read); err != nil {
		return err
	}
	if s.server == "" {
		err := s.engine.update(func(r rows) error {
			fresh := make([]byte, ed25519.SeedSize)
			rand.Read(fresh)
			r.put(tMeta, []byte("key"), fresh)
			r.put(tMeta, []byte("server"), []byte(randomHex()))
			r.put(tMeta, []byte("epoch"), []byte(randomHex()))
			r.put(tMeta, []byte("version"), []byte(strconv.Itoa(len(migrations())+1)))
			return read(r)
		})
		if err != nil {
			return fmt.Errorf("the data folder can't be written: %w", err)
		}
	}
	if len(seed) != ed25519.SeedSize {
		return errors.New("the store has lost the key that signs tokens; restore a backup")
	}
	s.key = ed25519.NewKeyFromSeed(seed)
	return nil
}

func randomHex() string {
	var b [16]byte
	rand.Read(b[:])
	return hex.EncodeToString(b[:])
}

// Server is this server's id, 32 lower hex digits.
func (s *Store) Server() string { return s.server }

// Key signs tokens.
func (s *Store) Key() ed25519.PrivateKey { return s.key }

// Close finishes the commits that were begun and closes the store.
func (s *Store) Close() error {
	s.once.Do(func() { close(s.stop) })
	<-s.done
	return s.engine.close()
}

// Accounts runs fn over the account tables; what it wrote is on disk when the
// error is nil, else nothing is. fn may run more than once.
func (s *Store) Accounts(ctx context.Context, fn func(account.Tx) error) error {
	return s.write(ctx, func(t *tx) error { return fn(t) })
}

// Urgent is Accounts for what must also go through on a full disk: the end of
// somebody's access. The room for it is kept free.
func (s *Store) Urgent(ctx context.Context, fn func(account.Tx) error) error {
	err := s.Accounts(ctx, fn)
	if fault.Is(err, fault.Full) && s.spare.spend() {
		err = s.Accounts(ctx, fn)
	}
	return err
}

// Look runs fn over the account tables as they are; it must not write.
func (s *Store) Look(fn func(account.Tx) error) error {
	return s.engine.view(func(r rows) error { return fn(s.begin(r)) })
}

// Exchange judges the phone's right, takes a request's ops in and answers, in
// one transaction. The error is a fault of kind Denied, or wraps replication.ErrBad.
func (s *Store) Exchange(ctx context.Context, studio, phone ops.ID, req *replication.Request) (*replication.Answer, error) {
	return s.exchange(ctx, req, func(t *tx, req *replication.Request) (*replication.Answer, error) {
		m, err := account.Access(t, studio, phone)
		if err != nil {
			return nil, err
		}
		may := replication.Rights{Write: m.Role.Writes(), Purge: m.Role.Purges(), Servers: m.Role == account.Hub, Own: t.ownFor(req, studio)}
		c := t.copy(studio)
		a, err := replication.Serve(c, req, may, pageFor(req))
		if err == nil {
			c.beginWith(req, a)
		}
		return a, err
	})
}

func (s *Store) exchange(ctx context.Context, req *replication.Request, answers func(*tx, *replication.Request) (*replication.Answer, error)) (*replication.Answer, error) {
	var answer *replication.Answer
	serve := func(t *tx) (err error) {
		answer, err = answers(t, req)
		return err
	}
	look := func() error { return s.engine.view(func(r rows) error { return serve(s.begin(r)) }) }
	if len(req.Ops) == 0 && len(req.Frames) == 0 && req.Back == nil {
		return answer, look()
	}
	err := s.write(ctx, serve)
	if fault.Is(err, fault.Full) {
		full := refusedAll(req, replication.DiskFull)
		bare := *req
		bare.Ops, bare.Frames, bare.Back = nil, nil, nil
		req = &bare
		if err = look(); err == nil {
			answer.Refused = append(answer.Refused, full...)
		}
	}
	if err != nil {
		return nil, err
	}
	return answer, nil
}

// pageFor says how large the page of an answer is. The first one is small, so
// that a phone can begin with it; the next ones spare it round trips. Who sends
// much waits for its acknowledgement, and what comes down is mostly its own.
func pageFor(req *replication.Request) int {
	switch {
	case len(req.Ops) > 500:
		return replication.PageBytes / 8
	case req.After == 0:
		return replication.PageBytes - roomFirst // see beginWith
	}
	return 4 * replication.PageBytes
}

// refusedAll refuses, for now, whatever a request brought.
func refusedAll(req *replication.Request, reason string) (all []replication.Refusal) {
	if len(req.Ops) > 0 {
		all = append(all, replication.Refusal{Replica: req.Replica, N: req.From, Reason: reason})
	}
	for _, f := range req.Frames {
		all = append(all, replication.Refusal{Replica: f.Replica, N: f.From, Reason: reason})
	}
	if req.Back != nil { // of no replica's
		all = append(all, replication.Refusal{Reason: reason})
	}
	return all
}

// Bring adds a studio with ops that the program itself brings, taken in as if a
// keeper had sent them, and its people: all of it or nothing.
func (s *Store) Bring(ctx context.Context, studio account.Studio, requests []*replication.Request, people func(account.Tx) error) error {
	return s.write(ctx, func(t *tx) error {
		t.AddStudio(studio)
		for _, req := range requests {
			a, err := replication.Serve(t.copy(studio.ID), req, replication.Rights{Write: true, Purge: true}, replication.PageBytes)
			if err != nil {
				return err
			}
			if len(a.Refused) > 0 {
				return fmt.Errorf("op %d was refused: %s", a.Refused[0].N, a.Refused[0].Reason)
			}
		}
		return people(t)
	})
}

// Ready returns nil when a write reaches the disk.
func (s *Store) Ready(ctx context.Context) error {
	return s.write(ctx, func(t *tx) error {
		t.rows.put(tMeta, []byte("ready"), []byte(strconv.FormatInt(s.now().Unix(), 10)))
		return nil
	})
}

// Folder makes a folder for data that only its owner reads, and checks that it can be written.
func Folder(name string) error {
	if err := os.MkdirAll(name, 0o700); err != nil {
		return fmt.Errorf("the data folder %s can't be made: %w", name, errors.Unwrap(err))
	}
	probe, err := os.CreateTemp(name, ".probe-")
	if err != nil {
		return fmt.Errorf("the data folder %s can't be written: %w", name, errors.Unwrap(err))
	}
	return errors.Join(probe.Close(), os.Remove(probe.Name()))
}
