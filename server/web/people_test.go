package web_test

import (
	"bufio"
	"crypto/ed25519"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"io"
	"net/http"
	"net/netip"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"

	"evenpull/server/web"
	"evenpull/sync/replication"
)

func TestClaimIsOnceAndIdempotent(t *testing.T) {
	r := newRig(t, nil)
	if a := r.do("GET", "/v1/server", "", nil); !strings.Contains(string(a.body), `"claimed":false`) {
		t.Errorf("before: %s", a.body)
	}
	k := r.claimed()
	if k.role != "keeper" {
		t.Errorf("role %q", k.role)
	}
	body := k.joinBody(strings.ToLower(strings.ReplaceAll(r.claim, "-", " ")))
	body["studio"] = map[string]any{"id": "c0ffee00c0ffee00c0ffee00c0ffee00", "name": "Barn"}
	again := r.do("POST", "/v1/claim", "", body)
	again.want(t, "the answer was lost", 200, "")
	if again.field("phone") != k.phone {
		t.Errorf("another phone: %s", again.body)
	}
	thief := newCaller(t, "Thief")
	body = thief.joinBody(r.claim)
	body["studio"] = map[string]any{"id": "deadbeefdeadbeefdeadbeefdeadbeef", "name": "Mine"}
	r.do("POST", "/v1/claim", "", body).want(t, "a second claim", 403, "denied")
	r.do("POST", "/v1/join", "", thief.joinBody(r.claim)).want(t, "joining by the claim code", 403, "denied")
	contains(t, "server", string(r.do("GET", "/v1/server", "", nil).body), `"claimed":true`, `"formats":[1,1]`, r.st.Server())
}

func TestInvites(t *testing.T) {
	r := newRig(t, nil)
	k := r.claimed()
	op := r.joined(k, "Rosa", "operator")
	guest := r.joined(k, "Uma", "guest")

	code := r.code(k, map[string]any{"kind": "person", "role": "guest"})
	first, second := newCaller(t, "Ann"), newCaller(t, "Bea")
	a := r.do("POST", "/v1/join", "", first.joinBody(code))
	a.want(t, "first use", 200, "")
	b := r.do("POST", "/v1/join", "", first.joinBody(code))
	if b.want(t, "the same phone again", 200, ""); string(a.body) != string(b.body) {
		t.Errorf("another answer: %s, %s", a.body, b.body)
	}
	r.do("POST", "/v1/join", "", second.joinBody(code)).want(t, "another phone", 403, "denied")

	late := r.code(k, map[string]any{"kind": "person", "role": "guest"})
	r.pass(15*time.Minute + time.Second)
	r.do("POST", "/v1/join", "", second.joinBody(late)).want(t, "after 15 minutes", 403, "denied")
	r.do("POST", "/v1/join", "", first.joinBody(code)).want(t, "a retry after 15 minutes", 200, "")
	for _, c := range []*caller{k, op, guest} {
		r.signIn(c)
	}

	mine := newCaller(t, "Whoever")
	a = r.do("POST", "/v1/join", "", mine.joinBody(r.code(op, map[string]any{"kind": "my-phone", "role": "keeper"})))
	if a.want(t, "my phone", 200, ""); a.field("role") != "operator" || a.field("person") != op.person.String() {
		t.Errorf("my other phone is %s", a.body)
	}

	r.mu.Lock()
	ends := r.now.Add(time.Hour).UnixMilli()
	r.mu.Unlock()
	class := r.code(k, map[string]any{"kind": "class", "role": "guest", "ends": ends})
	for _, name := range []string{"C1", "C2", "C3"} {
		r.do("POST", "/v1/join", "", newCaller(t, name).joinBody(class)).want(t, "class", 200, "")
	}
	for what, c := range map[string]struct {
		by     *caller
		body   map[string]any
		status int
	}{
		"operator invites":       {op, map[string]any{"kind": "person", "role": "operator"}, 403},
		"guest makes a class":    {guest, map[string]any{"kind": "class", "role": "guest", "ends": ends}, 403},
		"a class of keepers":     {k, map[string]any{"kind": "class", "role": "keeper", "ends": ends}, 400},
		"a class without an end": {k, map[string]any{"kind": "class", "role": "guest"}, 400},
		"no such role":           {k, map[string]any{"kind": "person", "role": "owner"}, 400},
		"the claim kind":         {k, map[string]any{"kind": "claim", "role": "keeper"}, 400},
	} {
		r.do("POST", c.by.path("invites"), c.by.token, c.body).want(t, what, c.status, "")
	}
}

