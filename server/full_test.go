package main

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http/httptest"
	"os"
	"path/filepath"
	"sync/atomic"
	"syscall"
	"testing"
	"testing/fstest"
	"time"

	"evenpull/server/account"
	"evenpull/server/drive"
	"evenpull/server/fault"
	"evenpull/server/store"
	"evenpull/server/web"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// A fullDisk is a server whose disk can be filled and emptied.
type fullDisk struct {
	url, server string
	claim       func(*drive.Caller) error
	fill, free  func()
	restart     func() (url string) // as it is, full or not
}

// A refusing store stands in where no small file system can be mounted: its writes fail as on a full disk.
type refusing struct {
	*store.Store
	full atomic.Bool
}

func (r *refusing) err() error {
	if r.full.Load() {
		return fault.New(fault.Full, "", "full")
	}
	return nil
}

func (r *refusing) PutPhoto(ctx context.Context, studio, phone ops.ID, d ops.Digest, at, total int64, piece []byte) (int64, bool, error) {
	if err := r.err(); err != nil {
		return 0, false, err
	}
	return r.Store.PutPhoto(ctx, studio, phone, d, at, total, piece)
}

func (r *refusing) Accounts(ctx context.Context, fn func(account.Tx) error) error {
	return errors.Join(r.err(), r.Store.Accounts(ctx, fn))
}

func (r *refusing) Ready(ctx context.Context) error { return errors.Join(r.err(), r.Store.Ready(ctx)) }

func refusingDisk(t *testing.T) *fullDisk {
	r := &refusing{Store: store.Memory()}
	h, err := web.New(web.Config{Store: r, Client: fstest.MapFS{}, Log: slog.New(slog.NewJSONHandler(io.Discard, nil))})
	must(t, err)
	s := httptest.NewServer(h)
	t.Cleanup(func() { s.Close(); r.Store.Close() })
	return &fullDisk{url: s.URL, server: r.Server(), fill: func() { r.full.Store(true) }, free: func() { r.full.Store(false) },
		restart: func() string { return s.URL },
		claim: func(c *drive.Caller) error {
			var code string
			err := r.Accounts(t.Context(), func(tx account.Tx) (err error) {
				code, _, err = account.Issue(tx, account.Invite{Kind: account.ForClaim, Role: account.Keeper, Most: 1}, time.Now())
				return err
			})
			return errors.Join(err, c.Enter("/v1/claim", code))
		}}
}

// smallDisk mounts a file system of twelve megabytes; nil where that is not allowed.
func smallDisk(t *testing.T) *fullDisk {
	folder := t.TempDir()
	if err := syscall.Mount("tmpfs", folder, "tmpfs", 0, "size=12m,mode=0700"); err != nil {
		t.Logf("no small file system can be mounted here (%v): the refusing store has to do", err)
		return nil
	}
	data, filler := filepath.Join(folder, "data"), filepath.Join(folder, "filler")
	must(t, os.Mkdir(data, 0o700))
	p := begin(t, data).up()
	t.Cleanup(func() { p.Kill(); must(t, syscall.Unmount(folder, 0)) })
	return &fullDisk{url: p.URL, server: p.Server, claim: func(c *drive.Caller) error { return c.Claim(data) },
		fill: func() {
			f, err := os.Create(filler)
			must(t, err)
			for size := 64 << 10; size >= 1; size /= 8 {
				for err = nil; err == nil; _, err = f.Write(make([]byte, size)) {
				}
			}
			must(t, f.Close())
		},
		free: func() { must(t, os.Remove(filler)) },
		restart: func() string {
			p.Kill()
			p.Process = begin(t, data).up().Process
			return p.URL
		}}
}

func TestAFullDisk(t *testing.T) {
	t.Run("a store that refuses", func(t *testing.T) { fillUp(t, refusingDisk(t), false) })
	t.Run("a small file system", func(t *testing.T) {
		if d := smallDisk(t); d != nil {
			fillUp(t, d, true)
		}
	})
}

