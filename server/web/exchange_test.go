package web_test

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"strings"
	"testing"
	"time"

	"evenpull/server/web"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
)

func zipped(t *testing.T, raw []byte) []byte {
	t.Helper()
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	_, err := z.Write(raw)
	must(t, err)
	must(t, z.Close())
	return b.Bytes()
}

func TestWordsTravelByteForByte(t *testing.T) {
	r := newRig(t, nil)
	k := r.claimed()
	rosa := r.joined(k, "Rosa", "operator")
	words := "<b>&amp;</b> \u2028 \u2029 \"quoted\" \\ \t é 𝄞 \u0000 \u007f"
	p, q := r.replica(k), newReplica()
	op := note(t, p, words)
	r.exchange(k, p)
	if len(p.Outbox) != 0 {
		t.Fatal("not acknowledged")
	}
	r.exchange(rosa, q)
	got := q.Base.Records[merge.Key{Kind: "note", ID: op.ID}].Fields["text"].Live[0].Value
	if !bytes.Equal(got, op.Set["text"]) {
		t.Errorf("got %s; want %s", got, op.Set["text"])
	}
}

func TestHostileBodies(t *testing.T) {
	r := newRig(t, nil)
	k := r.claimed()
	p := r.replica(k)
	note(t, p, "x")
	good := plain(t, p.Request(r.st.Server(), 10))
	change := func(from, to string) []byte { return bytes.Replace(good, []byte(from), []byte(to), 1) }
	bomb := zipped(t, bytes.Repeat([]byte(" "), ops.MaxBatchBytes+1))
	deep := []byte(strings.Repeat("[", 100000))
	for _, c := range []struct {
		what   string
		body   []byte
		header []string
		status int
		kind   string
	}{
		{"empty", nil, nil, 400, "invalid"},
		{"not JSON", []byte("\x00\xff"), nil, 400, "invalid"},
		{"an array", []byte("[]"), nil, 400, "invalid"},
		{"deep", deep, nil, 400, "invalid"},
		{"two values", append(good[:len(good):len(good)], good...), nil, 400, "invalid"},
		{"wrong type", change(`"after":3`, `"after":"0"`), nil, 400, "invalid"},
		{"negative", change(`"after":3`, `"after":-1`), nil, 400, "invalid"},
		{"huge number", change(`"after":3`, `"after":1e99`), nil, 400, "invalid"},
		{"replica no id", change(p.Replica.String(), "ABC"), nil, 400, "invalid"},
		{"a newer format", change(`"format":1`, `"format":2`), nil, 426, "too-old"},
		{"from 0", change(`"from":1`, `"from":0`), nil, 400, "invalid"},
		{"too large", bytes.Repeat([]byte(" "), ops.MaxBatchBytes+1), nil, 413, "too-large"},
		{"too large as gzip", bytes.Repeat([]byte("x"), ops.MaxGzipBytes+1), []string{"Content-Encoding", "gzip"}, 413, "too-large"},
		{"a bomb", bomb, []string{"Content-Encoding", "gzip"}, 413, "too-large"},
		{"not gzip", good, []string{"Content-Encoding", "gzip"}, 400, "invalid"},
		{"gzip cut off", zipped(t, good)[:20], []string{"Content-Encoding", "gzip"}, 400, "invalid"},
		{"unknown encoding", good, []string{"Content-Encoding", "br"}, 400, "invalid"},
		{"long epoch", change(`"epoch":"`, `"epoch":"`+strings.Repeat("e", 200)), nil, 413, "too-large"},
	} {
		if c.kind != "too-old" && bytes.Equal(c.body, good) && c.header == nil {
			t.Fatalf("%s: the body is not changed", c.what)
		}
		r.do("POST", k.path("exchange"), k.token, c.body, c.header...).want(t, c.what, c.status, c.kind)
	}
	if head := r.exchange(k, newReplica()); head.UpTo != 3 {
		t.Errorf("head %d; want 3: something of those was stored", head.UpTo)
	}
	r.do("POST", k.path("exchange"), k.token, zipped(t, good), "Content-Encoding", "gzip").want(t, "the control: good and gzip", 200, "")
}