// Ids of people and keys of phones are no secrets: naming somebody else's is no way to their rights, nor a way to take theirs.
func TestNobodyBecomesSomebodyElse(t *testing.T) {
	r := newRig(t, nil)
	k := r.claimed()
	evil := newCaller(t, "Evil")
	evil.person = k.person
	r.do("POST", "/v1/join", "", evil.joinBody(r.code(k, map[string]any{"kind": "person", "role": "guest"}))).want(t, "the keeper's id", 409, "conflict")
	body := evil.joinBody(r.code(k, map[string]any{"kind": "person", "role": "guest"}))
	body["phone"] = map[string]any{"key": k.publicKey(), "label": "x"}
	if a := r.do("POST", "/v1/join", "", body); a.field("role") != "keeper" {
		t.Errorf("a guest's code made the keeper's own phone %s", a.body)
	}
	r.do("POST", k.path("invites"), k.token, map[string]any{"kind": "person", "role": "guest"}).want(t, "the keeper still invites", 200, "")
}

func TestWrongCodesWaitAndRightOnesDoNot(t *testing.T) {
	r := newRig(t, nil)
	k := r.claimed()
	code := r.code(k, map[string]any{"kind": "person", "role": "guest"})
	c := newCaller(t, "Ann")
	var last answer
	for range 40 {
		last = r.do("POST", "/v1/join", "", c.joinBody("2345-79AC"))
	}
	last.want(t, "the 40th wrong code", 429, "too-many")
	if last.header.Get("Retry-After") == "" || len(r.held) < 30 || r.held[len(r.held)-1] <= r.held[0] {
		t.Errorf("Retry-After %q, waits %v: they should grow", last.header.Get("Retry-After"), r.held)
	}
	held := len(r.held)
	r.do("POST", "/v1/join", "", c.joinBody(code)).want(t, "the right code after 40 wrong ones", 200, "")
	if len(r.held) != held {
		t.Error("a right code waited")
	}
}

func TestOneSubscriberHoldsFewWrongCodesAtOnce(t *testing.T) {
	for name, from := range map[string]string{"one address": "192.0.2.1", "many addresses of one /64": "2001:db8::%x"} {
		t.Run(name, func(t *testing.T) {
			release := make(chan struct{})
			r := newRig(t, func(c *web.Config) {
				c.Hold = func(time.Duration) error { <-release; return nil }
				c.Trusted = []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8"), netip.MustParsePrefix("::1/128")}
			})
			c := newCaller(t, "Ann")
			join := func(i int) answer {
				return r.do("POST", "/v1/join", "", c.joinBody("2345-79AC"), "X-Forwarded-For", strings.Replace(from, "%x", strconv.FormatInt(int64(i+1), 16), 1))
			}
			for i := range 5 { // those are free
				join(i).want(t, "free", 403, "denied")
			}
			answers := make(chan int, 40)
			var group sync.WaitGroup
			for i := range 40 {
				group.Go(func() { answers <- join(i).status })
			}
			timeout := time.After(10 * time.Second)
			for i := range 24 { // 16 are held, so these can only be the others
				select {
				case got := <-answers:
					if got != 429 {
						t.Errorf("status %d; want 429", got)
					}
				case <-timeout:
					close(release)
					t.Fatalf("only %d of 40 were answered at once; want 24", i)
				}
			}
			close(release)
			group.Wait()
		})
	}
}

// Bodies are large: one phone may have a few of them read at once, and no more.
func TestOnePhoneSendsFewBodiesAtOnce(t *testing.T) {
	r := newRig(t, nil)
	k := r.claimed()
	var held []*io.PipeWriter
	defer func() {
		for _, w := range held {
			w.CloseWithError(io.ErrUnexpectedEOF)
		}
	}()
	for range 4 {
		body, w := io.Pipe()
		held = append(held, w)
		req, err := http.NewRequestWithContext(t.Context(), "POST", r.web.URL+k.path("exchange"), body)
		must(t, err)
		req.Header.Set("Authorization", "Bearer "+k.token)
		req.Header.Set("Content-Type", "application/json")
		go func() {
			if answer, err := http.DefaultClient.Do(req); err == nil {
				answer.Body.Close()
			}
		}()
		_, err = w.Write([]byte("{")) // returns once it is on its way
		must(t, err)
	}
	deadline := time.Now().Add(10 * time.Second)
	for {
		if a := r.do("POST", k.path("exchange"), k.token, make([]byte, 300<<10)); a.status == 429 {
			break
		} else if time.Now().After(deadline) {
			t.Fatalf("a fifth body is answered with %d", a.status)
		}
	}
}

