package store

import (
	"testing"

	"evenpull/server/store/storetest"
)

func TestOnDisk(t *testing.T) {
	storetest.Run(t, func(t *testing.T) storetest.Store { return opened(t, t.TempDir()) })
}

// With blocks that hold a few entries only, a small test splits, merges and empties them.
func TestWithSmallBlocks(t *testing.T) {
	storetest.Run(t, func(t *testing.T) storetest.Store {
		s := Memory()
		t.Cleanup(func() { s.Close() })
		s.blocks.bytes, s.blocks.links = 700, 5
		return s
	})
}

func TestInMemory(t *testing.T) {
	storetest.Run(t, func(t *testing.T) storetest.Store {
		s := Memory()
		t.Cleanup(func() { s.Close() })
		return s
	})
}

func opened(t *testing.T, folder string) *Store {
	t.Helper()
	s, err := Open(folder)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}
