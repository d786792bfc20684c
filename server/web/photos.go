package web

import (
	"bytes"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"evenpull/server/fault"
	"evenpull/sync/ops"
)

func digestOf(c echo.Context) (d ops.Digest, err error) {
	text := c.Param("sha256")
	if text != strings.ToLower(text) || d.UnmarshalText([]byte(text)) != nil {
		return d, notFound(c)
	}
	return d, nil
}

func (s *Server) photoState(c echo.Context) error {
	d, err := digestOf(c)
	if err != nil {
		return err
	}
	have, whole, err := s.Store.PhotoState(studioOf(c), phoneOf(c), d)
	if err != nil {
		return err
	}
	if !whole {
		c.Response().Header().Set("Photo-Have", strconv.FormatInt(have, 10))
		return c.NoContent(http.StatusNotFound)
	}
	c.Response().Header().Set("Content-Length", strconv.FormatInt(have, 10))
	return c.NoContent(http.StatusOK)
}

func (s *Server) photo(c echo.Context) error {
	d, err := digestOf(c)
	if err != nil {
		return err
	}
	raw, err := s.Store.Photo(studioOf(c), phoneOf(c), d)
	if err != nil {
		return err
	}
	h := c.Response().Header()
	h.Set("Content-Type", http.DetectContentType(raw))
	h.Set("Cache-Control", "private, max-age=31536000, immutable")
	h.Set("ETag", `"`+d.String()+`"`)
	http.ServeContent(c.Response(), c.Request(), "", time.Time{}, bytes.NewReader(raw))
	return nil
}

// putPhoto takes a photo or a piece of one. Where the body breaks off, what came is kept.
func (s *Server) putPhoto(c echo.Context) error {
	d, err := digestOf(c)
	if err != nil {
		return err
	}
	at, end, total, err := pieceOf(c.Request())
	if err != nil {
		return err
	}
	if _, _, err := s.Store.PhotoState(studioOf(c), phoneOf(c), d); err != nil {
		return err // before anything is read
	}
	s.deadline(c, 2*s.Slow)
	if enc := c.Request().Header.Get("Content-Encoding"); enc != "" && enc != "identity" {
		return fault.New(fault.Invalid, "photo", "Photos are packed already: send them as they are.")
	}
	piece, broke := readUpTo(c.Request().Body, end-at, 0)
	if fault.Is(broke, fault.TooLarge) || len(piece) == 0 {
		return fault.New(fault.Invalid, "photo", "The bytes are not as many as was said.")
	}
	have, whole, err := s.Store.PutPhoto(c.Request().Context(), studioOf(c), phoneOf(c), d, at, total, piece)
	switch {
	case fault.Is(err, fault.Conflict):
		c.Response().Header().Set("Photo-Have", strconv.FormatInt(have, 10))
		return err
	case err != nil:
		return err
	case broke != nil:
		return broke
	}
	return s.writeJSON(c, map[string]any{"have": have, "whole": whole})
}

// pieceOf reads which bytes of how many come: from at up to, not including, end.
func pieceOf(r *http.Request) (at, end, total int64, err error) {
	text := r.Header.Get("Content-Range")
	if text == "" {
		at, end, total = 0, r.ContentLength, r.ContentLength
	} else {
		var last int64
		if n, err := fmt.Sscanf(text, "bytes %d-%d/%d", &at, &last, &total); n != 3 || err != nil || text != fmt.Sprintf("bytes %d-%d/%d", at, last, total) {
			return 0, 0, 0, fault.New(fault.Invalid, "range", "Content-Range is bytes first-last/total.")
		}
		end = last + 1
	}
	switch {
	case total > ops.MaxPhotoBytes:
		return 0, 0, 0, fault.New(fault.TooLarge, "photo", "A photo has at most %d bytes.", ops.MaxPhotoBytes)
	case at < 0 || end <= at || end > total:
		return 0, 0, 0, fault.New(fault.Invalid, "range", "Say how many bytes come.")
	}
	return at, end, total, nil
}
