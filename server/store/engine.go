package store

import (
	"bytes"
	"io"
	"iter"
)

// An engine keeps the tables. Another one can stand in bbolt's place by these
// four methods; storetest shows whether it does.
type engine interface {
	// update runs fn over a transaction of its own, one at a time. When it
	// returns nil all is on disk; else nothing is.
	update(fn func(rows) error) error
	view(fn func(rows) error) error
	// snapshot runs fn over the store as it is at one moment, with that moment's
	// size in bytes and what writes them. Writing goes on meanwhile.
	snapshot(fn func(r rows, size int64, copyTo func(io.Writer) error) error) error
	problems() []string // what is wrong with the file itself
	close() error
}

// rows is one transaction. Slices it returns hold until the next write.
type rows interface {
	get(table string, key []byte) []byte // nil where there is none
	put(table string, key, value []byte) // keeps both slices
	drop(table string, key []byte)
	floor(table string, key []byte) (k, v []byte)             // the last one up to that key; nil where there is none
	scan(table string, from []byte) iter.Seq2[[]byte, []byte] // ascending from that key on; not to be written during it
}

// atOrBefore returns the last row at or before prefix followed by from, nil where none has that prefix.
func atOrBefore(r rows, table string, prefix, from []byte) (k, v []byte) {
	if k, v = r.floor(table, key(prefix, from)); !bytes.HasPrefix(k, prefix) {
		return nil, nil
	}
	return k, v
}

// under scans the keys with a prefix, starting at prefix followed by from.
func under(r rows, table string, prefix, from []byte) iter.Seq2[[]byte, []byte] {
	return func(yield func(k, v []byte) bool) {
		for k, v := range r.scan(table, key(prefix, from)) {
			if !bytes.HasPrefix(k, prefix) || !yield(k, v) {
				return
			}
		}
	}
}
