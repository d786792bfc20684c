// Package api_test holds openapi.yaml against the built program over HTTP. It
// imports nothing of ours: what it knows of the interface it reads from the file.
package api_test

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"go.yaml.in/yaml/v3"
)

type object = map[string]any

func contract(t *testing.T) object {
	t.Helper()
	raw, err := os.ReadFile("openapi.yaml")
	must(t, err)
	var doc object
	must(t, yaml.Unmarshal(raw, &doc))
	plain, err := json.Marshal(doc) // numbers as JSON has them
	must(t, err)
	must(t, json.Unmarshal(plain, &doc))
	return doc
}

// resolve follows a $ref within the file.
func resolve(doc object, v any) object {
	o, _ := v.(object)
	ref, ok := o["$ref"].(string)
	if !ok {
		return o
	}
	at := any(doc)
	for part := range strings.SplitSeq(strings.TrimPrefix(ref, "#/"), "/") {
		next, ok := at.(object)[part]
		if !ok {
			panic("no " + ref)
		}
		at = next
	}
	return resolve(doc, at)
}

// mismatch says where a value is not of a schema; "" when it is. It knows the
// words that the file uses and fails on any other.
func mismatch(doc object, schema any, v any, at string) string {
	s := resolve(doc, schema)
	for word := range s {
		if !slices.Contains([]string{"type", "required", "properties", "additionalProperties", "items", "enum", "pattern", "minLength", "maxLength", "minimum", "description"}, word) {
			return at + ": the test does not know " + word
		}
	}
	if kind, ok := s["type"].(string); ok && kind != kindOf(v) && !(kind == "number" && kindOf(v) == "integer") {
		return fmt.Sprintf("%s is %s; want %s", at, kindOf(v), kind)
	}
	if enum, ok := s["enum"].([]any); ok && !slices.Contains(enum, v) {
		return fmt.Sprintf("%s is %v; want one of %v", at, v, enum)
	}
	switch v := v.(type) {
	case string:
		if p, ok := s["pattern"].(string); ok && !regexp.MustCompile(p).MatchString(v) {
			return fmt.Sprintf("%s %q is not %s", at, v, p)
		}
		n := float64(len([]rune(v)))
		if least, ok := s["minLength"].(float64); ok && n < least {
			return at + " is too short"
		}
		if most, ok := s["maxLength"].(float64); ok && n > most {
			return at + " is too long"
		}
	case float64:
		if least, ok := s["minimum"].(float64); ok && v < least {
			return at + " is too small"
		}
	case []any:
		for i, item := range v {
			if s["items"] != nil {
				if m := mismatch(doc, s["items"], item, fmt.Sprintf("%s[%d]", at, i)); m != "" {
					return m
				}
			}
		}
	case object:
		for _, name := range list(s["required"]) {
			if _, ok := v[name]; !ok {
				return at + " lacks " + name
			}
		}
		known, _ := s["properties"].(object)
		for name, value := range v {
			sub, ok := known[name]
			if !ok {
				sub = s["additionalProperties"]
			}
			if sub == nil && known != nil {
				return at + " has " + name + ", of which the file says nothing"
			}
			if sub != nil {
				if m := mismatch(doc, sub, value, at+"."+name); m != "" {
					return m
				}
			}
		}
	}
	return ""
}

func kindOf(v any) string {
	switch v := v.(type) {
	case nil:
		return "null"
	case bool:
		return "boolean"
	case string:
		return "string"
	case float64:
		if v == float64(int64(v)) {
			return "integer"
		}
		return "number"
	case []any:
		return "array"
	}
	return "object"
}

func list(v any) (names []string) {
	items, _ := v.([]any)
	for _, i := range items {
		names = append(names, i.(string))
	}
	return names
}

// body returns the schema and example of a request's or response's JSON, nil where there is none.
func body(doc object, v any) (schema, example any) {
	content, _ := resolve(doc, v)["content"].(object)
	for kind, media := range content {
		if strings.Contains(kind, "json") {
			m := media.(object)
			return m["schema"], m["example"]
		}
	}
	return nil, nil
}

var verbs = []string{"get", "head", "post", "put"}

// operations calls fn with each path, method and operation of the file.
func operations(doc object, fn func(path, method string, op object)) {
	for path, item := range doc["paths"].(object) {
		for _, verb := range verbs {
			if op, ok := item.(object)[verb].(object); ok {
				fn(path, verb, op)
			}
		}
	}
}

