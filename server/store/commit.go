package store

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"syscall"
	"time"

	"evenpull/server/fault"
	"evenpull/sync/ops"
)

// mostJobs is how many callers share one fsync. While it runs others queue up:
// no timer is needed to gather them.
const mostJobs = 32

type job struct {
	fn   func(*tx) error
	done chan error // buffered
}

// write runs fn in a transaction that others may share. When it returns nil all
// is on disk; else nothing fn wrote is. fn may run more than once.
func (s *Store) write(ctx context.Context, fn func(*tx) error) error {
	j := job{fn, make(chan error, 1)}
	select {
	case <-s.stop:
		return errStopping()
	default:
	}
	select {
	case s.jobs <- j:
	case <-s.stop:
		return errStopping()
	case <-ctx.Done():
		return ctx.Err()
	}
	return <-j.done
}

func errStopping() error {
	return fault.New(fault.Unavailable, "", "The server is stopping. Try again in a moment.")
}

func (s *Store) commits() {
	defer close(s.done)
	for {
		select {
		case j := <-s.jobs:
			batch := []job{j}
			for more := true; more && len(batch) < mostJobs; {
				select {
				case j := <-s.jobs:
					batch = append(batch, j)
				default:
					more = false
				}
			}
			s.commit(batch)
		case <-s.stop:
			return
		}
	}
}

// commit runs the jobs in one transaction. One that fails after it wrote
// something is answered and taken out, and the others run again without it.
func (s *Store) commit(batch []job) {
	for len(batch) > 0 {
		heads := map[ops.ID]uint64{}
		drops := []string{}
		results := make([]error, len(batch))
		failed := -1
		err := s.engine.update(func(r rows) error {
			for i, j := range batch {
				t := s.begin(r)
				err := run(j.fn, t)
				if err == nil {
					t.flush()
					drops = append(drops, t.drops...)
					for id, c := range t.copies {
						if c.moved {
							heads[id] = c.head
						}
					}
				} else if t.wrote() {
					failed = i
					return err
				}
				results[i] = err
			}
			return nil
		})
		switch {
		case failed >= 0:
			batch[failed].done <- err
			batch = append(batch[:failed:failed], batch[failed+1:]...)
			continue
		default:
			err = diskFull(err)
		}
		if err == nil {
			for id, head := range heads {
				s.news.tell(id, head) // first: who was answered may ask for the head
			}
		}
		for i, j := range batch {
			if results[i] == nil {
				results[i] = err
			}
			j.done <- results[i]
		}
		if err == nil {
			for _, name := range drops {
				s.photos.drop(name)
			}
			s.tidy(s.now())
		}
		return
	}
}

const (
	tidyEvery  = time.Hour
	begunLasts = 24 * time.Hour // an unfinished photo; its phone sends it anew after that
)

// tidy does now and then what nobody asks for.
func (s *Store) tidy(now time.Time) {
	s.spare.refill(now)
	if now.Sub(s.tidied) < tidyEvery || !s.photo.TryLock() { // who sends a photo may wait for this commit
		return
	}
	defer s.photo.Unlock()
	s.tidied = now
	s.photos.sweep(now.Add(-begunLasts))
}

// diskFull classifies the one error of a disk that passes by itself once somebody makes room.
func diskFull(err error) error {
	if errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) {
		return fmt.Errorf("%w: %w", err, fault.New(fault.Full, "", "The server's disk is full. What is on the phone stays there; try again once there is room."))
	}
	return err
}

// run turns a panic over one caller's bytes into that caller's error.
func run(fn func(*tx) error, t *tx) (err error) {
	defer func() {
		if p := recover(); p != nil {
			t.rows.wrote = true
			err = fmt.Errorf("panic in a transaction: %v\n%s", p, debug.Stack())
		}
	}()
	return fn(t)
}