func fillUp(t *testing.T, d *fullDisk, real bool) {
	at := func() *drive.Caller { c, err := drive.NewCaller(d.url); must(t, err); return c }
	keeper, operator := at(), at()
	must(t, d.claim(keeper))
	code := func() (string, error) {
		var in struct{ Code string }
		err := keeper.Post("/v1/studios/"+keeper.Studio+"/invites", map[string]any{"kind": "person", "role": "operator"}, &in)
		return in.Code, err
	}
	text, err := code()
	must(t, err)
	must(t, operator.Enter("/v1/join", text))
	phone := newPhone()
	first := note(t, phone, "before the disk was full")
	photo := append([]byte("\xff\xd8\xff\xe0"), make([]byte, 200_000)...)
	rand.Read(photo[4:])
	_, err = phone.Write("photo", drive.NewID(), map[string]json.RawMessage{"sha256": ops.String(fmt.Sprintf("%x", sha256.Sum256(photo)))}, time.Now().UnixMilli())
	must(t, err)
	must(t, keeper.Exchange(d.server, phone))

	d.fill()
	for range 80 { // nothing packs these
		raw := make([]byte, 6<<10)
		rand.Read(raw)
		note(t, phone, base64.StdEncoding.EncodeToString(raw))
	}
	waiting := len(phone.Outbox)
	if real {
		for range 3 {
			sendWhileFull(t, d, keeper, phone, waiting)
		}
	}
	put := func() error {
		_, err := keeper.Send("PUT", "/v1/studios/"+keeper.Studio+"/photos/"+fmt.Sprintf("%x", sha256.Sum256(photo)), photo)
		return err
	}
	wantStatus(t, "a photo", put(), 507)
	if !real { // on a disk there may be room for a small row
		_, err := code()
		wantStatus(t, "an invite", err, 507)
		_, err = keeper.Send("GET", "/readyz", nil)
		wantStatus(t, "ready", err, 503)
	}
	must(t, keeper.SignIn())
	reader := newPhone()
	must(t, operator.Exchange(d.server, reader))
	if r := reader.Shown("note", first.ID); len(r.Fields) == 0 {
		t.Error("what was there can't be read")
	}
	must(t, keeper.Post("/v1/studios/"+keeper.Studio+"/endings", map[string]any{"phone": operator.Phone}, nil))
	wantStatus(t, "an ended phone", operator.Exchange(d.server, newPhone()), 403)
	keeper.URL = d.restart()
	operator.URL = keeper.URL
	must(t, keeper.SignIn())
	must(t, operator.SignIn())
	wantStatus(t, "an ended phone after a restart", operator.Exchange(d.server, newPhone()), 403)

	d.free()
	must(t, keeper.Exchange(d.server, phone))
	must(t, put())
	reader = newPhone()
	must(t, keeper.Exchange(d.server, reader))
	if n := len(phone.Outbox); n != 0 || reader.Base.C[phone.Replica].N < uint64(waiting) {
		t.Errorf("with room again %d ops wait, and a reader sees %d of them", n, reader.Base.C[phone.Replica].N)
	}
}

// sendWhileFull wants all ops refused for now and none of them lost or acknowledged.
func sendWhileFull(t *testing.T, d *fullDisk, c *drive.Caller, phone *replication.Phone, waiting int) {
	t.Helper()
	req := phone.Request(d.server, ops.MaxBatchOps)
	a, err := c.Ask(req)
	must(t, err)
	if len(a.Refused) != 1 || a.Refused[0].Reason != replication.DiskFull || a.Refused[0].ForGood || a.Acked[phone.Replica].N >= req.From {
		t.Errorf("on a full disk: refused %v, acknowledged %v", a.Refused, a.Acked)
	}
	must(t, phone.Take(req, a, 100, time.Now().UnixMilli()))
	if len(phone.Outbox) != waiting {
		t.Errorf("%d ops wait; want %d", len(phone.Outbox), waiting)
	}
}

func wantStatus(t *testing.T, what string, err error, want int) {
	t.Helper()
	var status *drive.StatusError
	if !errors.As(err, &status) || status.Status != want {
		t.Errorf("%s: %v; want %d", what, err, want)
	}
}