func TestExamplesAreOfTheirSchemas(t *testing.T) {
	doc := contract(t)
	checked := 0
	check := func(where string, v any) {
		schema, example := body(doc, v)
		if schema == nil {
			return
		}
		checked++
		if m := mismatch(doc, schema, example, where); m != "" {
			t.Error(m)
		}
	}
	operations(doc, func(path, method string, op object) {
		if op["requestBody"] != nil {
			check(method+" "+path+" request", op["requestBody"])
		}
		for status, r := range op["responses"].(object) {
			check(method+" "+path+" "+status, r)
		}
	})
	if checked < 30 {
		t.Errorf("only %d examples", checked)
	}
}

// A server is the built program with a caller that remembers what it met.
type server struct {
	t     *testing.T
	doc   object
	url   string
	token string
	met   map[string]bool // "method path status"
}

func start(t *testing.T) (*server, string) {
	t.Helper()
	folder := t.TempDir()
	binary, data := filepath.Join(folder, "evenpull"), filepath.Join(folder, "data")
	build := exec.Command("go", "build", "-o", binary, "../server")
	build.Env = append(os.Environ(), "CGO_ENABLED=0") // as it is shipped
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("build: %v %s", err, out)
	}
	var out lockedBuffer
	cmd := exec.Command(binary, "--listen", "127.0.0.1:0", "--data", data)
	cmd.Stdout = &out
	must(t, cmd.Start())
	t.Cleanup(func() { _ = cmd.Process.Kill(); _ = cmd.Wait() })
	address := regexp.MustCompile(`http://127\.0\.0\.1:\d+`)
	for deadline := time.Now().Add(20 * time.Second); time.Now().Before(deadline); time.Sleep(10 * time.Millisecond) {
		url := address.FindString(out.String())
		if resp, err := http.Get(url + "/readyz"); url != "" && err == nil {
			resp.Body.Close()
			code, err := os.ReadFile(filepath.Join(data, "claim-code"))
			must(t, err)
			return &server{t: t, doc: contract(t), url: url, met: map[string]bool{}}, strings.TrimSpace(string(code))
		}
	}
	t.Fatal("the program never answered")
	return nil, ""
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

// call makes a request by the file's path and holds the answer against the
// file: the status is one it names, the body is of the schema it gives.
func (s *server) call(method, path string, params object, send any, want int, header ...string) object {
	s.t.Helper()
	raw, isBytes := send.([]byte)
	if !isBytes && send != nil {
		var err error
		raw, err = json.Marshal(send)
		must(s.t, err)
	}
	item, ok := s.doc["paths"].(object)[path].(object)
	if !ok {
		s.t.Fatalf("the file has no path %s", path)
	}
	op, ok := item[method].(object)
	if !ok {
		s.t.Fatalf("the file has no %s %s", method, path)
	}
	at := path
	for name, v := range params {
		at = strings.ReplaceAll(at, "{"+name+"}", v.(string))
	}
	req, err := http.NewRequest(strings.ToUpper(method), s.url+at, bytes.NewReader(raw))
	must(s.t, err)
	if !isBytes {
		req.Header.Set("Content-Type", "application/json")
	}
	if op["security"] != nil {
		req.Header.Set("Authorization", "Bearer "+s.token)
	}
	for i := 0; i+1 < len(header); i += 2 {
		req.Header.Set(header[i], header[i+1])
	}
	resp, err := http.DefaultClient.Do(req)
	must(s.t, err)
	defer resp.Body.Close()
	name := fmt.Sprintf("%s %s %d", method, path, resp.StatusCode)
	var got []byte
	if strings.HasSuffix(path, "/events") && resp.StatusCode == 200 {
		line := make([]byte, 200) // a stream: its first line
		n, err := resp.Body.Read(line)
		must(s.t, err)
		got, _, _ = bytes.Cut(line[:n], []byte("\n"))
	} else if got, err = io.ReadAll(resp.Body); err != nil {
		s.t.Fatal(err)
	}
	if resp.StatusCode != want {
		s.t.Errorf("%s: %s; want %d", name, got, want)
	}
	s.met[name] = true
	answer, ok := op["responses"].(object)[fmt.Sprint(resp.StatusCode)]
	if !ok {
		s.t.Errorf("%s: the file does not name this status", name)
		return nil
	}
	schema, _ := body(s.doc, answer)
	if schema == nil {
		return object{"bytes": got, "header": resp.Header}
	}
	var v object
	if err := json.Unmarshal(got, &v); err != nil {
		s.t.Fatalf("%s: %v: %s", name, err, got)
	}
	if m := mismatch(s.doc, schema, v, name); m != "" {
		s.t.Error(m)
	}
	return v
}

