package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"mime"
	"net/http"
	"os"
	"strconv"
	"strings"

	"github.com/klauspost/compress/gzip"
	"github.com/labstack/echo/v4"

	"evenpull/server/fault"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

const maxSmallBody = 16 << 10

// Bounds of an exchange beyond those of its bytes: none is near what a program of ours sends.
const (
	maxVector  = 10000 // entries
	maxRenamed = 64    // of one frame
	maxText    = 128   // of server, epoch, digest, via
)

// readJSON reads a small body into v.
func readJSON(c echo.Context, v any) error {
	if kind, _, err := mime.ParseMediaType(c.Request().Header.Get("Content-Type")); err != nil || kind != "application/json" {
		return fault.New(fault.Invalid, "", "Send JSON, and say so in Content-Type.")
	}
	raw, err := readBody(c, maxSmallBody, maxSmallBody)
	if err != nil {
		return err
	}
	return decode(raw, v)
}

func decode(raw []byte, v any) error {
	err := json.Unmarshal(raw, v)
	var wrong *json.UnmarshalTypeError
	switch {
	case errors.As(err, &wrong):
		return fault.New(fault.Invalid, wrong.Field, "This field does not hold what it should.")
	case err != nil:
		return fault.New(fault.Invalid, "", "The body is not what this call takes.")
	}
	return nil
}

// readBody reads a body of at most plain bytes; one that is gzip, of at most
// packed bytes that inflate to no more than plain.
func readBody(c echo.Context, packed, plain int64) ([]byte, error) {
	r, limit := io.Reader(c.Request().Body), plain
	zipped := false
	switch enc := c.Request().Header.Get("Content-Encoding"); enc {
	case "", "identity":
	case "gzip":
		zipped, limit = true, packed
	default:
		return nil, fault.New(fault.Invalid, "", "Only gzip is understood as Content-Encoding.")
	}
	if c.Request().ContentLength > limit {
		return nil, errTooLarge(limit)
	}
	raw, err := readUpTo(r, limit, c.Request().ContentLength)
	if err != nil || !zipped {
		return raw, err
	}
	z, err := gzip.NewReader(bytes.NewReader(raw))
	if err != nil {
		return nil, errGzip()
	}
	z.Multistream(false)
	return readUpTo(z, plain, 8*int64(len(raw)))
}

// readUpTo reads all of a body of at most limit bytes; likely is how many it may be.
func readUpTo(r io.Reader, limit, likely int64) ([]byte, error) {
	buf := bytes.NewBuffer(make([]byte, 0, min(max(likely, 0), limit)+bytes.MinRead))
	_, err := buf.ReadFrom(io.LimitReader(r, limit+1))
	raw := buf.Bytes()
	switch {
	case int64(len(raw)) > limit:
		return nil, errTooLarge(limit)
	case errors.Is(err, os.ErrDeadlineExceeded):
		return raw, fault.New(fault.Unavailable, "", "The rest did not come in time. Send less at once.")
	case errors.Is(err, gzip.ErrHeader), errors.Is(err, gzip.ErrChecksum):
		return nil, errGzip()
	case err != nil:
		return raw, fault.New(fault.Invalid, "", "The body broke off.")
	}
	return raw, nil
}

func errTooLarge(limit int64) error {
	return fault.New(fault.TooLarge, "", "That is more than %d bytes at once. Send it in parts.", limit)
}

func errGzip() error { return fault.New(fault.Invalid, "", "The body is not gzip.") }

// readExchange reads an exchange request. Op bytes stay as they came.
func readExchange(c echo.Context) (*replication.Request, error) {
	raw, err := readBody(c, ops.MaxGzipBytes, ops.MaxBatchBytes)
	if err != nil {
		return nil, err
	}
	return decodeExchange(raw)
}

