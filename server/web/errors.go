package web

import (
	"context"
	"errors"
	"math"
	"net/http"
	"strconv"

	"github.com/labstack/echo/v4"

	"evenpull/server/fault"
	"evenpull/sync/replication"
)

// statusOf is the only place where a kind becomes a status.
var statusOf = map[fault.Kind]int{
	fault.Internal:        http.StatusInternalServerError,
	fault.Invalid:         http.StatusBadRequest,
	fault.Unauthenticated: http.StatusUnauthorized,
	fault.Denied:          http.StatusForbidden,
	fault.NotFound:        http.StatusNotFound,
	fault.Conflict:        http.StatusConflict,
	fault.TooLarge:        http.StatusRequestEntityTooLarge,
	fault.TooMany:         http.StatusTooManyRequests,
	fault.Unavailable:     http.StatusServiceUnavailable,
	fault.TooOld:          http.StatusUpgradeRequired,
	fault.Full:            http.StatusInsufficientStorage,
}

func notFound(echo.Context) error { return fault.New(fault.NotFound, "", "There is nothing here.") }

func errNotReady() error {
	return fault.New(fault.Unavailable, "", "The server can't write at the moment.")
}

type errorBody struct {
	Kind    string `json:"kind"`
	Field   string `json:"field,omitempty"`
	Text    string `json:"text"`
	Seconds int    `json:"seconds,omitempty"`
}

// faultOf classifies whatever a handler returned.
func faultOf(err error) *fault.Error {
	var f *fault.Error
	var h *echo.HTTPError
	switch {
	case errors.As(err, &f) && f.Kind != fault.Internal:
		return f
	case errors.Is(err, replication.ErrBad):
		return fault.New(fault.Invalid, "", "The request is not an exchange of this format.")
	case errors.As(err, &h) && h.Code < 500:
		return fault.New(fault.NotFound, "", "There is nothing here that can be asked so.")
	case errors.Is(err, context.Canceled):
		return fault.New(fault.Unavailable, "", "The caller went away.")
	}
	return fault.New(fault.Internal, "", "Something went wrong on the server. Nothing was lost; try again.")
}

// answerError writes an error's answer. What nobody classified is ours: its
// text goes to the log and not to the caller.
func (s *Server) answerError(err error, c echo.Context) {
	if c.Response().Committed {
		return
	}
	f := faultOf(err)
	if f.Kind == fault.Internal {
		s.Log.Error("internal", "route", c.Path(), "err", err.Error())
	}
	body := errorBody{Kind: f.Kind.String(), Field: f.Field, Text: f.Text}
	if f.After > 0 {
		body.Seconds = int(math.Ceil(f.After.Seconds()))
		c.Response().Header().Set("Retry-After", strconv.Itoa(body.Seconds))
	}
	if f.Kind == fault.Unauthenticated {
		c.Response().Header().Set("WWW-Authenticate", "Bearer")
	}
	if c.Request().Method == http.MethodHead {
		c.Response().WriteHeader(statusOf[f.Kind])
		return
	}
	if err := s.writeStatus(c, statusOf[f.Kind], body); err != nil {
		s.Log.Debug("answer not sent", "err", err.Error())
	}
}