// example returns a copy of the request example of an operation.
func (s *server) example(method, path string) object {
	s.t.Helper()
	_, e := body(s.doc, s.doc["paths"].(object)[path].(object)[method].(object)["requestBody"])
	raw, err := json.Marshal(e)
	must(s.t, err)
	var copied object
	must(s.t, json.Unmarshal(raw, &copied))
	return copied
}

func (s *server) signIn(phone string, key *ecdsa.PrivateKey) {
	s.t.Helper()
	ch := s.call("post", "/v1/challenge", nil, nil, 200)
	sum := sha256.Sum256([]byte("evenpull sign in\n" + ch["server"].(string) + "\n" + ch["challenge"].(string)))
	r, sig, err := ecdsa.Sign(rand.Reader, key, sum[:])
	must(s.t, err)
	text := base64.RawURLEncoding.EncodeToString(append(r.FillBytes(make([]byte, 32)), sig.FillBytes(make([]byte, 32))...))
	req := s.example("post", "/v1/token")
	s.call("post", "/v1/token", nil, req, 401)
	req["phone"], req["challenge"], req["signature"] = phone, ch["challenge"], text
	s.token = s.call("post", "/v1/token", nil, req, 200)["token"].(string)
}

func newKey(t *testing.T) (*ecdsa.PrivateKey, string) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	must(t, err)
	public, err := key.PublicKey.Bytes()
	must(t, err)
	return key, base64.RawURLEncoding.EncodeToString(public)
}

