package web

import (
	"encoding/json"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"evenpull/server/account"
)

const (
	mostStreams = 4                      // of one phone
	breath      = 300 * time.Millisecond // between two lines: a burst of changes is one piece of news
)

// mayEnter is a fault of kind Denied when the phone has no place in the studio.
func (s *Server) mayEnter(c echo.Context) error {
	return s.Store.Look(func(tx account.Tx) error {
		_, err := account.Access(tx, studioOf(c), phoneOf(c))
		return err
	})
}

type newsLine struct {
	UpTo *uint64 `json:"upTo,omitempty"`
	End  string  `json:"end,omitempty"`
}

// events says when a studio moves, until the token or the access ends.
// GET /v1/studios/{studio}/events, lines of News.
func (s *Server) events(c echo.Context) error {
	if err := s.mayEnter(c); err != nil {
		return err
	}
	phone := phoneOf(c)
	if !s.streams.enter(phone, mostStreams) {
		return tooMany("", "This phone listens in too many places at once.", s.Beat)
	}
	defer s.streams.leave(phone)
	s.deadline(c, 0)
	h := c.Response().Header()
	h.Set("Content-Type", "application/x-ndjson")
	h.Set("Cache-Control", "no-store")
	h.Set("X-Accel-Buffering", "no")
	c.Response().WriteHeader(http.StatusOK)
	rc := http.NewResponseController(c.Response())
	say := func(line newsLine) error {
		raw, err := json.Marshal(line)
		if err != nil {
			return err
		}
		_ = rc.SetWriteDeadline(time.Now().Add(10 * time.Second)) // who does not read is let go
		if _, err := c.Response().Write(append(raw, '\n')); err != nil {
			return err
		}
		return rc.Flush()
	}
	ends := time.NewTimer(endsOf(c).Sub(s.Now()))
	defer ends.Stop()
	beat := time.NewTicker(s.Beat)
	defer beat.Stop()
	for {
		head, changed := s.Store.Head(studioOf(c))
		if s.mayEnter(c) != nil {
			return say(newsLine{End: "access"})
		}
		if say(newsLine{UpTo: &head}) != nil {
			return nil // gone
		}
		select {
		case <-time.After(breath):
		case <-s.Stopping:
		}
		select {
		case <-changed:
		case <-beat.C:
		case <-ends.C:
			return say(newsLine{End: "token"})
		case <-s.Stopping:
			return say(newsLine{End: "stopping"})
		case <-c.Request().Context().Done():
			return nil
		}
	}
}
