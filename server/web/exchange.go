package web

import (
	"context"
	"time"

	"github.com/labstack/echo/v4"

	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

const (
	mostBodies = 4         // large ones of one phone that are read at once: each may be eight megabytes
	largeBody  = 256 << 10 // bytes on the wire; one that does not say how long it is counts as large
)

// exchange takes a phone's ops and answers with what is new to it.
// POST /v1/studios/{studio}/exchange, ExchangeRequest → ExchangeAnswer.
func (s *Server) exchange(c echo.Context) error { return s.exchanged(c, s.Store.Exchange) }

// roll does the same for who may do what, between servers.
func (s *Server) roll(c echo.Context) error { return s.exchanged(c, s.Store.ExchangeRoll) }

func (s *Server) exchanged(c echo.Context, with func(ctx context.Context, studio, phone ops.ID, req *replication.Request) (*replication.Answer, error)) error {
	if err := s.mayEnter(c); err != nil {
		return err // before eight megabytes are read for nothing
	}
	if length := c.Request().ContentLength; length < 0 || length > largeBody {
		who := phoneOf(c)
		if !s.bodies.enter(who, mostBodies) {
			return tooMany("", "This phone sends too much at once. Wait a moment, then try again.", time.Second)
		}
		defer s.bodies.leave(who)
	}
	req, err := readExchange(c)
	if err != nil {
		return err
	}
	answer, err := with(c.Request().Context(), studioOf(c), phoneOf(c), req)
	if err != nil {
		return err
	}
	return s.writeAnswer(c, answer)
}
