package hub_test

import (
	"bytes"
	"context"
	"encoding/json"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"testing/fstest"
	"time"

	"evenpull/server/account"
	"evenpull/server/drive"
	"evenpull/server/hub"
	"evenpull/server/store"
	"evenpull/server/web"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// A node is one server on a disk of its own. Its address stays while it is down,
// restarted or restored.
type node struct {
	*testing.T
	folder  string
	st      *store.Store
	front   *httptest.Server
	handler atomic.Pointer[http.Handler] // nil while it is down
	above   *node                        // of a hub
	hub     *hub.Hub
	stop    func()
	log     *drive.Buffer
	dropped atomic.Int32
}

func newNode(t *testing.T) *node {
	t.Helper()
	n := &node{T: t, folder: t.TempDir(), log: &drive.Buffer{}, stop: func() {}}
	n.front = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if h := n.handler.Load(); h != nil {
			(*h).ServeHTTP(w, r)
			return
		}
		n.dropped.Add(1)
		panic(http.ErrAbortHandler) // as a cut line
	}))
	n.front.Config.ErrorLog = slog.NewLogLogger(slog.DiscardHandler, slog.LevelError)
	n.up()
	t.Cleanup(func() { n.down(); n.front.Close() })
	return n
}

// up starts the server, and the hub where it is one.
func (n *node) up() {
	n.Helper()
	var err error
	n.st, err = store.Open(n.folder)
	must(n.T, err)
	stopping := make(chan struct{})
	c := web.Config{Store: n.st, Client: fstest.MapFS{"index.html": {Data: []byte("<!doctype html>")}}, Stopping: stopping,
		Log: slog.New(slog.NewJSONHandler(n.log, nil)), Hold: func(time.Duration) error { return nil }}
	ctx, cancel := context.WithCancel(context.Background())
	var carrying sync.WaitGroup
	if n.above != nil {
		n.hub = n.newHub()
		c.Upstream = func() web.Upstream {
			heard, trouble := n.hub.Standing()
			return web.Upstream{HeardMS: max(0, heard.UnixMilli()), Trouble: trouble}
		}
		carrying.Go(func() { _ = n.hub.Run(ctx) })
	}
	h, err := web.New(c)
	must(n.T, err)
	n.handler.Store(&h)
	n.stop = func() { cancel(); close(stopping); carrying.Wait() }
}

func (n *node) newHub() *hub.Hub {
	return hub.New(hub.Config{Upstream: n.above.front.URL, Store: n.st, Label: "Hub", Log: slog.New(slog.NewJSONHandler(n.log, nil)),
		Soonest: 5 * time.Millisecond, Latest: 40 * time.Millisecond, Round: 50 * time.Millisecond})
}

func (n *node) down() {
	if n.handler.Swap(nil) != nil {
		n.stop()
		must(n.T, n.st.Close())
		n.front.CloseClientConnections()
	}
}

// apart takes the line away that leads to the node; the node itself runs on.
func (n *node) apart(work func()) {
	h := n.handler.Swap(nil)
	n.front.CloseClientConnections()
	work()
	n.handler.Store(h)
}

func (n *node) backup() []byte {
	n.Helper()
	var b bytes.Buffer
	must(n.T, n.st.Backup(&b))
	return b.Bytes()
}

func (n *node) restore(backup []byte) {
	n.Helper()
	n.down()
	n.folder = filepath.Join(n.TempDir(), "restored")
	must(n.T, store.Folder(n.folder))
	_, err := store.Restore(bytes.NewReader(backup), n.folder)
	must(n.T, err)
	n.up()
}

// A person holds a phone: one key, and one copy that goes to either server.
type person struct {
	*testing.T
	*replication.Phone
	call *drive.Caller
}

func (n *node) claimed() *person {
	n.Helper()
	code := ""
	must(n.T, n.st.Accounts(n.Context(), func(tx account.Tx) (err error) {
		code, _, err = account.Issue(tx, account.Invite{Kind: account.ForClaim, Role: account.Keeper, Most: 1}, time.Now())
		return err
	}))
	return n.enter("/v1/claim", code)
}

func (n *node) enter(path, code string) *person {
	n.Helper()
	c, err := drive.NewCaller(n.front.URL)
	must(n.T, err)
	c.HTTP = &http.Client{Transport: &http.Transport{DisableKeepAlives: true}, Timeout: time.Minute} // nodes go down
	must(n.T, c.Enter(path, code))
	return &person{n.T, replication.NewPhone("", drive.NewID), c}
}

// code makes one as that person, at that server.
func (p *person) code(n *node, body map[string]any) string {
	p.Helper()
	var made struct{ Code string }
	must(p.T, p.at(n).Post("/v1/studios/"+drive.Barn+"/invites", body, &made))
	return made.Code
}

// at signs the phone in at a server.
func (p *person) at(n *node) *drive.Caller {
	p.Helper()
	c := *p.call
	c.URL = n.front.URL
	must(p.T, c.SignIn())
	return &c
}

func (p *person) say(text string) ops.Op {
	p.Helper()
	return p.write("note", drive.NewID(), map[string]any{"text": text})
}

func (p *person) write(kind string, id ops.ID, set map[string]any) ops.Op {
	p.Helper()
	values := map[string]json.RawMessage{}
	for name, v := range set {
		raw, err := ops.Canonical(v)
		must(p.T, err)
		values[name] = raw
	}
	op, err := p.Write(kind, id, values, time.Now().UnixMilli())
	must(p.T, err)
	return op
}

// sync lets the phone exchange with a server until nothing waits.
func (p *person) sync(n *node) {
	p.Helper()
	must(p.T, p.at(n).Exchange(n.st.Server(), p.Phone))
}

// linked starts a second server as a hub of n.
func (n *node) linked(keeper *person) *node {
	n.Helper()
	h := newNode(n.T)
	h.down()
	h.above = n
	var err error
	h.st, err = store.Open(h.folder)
	must(n.T, err)
	code := keeper.code(n, map[string]any{"kind": "hub"})
	_, err = h.newHub().Join(n.Context(), code)
	must(n.T, err)
	must(n.T, h.st.Close())
	h.up()
	if bytes.Contains([]byte(h.log.String()+n.log.String()), []byte(code)) {
		n.Error("the code is in a log")
	}
	soon(n.T, "the hub has heard its upstream", func() bool { heard, _ := h.hub.Standing(); return !heard.IsZero() })
	return h
}

// reading is all that a fresh copy of that person reads at a server.
func (p *person) reading(n *node) string {
	p.Helper()
	fresh := replication.NewPhone("", drive.NewID)
	must(p.T, p.at(n).Exchange(n.st.Server(), fresh))
	return fresh.Base.Key()
}

// agree waits until both servers show the same, and that text is in it.
func (p *person) agree(a, b *node, texts ...string) {
	p.Helper()
	one, two := "", ""
	soon(p.T, "both servers show the same", func() bool {
		one, two = p.reading(a), p.reading(b)
		return one == two
	}, func() string { return one + "\nand\n" + two })
	for _, text := range texts {
		if !bytes.Contains([]byte(one), []byte(text)) {
			p.Errorf("neither shows %q: %s", text, one)
		}
	}
}

// soon waits for what servers do by themselves.
func soon(t *testing.T, what string, is func() bool, shown ...func() string) {
	t.Helper()
	for deadline := time.Now().Add(time.Minute); !is(); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(deadline) {
			for _, s := range shown {
				t.Log(s())
			}
			t.Fatalf("it does not come to be that %s", what)
		}
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