func TestTheLastKeepersLastPhoneStays(t *testing.T) {
	r := newRig(t, nil)
	k := r.claimed()
	end := func(c *caller) answer {
		return r.do("POST", k.path("endings"), k.token, map[string]any{"phone": c.phone})
	}
	end(k).want(t, "the only way in", 409, "conflict")
	second := newCaller(t, "Kay")
	r.settle(second, r.do("POST", "/v1/join", "", second.joinBody(r.code(k, map[string]any{"kind": "my-phone"}))))
	end(second).want(t, "another phone of theirs", 204, "")
	end(k).want(t, "the only way in again", 409, "conflict")
	r.joined(k, "Rosa", "keeper")
	end(k).want(t, "with another keeper", 204, "")
}

func TestTokensThatAreNotOurs(t *testing.T) {
	r := newRig(t, nil)
	k := r.claimed()
	exp := jwt.NewNumericDate(time.Now().Add(time.Hour))
	claims := jwt.RegisteredClaims{Audience: jwt.ClaimStrings{r.st.Server()}, Subject: k.phone, ExpiresAt: exp}
	signed := func(c jwt.RegisteredClaims, key any, method jwt.SigningMethod, header map[string]any) string {
		tok := jwt.NewWithClaims(method, c)
		for name, v := range header {
			tok.Header[name] = v
		}
		text, err := tok.SignedString(key)
		must(t, err)
		return text
	}
	_, stranger, err := ed25519.GenerateKey(rand.Reader)
	must(t, err)
	public := []byte(r.st.Key().Public().(ed25519.PublicKey))
	enc := base64.RawURLEncoding.EncodeToString
	parts := strings.Split(signed(claims, r.st.Key(), jwt.SigningMethodEdDSA, nil), ".")
	mac := hmac.New(sha256.New, public)
	mixed := enc([]byte(`{"alg":"HS256","typ":"JWT"}`)) + "." + parts[1]
	mac.Write([]byte(mixed))
	with := func(change func(*jwt.RegisteredClaims)) jwt.RegisteredClaims { c := claims; change(&c); return c }
	good := signed(claims, r.st.Key(), jwt.SigningMethodEdDSA, nil)
	r.do("POST", k.path("exchange"), good, plain(t, newReplica().Request("", 0))).want(t, "the control: a good one", 200, "")
	for what, text := range map[string]string{
		"none at all":             "",
		"alg none":                enc([]byte(`{"alg":"none","typ":"JWT"}`)) + "." + parts[1] + ".",
		"HMAC with our public":    mixed + "." + enc(mac.Sum(nil)),
		"another's key":           signed(claims, stranger, jwt.SigningMethodEdDSA, nil),
		"another's key, by kid":   signed(claims, stranger, jwt.SigningMethodEdDSA, map[string]any{"kid": "../../dev/null"}),
		"another's key, by jwk":   signed(claims, stranger, jwt.SigningMethodEdDSA, map[string]any{"jwk": map[string]any{"kty": "OKP", "crv": "Ed25519", "x": enc(stranger.Public().(ed25519.PublicKey))}}),
		"for another server":      signed(with(func(c *jwt.RegisteredClaims) { c.Audience = jwt.ClaimStrings{"other"} }), r.st.Key(), jwt.SigningMethodEdDSA, nil),
		"for no server":           signed(with(func(c *jwt.RegisteredClaims) { c.Audience = nil }), r.st.Key(), jwt.SigningMethodEdDSA, nil),
		"without an end":          signed(with(func(c *jwt.RegisteredClaims) { c.ExpiresAt = nil }), r.st.Key(), jwt.SigningMethodEdDSA, nil),
		"past its end":            signed(with(func(c *jwt.RegisteredClaims) { c.ExpiresAt = jwt.NewNumericDate(time.Now().Add(-time.Second)) }), r.st.Key(), jwt.SigningMethodEdDSA, nil),
		"subject no id":           signed(with(func(c *jwt.RegisteredClaims) { c.Subject = "keeper" }), r.st.Key(), jwt.SigningMethodEdDSA, nil),
		"signature of other text": parts[0] + "." + enc([]byte(`{"sub":"x"}`)) + "." + parts[2],
	} {
		r.do("POST", k.path("exchange"), text, plain(t, newReplica().Request("", 0))).want(t, what, 401, "unauthenticated")
	}
	r.pass(9 * time.Minute)
	r.do("POST", k.path("invites"), k.token, map[string]any{"kind": "my-phone"}).want(t, "after 9 minutes", 200, "")
	r.pass(2 * time.Minute)
	r.do("POST", k.path("invites"), k.token, map[string]any{"kind": "my-phone"}).want(t, "after 11 minutes", 401, "unauthenticated")
}