func TestHostileFields(t *testing.T) {
	r := newRig(t, nil)
	base := func() map[string]any {
		b := newCaller(t, "Ann").joinBody(r.claim)
		b["studio"] = map[string]any{"id": "c0ffee00c0ffee00c0ffee00c0ffee00", "name": "Barn"}
		return b
	}
	values := map[string]any{"number": 5, "null": nil, "empty": "", "list": []int{1}, "huge": strings.Repeat("x", 15000),
		"control": "a\u0007b", "two lines": "a\nb", "long": strings.Repeat("é", 81)}
	for _, field := range []string{"code", "person.id", "person.name", "phone.key", "phone.label", "studio.id", "studio.name"} {
		for what, v := range values {
			b := base()
			if outer, inner, ok := strings.Cut(field, "."); ok {
				b[outer].(map[string]any)[inner] = v
			} else {
				b[field] = v
			}
			a := r.do("POST", "/v1/claim", "", b)
			if a.status != 400 && (field != "code" || a.status != 403 && a.status != 429) {
				t.Errorf("%s %s: %d %s", field, what, a.status, a.body)
			}
			if a.field("text") == "" || strings.Contains(string(a.body), "xxxx") {
				t.Errorf("%s %s: no sentence, or one that echoes: %s", field, what, a.body)
			}
		}
	}
	r.do("POST", "/v1/claim", "", base(), "Content-Type", "text/plain").want(t, "a form's content type", 400, "invalid")
	contains(t, "server", string(r.do("GET", "/v1/server", "", nil).body), `"claimed":false`)
	b := base()
	b["person"].(map[string]any)["name"] = `<img src=x onerror=alert(1)>`
	r.do("POST", "/v1/claim", "", b).want(t, "markup is a name like any other", 200, "")
}

func TestSlowSendersAreLetGo(t *testing.T) {
	r := newRig(t, func(c *web.Config) { c.Slow = 200 * time.Millisecond })
	k := r.claimed()
	conn, err := net.Dial("tcp", strings.TrimPrefix(r.web.URL, "http://"))
	must(t, err)
	defer conn.Close()
	fmt.Fprintf(conn, "POST %s HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\nContent-Length: 1000\r\n\r\n{", k.path("exchange"), k.token)
	must(t, conn.SetReadDeadline(time.Now().Add(5*time.Second)))
	got, err := io.ReadAll(conn)
	must(t, err)
	contains(t, "answer", string(got), "503", `"unavailable"`)
}

func photoOf(n int) ([]byte, string) {
	b := bytes.Repeat([]byte{9}, n)
	copy(b, "\x89PNG\r\n\x1a\n")
	sum := sha256.Sum256(b)
	return b, hex.EncodeToString(sum[:])
}

