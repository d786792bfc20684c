package web_test

import (
	"io/fs"
	"net/netip"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"evenpull/server/account"
	"evenpull/server/web"
	"evenpull/sync/ops"
)

func TestStaticFiles(t *testing.T) {
	r := newRig(t, nil)
	for _, c := range []struct {
		path, accept string
		status       int
		body, cache  string
	}{
		{"/", "", 200, "<!doctype html>app", "no-cache"},
		{"/changes/of/a/screw", "", 200, "<!doctype html>app", "no-cache"},
		{"/sw.js", "", 200, "worker", "no-cache"},
		{"/assets/main-A1.js", "", 200, "script", "public, max-age=31536000, immutable"},
		{"/assets/main-A1.js", "gzip", 200, "packed script", "public, max-age=31536000, immutable"},
		{"/assets/gone-B2.js", "", 404, "", "no-store"},
		{"/assets/", "", 404, "", "no-store"},
		{"/assets/..%2findex.html", "", 404, "", "no-store"},
		{"/favicon.ico", "", 404, "", "no-store"},
		{"/v1/nothing", "", 404, "", "no-store"},
		{"/.gitkeep", "", 404, "", "no-store"},
	} {
		a := r.do("GET", c.path, "", nil, "Accept-Encoding", c.accept)
		if a.status != c.status || c.body != "" && string(a.body) != c.body || a.header.Get("Cache-Control") != c.cache {
			t.Errorf("%s: %d %q %q; want %d %q %q", c.path, a.status, a.body, a.header.Get("Cache-Control"), c.status, c.body, c.cache)
		}
		contains(t, c.path, a.header.Get("Content-Security-Policy"), "default-src 'none'", "script-src 'self';", "require-trusted-types-for 'script'", "frame-ancestors 'none'")
		if a.header.Get("X-Content-Type-Options") != "nosniff" {
			t.Errorf("%s: sniffing is allowed", c.path)
		}
	}
	first := r.do("GET", "/", "", nil)
	r.do("GET", "/", "", nil, "If-None-Match", first.header.Get("ETag")).want(t, "unchanged", 304, "")
}

func TestWithoutAClient(t *testing.T) {
	r := newRig(t, func(c *web.Config) { c.Client = fs.FS(fstest.MapFS{".gitkeep": {}}) })
	a := r.do("GET", "/", "", nil)
	a.want(t, "/", 503, "")
	contains(t, "page", string(a.body), "npm start")
	r.do("GET", "/healthz", "", nil).want(t, "health", 200, "")
}

func TestAssetsOfEarlierBuildsStay(t *testing.T) {
	folder := t.TempDir()
	build := func(n string) *rig {
		return newRig(t, func(c *web.Config) {
			c.Assets = folder
			c.Client = fs.FS(fstest.MapFS{"index.html": {Data: []byte("app " + n)}, "assets/main-" + n + ".js": {Data: []byte("script " + n)}})
		})
	}
	var last *rig
	names := strings.Split("abcdefghijkl", "")
	for _, n := range names {
		last = build(n)
	}
	for i, n := range names {
		a := last.do("GET", "/assets/main-"+n+".js", "", nil)
		if want := i >= len(names)-10; (a.status == 200) != want || want && string(a.body) != "script "+n {
			t.Errorf("build %s: %d %q; want it kept: %v", n, a.status, a.body, want)
		}
	}
	if kept, err := filepath.Glob(filepath.Join(folder, "*")); err != nil || len(kept) != 10 {
		t.Errorf("%d builds kept, %v", len(kept), err)
	}
	again := build(names[len(names)-1])
	again.do("GET", "/assets/main-c.js", "", nil).want(t, "started again: the oldest kept", 200, "")
}

func TestTheAddressIsTakenDirect(t *testing.T) {
	r := newRig(t, nil)
	c := newCaller(t, "Ann")
	for i := range 30 { // as many addresses as he likes to say
		r.do("POST", "/v1/join", "", c.joinBody("2345-79AC"), "X-Forwarded-For", "10.0.0."+string(rune('0'+i%10)), "X-Real-IP", "10.0.0.1")
	}
	if len(r.held) != 25 {
		t.Errorf("%d of 30 wrong codes waited; want 25: all came from one address", len(r.held))
	}
}

func TestTheDemoCodeIsForThisMachine(t *testing.T) {
	for _, trusted := range [][]netip.Prefix{nil, {netip.MustParsePrefix("10.0.0.1/32")}, {netip.MustParsePrefix("127.0.0.1/32")}} {
		r := newRig(t, func(c *web.Config) { c.Trusted = trusted })
		k := r.claimed()
		var code string
		must(t, r.st.Accounts(t.Context(), func(tx account.Tx) (err error) {
			studio, err := ops.ParseID(k.studio)
			if err != nil {
				return err
			}
			code, _, err = account.Issue(tx, account.Invite{Kind: account.ForClass, Studio: studio, Role: account.Keeper, Loopback: true,
				Most: account.ClassMost, EndsMS: r.now.Add(time.Hour).UnixMilli()}, r.now)
			return err
		}))
		join := func(header ...string) answer {
			return r.do("POST", "/v1/join", "", newCaller(t, "Ann").joinBody(code), header...)
		}
		join("X-Forwarded-For", "203.0.113.9").want(t, "from elsewhere, through a proxy", 403, "denied")
		join("X-Forwarded-For", "127.0.0.1, 203.0.113.9").want(t, "from elsewhere, saying it is here", 403, "denied")
		join("X-Forwarded-For", "203.0.113.9:5555").want(t, "from elsewhere, not well said", 403, "denied")
		if len(trusted) > 0 && trusted[0].Contains(netip.MustParseAddr("127.0.0.1")) {
			join().want(t, "from the proxy, which says nothing", 403, "denied")
		} else {
			join().want(t, "from here", 200, "")
		}
	}
}
