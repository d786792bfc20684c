package store

import (
	"bytes"
	"errors"
	"io"
	"iter"
	"slices"
	"sync"
)

// A memEngine keeps the tables in memory, for tests and for trying things out.
type memEngine struct {
	mu     sync.RWMutex
	tables map[string][]row // by key
}

type row struct{ key, value []byte }

func (e *memEngine) update(fn func(rows) error) error {
	e.mu.Lock()
	defer e.mu.Unlock()
	r := &memRows{e: e}
	err := fn(r)
	if err != nil {
		for _, undo := range slices.Backward(r.undo) {
			undo()
		}
	}
	return err
}

func (e *memEngine) view(fn func(rows) error) error {
	e.mu.RLock()
	defer e.mu.RUnlock()
	return fn(&memRows{e: e})
}

func (e *memEngine) snapshot(func(rows, int64, func(io.Writer) error) error) error {
	return errors.New("a store in memory can't be copied")
}
func (e *memEngine) problems() []string { return nil }
func (e *memEngine) close() error       { return nil }

type memRows struct {
	e    *memEngine
	undo []func()
}

func (r *memRows) find(table string, key []byte) (int, bool) {
	return slices.BinarySearchFunc(r.e.tables[table], key, func(a row, k []byte) int { return bytes.Compare(a.key, k) })
}

func (r *memRows) get(table string, key []byte) []byte {
	if i, ok := r.find(table, key); ok {
		return r.e.tables[table][i].value
	}
	return nil
}

func (r *memRows) put(table string, key, value []byte) {
	if value == nil {
		value = []byte{}
	}
	i, ok := r.find(table, key)
	if ok {
		old := r.e.tables[table][i]
		r.undo = append(r.undo, func() { r.put(table, old.key, old.value) })
		r.e.tables[table][i].value = value
		return
	}
	r.undo = append(r.undo, func() { r.drop(table, key) })
	r.e.tables[table] = slices.Insert(r.e.tables[table], i, row{key, value})
}

func (r *memRows) drop(table string, key []byte) {
	if i, ok := r.find(table, key); ok {
		old := r.e.tables[table][i]
		r.undo = append(r.undo, func() { r.put(table, old.key, old.value) })
		r.e.tables[table] = slices.Delete(r.e.tables[table], i, i+1)
	}
}

func (r *memRows) floor(table string, key []byte) (k, v []byte) {
	i, ok := r.find(table, key)
	if !ok {
		i--
	}
	if i < 0 {
		return nil, nil
	}
	a := r.e.tables[table][i]
	return a.key, a.value
}

func (r *memRows) scan(table string, from []byte) iter.Seq2[[]byte, []byte] {
	return func(yield func(k, v []byte) bool) {
		for i, _ := r.find(table, from); i < len(r.e.tables[table]); i++ {
			if a := r.e.tables[table][i]; !yield(a.key, a.value) {
				return
			}
		}
	}
}