func TestPhotosOverTheWire(t *testing.T) {
	r := newRig(t, nil)
	k := r.claimed()
	guest := r.joined(k, "Uma", "guest")
	raw, d := photoOf(3000)
	url := k.path("photos/" + d)
	r.do("PUT", url, k.token, raw).want(t, "named by no record", 404, "not-found")
	p := r.replica(k)
	record(t, p, "photo", map[string]any{"sha256": d, "bytes": 3000})
	if a := r.exchange(k, p); len(a.PhotosWanted) != 1 {
		t.Errorf("wanted %v", a.PhotosWanted)
	}
	r.do("PUT", url, k.token, raw[:1000], "Content-Range", "bytes 0-999/3000").want(t, "a piece", 200, "")
	if h := r.do("HEAD", url, k.token, nil); h.status != 404 || h.header.Get("Photo-Have") != "1000" {
		t.Errorf("HEAD of a piece: %d, %q", h.status, h.header.Get("Photo-Have"))
	}
	gap := r.do("PUT", url, k.token, raw[2000:], "Content-Range", "bytes 2000-2999/3000")
	if gap.want(t, "a gap", 409, "conflict"); gap.header.Get("Photo-Have") != "1000" {
		t.Errorf("Photo-Have %q", gap.header.Get("Photo-Have"))
	}
	for what, rng := range map[string]string{"backwards": "bytes 9-1/3000", "too long": "bytes 0-1499999/1500001", "beyond": "bytes 0-3000/3000",
		"star": "bytes */3000", "words": "bytes x", "minus": "bytes -5-9/10", "tail": "bytes 1000-2999/3000; rm", "overflow": "bytes 0-9223372036854775807/9223372036854775807"} {
		if a := r.do("PUT", url, k.token, raw[1000:], "Content-Range", rng); a.status != 400 && a.status != 413 {
			t.Errorf("%s: %d %s", what, a.status, a.body)
		}
	}
	last := r.do("PUT", url, k.token, raw[1000:], "Content-Range", "bytes 1000-2999/3000")
	last.want(t, "the rest", 200, "")
	contains(t, "the rest", string(last.body), `"whole":true`)
	got := r.do("GET", url, guest.token, nil)
	if !bytes.Equal(got.body, raw) || got.header.Get("Content-Type") != "image/png" || !strings.Contains(got.header.Get("Cache-Control"), "immutable") {
		t.Errorf("%d bytes, %v", len(got.body), got.header)
	}
	part := r.do("GET", url, guest.token, nil, "Range", "bytes=10-19")
	if part.status != 206 || !bytes.Equal(part.body, raw[10:20]) {
		t.Errorf("part: %d, %d bytes", part.status, len(part.body))
	}
	if h := r.do("HEAD", url, guest.token, nil); h.status != 200 || h.header.Get("Content-Length") != "3000" {
		t.Errorf("HEAD: %d, %q", h.status, h.header.Get("Content-Length"))
	}
	svg := []byte("<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>")
	sum := sha256.Sum256(svg)
	record(t, p, "photo", map[string]any{"sha256": hex.EncodeToString(sum[:])})
	r.exchange(k, p)
	r.do("PUT", k.path("photos/"+hex.EncodeToString(sum[:])), k.token, svg).want(t, "not a photo", 400, "invalid")
	r.do("GET", k.path("photos/..%2f..%2fevenpull.db"), k.token, nil).want(t, "a path", 404, "not-found")
	r.do("PUT", url, k.token, bytes.Repeat(raw, 600)).want(t, "too large", 413, "too-large")
}

func TestTheLogHoldsNoSecrets(t *testing.T) {
	r := newRig(t, nil)
	k := r.claimed()
	rosa := r.joined(k, "Rosalind", "operator")
	code := r.code(k, map[string]any{"kind": "person", "role": "guest"})
	p := r.replica(rosa)
	op := note(t, p, "private words")
	r.exchange(rosa, p)
	r.do("POST", "/v1/join", "", newCaller(t, "Wrongly").joinBody("2345-79AC"))
	r.do("GET", "/v1/studios/"+k.studio+"/nothing?token="+k.token, k.token, nil)
	r.do("POST", k.path("exchange"), "not.a.token", []byte("private body"))
	r.do("BREW", "/secret-method-path", "", nil)
	challenge := r.do("POST", "/v1/challenge", "", nil).field("challenge")
	log := r.log.String()
	contains(t, "log", log, `"route":"/v1/studios/:studio/exchange"`, `"status":200`, `"ms":`, `"out":`, `"studio":"`, `"phone":"`)
	for what, secret := range map[string]string{
		"words": "private words", "a body": "private body", "a person's name": "Rosalind", "the studio's name": "Barn", "a token": rosa.token,
		"the keeper's token": k.token, "a code": code, "a code without its hyphen": strings.ReplaceAll(code, "-", ""), "the claim code": r.claim,
		"a wrong code": "2345-79AC", "the studio's id": k.studio, "a phone's id": rosa.phone, "a person's id": rosa.person.String(), "a key": rosa.publicKey(),
		"a record's id": op.ID.String(), "a challenge": challenge, "a path of a stranger": "secret-method-path", "a method of a stranger": "BREW",
	} {
		if strings.Contains(log, secret) {
			t.Errorf("the log holds %s", what)
		}
	}
	for line := range strings.Lines(log) {
		if !json.Valid([]byte(line)) {
			t.Errorf("not JSON: %s", line)
		}
	}
}
