package store

import (
	"context"
	"strconv"
	"time"
)

var seenName = []byte("seen") // in tMeta: UTC milliseconds

// Seen is the latest time that See was told; zero where there is none.
func (s *Store) Seen() (at time.Time, err error) {
	err = s.engine.view(func(r rows) error {
		raw := r.get(tMeta, seenName)
		if raw == nil {
			return nil
		}
		ms, err := strconv.ParseInt(string(raw), 10, 64)
		at = time.UnixMilli(ms)
		return err
	})
	return at, err
}

// See keeps a time that was reached, so that a machine whose clock starts in the
// past after a power cut is known to be wrong.
func (s *Store) See(ctx context.Context, at time.Time) error {
	return s.write(ctx, func(t *tx) error {
		t.rows.put(tMeta, seenName, strconv.AppendInt(nil, at.UnixMilli(), 10))
		return nil
	})
}
