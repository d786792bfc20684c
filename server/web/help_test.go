package web_test

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"io"
	"io/fs"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"evenpull/server/account"
	"evenpull/server/store"
	"evenpull/server/web"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// A rig is a server over a store in memory, with a clock of its own.
type rig struct {
	t        *testing.T
	st       *store.Store
	web      *httptest.Server
	log      *lockedBuffer
	stopping chan struct{}
	mu       sync.Mutex
	now      time.Time
	held     []time.Duration // waits that wrong codes got
	claim    string
	first    *caller // the keeper of the first studio, where a test needs one
}

type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

var built = fstest.MapFS{
	"index.html":           {Data: []byte("<!doctype html>app")},
	"sw.js":                {Data: []byte("worker")},
	"assets/main-A1.js":    {Data: []byte("script")},
	"assets/main-A1.js.gz": {Data: []byte("packed script")},
}

func newRig(t *testing.T, change func(*web.Config)) *rig {
	t.Helper()
	r := &rig{t: t, st: store.Memory(), log: &lockedBuffer{}, stopping: make(chan struct{}), now: time.Now()}
	c := web.Config{
		Store: r.st, Version: "test", Client: fs.FS(built), Stopping: r.stopping, Log: slog.New(slog.NewJSONHandler(r.log, &slog.HandlerOptions{Level: slog.LevelDebug})),
		Now:  func() time.Time { r.mu.Lock(); defer r.mu.Unlock(); return r.now },
		Hold: func(d time.Duration) error { r.mu.Lock(); defer r.mu.Unlock(); r.held = append(r.held, d); return nil },
	}
	if change != nil {
		change(&c)
	}
	h, err := web.New(c)
	if err != nil {
		t.Fatal(err)
	}
	r.web = httptest.NewServer(h)
	t.Cleanup(func() { r.web.Close(); r.st.Close() })
	must(t, r.st.Accounts(t.Context(), func(tx account.Tx) (err error) {
		r.claim, _, err = account.Issue(tx, account.Invite{Kind: account.ForClaim, Role: account.Keeper, Most: 1}, r.now)
		return err
	}))
	return r
}

func (r *rig) pass(d time.Duration) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.now = r.now.Add(d)
}

// An answer of the server, read whole.
type answer struct {
	status int
	header http.Header
	body   []byte
}

func (a answer) field(name string) string {
	var m map[string]any
	if json.Unmarshal(a.body, &m) != nil {
		return ""
	}
	s, _ := m[name].(string)
	return s
}

// want fails the test unless the answer has the status and, for an error, the kind.
func (a answer) want(t *testing.T, what string, status int, kind string) {
	t.Helper()
	if a.status != status || a.field("kind") != kind && kind != "" {
		t.Errorf("%s: %d %s; want %d %s", what, a.status, a.body, status, kind)
	}
}

func (r *rig) do(method, path, token string, body any, header ...string) answer {
	r.t.Helper()
	var raw []byte
	switch b := body.(type) {
	case nil:
	case []byte:
		raw = b
	case string:
		raw = []byte(b)
	default:
		var err error
		raw, err = json.Marshal(b)
		must(r.t, err)
	}
	req, err := http.NewRequestWithContext(r.t.Context(), method, r.web.URL+path, bytes.NewReader(raw))
	must(r.t, err)
	req.Header.Set("Content-Type", "application/json")
	if token != "" {
		req.Header.Set("Authorization", "Bearer "+token)
	}
	for i := 0; i+1 < len(header); i += 2 {
		req.Header.Set(header[i], header[i+1])
	}
	resp, err := http.DefaultTransport.RoundTrip(req)
	must(r.t, err)
	defer resp.Body.Close()
	got, err := io.ReadAll(resp.Body)
	must(r.t, err)
	return answer{resp.StatusCode, resp.Header, got}
}

// A caller is a phone with its key, and whose it is.
type caller struct {
	key          *ecdsa.PrivateKey
	person       ops.ID
	name, label  string
	phone        string
	studio, role string
	token        string
}

func newCaller(t *testing.T, name string) *caller {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	must(t, err)
	c := &caller{key: key, name: name, label: name + "'s phone"}
	rand.Read(c.person[:])
	return c
}

func (c *caller) publicKey() string {
	raw, err := c.key.PublicKey.Bytes()
	if err != nil {
		panic(err)
	}
	return base64.RawURLEncoding.EncodeToString(raw)
}