// TestTheProgramKeepsTheContract walks through every route with the file's own
// examples, and then wants each route to have been met with success.
func TestTheProgramKeepsTheContract(t *testing.T) {
	s, code := start(t)
	s.call("get", "/healthz", nil, nil, 200)
	s.call("get", "/readyz", nil, nil, 200)
	s.call("get", "/v1/server", nil, nil, 200)

	claim := s.example("post", "/v1/claim")
	s.call("post", "/v1/claim", nil, claim, 403)
	s.call("post", "/v1/claim", nil, object{}, 400)
	key, public := newKey(t)
	claim["code"], claim["phone"].(object)["key"] = code, public
	keeper := s.call("post", "/v1/claim", nil, claim, 200)
	s.signIn(keeper["phone"].(string), key)
	studio := object{"studio": keeper["studio"].(object)["id"]}
	mine := s.token

	s.call("post", "/v1/studios", nil, s.example("post", "/v1/studios"), 200)
	invite := s.example("post", "/v1/studios/{studio}/invites")
	invite["ends"] = time.Now().Add(time.Hour).UnixMilli()
	join := s.example("post", "/v1/join")
	s.call("post", "/v1/join", nil, join, 403)
	join["code"] = s.call("post", "/v1/studios/{studio}/invites", studio, invite, 200)["code"]
	guestKey, public := newKey(t)
	join["phone"].(object)["key"] = public
	guest := s.call("post", "/v1/join", nil, join, 200)

	exchange := s.example("post", "/v1/studios/{studio}/exchange")
	answer := s.call("post", "/v1/studios/{studio}/exchange", studio, exchange, 200)
	acked := answer["acked"].(object)[exchange["replica"].(string)].([]any)
	if acked[0] != 1.0 || len(answer["refused"].([]any)) != 0 {
		t.Errorf("the file's own op was not taken: %v, refused %v", acked, answer["refused"])
	}
	s.call("post", "/v1/studios/{studio}/exchange", studio, []byte("{"), 400)
	exchange["format"] = 2
	s.call("post", "/v1/studios/{studio}/exchange", studio, exchange, 426)
	s.call("get", "/v1/studios/{studio}/events", studio, nil, 200)

	photo := append([]byte("\xff\xd8\xff\xe0"), bytes.Repeat([]byte{1}, 500)...)
	sum := sha256.Sum256(photo)
	named := object{"studio": studio["studio"], "sha256": hex.EncodeToString(sum[:])}
	const photos = "/v1/studios/{studio}/photos/{sha256}"
	s.call("head", photos, named, nil, 404)
	s.call("put", photos, named, photo, 404)
	again := s.example("post", "/v1/studios/{studio}/exchange")
	again["replica"] = strings.Repeat("3", 32)
	op := fmt.Sprintf(`{"at":[1,0],"by":"","id":"%s","kind":"photo","n":1,"over":{},"replica":"%s","set":{"bytes":504,"sha256":"%s"}}`,
		strings.Repeat("4", 32), again["replica"], named["sha256"])
	again["ops"] = []any{json.RawMessage(op)}
	s.call("post", "/v1/studios/{studio}/exchange", studio, again, 200)
	s.call("put", photos, named, photo[:200], 200, "Content-Range", "bytes 0-199/504")
	s.call("put", photos, named, photo[300:], 409, "Content-Range", "bytes 300-503/504")
	s.call("put", photos, named, photo[200:], 200, "Content-Range", "bytes 200-503/504")
	s.call("head", photos, named, nil, 200)
	if got := s.call("get", photos, named, nil, 200); !bytes.Equal(got["bytes"].([]byte), photo) {
		t.Error("another photo came back")
	}
	s.call("get", photos, named, nil, 206, "Range", "bytes=0-9")

	role := s.example("post", "/v1/studios/{studio}/roles")
	role["person"] = guest["person"]
	s.call("post", "/v1/studios/{studio}/roles", studio, role, 204)
	role["person"] = keeper["person"]
	s.call("post", "/v1/studios/{studio}/roles", studio, role, 409)
	open := s.call("get", "/v1/studios/{studio}/invites", studio, nil, 200)["invites"].([]any)
	if len(open) != 1 || open[0].(object)["used"] != 1.0 {
		t.Errorf("open codes: %v", open)
	}
	s.call("post", "/v1/studios/{studio}/endings", studio, object{"invite": open[0].(object)["id"]}, 204)
	purge := s.example("post", "/v1/studios/{studio}/purges")
	if n := s.call("post", "/v1/studios/{studio}/purges", studio, purge, 200)["values"]; n != 1.0 {
		t.Errorf("%v values were purged; want the one of the file's own op", n)
	}
	s.call("post", "/v1/studios/{studio}/purges", studio, object{"records": []any{}}, 400)
	s.call("post", "/v1/studios/{studio}/purges", studio, object{"records": []any{object{"kind": "person", "id": keeper["person"]}}}, 409)
	if deeds := s.call("get", "/v1/studios/{studio}/deeds", studio, nil, 200)["deeds"].([]any); len(deeds) < 5 {
		t.Errorf("deeds: %v", deeds)
	}
	written := object{"studio": studio["studio"], "kind": "note", "id": "22222222222222222222222222222222"}
	for _, v := range s.call("get", "/v1/studios/{studio}/history/{kind}/{id}", written, nil, 200)["values"].([]any) {
		if v.(object)["field"] != "removed" {
			t.Errorf("what was purged is told: %v", v)
		}
	}
	written["kind"] = "no word!"
	s.call("get", "/v1/studios/{studio}/history/{kind}/{id}", written, nil, 404)
	ending := s.example("post", "/v1/studios/{studio}/endings")
	s.call("post", "/v1/studios/{studio}/endings", studio, ending, 404)
	ending["phone"] = guest["phone"]
	s.call("post", "/v1/studios/{studio}/endings", studio, ending, 204)

	hubKey, public := newKey(t)
	link := s.example("post", "/v1/join")
	link["code"], link["hub"] = s.call("post", "/v1/studios/{studio}/invites", studio, object{"kind": "hub"}, 200)["code"], true
	link["phone"].(object)["key"] = public
	hub := s.call("post", "/v1/join", nil, link, 200)
	roll := s.example("post", "/v1/studios/{studio}/roll")
	s.call("post", "/v1/studios/{studio}/roll", studio, roll, 403)
	s.signIn(hub["phone"].(string), hubKey)
	if told := s.call("post", "/v1/studios/{studio}/roll", studio, roll, 200)["records"].([]any); len(told) < 4 {
		t.Errorf("the roll says %v", told)
	}

	s.signIn(guest["phone"].(string), guestKey)
	s.call("post", "/v1/studios/{studio}/exchange", studio, again, 403)
	s.token = mine + "x"
	operations(s.doc, func(path, method string, op object) {
		if op["security"] == nil {
			return
		}
		if method == "head" { // carries no body, and 401 like the others
			return
		}
		s.call(method, path, named, object{}, 401)
	})

	operations(s.doc, func(path, method string, _ object) {
		if !slices.ContainsFunc([]int{200, 204}, func(status int) bool { return s.met[fmt.Sprintf("%s %s %d", method, path, status)] }) {
			t.Errorf("%s %s was never met with success", method, path)
		}
	})
	for _, path := range []string{"/v1", "/v1/people", "/v2/server", "/v1/studios/" + studio["studio"].(string), "/v1/studios/x/exchange"} {
		resp, err := http.Post(s.url+path, "application/json", strings.NewReader("{}"))
		must(t, err)
		resp.Body.Close()
		if resp.StatusCode != 404 && resp.StatusCode != 401 {
			t.Errorf("%s, of which the file says nothing: %d", path, resp.StatusCode)
		}
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
