package store

import (
	"archive/tar"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"os"
	"strings"
	"testing"

	"evenpull/server/account"
	"evenpull/server/fault"
	"evenpull/sync/ops"
)

// Whatever a file says of itself, it is laid out whole or nothing of it is, and
// never outside its folder.
func FuzzBackup(f *testing.F) {
	photo := photosDir + strings.Repeat("1", 32) + "-" + strings.Repeat("2", 64)
	whole := packed(f, storeName, photo)
	if err := Verify(bytes.NewReader(whole)); err != nil {
		f.Fatal(err)
	}
	for _, seed := range [][]byte{whole, whole[:len(whole)/2], {}, packed(f, photo), packed(f, storeName, storeName), packed(f, storeName, "../beside"),
		packed(f, storeName, "photos/../../beside"), packed(f, "/beside", storeName)} {
		f.Add(seed, uint16(0), byte(0))
	}
	f.Add(whole, uint16(128), byte('9')) // a size of another
	f.Fuzz(func(t *testing.T, raw []byte, at uint16, by byte) {
		if len(raw) > 0 && at > 0 {
			raw = bytes.Clone(raw)
			raw[int(at)%len(raw)] = by
		}
		whole := Verify(bytes.NewReader(raw))
		if at%8 != 0 {
			return // a disk is slow
		}
		parent := t.TempDir()
		folder := parent + "/data"
		if err := os.Mkdir(folder, 0o700); err != nil {
			t.Fatal(err)
		}
		_, err := Unpack(bytes.NewReader(raw), folder)
		entries, _ := os.ReadDir(folder)
		if beside, _ := os.ReadDir(parent); len(beside) != 1 || err != nil && len(entries) > 0 || err == nil && len(entries) == 0 {
			t.Errorf("%v; beside it %v, in it %v", err, beside, entries)
		}
		if (whole == nil) != (err == nil) {
			t.Errorf("laid out: %v; read through: %v", err, whole)
		}
	})
}

// packed is a small backup with those files, as Backup writes one.
func packed(f *testing.F, names ...string) []byte {
	f.Helper()
	var out bytes.Buffer
	w := &summed{tar.NewWriter(&out), sha256.New()}
	err := w.json(headName, BackupHead{Format: backupFormat, Version: backupVersion, MadeMS: 1000}, 1000)
	for _, name := range names {
		err = errors.Join(err, w.file(name, 8, 1000, func(to io.Writer) error { _, err := to.Write([]byte("contents")); return err }))
	}
	if err = errors.Join(err, w.json(sumName, backupSum{hex.EncodeToString(w.sum.Sum(nil))}, 1000), w.tar.Close()); err != nil {
		f.Fatal(err)
	}
	return out.Bytes()
}

// Whatever pieces come in whatever order, what is whole is what its name says,
// and no more is kept than was announced.
func FuzzPhoto(f *testing.F) {
	jpeg := append([]byte("\xff\xd8\xff\xe0"), bytes.Repeat([]byte{7}, 90)...)
	f.Add(jpeg, []byte(nil), int64(0), int64(len(jpeg)))
	f.Add(append(bytes.Clone(jpeg[:60]), jpeg[:34]...), []byte(nil), int64(0), int64(len(jpeg))) // another photo
	f.Add(jpeg[:40], jpeg[40:], int64(40), int64(len(jpeg)))
	f.Add(jpeg[:40], jpeg, int64(0), int64(len(jpeg)))
	f.Add([]byte("<svg>"), jpeg, int64(5), int64(200))
	f.Add(jpeg, jpeg, int64(-1), int64(1)<<62)
	sum := ops.Digest(sha256.Sum256(jpeg))
	f.Fuzz(func(t *testing.T, one, two []byte, at, total int64) {
		s := Memory()
		defer s.Close()
		studio, phone := ops.ID{1}, ops.ID{2}
		name := func(tx account.Tx) error {
			tx.AddStudio(account.Studio{ID: studio})
			tx.PutSeat(studio, account.Seat{Phone: phone, Person: phone})
			tx.PutMember(studio, account.Member{Person: phone, Role: account.Operator})
			return tx.Write(studio, phone, kindPhoto, ops.ID{3}, map[string]any{"sha256": sum})
		}
		if err := s.Accounts(t.Context(), name); err != nil {
			t.Fatal(err)
		}
		for i, piece := range [][]byte{one, two} {
			from := at
			if i == 0 {
				from = 0
			}
			have, whole, err := s.PutPhoto(t.Context(), studio, phone, sum, from, total, piece)
			if fault.Is(err, fault.Internal) {
				t.Fatalf("piece %d at %d of %d: %v", i, from, total, err)
			}
			if have < 0 || have > max(0, total) && !whole && err == nil {
				t.Errorf("it has %d of %d", have, total)
			}
			if got, err := s.Photo(studio, phone, sum); whole != (err == nil) || whole && !bytes.Equal(got, jpeg) {
				t.Errorf("whole is %v; %d bytes, %v", whole, len(got), err)
			}
		}
	})
}
