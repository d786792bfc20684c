package store

import (
	"archive/tar"
	"bytes"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"time"

	"evenpull/sync/ops"
)

// A backup is a tar file: a head, the store as it was at one moment, photos, and
// at the end the sum of all names and bytes before it. Any program opens it; only
// Restore makes a server of it again.
const (
	backupFormat  = "evenpull-backup"
	backupVersion = 1
	headName      = "backup.json"
	storeName     = "evenpull.db"
	photosDir     = "photos/"
	sumName       = "sum.json"
	mostPhotoFile = ops.MaxPhotoBytes
)

// A BackupHead stands first in a backup.
type BackupHead struct {
	Format  string `json:"format"`
	Version int    `json:"version"`
	MadeMS  int64  `json:"madeMs"` // UTC
	Server  string `json:"server"`
	Bytes   int64  `json:"bytes"` // of store and photos together
	Photos  int    `json:"photos"`
}

type backupSum struct {
	SHA256 string `json:"sha256"`
}

// Backup writes a backup of this moment; the store goes on taking writes. A photo
// that a purge takes away meanwhile is left out.
func (s *Store) Backup(to io.Writer) error {
	return s.engine.snapshot(func(r rows, size int64, copyTo func(io.Writer) error) error {
		head := BackupHead{backupFormat, backupVersion, s.now().UnixMilli(), s.server, size, 0}
		type photo struct {
			name string
			size int64
		}
		var photos []photo
		for k, raw := range r.scan(tPhotos, nil) {
			var row photoRow
			if mustRead(tPhotos, raw, &row); row.Size > 0 {
				photos = append(photos, photo{photoName(ops.ID(k[:16]), ops.Digest(k[16:])), row.Size})
				head.Bytes += row.Size
			}
		}
		head.Photos = len(photos)
		w := &summed{tar.NewWriter(to), sha256.New()}
		if err := w.json(headName, head, head.MadeMS); err != nil {
			return err
		}
		if err := w.file(storeName, size, head.MadeMS, copyTo); err != nil {
			return err
		}
		for _, p := range photos {
			raw, err := s.photos.read(p.name)
			if err != nil || int64(len(raw)) != p.size {
				continue
			}
			if err := w.file(photosDir+p.name, p.size, head.MadeMS, func(to io.Writer) error { _, err := to.Write(raw); return err }); err != nil {
				return err
			}
		}
		if err := w.json(sumName, backupSum{hex.EncodeToString(w.sum.Sum(nil))}, head.MadeMS); err != nil {
			return err
		}
		return w.tar.Close()
	})
}

// A summed tar file keeps the sum of what was written.
type summed struct {
	tar *tar.Writer
	sum hash.Hash
}

func (w *summed) file(name string, size, madeMS int64, write func(io.Writer) error) error {
	fmt.Fprintf(w.sum, "%s\n%d\n", name, size)
	err := w.tar.WriteHeader(&tar.Header{Name: name, Size: size, Mode: 0o600, ModTime: time.UnixMilli(madeMS), Format: tar.FormatPAX})
	if err != nil {
		return err
	}
	return write(io.MultiWriter(w.tar, w.sum))
}

func (w *summed) json(name string, v any, madeMS int64) error {
	raw, err := json.Marshal(v)
	if err != nil {
		return err
	}
	return w.file(name, int64(len(raw)), madeMS, func(to io.Writer) error { _, err := to.Write(raw); return err })
}

var errBackup = errors.New("this is not a whole Evenpull backup: it is damaged, or was cut off")

// Verify reads a backup to its end; nil says that it is whole.
func Verify(from io.Reader) error {
	_, err := unpack(from, func(_ string, body io.Reader, size int64) error {
		if n, err := io.Copy(io.Discard, body); err != nil || n != size {
			return errBackup
		}
		return nil
	})
	return err
}

// Unpack lays a backup's files into a folder that holds nothing, and returns its
// head. What is not whole leaves nothing there.
func Unpack(from io.Reader, folder string) (BackupHead, error) {
	if entries, err := os.ReadDir(folder); err != nil {
		return BackupHead{}, err
	} else if len(entries) > 0 {
		return BackupHead{}, fmt.Errorf("%s is not empty; a backup is restored into an empty folder only", folder)
	}
	head, err := unpack(from, func(name string, body io.Reader, size int64) error {
		return layFile(filepath.Join(folder, filepath.FromSlash(name)), body, size)
	})
	if err != nil {
		_ = os.Remove(filepath.Join(folder, storeName))
		_ = os.RemoveAll(filepath.Join(folder, "photos"))
	}
	return head, err
}

