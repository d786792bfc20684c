package web

import "github.com/labstack/echo/v4"

// exchange takes a phone's ops and answers with what is new to it.
// POST /v1/studios/{studio}/exchange, ExchangeRequest → ExchangeAnswer.
func (s *Server) exchange(c echo.Context) error {
	if err := s.mayEnter(c); err != nil {
		return err // before eight megabytes are read for nothing
	}
	req, err := readExchange(c)
	if err != nil {
		return err
	}
	answer, err := s.Store.Exchange(c.Request().Context(), studioOf(c), phoneOf(c), req)
	if err != nil {
		return err
	}
	return s.writeAnswer(c, answer)
}