func decodeExchange(whole []byte) (*replication.Request, error) {
	raw, list, split := splitOps(whole, ops.MaxBatchOps)
	if len(list) > ops.MaxBatchOps {
		return nil, errTooMuch()
	}
	var format struct {
		Format int `json:"format"`
	}
	if err := decode(raw, &format); err != nil {
		return nil, err
	}
	if format.Format != ops.Format {
		return nil, fault.New(fault.TooOld, "format", "This server understands format %d. Update the app or the server; what is on the phone stays there.", ops.Format)
	}
	req := &replication.Request{}
	if err := decode(raw, req); err != nil {
		return nil, err
	}
	if split {
		req.Ops = list
	}
	long := max(len(req.Server), len(req.Epoch), len(req.AfterDigest)) > maxText || len(req.Have) > maxVector
	for _, f := range req.Frames {
		long = long || len(f.Via) > maxText || len(f.Renamed) > maxRenamed
	}
	if b := req.Back; b != nil {
		long = long || len(b.Have) > maxVector
		for _, v := range b.Voids {
			long = long || len(v.Kind) > 32 || len(v.ID) > 32 || len(v.Reason) > 64
		}
	}
	if long || len(req.Frames) > ops.MaxBatchOps {
		return nil, errTooMuch()
	}
	return req, nil
}

func errTooMuch() error {
	return fault.New(fault.TooLarge, "", "The request names more than this server takes at once.")
}

// writeJSON answers with v. Op values go out as the bytes they are: < > & are
// not escaped.
func (s *Server) writeJSON(c echo.Context, v any) error {
	return s.writeStatus(c, http.StatusOK, v)
}

func (s *Server) writeStatus(c echo.Context, status int, v any) error {
	raw, err := replication.Marshal(v)
	if err != nil {
		return err
	}
	return s.writeRaw(c, status, raw)
}

// writeAnswer answers an exchange. Records are spliced in: they are JSON of the
// store's own making, and the library would go over each byte of them again.
func (s *Server) writeAnswer(c echo.Context, a *replication.Answer) error {
	records := a.Records
	bare := *a
	bare.Records = []json.RawMessage{}
	raw, err := replication.Marshal(&bare)
	if err != nil {
		return err
	}
	before, after, ok := bytes.Cut(raw, []byte(`"records":[]`))
	if !ok {
		return errors.New("an answer without a place for records")
	}
	size := len(raw)
	for _, r := range records {
		size += len(r) + 1
	}
	out := append(append(make([]byte, 0, size), before...), `"records":[`...)
	for i, r := range records {
		if i > 0 {
			out = append(out, ',')
		}
		out = append(out, r...)
	}
	return s.writeRaw(c, http.StatusOK, append(append(out, ']'), after...))
}

const packFrom = 1000 // bytes; below, a packet is as full as another

func (s *Server) writeRaw(c echo.Context, status int, raw []byte) error {
	h := c.Response().Header()
	h.Set("Content-Type", "application/json")
	h.Set("Cache-Control", "no-store")
	h.Add("Vary", "Accept-Encoding")
	if len(raw) > packFrom && acceptsGzip(c) {
		var packed bytes.Buffer
		z := s.zips.Get().(*gzip.Writer)
		defer s.zips.Put(z)
		z.Reset(&packed)
		if _, err := z.Write(raw); err != nil {
			return err
		}
		if err := z.Close(); err != nil {
			return err
		}
		raw = packed.Bytes()
		h.Set("Content-Encoding", "gzip")
	}
	h.Set("Content-Length", strconv.Itoa(len(raw)))
	c.Response().WriteHeader(status)
	_, err := c.Response().Write(raw)
	return err
}

// newZip packs answers: what a phone waits for on a slow line is worth a little more work.
func newZip() any {
	z, err := gzip.NewWriterLevel(nil, 3)
	if err != nil {
		panic(err) // the level is at fault
	}
	return z
}

func acceptsGzip(c echo.Context) bool {
	for part := range strings.SplitSeq(c.Request().Header.Get("Accept-Encoding"), ",") {
		if name, q, _ := strings.Cut(strings.TrimSpace(part), ";"); name == "gzip" && strings.TrimSpace(q) != "q=0" {
			return true
		}
	}
	return false
}
