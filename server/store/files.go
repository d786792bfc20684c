package store

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"
)

// blobs keeps photos. They are files, not rows: a megabyte in a bbolt page list
// is written twice, holds up every other commit, and makes each copy of the
// store as large as all photos together.
type blobs interface {
	begun(name string) (int64, error) // bytes of an unfinished one
	add(name string, at int64, piece []byte) error
	readBegun(name string) ([]byte, error)
	finish(name string) error // on disk when it returns
	read(name string) ([]byte, error)
	drop(name string)
	sweep(before time.Time) // drops unfinished ones that nothing came for since
}

type files struct{ folder string }

const begunSuffix = ".part"

func openFiles(folder string) (files, error) {
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return files{}, fmt.Errorf("the folder for photos can't be made: %w", err)
	}
	return files{folder}, nil
}

func (f files) path(name string) string { return filepath.Join(f.folder, name) }

func (f files) begun(name string) (int64, error) {
	info, err := os.Stat(f.path(name) + begunSuffix)
	if errors.Is(err, fs.ErrNotExist) {
		return 0, nil
	}
	if err != nil {
		return 0, err
	}
	return info.Size(), nil
}

func (f files) add(name string, at int64, piece []byte) error {
	file, err := os.OpenFile(f.path(name)+begunSuffix, os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = file.WriteAt(piece, at)
	return errors.Join(err, file.Sync(), file.Close())
}

func (f files) readBegun(name string) ([]byte, error) { return os.ReadFile(f.path(name) + begunSuffix) }
func (f files) read(name string) ([]byte, error)      { return os.ReadFile(f.path(name)) }

func (f files) finish(name string) error {
	if err := os.Rename(f.path(name)+begunSuffix, f.path(name)); err != nil {
		return err
	}
	dir, err := os.Open(f.folder)
	if err != nil {
		return err
	}
	return errors.Join(dir.Sync(), dir.Close())
}

func (f files) drop(name string) {
	_ = os.Remove(f.path(name) + begunSuffix)
	_ = os.Remove(f.path(name))
}

func (f files) sweep(before time.Time) {
	entries, err := os.ReadDir(f.folder)
	if err != nil {
		return // the next photo says so
	}
	for _, e := range entries {
		if info, err := e.Info(); err == nil && strings.HasSuffix(e.Name(), begunSuffix) && info.ModTime().Before(before) {
			_ = os.Remove(f.path(e.Name()))
		}
	}
}

// memBlobs is the same in memory.
type memBlobs struct {
	mu           sync.Mutex
	whole, parts map[string][]byte
}

func (m *memBlobs) begun(name string) (int64, error) {
	b, _ := m.readBegun(name)
	return int64(len(b)), nil
}

func (m *memBlobs) add(name string, at int64, piece []byte) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.parts[name] = append(m.parts[name][:at:at], piece...)
	return nil
}

func (m *memBlobs) readBegun(name string) ([]byte, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.parts[name], nil
}

func (m *memBlobs) finish(name string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.whole[name] = m.parts[name]
	delete(m.parts, name)
	return nil
}

func (m *memBlobs) read(name string) ([]byte, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if b, ok := m.whole[name]; ok {
		return b, nil
	}
	return nil, fs.ErrNotExist
}

func (m *memBlobs) drop(name string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	delete(m.whole, name)
	delete(m.parts, name)
}

func (m *memBlobs) sweep(time.Time) {} // gone with the process
