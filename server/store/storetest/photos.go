package storetest

import (
	"bytes"
	"crypto/sha256"
	"testing"

	"evenpull/server/fault"
	"evenpull/sync/ops"
)

// jpeg returns bytes that begin as a JPEG does.
func jpeg(n int) ([]byte, ops.Digest) {
	b := bytes.Repeat([]byte{7}, n)
	copy(b, "\xff\xd8\xff\xe0")
	return b, sha256.Sum256(b)
}

func photos(t *testing.T, s Store) {
	b := newBench(t, s)
	raw, d := jpeg(5000)
	put := func(phone ops.ID, at, total int64, piece []byte) (int64, bool, error) {
		return s.PutPhoto(t.Context(), b.studio, phone, d, at, total, piece)
	}
	if _, _, err := put(b.operator, 0, 5000, raw); !fault.Is(err, fault.NotFound) {
		t.Fatalf("a photo that no record names: %v", err)
	}
	p := b.phone(t, b.operator)
	write(t, p, "photo", newID(), map[string]any{"sha256": d.String(), "bytes": 5000})
	a := b.exchange(t, b.operator, p)
	if len(a.PhotosWanted) != 1 || a.PhotosWanted[0] != d.String() {
		t.Errorf("wanted %v", a.PhotosWanted)
	}
	for _, c := range []struct {
		name      string
		phone     ops.ID
		at, total int64
		piece     []byte
		kind      fault.Kind
	}{
		{"guest", b.guest, 0, 5000, raw, fault.Denied},
		{"stranger", newID(), 0, 5000, raw, fault.Denied},
		{"not a photo", b.operator, 0, 5000, []byte("<svg onload=alert(1)>"), fault.Invalid},
		{"a gap", b.operator, 100, 5000, raw[100:], fault.Conflict},
		{"longer than said", b.operator, 0, 10, raw, fault.Invalid},
		{"other bytes", b.operator, 0, 4999, raw[:4999], fault.Invalid},
	} {
		if _, _, err := put(c.phone, c.at, c.total, c.piece); !fault.Is(err, c.kind) {
			t.Errorf("%s: %v; want %v", c.name, err, c.kind)
		}
	}
	if have, whole, err := put(b.operator, 0, 5000, raw[:2000]); have != 2000 || whole || err != nil {
		t.Fatal(have, whole, err)
	}
	if have, whole, err := s.PhotoState(b.studio, b.guest, d); have != 2000 || whole || err != nil {
		t.Error("state after a piece:", have, whole, err)
	}
	if _, err := s.Photo(b.studio, b.guest, d); !fault.Is(err, fault.NotFound) {
		t.Errorf("half a photo: %v", err)
	}
	if have, whole, err := put(b.operator, 2000, 5000, raw[2000:]); have != 5000 || !whole || err != nil {
		t.Fatal(have, whole, err)
	}
	if have, whole, err := put(b.operator, 0, 5000, raw); have != 5000 || !whole || err != nil {
		t.Error("sent again:", have, whole, err)
	}
	got, err := s.Photo(b.studio, b.guest, d)
	if !bytes.Equal(got, raw) || err != nil {
		t.Errorf("%d bytes came back, %v", len(got), err)
	}
	if _, err := s.Photo(b.studio, newID(), d); !fault.Is(err, fault.Denied) {
		t.Errorf("a stranger looks: %v", err)
	}
	if a := b.exchange(t, b.operator, p); len(a.PhotosWanted) != 0 {
		t.Errorf("still wanted: %v", a.PhotosWanted)
	}
}

func purgedPhoto(t *testing.T, s Store) {
	b := newBench(t, s)
	p := b.phone(t, b.keeper)
	raw, d := jpeg(100)
	twice, again := jpeg(101)
	var gone, kept ops.Op
	gone = write(t, p, "photo", newID(), map[string]any{"sha256": d.String()})
	for range 2 {
		kept = write(t, p, "photo", newID(), map[string]any{"sha256": again.String()})
	}
	b.settle(t, b.keeper, p)
	for digest, bytes := range map[ops.Digest][]byte{d: raw, again: twice} {
		_, _, err := s.PutPhoto(t.Context(), b.studio, b.keeper, digest, 0, int64(len(bytes)), bytes)
		must(t, err)
	}
	write(t, p, "purge", newID(), map[string]any{"dots": []ops.Dot{gone.Dot(), kept.Dot()}})
	b.settle(t, b.keeper, p)
	if _, err := s.Photo(b.studio, b.keeper, d); !fault.Is(err, fault.NotFound) {
		t.Errorf("a purged photo: %v", err)
	}
	if _, err := s.Photo(b.studio, b.keeper, again); err != nil {
		t.Errorf("a photo that another record still names: %v", err)
	}
	reader := newPhone()
	b.settle(t, b.guest, reader)
	for _, r := range reader.Base.Records {
		if f := r.Fields["sha256"]; r.ID == gone.ID && (len(f.Live) != 1 || f.Live[0].Value != nil) {
			t.Errorf("a purged value is read: %+v", f)
		}
	}
}