func TestSigningIn(t *testing.T) {
	r := newRig(t, nil)
	k := r.claimed()
	other := newCaller(t, "Other")
	ask := func(phone, challenge, signature string) answer {
		return r.do("POST", "/v1/token", "", map[string]any{"phone": phone, "challenge": challenge, "signature": signature})
	}
	fresh := func() string { return r.do("POST", "/v1/challenge", "", nil).field("challenge") }
	ch := fresh()
	ask(k.phone, ch, other.sign(r.st.Server(), ch)).want(t, "another's signature", 401, "unauthenticated")
	ask(k.phone, ch, k.sign("another server", ch)).want(t, "a signature for another server", 401, "unauthenticated")
	ask(k.phone, ch, k.sign(r.st.Server(), ch)).want(t, "right", 200, "")
	ask(k.phone, ch, k.sign(r.st.Server(), ch)).want(t, "the same challenge again", 401, "unauthenticated")
	made := base64.RawURLEncoding.EncodeToString(make([]byte, 40))
	ask(k.phone, made, k.sign(r.st.Server(), made)).want(t, "a challenge we did not give", 401, "unauthenticated")
	old := fresh()
	r.pass(3 * time.Minute)
	ask(k.phone, old, k.sign(r.st.Server(), old)).want(t, "an old challenge", 401, "unauthenticated")
	ch = fresh()
	ask("00000000000000000000000000000000", ch, k.sign(r.st.Server(), ch)).want(t, "an unknown phone", 401, "unauthenticated")
}

func TestGuestWritesByNoPath(t *testing.T) {
	r := newRig(t, nil)
	k := r.claimed()
	guest := r.joined(k, "Uma", "guest")
	p := r.replica(guest)
	note(t, p, "smuggled")
	a := r.exchange(guest, p)
	if len(a.Refused) != 1 || a.Refused[0].Reason != replication.NoRight || len(p.Outbox) != 1 {
		t.Errorf("refused %v, %d wait; want no-right and the op kept", a.Refused, len(p.Outbox))
	}
	for what, c := range map[string]answer{
		"invite":         r.do("POST", guest.path("invites"), guest.token, map[string]any{"kind": "person", "role": "guest"}),
		"end the keeper": r.do("POST", guest.path("endings"), guest.token, map[string]any{"person": k.person}),
		"end a phone":    r.do("POST", guest.path("endings"), guest.token, map[string]any{"phone": k.phone}),
		"own role":       r.do("POST", guest.path("roles"), guest.token, map[string]any{"person": guest.person, "role": "keeper"}),
		"a studio":       r.do("POST", "/v1/studios", guest.token, map[string]any{"studio": map[string]any{"id": "beef0000beef0000beef0000beef0000", "name": "B"}, "person": map[string]any{"name": "U"}, "label": "l"}),
	} {
		c.want(t, what, 403, "denied")
	}
	photo, digest := photoOf(100)
	writer := r.replica(k)
	record(t, writer, "photo", map[string]any{"sha256": digest})
	r.exchange(k, writer)
	r.do("PUT", guest.path("photos/"+digest), guest.token, photo).want(t, "a photo", 403, "denied")
	r.do("POST", k.path("roles"), k.token, map[string]any{"person": guest.person, "role": "operator"}).want(t, "made operator", 204, "")
	if r.exchange(guest, p); len(p.Outbox) != 0 {
		t.Error("the op does not flow once the right is there")
	}
}