func unpack(from io.Reader, lay func(name string, body io.Reader, size int64) error) (head BackupHead, err error) {
	r, sum, seen := tar.NewReader(from), sha256.New(), []string{}
	for {
		entry, err := r.Next()
		if err != nil {
			return head, errBackup
		}
		if entry.Name == sumName {
			var want backupSum
			raw, err := io.ReadAll(io.LimitReader(r, 1000))
			if err != nil || json.Unmarshal(raw, &want) != nil || want.SHA256 != hex.EncodeToString(sum.Sum(nil)) || !slices.Contains(seen, storeName) {
				return head, errBackup
			}
			return head, nil
		}
		fmt.Fprintf(sum, "%s\n%d\n", entry.Name, entry.Size)
		body := io.TeeReader(io.LimitReader(r, entry.Size), sum)
		switch {
		case entry.Typeflag != tar.TypeReg || slices.Contains(seen, entry.Name):
			return head, errBackup
		case len(seen) == 0:
			if head, err = readBackupHead(entry, body); err != nil {
				return head, err
			}
		case entry.Name == storeName, entry.Size <= mostPhotoFile && photoFile.MatchString(entry.Name):
			if err := lay(entry.Name, body, entry.Size); err != nil {
				return head, err
			}
		default:
			return head, errBackup
		}
		seen = append(seen, entry.Name)
	}
}

var photoFile = regexp.MustCompile(`^photos/[0-9a-f]{32}-[0-9a-f]{64}$`)

func readBackupHead(entry *tar.Header, body io.Reader) (head BackupHead, err error) {
	if entry.Name != headName || entry.Size > 1000 {
		return head, errors.New("this is not an Evenpull backup")
	}
	raw, err := io.ReadAll(body)
	if err != nil || json.Unmarshal(raw, &head) != nil || head.Format != backupFormat {
		return head, errors.New("this is not an Evenpull backup")
	}
	if head.Version > backupVersion {
		return head, errors.New("this backup is of a newer Evenpull; restore it with that one")
	}
	return head, nil
}

func layFile(name string, body io.Reader, size int64) error {
	if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
		return err
	}
	file, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	n, err := io.Copy(file, body)
	if err == nil && n != size {
		err = errBackup
	}
	return errors.Join(err, file.Sync(), file.Close())
}

// Restore makes a server of a backup in a folder that holds nothing. It is the
// same server in a new epoch, so that phones hand back what it does not know, and
// signs tokens with a new key. Codes that were open then open nothing any more.
func Restore(from io.Reader, folder string) (BackupHead, error) {
	head, err := Unpack(from, folder)
	if err != nil {
		return head, err
	}
	s, err := Open(folder)
	if err != nil {
		return head, err
	}
	err = s.engine.update(func(r rows) error {
		fresh := make([]byte, ed25519.SeedSize)
		rand.Read(fresh)
		r.put(tMeta, []byte("key"), fresh)
		r.put(tMeta, []byte("epoch"), []byte(randomHex()))
		for _, table := range []string{tInvites, tAbove} { // a hub begins anew with its upstream
			for _, k := range keysOf(r, table) {
				r.drop(table, k)
			}
		}
		for _, k := range keysOf(r, tPhotos) {
			var row photoRow
			getJSON(r, tPhotos, k, &row)
			if _, err := s.photos.read(photoName(ops.ID(k[:16]), ops.Digest(k[16:]))); row.Size > 0 && err != nil {
				row.Size = 0
				putJSON(r, tPhotos, k, row)
				r.put(tWanted, k, []byte{})
			}
		}
		return nil
	})
	return head, errors.Join(err, s.Close())
}

func keysOf(r rows, table string) (keys [][]byte) {
	for k := range r.scan(table, nil) {
		keys = append(keys, bytes.Clone(k))
	}
	return keys
}

// HoldsStore reports whether a folder has a store in it.
func HoldsStore(folder string) bool {
	_, err := os.Stat(filepath.Join(folder, storeName))
	return err == nil
}
