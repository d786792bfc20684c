package main

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"evenpull/server/account"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

var binary string

func TestMain(m *testing.M) {
	folder, err := os.MkdirTemp("", "evenpull-test-")
	if err == nil {
		binary = filepath.Join(folder, "evenpull")
		var out []byte
		build := exec.Command("go", "build", "-ldflags", "-X main.version=1.2.3-test", "-o", binary, ".")
		build.Env = append(os.Environ(), "CGO_ENABLED=0") // as it is shipped
		if out, err = build.CombinedOutput(); err != nil {
			err = fmt.Errorf("%w: %s", err, out)
		}
	}
	code := 1
	if err == nil {
		code = m.Run()
	} else {
		fmt.Fprintln(os.Stderr, err)
	}
	_ = os.RemoveAll(folder)
	os.Exit(code)
}

// A process is the program, running.
type process struct {
	t   *testing.T
	cmd *exec.Cmd
	url string

	server string
	out    *syncBuffer
	errs   *syncBuffer
	ends   chan error
}

type syncBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *syncBuffer) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}

func (s *syncBuffer) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.String()
}

func begin(t *testing.T, data string, args ...string) *process {
	t.Helper()
	p := &process{t: t, out: &syncBuffer{}, errs: &syncBuffer{}, ends: make(chan error, 1)}
	p.cmd = exec.Command(binary, append([]string{"--listen", "127.0.0.1:0", "--data", data}, args...)...)
	p.cmd.Env = []string{"HOME=" + t.TempDir()}
	p.cmd.Stdout, p.cmd.Stderr = p.out, p.errs
	must(t, p.cmd.Start())
	go func() { p.ends <- p.cmd.Wait() }()
	t.Cleanup(func() { _ = p.cmd.Process.Kill() })
	return p
}

// up waits until the program answers.
func (p *process) up() *process {
	p.t.Helper()
	address := regexp.MustCompile(`https?://127\.0\.0\.1:\d+`)
	for deadline := time.Now().Add(20 * time.Second); time.Now().Before(deadline); time.Sleep(10 * time.Millisecond) {
		if p.url = address.FindString(p.out.String()); p.url != "" {
			if resp, err := http.Get(p.url + "/readyz"); err == nil {
				resp.Body.Close()
				if resp.StatusCode == 200 {
					p.server = p.who()
					return p
				}
			}
		}
		select {
		case err := <-p.ends:
			p.t.Fatalf("ended at once: %v\n%s%s", err, p.out, p.errs)
		default:
		}
	}
	p.t.Fatalf("never answered\n%s%s", p.out, p.errs)
	return nil
}

func (p *process) who() string {
	p.t.Helper()
	resp, err := http.Get(p.url + "/v1/server")
	must(p.t, err)
	defer resp.Body.Close()
	var in struct{ Server string }
	must(p.t, json.NewDecoder(resp.Body).Decode(&in))
	return in.Server
}

func (p *process) wait(within time.Duration) error {
	p.t.Helper()
	select {
	case err := <-p.ends:
		return err
	case <-time.After(within):
		p.t.Fatalf("still runs after %v", within)
		return nil
	}
}

func (p *process) post(path, token string, body any) (status int, answer []byte, err error) {
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(body); err != nil {
		return 0, nil, err
	}
	req, err := http.NewRequest("POST", p.url+path, &buf)
	if err != nil {
		return 0, nil, err
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("Authorization", "Bearer "+token)
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		return 0, nil, err
	}
	defer resp.Body.Close()
	answer, err = io.ReadAll(resp.Body)
	return resp.StatusCode, answer, err
}

// A keeper claims the server with the code of its file and signs in.
type keeper struct {
	key           *ecdsa.PrivateKey
	studio, phone string
	token         string
}

const barn = "c0ffee00c0ffee00c0ffee00c0ffee00"

func (p *process) claim(data string) *keeper {
	p.t.Helper()
	code, err := os.ReadFile(filepath.Join(data, "claim-code"))
	must(p.t, err)
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	must(p.t, err)
	return p.enter(key, "/v1/claim", strings.TrimSpace(string(code)))
}

func (p *process) enter(key *ecdsa.PrivateKey, path, code string) *keeper {
	p.t.Helper()
	public, err := key.PublicKey.Bytes()
	must(p.t, err)
	status, raw, err := p.post(path, "", map[string]any{
		"code": code, "person": map[string]any{"id": newID(), "name": "Ines"}, "studio": map[string]any{"id": barn, "name": "Barn"},
		"phone": map[string]any{"key": base64.RawURLEncoding.EncodeToString(public), "label": "phone"},
	})
	must(p.t, err)
	if status != 200 {
		p.t.Fatalf("%s: %d %s", path, status, raw)
	}
	var joined struct {
		Phone, Role string
		Studio      struct{ ID string }
	}
	must(p.t, json.Unmarshal(raw, &joined))
	if joined.Role != "keeper" {
		p.t.Errorf("role %q", joined.Role)
	}
	k := &keeper{key: key, studio: joined.Studio.ID, phone: joined.Phone}
	p.signIn(k)
	return k
}

func (p *process) signIn(k *keeper) {
	p.t.Helper()
	_, raw, err := p.post("/v1/challenge", "", nil)
	must(p.t, err)
	var ch struct{ Server, Challenge string }
	must(p.t, json.Unmarshal(raw, &ch))
	sum := sha256.Sum256([]byte(account.SignInText(ch.Server, ch.Challenge)))
	r, s, err := ecdsa.Sign(rand.Reader, k.key, sum[:])
	must(p.t, err)
	sig := base64.RawURLEncoding.EncodeToString(append(r.FillBytes(make([]byte, 32)), s.FillBytes(make([]byte, 32))...))
	status, raw, err := p.post("/v1/token", "", map[string]any{"phone": k.phone, "challenge": ch.Challenge, "signature": sig})
	must(p.t, err)
	var token struct{ Token string }
	must(p.t, json.Unmarshal(raw, &token))
	if status != 200 {
		p.t.Fatalf("token: %d %s", status, raw)
	}
	k.token = token.Token
}

// exchange sends what the phone has and fetches a page; a phone that is new here asks first who is there.
func (p *process) exchange(k *keeper, phone *replication.Phone) error {
	for again := true; again || len(phone.Outbox) > 0; again = false {
		req := phone.Request(p.server, ops.MaxBatchOps)
		status, raw, err := p.post("/v1/studios/"+k.studio+"/exchange", k.token, req)
		if err != nil {
			return err
		}
		if status != 200 {
			return fmt.Errorf("exchange: %d %s", status, raw)
		}
		a := &replication.Answer{}
		if err := json.Unmarshal(raw, a); err != nil {
			return err
		}
		if err := phone.Take(req, a, 100, time.Now().UnixMilli()); err != nil {
			return err
		}
	}
	return nil
}

func newID() (id ops.ID) { rand.Read(id[:]); return id }

func note(t *testing.T, phone *replication.Phone, text string) ops.Op {
	t.Helper()
	op, err := phone.Write("note", newID(), map[string]json.RawMessage{"text": ops.String(text)}, time.Now().UnixMilli())
	must(t, err)
	return op
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
