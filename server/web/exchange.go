package web

import (
	"context"

	"github.com/labstack/echo/v4"

	"evenpull/sync/ops"
	"evenpull/sync/replication"
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
