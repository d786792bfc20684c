// Package web is the server's HTTP side: api/openapi.yaml and the built client.
// echo and JWT are used here only. It knows the store by the interface below.
package web

import (
	"context"
	"crypto/ed25519"
	"io/fs"
	"log/slog"
	"net/http"
	"net/netip"
	"sync"
	"time"

	"github.com/labstack/echo/v4"

	"evenpull/server/account"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// A Store is what the handlers need of storage.
type Store interface {
	Server() string
	Key() ed25519.PrivateKey
	Accounts(context.Context, func(account.Tx) error) error
	Urgent(context.Context, func(account.Tx) error) error // also on a full disk
	Look(func(account.Tx) error) error
	Exchange(ctx context.Context, studio, phone ops.ID, req *replication.Request) (*replication.Answer, error)
	ExchangeRoll(ctx context.Context, studio, hub ops.ID, req *replication.Request) (*replication.Answer, error)
	Purge(ctx context.Context, studio, phone ops.ID, records []merge.Key) (values int, err error)
	History(studio, phone ops.ID, k merge.Key, most int) (values []replication.Written, more bool, err error)
	Head(studio ops.ID) (uint64, <-chan struct{})
	PutPhoto(ctx context.Context, studio, phone ops.ID, d ops.Digest, at, total int64, piece []byte) (int64, bool, error)
	PhotoState(studio, phone ops.ID, d ops.Digest) (int64, bool, error)
	Photo(studio, phone ops.ID, d ops.Digest) ([]byte, error)
	Ready(context.Context) error
}

// Config is what main wires. Zero values of the last four are those of a real server.
type Config struct {
	Store    Store
	Version  string
	Client   fs.FS           // the built client; without index.html a page that says how to build it
	Assets   string          // folder that keeps assets of earlier builds, "" for none
	Trusted  []netip.Prefix  // proxies whose X-Forwarded-For is believed
	Strict   bool            // the address is answered over TLS for good, and browsers may hold it to that
	Stopping <-chan struct{} // closed when streams are to end
	Log      *slog.Logger
	Claimed  func()          // called once the server is somebody's
	Upstream func() Upstream // of a hub; nil of any other server

	Now  func() time.Time
	Beat time.Duration               // of event streams
	Hold func(d time.Duration) error // keeps a wrong code waiting
	Slow time.Duration               // how long a body may take to come
}

// An Upstream is how a hub stands with the server above it, for its health page.
type Upstream struct {
	HeardMS int64  `json:"heard"`             // UTC, 0: not since this start
	Trouble string `json:"trouble,omitempty"` // why it is not heard now
}

// A Server holds what handlers share.
type Server struct {
	Config
	challenges *account.Challenges
	waits      account.Waits
	tries      atOnce[netip.Prefix]
	streams    atOnce[ops.ID]
	bodies     atOnce[ops.ID]
	zips       sync.Pool
	client     *client
}

// New returns the whole handler.
func New(c Config) (http.Handler, error) {
	if c.Now == nil {
		c.Now = time.Now
	}
	if c.Beat == 0 {
		c.Beat = 25 * time.Second
	}
	if c.Slow == 0 {
		c.Slow = time.Minute
	}
	if c.Hold == nil {
		c.Hold = func(d time.Duration) error { time.Sleep(d); return nil }
	}
	files, err := loadClient(c.Client, c.Assets)
	if err != nil {
		return nil, err
	}
	s := &Server{Config: c, challenges: account.NewChallenges(c.Store.Server()), client: files, zips: sync.Pool{New: newZip}}
	return s.routes(), nil
}

// routes is every route there is.
func (s *Server) routes() *echo.Echo {
	e := echo.New()
	e.HideBanner, e.HidePort = true, true
	e.HTTPErrorHandler = s.answerError
	e.IPExtractor = s.address()
	e.Use(s.logged, s.recovered, s.headers, s.timed)

	e.GET("/healthz", s.healthz)
	e.GET("/readyz", s.readyz)
	e.GET("/v1/server", s.server)
	e.POST("/v1/claim", s.claim)
	e.POST("/v1/join", s.join)
	e.POST("/v1/challenge", s.challenge)
	e.POST("/v1/token", s.token)
	e.POST("/v1/studios", s.addStudio, s.signedIn)

	studio := e.Group("/v1/studios/:studio", s.signedIn, inStudio)
	studio.POST("/invites", s.invite)
	studio.GET("/invites", s.invites)
	studio.POST("/endings", s.end)
	studio.POST("/roles", s.role)
	studio.POST("/purges", s.purge)
	studio.GET("/deeds", s.deeds)
	studio.GET("/history/:kind/:id", s.history)
	studio.POST("/exchange", s.exchange)
	studio.POST("/roll", s.roll)
	studio.GET("/events", s.events)
	studio.HEAD("/photos/:sha256", s.photoState)
	studio.GET("/photos/:sha256", s.photo)
	studio.PUT("/photos/:sha256", s.putPhoto)

	e.RouteNotFound("/v1/*", notFound)
	e.GET("/*", s.file)
	e.HEAD("/*", s.file)
	return e
}

func (s *Server) healthz(c echo.Context) error {
	fine := map[string]any{"ok": true}
	if s.Upstream != nil {
		fine["upstream"] = s.Upstream()
	}
	return s.writeJSON(c, fine)
}

func (s *Server) readyz(c echo.Context) error {
	ctx, done := context.WithTimeout(c.Request().Context(), 5*time.Second)
	defer done()
	if err := s.Store.Ready(ctx); err != nil {
		s.Log.Error("store does not take writes", "err", err)
		return errNotReady()
	}
	return s.writeJSON(c, map[string]bool{"ok": true})
}

func (s *Server) server(c echo.Context) error {
	claimed := false
	if err := s.Store.Look(func(tx account.Tx) error { claimed = len(tx.Studios()) > 0; return nil }); err != nil {
		return err
	}
	return s.writeJSON(c, map[string]any{"server": s.Store.Server(), "formats": [2]int{ops.Format, ops.Format}, "version": s.Version, "claimed": claimed})
}