func TestEndedPhoneIsOutAtOnce(t *testing.T) {
	r := newRig(t, nil)
	k := r.claimed()
	rosa := r.joined(k, "Rosa", "operator")
	p := r.replica(rosa)
	lines := r.listen(rosa)
	wantLine(t, lines, `"upTo":`)
	r.do("POST", k.path("endings"), k.token, map[string]any{"phone": rosa.phone}).want(t, "end", 204, "")
	wantLine(t, lines, `"end":"access"`)
	r.do("POST", k.path("endings"), k.token, map[string]any{"phone": rosa.phone}).want(t, "end again", 204, "")
	note(t, p, "kept on the phone")
	for what, a := range map[string]answer{
		"exchange": r.do("POST", rosa.path("exchange"), rosa.token, plain(t, p.Request("", 10))),
		"events":   r.do("GET", rosa.path("events"), rosa.token, nil),
		"photo":    r.do("GET", rosa.path("photos/"+strings.Repeat("0", 64)), rosa.token, nil),
		"my phone": r.do("POST", rosa.path("invites"), rosa.token, map[string]any{"kind": "my-phone"}),
	} {
		a.want(t, what, 403, "denied")
	}
	r.do("POST", k.path("endings"), k.token, map[string]any{"person": k.person}).want(t, "the last keeper", 409, "conflict")
	r.do("POST", k.path("roles"), k.token, map[string]any{"person": k.person, "role": "guest"}).want(t, "the last keeper", 409, "conflict")
	r.pass(time.Second)
	r.settle(rosa, r.do("POST", "/v1/join", "", rosa.joinBody(r.code(k, map[string]any{"kind": "person", "role": "operator"}))))
	if r.exchange(rosa, p); len(p.Outbox) != 0 {
		t.Error("let in again, and the words still wait")
	}
}

func TestEventsTellNewsAndEndWithTheToken(t *testing.T) {
	r := newRig(t, func(c *web.Config) { c.Beat = 50 * time.Millisecond })
	k := r.claimed()
	lines := r.listen(k)
	wantLine(t, lines, `{"upTo":3}`) // person, phone, role
	wantLine(t, lines, `{"upTo":3}`) // a beat
	p := r.replica(k)
	note(t, p, "news")
	r.exchange(k, p)
	wantLine(t, lines, `{"upTo":4}`)
	for range 3 {
		r.listen(k)
	}
	r.do("GET", k.path("events"), k.token, nil).want(t, "a fifth stream", 429, "too-many")

	short := newRig(t, nil)
	k = short.claimed()
	short.pass(10*time.Minute - 1500*time.Millisecond) // ends are whole seconds
	wantLine(t, short.listen(k), `"end":"token"`)

	ending := newRig(t, nil)
	lines = ending.listen(ending.claimed())
	wantLine(t, lines, `"upTo":`)
	close(ending.stopping)
	wantLine(t, lines, `"end":"stopping"`)
}

// listen opens a stream and returns its lines as they come.
func (r *rig) listen(c *caller) <-chan string {
	r.t.Helper()
	req, err := http.NewRequestWithContext(r.t.Context(), "GET", r.web.URL+c.path("events"), nil)
	must(r.t, err)
	req.Header.Set("Authorization", "Bearer "+c.token)
	resp, err := http.DefaultTransport.RoundTrip(req)
	must(r.t, err)
	if resp.StatusCode != 200 {
		r.t.Fatalf("events: %d", resp.StatusCode)
	}
	lines := make(chan string, 100)
	go func() {
		defer close(lines)
		defer resp.Body.Close()
		for s := bufio.NewScanner(resp.Body); s.Scan(); {
			lines <- s.Text()
		}
	}()
	return lines
}

// wantLine reads lines until one contains the text.
func wantLine(t *testing.T, lines <-chan string, text string) {
	t.Helper()
	timeout := time.After(5 * time.Second)
	for {
		select {
		case line, ok := <-lines:
			if !ok {
				t.Fatalf("the stream ended without %s", text)
			}
			if !json.Valid([]byte(line)) {
				t.Fatalf("line %q is not JSON", line)
			}
			if strings.Contains(line, text) {
				return
			}
		case <-timeout:
			t.Fatalf("no line with %s in 5 seconds", text)
		}
	}
}

func TestAnotherStudio(t *testing.T) {
	r := newRig(t, nil)
	k := r.claimed()
	body := map[string]any{"studio": map[string]any{"id": "beef0000beef0000beef0000beef0000", "name": "Teaching room"}, "person": map[string]any{"name": "Ines"}, "label": "phone"}
	a := r.do("POST", "/v1/studios", k.token, body)
	a.want(t, "brought", 200, "")
	if b := r.do("POST", "/v1/studios", k.token, body); string(a.body) != string(b.body) {
		t.Errorf("again: %s; want %s", b.body, a.body)
	}
	rosa := r.joined(k, "Rosa", "keeper")
	rosa2 := *rosa
	rosa2.studio = "beef0000beef0000beef0000beef0000"
	r.do("POST", rosa2.path("exchange"), rosa.token, plain(t, newReplica().Request("", 0))).want(t, "the other studio is not hers", 403, "denied")
	r.do("POST", "/v1/studios", rosa.token, body).want(t, "bringing what is there", 409, "conflict")
}
