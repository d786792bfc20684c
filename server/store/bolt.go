package store

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"maps"
	"slices"
	"time"

	"go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"
)

type boltEngine struct{ db *bbolt.DB }

// mapped is address space, not memory or disk: room to grow without mapping the
// file anew, for which a commit must copy all that it has in hand.
const mapped = 256 << 20

// grown is by how much the file grows at a time.
const grown = 128 << 10

func openBolt(name string) (*boltEngine, error) {
	db, err := bbolt.Open(name, 0o600, &bbolt.Options{Timeout: 300 * time.Millisecond, FreelistType: bbolt.FreelistMapType,
		InitialMmapSize: mapped})
	if err == nil {
		db.AllocSize = grown
	}
	switch {
	case errors.Is(err, bolterrors.ErrTimeout):
		return nil, ErrLocked
	case errors.Is(err, fs.ErrPermission):
		return nil, fmt.Errorf("the store %s can't be written: %w", name, fs.ErrPermission)
	case err != nil:
		return nil, fmt.Errorf("the store %s can't be opened: %w", name, err)
	}
	return &boltEngine{db}, nil
}

func (e *boltEngine) update(fn func(rows) error) error {
	return e.db.Update(func(tx *bbolt.Tx) error {
		r := newBoltRows(tx)
		if err := fn(r); err != nil {
			return err
		}
		return r.finish()
	})
}

func (e *boltEngine) view(fn func(rows) error) error {
	return e.db.View(func(tx *bbolt.Tx) error { return fn(newBoltRows(tx)) })
}

func (e *boltEngine) snapshot(fn func(rows, int64, func(io.Writer) error) error) error {
	return e.db.View(func(tx *bbolt.Tx) error {
		return fn(newBoltRows(tx), tx.Size(), func(w io.Writer) error {
			_, err := tx.WriteTo(w)
			return err
		})
	})
}

// problems names what is wrong with the pages of the file.
func (e *boltEngine) problems() (found []string) {
	_ = e.db.View(func(tx *bbolt.Tx) error {
		for err := range tx.Check() {
			found = append(found, err.Error())
		}
		return nil
	})
	return found
}

func (e *boltEngine) close() error { return e.db.Close() }

// boltRows keeps the first error of a write: the transaction then fails as a
// whole. What is dropped is deleted at the end only: a cursor of bbolt that meets
// a page which deletes have emptied stops there, or goes round for ever.
type boltRows struct {
	tx      *bbolt.Tx
	buckets map[string]*bbolt.Bucket
	dropped map[string]map[string]bool // by table
	err     error
}

func newBoltRows(tx *bbolt.Tx) *boltRows {
	return &boltRows{tx: tx, buckets: map[string]*bbolt.Bucket{}, dropped: map[string]map[string]bool{}}
}

func (r *boltRows) finish() error {
	for _, table := range slices.Sorted(maps.Keys(r.dropped)) {
		for _, key := range slices.Sorted(maps.Keys(r.dropped[table])) {
			if r.err == nil {
				r.err = r.bucket(table).Delete([]byte(key))
			}
		}
	}
	return r.err
}

func (r *boltRows) bucket(table string) *bbolt.Bucket {
	b := r.buckets[table]
	if b != nil {
		return b
	}
	b = r.tx.Bucket([]byte(table))
	if b == nil && r.tx.Writable() {
		made, err := r.tx.CreateBucket([]byte(table))
		if err != nil {
			panic(err) // the table's own name is at fault
		}
		b = made
	}
	if b != nil {
		if inOrder[table] {
			b.FillPercent = 1
		}
		r.buckets[table] = b
	}
	return b
}

func (r *boltRows) get(table string, key []byte) []byte {
	if b := r.bucket(table); b != nil && !r.dropped[table][string(key)] {
		return b.Get(key)
	}
	return nil
}

func (r *boltRows) put(table string, key, value []byte) {
	delete(r.dropped[table], string(key))
	if r.err == nil {
		r.err = r.bucket(table).Put(key, value)
	}
}

func (r *boltRows) drop(table string, key []byte) {
	if r.dropped[table] == nil {
		r.dropped[table] = map[string]bool{}
	}
	r.dropped[table][string(key)] = true
}

func (r *boltRows) floor(table string, key []byte) (k, v []byte) {
	b := r.bucket(table)
	if b == nil {
		return nil, nil
	}
	c := b.Cursor()
	switch k, v = c.Seek(key); {
	case k == nil:
		k, v = c.Last()
	case !bytes.Equal(k, key):
		k, v = c.Prev()
	}
	for k != nil && r.dropped[table][string(k)] {
		k, v = c.Prev()
	}
	return k, v
}

func (r *boltRows) scan(table string, from []byte) iter.Seq2[[]byte, []byte] {
	return func(yield func(k, v []byte) bool) {
		b := r.bucket(table)
		if b == nil {
			return
		}
		c := b.Cursor()
		for k, v := c.Seek(from); k != nil; k, v = c.Next() {
			if !r.dropped[table][string(k)] && !yield(k, v) {
				return
			}
		}
	}
}
