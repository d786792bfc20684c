package store

import (
	"bufio"
	"crypto/sha256"
	"encoding/base64"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"time"

	"evenpull/server/account"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// The file of a phone's copy: client/src/sync/statefile.ts reads and writes it too.
const (
	fileFormat  = "evenpull-studio"
	fileVersion = 1
)

// Studios lists the studios there are.
func (s *Store) Studios() (list []account.Studio) {
	_ = s.Look(func(tx account.Tx) error { list = tx.Studios(); return nil })
	return list
}

// Export writes one studio as a phone's copy: lines of JSON, a head, one line for
// each record, void and photo, and a foot with the sum of all before it. It returns
// the records that are not removed, by kind.
func (s *Store) Export(to io.Writer, studio ops.ID) (kinds map[string][]*merge.Record, err error) {
	kinds = map[string][]*merge.Record{}
	sum := sha256.New()
	w := bufio.NewWriter(to)
	line := func(raw []byte) {
		raw = append(raw, '\n')
		sum.Write(raw)
		_, _ = w.Write(raw) // kept by w until Flush
	}
	put := func(v any) error {
		raw, err := replication.Marshal(v)
		line(raw)
		return err
	}
	err = s.engine.view(func(r rows) error {
		c := s.begin(r).copy(studio)
		var records [][]byte
		var photos []ops.Digest
		for e := range c.entries(0) {
			rec := readRecord(e.k, e.raw)
			if len(rec.Fields) == 0 {
				continue
			}
			records = append(records, appendJSON(nil, rec))
			photos = append(photos, photosOf(rec)...)
			if !rec.Hidden() {
				kinds[rec.Kind] = append(kinds[rec.Kind], rec)
			}
		}
		photos = slices.CompactFunc(slices.SortedFunc(slices.Values(photos), func(a, b ops.Digest) int { return strings.Compare(a.String(), b.String()) }),
			func(a, b ops.Digest) bool { return a == b })
		photos = slices.DeleteFunc(photos, func(d ops.Digest) bool { return c.photoRow(d).Size == 0 })
		purged := []ops.Dot{}
		for k := range under(r, tPurged, studio[:], nil) {
			purged = append(purged, readDot(k))
		}
		voids := c.VoidsSince(0)
		if err := put(struct {
			Format  string     `json:"format"`
			Version int        `json:"version"`
			Studio  ops.ID     `json:"studio"`
			MadeMS  int64      `json:"madeMs"`
			C       ops.Vector `json:"c"`
			Purged  []ops.Dot  `json:"purged"`
			Records int        `json:"records"`
			Voids   int        `json:"voids"`
			Photos  int        `json:"photos"`
		}{fileFormat, fileVersion, studio, s.now().UnixMilli(), c.vector, purged, len(records), len(voids), len(photos)}); err != nil {
			return err
		}
		for _, raw := range records {
			line(raw)
		}
		for _, v := range voids {
			if err := put(v); err != nil {
				return err
			}
		}
		for _, d := range photos {
			body, err := s.photos.read(photoName(studio, d))
			if err != nil {
				return fmt.Errorf("photo %s: %w", d, err)
			}
			if err := put(map[string]string{"sha256": d.String(), "type": http.DetectContentType(body), "base64": base64.StdEncoding.EncodeToString(body)}); err != nil {
				return err
			}
		}
		return put(map[string]string{"sha256": hex.EncodeToString(sum.Sum(nil))})
	})
	if err != nil {
		return nil, err
	}
	return kinds, w.Flush()
}

// formula is what a spreadsheet may take for one: these signs, also in full
// width, and a tab or line end that hides one.
var formula = regexp.MustCompile(`^\s*[=+\-@＝＋－＠]|^[\t\r\n]`)

// Table writes the records of one kind as CSV (RFC 4180, UTF-8 with its mark): the
// id, when and by whom it was last written, and of each field the newest value,
// text as it is and all else as JSON. A cell that would be a formula gets an apostrophe.
func Table(to io.Writer, records []*merge.Record) error {
	names := map[string]bool{}
	for _, r := range records {
		for name := range r.Fields {
			names[name] = true
		}
	}
	fields := slices.Sorted(maps.Keys(names))
	if _, err := io.WriteString(to, "\ufeff"); err != nil {
		return err
	}
	w := csv.NewWriter(to)
	w.UseCRLF = true
	if err := w.Write(append([]string{"id", "written", "by"}, fields...)); err != nil {
		return err
	}
	for _, r := range records {
		var last merge.Value
		row := make([]string, 3, 3+len(fields))
		for _, name := range fields {
			cell := ""
			if f := r.Fields[name]; f != nil && len(f.Live) > 0 {
				v := f.Live[0]
				if last.Dot.N == 0 || v.At.Compare(last.At) > 0 {
					last = v
				}
				cell = cellOf(v.Value)
			}
			row = append(row, cell)
		}
		row[0], row[1], row[2] = r.ID.String(), time.UnixMilli(last.At.MS).UTC().Format(time.RFC3339), last.By
		if err := w.Write(row); err != nil {
			return err
		}
	}
	w.Flush()
	return w.Error()
}

func cellOf(value json.RawMessage) string {
	var text string
	if json.Unmarshal(value, &text) != nil {
		return string(value) // a number, a list: no formula begins so, but for a minus that is one
	}
	if formula.MatchString(text) {
		return "'" + text
	}
	return text
}
