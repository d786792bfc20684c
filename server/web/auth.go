package web

import (
	"net"
	"net/http"
	"net/netip"
	"strings"
	"time"

	"github.com/golang-jwt/jwt/v5"
	"github.com/labstack/echo/v4"

	"evenpull/server/account"
	"evenpull/server/fault"
	"evenpull/sync/ops"
)

const tokenLife = 10 * time.Minute

func (s *Server) challenge(c echo.Context) error {
	return s.writeJSON(c, map[string]string{"server": s.Store.Server(), "challenge": s.challenges.New(s.Now())})
}

// token gives a token for a signed challenge. Whether the phone is unknown, the
// challenge old or the signature wrong is not told.
func (s *Server) token(c echo.Context) error {
	var in struct {
		Phone     ops.ID `json:"phone"`
		Challenge string `json:"challenge"`
		Signature string `json:"signature"`
	}
	if err := readJSON(c, &in); err != nil {
		return err
	}
	var phone account.Phone
	known := false
	if err := s.Store.Look(func(tx account.Tx) error { phone, known = tx.Phone(in.Phone); return nil }); err != nil {
		return err
	}
	now := s.Now()
	if !known || !s.challenges.Answered(phone, in.Challenge, in.Signature, now) {
		return errSignIn()
	}
	c.Set("phone", in.Phone)
	claims := jwt.RegisteredClaims{
		Audience: jwt.ClaimStrings{s.Store.Server()}, Subject: in.Phone.String(), ExpiresAt: jwt.NewNumericDate(now.Add(tokenLife)),
	}
	text, err := jwt.NewWithClaims(jwt.SigningMethodEdDSA, claims).SignedString(s.Store.Key())
	if err != nil {
		return err
	}
	return s.writeJSON(c, map[string]any{"token": text, "seconds": int(tokenLife.Seconds())})
}

func errSignIn() error {
	return fault.New(fault.Unauthenticated, "", "Sign in again; what is on the phone stays there.")
}

// signedIn lets through who holds a token of ours: EdDSA with our one key,
// whatever the header says; for this server; with an end that is not past. What
// the phone may do is read from the store at each request.
func (s *Server) signedIn(next echo.HandlerFunc) echo.HandlerFunc {
	parser := jwt.NewParser(jwt.WithValidMethods([]string{jwt.SigningMethodEdDSA.Alg()}), jwt.WithAudience(s.Store.Server()),
		jwt.WithExpirationRequired(), jwt.WithTimeFunc(s.Now))
	public := s.Store.Key().Public()
	return func(c echo.Context) error {
		text, ok := strings.CutPrefix(c.Request().Header.Get("Authorization"), "Bearer ")
		if !ok {
			return errSignIn()
		}
		var claims jwt.RegisteredClaims
		if _, err := parser.ParseWithClaims(text, &claims, func(*jwt.Token) (any, error) { return public, nil }); err != nil {
			return errSignIn()
		}
		phone, err := ops.ParseID(claims.Subject)
		if err != nil {
			return errSignIn()
		}
		c.Set("phone", phone)
		c.Set("ends", claims.ExpiresAt.Time)
		return next(c)
	}
}

// inStudio reads the studio from the path.
func inStudio(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		studio, err := ops.ParseID(c.Param("studio"))
		if err != nil {
			return notFound(c)
		}
		c.Set("studio", studio)
		return next(c)
	}
}

func phoneOf(c echo.Context) ops.ID   { return c.Get("phone").(ops.ID) }
func studioOf(c echo.Context) ops.ID  { return c.Get("studio").(ops.ID) }
func endsOf(c echo.Context) time.Time { return c.Get("ends").(time.Time) }
func noContent(c echo.Context) error  { return c.NoContent(http.StatusNoContent) }
func ipNet(p netip.Prefix) *net.IPNet {
	return &net.IPNet{IP: p.Addr().AsSlice(), Mask: net.CIDRMask(p.Bits(), p.Addr().BitLen())}
}
