package web

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"log/slog"
	"net/http"
	"net/netip"
	"runtime/debug"
	"slices"
	"time"

	"github.com/labstack/echo/v4"
)

// csp lets the page reach its own origin and nothing else; text can't become markup or script.
const csp = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; font-src 'self'; " +
	"connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'none'; " +
	"frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types evenpull"

func (s *Server) headers(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		h := c.Response().Header()
		h.Set("Content-Security-Policy", csp)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(self), screen-wake-lock=(self), geolocation=(), microphone=(), payment=(), usb=()")
		if s.Strict {
			h.Set("Strict-Transport-Security", "max-age=31536000")
		}
		return next(c)
	}
}

// timed gives a body, and then the answer, its time. Deadlines of the request
// before on the same connection do not stand.
func (s *Server) timed(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		s.deadline(c, s.Slow)
		return next(c)
	}
}

func (s *Server) deadline(c echo.Context, d time.Duration) {
	var at time.Time
	if d > 0 {
		at = time.Now().Add(d)
	}
	rc := http.NewResponseController(c.Response())
	_ = rc.SetReadDeadline(at) // a recorder in tests has none
	if d > 0 {
		at = at.Add(time.Minute)
	}
	_ = rc.SetWriteDeadline(at)
}

func (s *Server) recovered(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) (err error) {
		defer func() {
			if p := recover(); p != nil {
				err = fmt.Errorf("panic: %v\n%s", p, debug.Stack())
			}
		}()
		return next(c)
	}
}

// logged writes one line a request: no bodies, codes, tokens or names, and of
// ids only a short hash, enough to follow one caller through a day.
func (s *Server) logged(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		start := time.Now()
		if err := next(c); err != nil {
			c.Error(err)
		}
		r := c.Request()
		attrs := []slog.Attr{
			slog.String("method", method(r.Method)), slog.String("route", c.Path()), slog.Int("status", c.Response().Status),
			slog.Int64("ms", time.Since(start).Milliseconds()), slog.Int64("in", r.ContentLength), slog.Int64("out", c.Response().Size),
		}
		for _, name := range []string{"studio", "phone"} {
			if id, ok := c.Get(name).(fmt.Stringer); ok {
				attrs = append(attrs, slog.String(name, shortHash(id.String())))
			}
		}
		s.Log.LogAttrs(r.Context(), slog.LevelInfo, "request", attrs...)
		return nil
	}
}

// method keeps what a stranger wrote in place of a method out of the log.
func method(m string) string {
	switch m {
	case http.MethodGet, http.MethodHead, http.MethodPost, http.MethodPut:
		return m
	}
	return "other"
}

func shortHash(s string) string {
	sum := sha256.Sum256([]byte("log\n" + s))
	return hex.EncodeToString(sum[:4])
}

// address says who calls: the connection's other end, or what trusted proxies say of it.
func (s *Server) address() echo.IPExtractor {
	if len(s.Trusted) == 0 {
		return echo.ExtractIPDirect()
	}
	trust := []echo.TrustOption{echo.TrustLoopback(false), echo.TrustLinkLocal(false), echo.TrustPrivateNet(false)}
	for _, p := range s.Trusted {
		trust = append(trust, echo.TrustIPRange(ipNet(p)))
	}
	return echo.ExtractIPFromXFFHeader(trust...)
}

func addrOf(c echo.Context) netip.Addr {
	a, _ := netip.ParseAddr(c.RealIP())
	return a.Unmap()
}

// here reports whether the caller is on the server's own machine. One whom a
// proxy brings, that nobody said to trust, may be anywhere.
func (s *Server) here(c echo.Context) bool {
	h := c.Request().Header
	brought := h.Get("X-Forwarded-For") != "" || h.Get("Forwarded") != "" || h.Get("Via") != ""
	if len(s.Trusted) == 0 {
		return addrOf(c).IsLoopback() && !brought
	}
	// What a proxy says may be missing, or nothing that is understood: then the caller is taken for the proxy itself.
	end, err := netip.ParseAddrPort(c.Request().RemoteAddr)
	proxied := err != nil || slices.ContainsFunc(s.Trusted, func(p netip.Prefix) bool { return p.Contains(end.Addr().Unmap()) })
	return addrOf(c).IsLoopback() && !brought && !proxied
}
