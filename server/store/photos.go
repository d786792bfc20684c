package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"net/http"
	"slices"
	"strings"

	"evenpull/server/account"
	"evenpull/server/fault"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
)

const kindPhoto = "photo"

// A photoRow says what is known of the photo with one sha256.
type photoRow struct {
	NamedBy []ops.ID // photo records
	Size    int64    // 0 while it is not here
}

// photosOf lists the photos that a photo record names: more than one where several values stand.
func photosOf(r *merge.Record) (named []ops.Digest) {
	f := r.Fields["sha256"]
	if r.Kind != kindPhoto || f == nil {
		return nil
	}
	for _, v := range f.Live {
		var text string
		var d ops.Digest
		if json.Unmarshal(v.Value, &text) == nil && d.UnmarshalText([]byte(text)) == nil && text == strings.ToLower(text) {
			named = append(named, d)
		}
	}
	return named
}

// namePhotos keeps up which photos a changed record names. One that a purge took
// the last name of is deleted; one that a newer value replaced is kept, as
// replaced words are.
func (c *studioCopy) namePhotos(r *cached) {
	now := photosOf(r.Record)
	for _, d := range now {
		row := c.photoRow(d)
		if !slices.Contains(row.NamedBy, r.ID) {
			row.NamedBy = append(row.NamedBy, r.ID)
			putJSON(c.t.rows, tPhotos, c.key(d[:]), row)
			if row.Size == 0 {
				c.t.rows.put(tWanted, c.key(d[:]), []byte{})
			}
		}
	}
	if r.purged {
		for _, d := range r.photos {
			if slices.Contains(now, d) {
				continue
			}
			row := c.photoRow(d)
			if row.NamedBy = slices.DeleteFunc(row.NamedBy, func(id ops.ID) bool { return id == r.ID }); len(row.NamedBy) > 0 {
				putJSON(c.t.rows, tPhotos, c.key(d[:]), row)
				continue
			}
			c.t.rows.drop(tPhotos, c.key(d[:]))
			c.t.rows.drop(tWanted, c.key(d[:]))
			c.t.drops = append(c.t.drops, photoName(c.studio, d))
		}
	}
	r.photos = now
}

func (c *studioCopy) photoRow(d ops.Digest) (row photoRow) {
	getJSON(c.t.rows, tPhotos, c.key(d[:]), &row)
	return row
}

// PhotosWanted lists photos that records name and that are not here.
func (c *studioCopy) PhotosWanted(limit int) (wanted []string) {
	for k := range under(c.t.rows, tWanted, c.studio[:], nil) {
		if len(wanted) == limit {
			break
		}
		wanted = append(wanted, hex.EncodeToString(k[16:]))
	}
	return wanted
}

func photoName(studio ops.ID, d ops.Digest) string { return studio.String() + "-" + d.String() }

// PhotoState returns how many bytes of a photo are here, and whether that is all of it.
func (s *Store) PhotoState(studio, phone ops.ID, d ops.Digest) (have int64, whole bool, err error) {
	row, err := s.photoAccess(studio, phone, d, account.Role.Reads)
	if err != nil || row.Size > 0 {
		return row.Size, row.Size > 0, err
	}
	have, err = s.photos.begun(photoName(studio, d))
	return have, false, err
}

func (s *Store) photoAccess(studio, phone ops.ID, d ops.Digest, may func(account.Role) bool) (row photoRow, err error) {
	err = s.engine.view(func(r rows) error {
		t := s.begin(r)
		m, err := account.Access(t, studio, phone)
		if err != nil {
			return err
		}
		if !may(m.Role) {
			return fault.New(fault.Denied, "role", "A guest reads and does not write.")
		}
		if !getJSON(r, tPhotos, key(studio[:], d[:]), &row) {
			return fault.New(fault.NotFound, "sha256", "No record names this photo.")
		}
		return nil
	})
	return row, err
}

// Photo returns a photo's bytes.
func (s *Store) Photo(studio, phone ops.ID, d ops.Digest) ([]byte, error) {
	row, err := s.photoAccess(studio, phone, d, account.Role.Reads)
	if err != nil {
		return nil, err
	}
	if row.Size == 0 {
		return nil, fault.New(fault.NotFound, "sha256", "This photo has not come yet.")
	}
	return s.photos.read(photoName(studio, d))
}

// PutPhoto takes the piece of a photo that starts at byte `at` of total, in
// order. What it says it has is on disk; whole means checked too.
func (s *Store) PutPhoto(ctx context.Context, studio, phone ops.ID, d ops.Digest, at, total int64, piece []byte) (have int64, whole bool, err error) {
	row, err := s.photoAccess(studio, phone, d, account.Role.Writes)
	if err != nil || row.Size > 0 {
		return row.Size, row.Size > 0, err
	}
	return s.putPhoto(ctx, studio, d, at, total, piece)
}

func (s *Store) putPhoto(ctx context.Context, studio ops.ID, d ops.Digest, at, total int64, piece []byte) (have int64, whole bool, err error) {
	s.photo.Lock()
	defer s.photo.Unlock()
	name := photoName(studio, d)
	have, err = s.photos.begun(name)
	switch {
	case err != nil:
		return 0, false, err
	case at == 0 && have > 0: // begun anew
		s.photos.drop(name)
		have = 0
	case at != have:
		return have, false, fault.New(fault.Conflict, "offset", "Go on at byte %d.", have)
	}
	if at == 0 && !photoType(piece) {
		return 0, false, fault.New(fault.Invalid, "photo", "A photo is JPEG, PNG or WebP.")
	}
	if have += int64(len(piece)); have > total {
		return at, false, fault.New(fault.Invalid, "photo", "The photo is longer than was said.")
	}
	if err := s.photos.add(name, at, piece); err != nil {
		return at, false, diskFull(err)
	}
	if have < total {
		return have, false, nil
	}
	raw, err := s.photos.readBegun(name)
	if err != nil {
		return 0, false, err
	}
	if sha256.Sum256(raw) != d {
		s.photos.drop(name)
		return 0, false, fault.New(fault.Invalid, "sha256", "The photo's bytes are not those of its name. Send it again.")
	}
	if err := s.photos.finish(name); err != nil {
		return 0, false, diskFull(err)
	}
	err = s.write(ctx, func(t *tx) error {
		row := photoRow{}
		if !getJSON(t.rows, tPhotos, key(studio[:], d[:]), &row) {
			t.drops = append(t.drops, name) // purged meanwhile
			return nil
		}
		row.Size = total
		putJSON(t.rows, tPhotos, key(studio[:], d[:]), row)
		t.rows.drop(tWanted, key(studio[:], d[:]))
		return nil
	})
	return total, err == nil, err
}

// photoType sniffs the first bytes, fewer than 12 of which tell nothing.
func photoType(b []byte) bool {
	switch http.DetectContentType(bytes.Clone(b[:min(len(b), 512)])) {
	case "image/jpeg", "image/png", "image/webp":
		return true
	}
	return false
}