func (c *caller) joinBody(code string) map[string]any {
	return map[string]any{"code": code, "person": map[string]any{"id": c.person, "name": c.name}, "phone": map[string]any{"key": c.publicKey(), "label": c.label}}
}

func (c *caller) sign(server, challenge string) string {
	sum := sha256.Sum256([]byte(account.SignInText(server, challenge)))
	r, s, err := ecdsa.Sign(rand.Reader, c.key, sum[:])
	if err != nil {
		panic(err)
	}
	return base64.RawURLEncoding.EncodeToString(append(r.FillBytes(make([]byte, 32)), s.FillBytes(make([]byte, 32))...))
}

// claimed returns a keeper who has claimed the server and signed in.
func (r *rig) claimed() *caller {
	r.t.Helper()
	c := newCaller(r.t, "Ines")
	body := c.joinBody(r.claim)
	body["studio"] = map[string]any{"id": "c0ffee00c0ffee00c0ffee00c0ffee00", "name": "Barn"}
	r.settle(c, r.do("POST", "/v1/claim", "", body))
	return c
}

// joined returns a phone that the keeper let in with that role.
func (r *rig) joined(keeper *caller, name, role string) *caller {
	r.t.Helper()
	c := newCaller(r.t, name)
	r.settle(c, r.do("POST", "/v1/join", "", c.joinBody(r.code(keeper, map[string]any{"kind": "person", "role": role}))))
	return c
}

func (r *rig) code(by *caller, body map[string]any) string {
	r.t.Helper()
	a := r.do("POST", by.path("invites"), by.token, body)
	a.want(r.t, "invite", 200, "")
	return a.field("code")
}

func (r *rig) settle(c *caller, a answer) {
	r.t.Helper()
	a.want(r.t, c.name+" comes in", 200, "")
	var in struct {
		Phone, Role string
		Studio      struct{ ID string }
	}
	must(r.t, json.Unmarshal(a.body, &in))
	c.phone, c.role, c.studio = in.Phone, in.Role, in.Studio.ID
	r.signIn(c)
}

func (r *rig) signIn(c *caller) {
	r.t.Helper()
	ch := r.do("POST", "/v1/challenge", "", nil)
	challenge := ch.field("challenge")
	a := r.do("POST", "/v1/token", "", map[string]any{"phone": c.phone, "challenge": challenge, "signature": c.sign(r.st.Server(), challenge)})
	a.want(r.t, c.name+" signs in", 200, "")
	c.token = a.field("token")
}

func (c *caller) path(rest string) string { return "/v1/studios/" + c.studio + "/" + rest }

// replica returns a copy that has met the server already: it keeps its name from here on.
func (r *rig) replica(c *caller) *replication.Phone {
	r.t.Helper()
	p := newReplica()
	for range 2 {
		r.exchange(c, p)
	}
	return p
}

func newReplica() *replication.Phone {
	return replication.NewPhone("", func() (id ops.ID) { rand.Read(id[:]); return id })
}

func note(t *testing.T, p *replication.Phone, text string) ops.Op {
	t.Helper()
	return record(t, p, "note", map[string]any{"text": text})
}

func record(t *testing.T, p *replication.Phone, kind string, set map[string]any) ops.Op {
	t.Helper()
	var id ops.ID
	rand.Read(id[:])
	values := map[string]json.RawMessage{}
	for name, v := range set {
		raw, err := ops.Canonical(v)
		must(t, err)
		values[name] = raw
	}
	op, err := p.Write(kind, id, values, time.Now().UnixMilli())
	must(t, err)
	return op
}

// exchange sends what the replica has, byte for byte, and takes the answer in.
func (r *rig) exchange(c *caller, p *replication.Phone) *replication.Answer {
	r.t.Helper()
	req := p.Request(r.st.Server(), ops.MaxBatchOps)
	a := r.do("POST", c.path("exchange"), c.token, plain(r.t, req))
	a.want(r.t, "exchange", 200, "")
	got := &replication.Answer{}
	must(r.t, json.Unmarshal(a.body, got))
	must(r.t, p.Take(req, got, 100, time.Now().UnixMilli()))
	return got
}

// plain writes JSON as it travels: op bytes are not escaped anew.
func plain(t *testing.T, v any) []byte {
	t.Helper()
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	must(t, enc.Encode(v))
	return b.Bytes()
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func contains(t *testing.T, what, text string, parts ...string) {
	t.Helper()
	for _, p := range parts {
		if !strings.Contains(text, p) {
			t.Errorf("%s lacks %q: %.300s", what, p, text)
		}
	}
}
