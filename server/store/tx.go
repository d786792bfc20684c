package store

import (
	"encoding/json"
	"fmt"
	"iter"

	"evenpull/sync/ops"
)

// A tx is one caller's part of a transaction.
type tx struct {
	s      *Store
	rows   *watched
	copies map[ops.ID]*studioCopy
	drops  []string // photos to delete once all is on disk
}

func (s *Store) begin(r rows) *tx {
	return &tx{s: s, rows: &watched{rows: r}, copies: map[ops.ID]*studioCopy{}}
}

// copy returns the transaction's view of one studio's copy.
func (t *tx) copy(studio ops.ID) *studioCopy {
	c := t.copies[studio]
	if c == nil {
		c = openCopy(t, studio)
		t.copies[studio] = c
	}
	return c
}

func (t *tx) flush() {
	for _, c := range t.copies {
		c.flush()
	}
}

// wrote reports whether anything would have to be undone.
func (t *tx) wrote() bool { return t.rows.wrote }

// watched remembers whether anything was written.
type watched struct {
	rows
	wrote bool
}

func (w *watched) put(table string, key, value []byte) {
	w.wrote = true
	w.rows.put(table, key, value)
}

func (w *watched) drop(table string, key []byte) {
	w.wrote = true
	w.rows.drop(table, key)
}

// getJSON reads a row that this package wrote; one that can't be read is a broken store.
func getJSON(r rows, table string, k []byte, into any) bool {
	raw := r.get(table, k)
	if raw == nil {
		return false
	}
	mustRead(table, raw, into)
	return true
}

func mustRead(table string, raw []byte, into any) {
	if err := json.Unmarshal(raw, into); err != nil {
		panic(fmt.Errorf("a row of table %s: %w", table, err))
	}
}

func putJSON(r rows, table string, k []byte, v any) {
	raw, err := json.Marshal(v)
	if err != nil {
		panic(fmt.Errorf("a row for table %s: %w", table, err))
	}
	r.put(table, k, raw)
}

func all[T any](seq iter.Seq2[[]byte, []byte], table string) (list []T) {
	for _, raw := range seq {
		var v T
		mustRead(table, raw, &v)
		list = append(list, v)
	}
	return list
}
