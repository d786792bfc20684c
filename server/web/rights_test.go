package web_test

import (
	"crypto/sha256"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/labstack/echo/v4"

	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// who may do what: 2 goes through, 3 is refused for lack of right, 1 for lack of
// a token. In the order of the callers below.
const callers = "keeper operator guest ended stranger nobody hub"

var allowed = map[string]string{
	"GET /healthz": "2222222", "GET /readyz": "2222222", "GET /v1/server": "2222222", "GET /*": "2222222", "HEAD /*": "2222222",
	"POST /v1/challenge": "2222222",
	"POST /v1/token":     "2222212", // a phone that was ended may sign in, and sees only that
	"POST /v1/claim":     "3333333", // the server is somebody's, and the code is none
	"POST /v1/join":      "3333333", // likewise
	"POST /v1/studios":   "2333313",

	"POST /v1/studios/:studio/invites":          "2333313",
	"GET /v1/studios/:studio/invites":           "2333313",
	"POST /v1/studios/:studio/endings":          "2333313",
	"POST /v1/studios/:studio/roles":            "2333313",
	"POST /v1/studios/:studio/purges":           "2333313",
	"GET /v1/studios/:studio/deeds":             "2333313",
	"GET /v1/studios/:studio/history/:kind/:id": "2223312",
	"POST /v1/studios/:studio/exchange":         "2223312", // a guest's ops are refused one by one: see below
	"POST /v1/studios/:studio/roll":             "3333312", // servers among themselves
	"GET /v1/studios/:studio/events":            "2223312",
	"GET /v1/studios/:studio/photos/:sha256":    "2223312",
	"HEAD /v1/studios/:studio/photos/:sha256":   "2223312",
	"PUT /v1/studios/:studio/photos/:sha256":    "2233312",
}

// Every route of the router's own table is tried by everybody. One that stands
// in no line above fails the test, so none can be forgotten.
func TestEveryRouteWithEveryRole(t *testing.T) {
	r := newRig(t, nil)
	table := r.web.Config.Handler.(*echo.Echo).Routes()
	keeper := r.claimed()
	r.first = keeper
	operator, guest, ended := r.joined(keeper, "Rosa", "operator"), r.joined(keeper, "Gil", "guest"), r.joined(keeper, "Eva", "operator")
	stranger, nobody := newCaller(t, "Sam"), newCaller(t, "Nobody")
	stranger.studio, nobody.studio, stranger.phone, nobody.phone = keeper.studio, keeper.studio, ended.phone, strings.Repeat("9", 32)
	other := newCaller(t, "Olaf") // at home in another studio of this server
	r.settle(other, r.do("POST", "/v1/join", "", other.joinBody(r.code(r.elsewhere(keeper), map[string]any{"kind": "person", "role": "operator"}))))
	stranger.token, stranger.phone, stranger.key = other.token, other.phone, other.key

	hub := newCaller(t, "Hub")
	body := hub.joinBody(r.code(keeper, map[string]any{"kind": "hub"}))
	r.do("POST", "/v1/join", "", body).want(t, "a phone with a hub's code", 403, "denied")
	body["hub"] = true
	r.settle(hub, r.do("POST", "/v1/join", "", body))

	photo := append([]byte("\xff\xd8\xff\xe0"), make([]byte, 200)...)
	sum := fmt.Sprintf("%x", sha256.Sum256(photo))
	p := r.replica(keeper)
	record(t, p, "photo", map[string]any{"sha256": sum, "bytes": len(photo)})
	r.exchange(keeper, p)
	r.do("PUT", keeper.path("photos/"+sum), keeper.token, photo).want(t, "photo", 200, "")
	r.do("POST", keeper.path("endings"), keeper.token, map[string]any{"phone": ended.phone}).want(t, "ended", 204, "")

	n := 0
	for _, route := range table {
		key := route.Method + " " + route.Path
		if route.Method == echo.RouteNotFound || route.Path == "" {
			continue
		}
		want, known := allowed[key]
		if !known {
			t.Errorf("%s stands in no line of who may do what", key)
			continue
		}
		for i, c := range []*caller{keeper, operator, guest, ended, stranger, nobody, hub} {
			n++
			a := r.tryRoute(route, c, sum, photo)
			class := a.status / 100
			if a.status == http.StatusUnauthorized {
				class = 1
			} else if a.status == http.StatusForbidden || a.status == http.StatusTooManyRequests { // a wrong code, again
				class = 3
			}
			if got := fmt.Sprint(class); got != want[i:i+1] {
				t.Errorf("%s by %s: %d %.120s; want %s", key, strings.Fields(callers)[i], a.status, a.body, want[i:i+1])
			}
		}
	}
	if n < 7*len(allowed) {
		t.Errorf("%d tries of %d routes", n, len(allowed))
	}
}

// tryRoute asks for what is right in itself, so that only the right can be missing.
func (r *rig) tryRoute(route *echo.Route, c *caller, sum string, photo []byte) answer {
	path := strings.NewReplacer(":studio", c.studio, ":sha256", sum, ":kind", "note", ":id", strings.Repeat("7", 32), "/*", "/index.html").Replace(route.Path)
	fresh := newCaller(r.t, "New")
	var body any
	switch route.Method + " " + route.Path {
	case "POST /v1/claim":
		in := fresh.joinBody("WRNG-CDEA")
		in["studio"] = map[string]any{"id": strings.Repeat("a", 32), "name": "Mine now"}
		body = in
	case "POST /v1/join":
		body = fresh.joinBody("WRNG-CDEA")
	case "POST /v1/token":
		challenge := r.do("POST", "/v1/challenge", "", nil).field("challenge")
		body = map[string]any{"phone": c.phone, "challenge": challenge, "signature": c.sign(r.st.Server(), challenge)}
	case "POST /v1/studios":
		body = map[string]any{"studio": map[string]any{"id": fresh.person, "name": "Another"}, "person": map[string]any{"name": "X"}, "label": "x"}
	case "POST /v1/studios/:studio/invites":
		body = map[string]any{"kind": "class", "role": "guest", "ends": r.now.Add(time.Hour).UnixMilli()}
	case "POST /v1/studios/:studio/endings":
		body = map[string]any{"person": r.throwAway().person}
	case "POST /v1/studios/:studio/roles":
		body = map[string]any{"person": r.throwAway().person, "role": "operator"}
	case "POST /v1/studios/:studio/purges":
		body = map[string]any{"records": []any{map[string]any{"kind": "note", "id": strings.Repeat("7", 32)}}}
	case "POST /v1/studios/:studio/exchange", "POST /v1/studios/:studio/roll":
		body = `{"format":1,"server":"","epoch":"","after":0,"afterDigest":"","replica":"` + strings.Repeat("0", 32) + `","from":1,"prevDigest":"` + strings.Repeat("0", 64) + `","ops":[]}`
	case "PUT /v1/studios/:studio/photos/:sha256":
		body = photo
	case "GET /v1/studios/:studio/events":
		return r.firstLine(path, c.token)
	}
	return r.do(route.Method, path, c.token, body)
}

// firstLine opens a stream and lets it go.
func (r *rig) firstLine(path, token string) answer {
	r.t.Helper()
	req, err := http.NewRequestWithContext(r.t.Context(), "GET", r.web.URL+path, nil)
	must(r.t, err)
	if token != "" {
		req.Header.Set("Authorization", "Bearer "+token)
	}
	resp, err := http.DefaultTransport.RoundTrip(req)
	must(r.t, err)
	defer resp.Body.Close()
	return answer{status: resp.StatusCode, header: resp.Header}
}

// throwAway is a guest of the first studio that nobody misses.
func (r *rig) throwAway() *caller {
	r.t.Helper()
	return r.joined(r.first, "Tom", "guest")
}

// elsewhere is the keeper in a second studio of the same server.
func (r *rig) elsewhere(keeper *caller) *caller {
	r.t.Helper()
	c := *keeper
	c.studio = strings.Repeat("e", 32)
	r.do("POST", "/v1/studios", keeper.token, map[string]any{"studio": map[string]any{"id": c.studio, "name": "Hall"}, "person": map[string]any{"name": "Ines"}, "label": "x"}).
		want(r.t, "another studio", 200, "")
	return &c
}

// What a guest or an ended phone sends is stored by no path: not as ops, not as
// ops of others, not handed back, and not as a purge.
func TestAGuestWritesByNoPath(t *testing.T) {
	r := newRig(t, nil)
	keeper := r.claimed()
	guest, operator := r.joined(keeper, "Gil", "guest"), r.joined(keeper, "Rosa", "operator")
	p := r.replica(keeper)
	kept := note(t, p, "stays as it is")
	r.exchange(keeper, p)
	mine := r.replica(guest)
	op := note(t, mine, "of a guest")
	purge := record(t, mine, "purge", map[string]any{"dots": []any{kept.Dot().String()}})
	zero := strings.Repeat("0", 64)
	bodies := map[string]string{
		"ops":       fmt.Sprintf(`"replica":"%s","from":1,"prevDigest":"%s","ops":[%s,%s]`, mine.Replica, zero, op.Bytes(), purge.Bytes()),
		"frames":    fmt.Sprintf(`"replica":"%s","from":1,"prevDigest":"%s","ops":[],"frames":[{"replica":"%s","from":1,"prevDigest":"%s","ops":[%s],"via":"hub"}]`, strings.Repeat("0", 32), zero, mine.Replica, zero, op.Bytes()),
		"hand-back": fmt.Sprintf(`"replica":"%s","from":1,"prevDigest":"%s","ops":[],"back":{"have":{"%s":[1,"0123456789abcdef"]},"records":[{"kind":"note","id":"%s","fields":{"text":{"live":[{"dot":"%s:1","at":[1,0],"by":"","value":"x"}]}}}],"voids":[],"last":true}`, strings.Repeat("0", 32), zero, mine.Replica, op.ID, mine.Replica),
	}
	before := r.reading(keeper)
	for _, c := range []*caller{guest, operator} {
		if c == operator {
			r.do("POST", keeper.path("endings"), keeper.token, map[string]any{"person": operator.person}).want(t, "ending", 204, "")
			before = r.reading(keeper)
		}
		for name, body := range bodies {
			a := r.do("POST", c.path("exchange"), c.token, `{"format":1,"server":"","epoch":"","after":0,"afterDigest":"",`+body+`}`)
			if c == guest {
				a.want(t, name, 200, "")
				contains(t, name, string(a.body), `"reason":"no-right"`)
			} else {
				a.want(t, name+" of an ended phone", 403, "denied")
			}
			if after := r.reading(keeper); !slices.Equal(before, after) {
				t.Errorf("%s by a %s changed what is read", name, c.role)
			}
		}
	}
}

// reading is all records of the studio, as a fresh phone reads them.
func (r *rig) reading(c *caller) (records []string) {
	r.t.Helper()
	reader := newReplica()
	for range 2 {
		for _, raw := range r.exchange(c, reader).Records {
			records = append(records, string(raw))
		}
	}
	slices.Sort(records)
	return slices.Compact(records)
}

// An operator's copy tells the server nothing about what the server itself wrote:
// else nobody could be let in or ended any more.
func TestNoCopyTakesTheServersOwnName(t *testing.T) {
	r := newRig(t, nil)
	keeper := r.claimed()
	operator := r.joined(keeper, "Rosa", "operator")
	p := r.replica(operator)
	r.exchange(operator, p)
	own := map[ops.ID]bool{}
	for k, record := range p.Base.Records {
		if replication.ServerOnly[k.Kind] {
			for _, f := range record.Fields {
				own[f.Live[0].Dot.Replica] = true
			}
		}
	}
	if len(own) != 1 {
		t.Fatalf("%d replicas write for the server", len(own))
	}
	for replica := range own {
		have := fmt.Sprintf(`{"%s":[%d,"0123456789abcdef"]}`, replica, ops.MaxN)
		body := `{"format":1,"server":"","epoch":"","after":0,"afterDigest":"","replica":"` + strings.Repeat("0", 32) + `","from":0,"prevDigest":"` +
			strings.Repeat("0", 64) + `","ops":[],"back":{"have":` + have + `,"records":[],"voids":[],"last":true}}`
		r.do("POST", operator.path("exchange"), operator.token, body).want(t, "the hand-back", 200, "")
	}
	r.joined(keeper, "Late", "operator")
	r.do("POST", keeper.path("endings"), keeper.token, map[string]any{"phone": operator.phone}).want(t, "ended", 204, "")
}
