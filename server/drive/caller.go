package drive

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
	"path/filepath"
	"strings"
	"time"

	"github.com/klauspost/compress/gzip"

	"evenpull/server/account"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// A Caller is a phone with its key, on its way to one server.
type Caller struct {
	HTTP   *http.Client
	URL    string // of the server, or of what stands before it
	Key    *ecdsa.PrivateKey
	Studio string
	Phone  string
	Role   string
	Token  string
	Packed bool // bodies above a kilobyte go as gzip, as the app sends them
}

// NewCaller returns a phone that has been let in nowhere yet.
func NewCaller(url string) (*Caller, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	return &Caller{HTTP: &http.Client{Timeout: time.Minute}, URL: url, Key: key}, err
}

// A StatusError is an answer that is no 200 or 204.
type StatusError struct {
	Status int
	Body   []byte
}

func (e *StatusError) Error() string { return fmt.Sprintf("%d %.300s", e.Status, e.Body) }

// Post sends a body as JSON and reads the answer into answer, unless it is nil.
func (c *Caller) Post(path string, body, answer any) error {
	raw, err := replication.Marshal(body)
	if err != nil {
		return err
	}
	got, err := c.Send("POST", path, raw)
	if err != nil || answer == nil {
		return err
	}
	return json.Unmarshal(got, answer)
}

// Send sends JSON, or nothing, and returns the body of the answer.
func (c *Caller) Send(method, path string, raw []byte) ([]byte, error) {
	packed := c.Packed && len(raw) > 1000
	if packed {
		var b bytes.Buffer
		z, err := gzip.NewWriterLevel(&b, 6)
		if err != nil {
			return nil, err
		}
		if _, err := z.Write(raw); err != nil {
			return nil, err
		}
		if err := z.Close(); err != nil {
			return nil, err
		}
		raw = b.Bytes()
	}
	req, err := http.NewRequest(method, c.URL+path, bytes.NewReader(raw))
	if err != nil {
		return nil, err
	}
	req.Header.Set("Content-Type", "application/json")
	if packed {
		req.Header.Set("Content-Encoding", "gzip")
	}
	if c.Token != "" {
		req.Header.Set("Authorization", "Bearer "+c.Token)
	}
	resp, err := c.HTTP.Do(req)
	if err != nil {
		return nil, err
	}
	defer resp.Body.Close()
	got, err := io.ReadAll(resp.Body)
	if err == nil && resp.StatusCode >= 300 {
		err = &StatusError{resp.StatusCode, got}
	}
	return got, err
}

// Barn is the studio that Claim brings.
const Barn = "c0ffee00c0ffee00c0ffee00c0ffee00"

// Claim makes the server this phone's, with the code that lies in its data folder.
func (c *Caller) Claim(data string) error {
	code, err := os.ReadFile(filepath.Join(data, "claim-code"))
	if err != nil {
		return err
	}
	return c.Enter("/v1/claim", strings.TrimSpace(string(code)))
}

// Enter lets the phone in by a code at /v1/claim or /v1/join, and signs it in.
func (c *Caller) Enter(path, code string) error {
	public, err := c.Key.PublicKey.Bytes()
	if err != nil {
		return err
	}
	var joined struct {
		Phone, Role string
		Studio      struct{ ID string }
	}
	err = c.Post(path, map[string]any{
		"code": code, "person": map[string]any{"id": NewID(), "name": "Ines"}, "studio": map[string]any{"id": Barn, "name": "Barn"},
		"phone": map[string]any{"key": base64.RawURLEncoding.EncodeToString(public), "label": "phone"},
	}, &joined)
	if err != nil {
		return err
	}
	c.Studio, c.Phone, c.Role = joined.Studio.ID, joined.Phone, joined.Role
	return c.SignIn()
}

// SignIn gets a token.
func (c *Caller) SignIn() error {
	var ch struct{ Server, Challenge string }
	if err := c.Post("/v1/challenge", nil, &ch); err != nil {
		return err
	}
	sum := sha256.Sum256([]byte(account.SignInText(ch.Server, ch.Challenge)))
	r, s, err := ecdsa.Sign(rand.Reader, c.Key, sum[:])
	if err != nil {
		return err
	}
	sig := append(r.FillBytes(make([]byte, 32)), s.FillBytes(make([]byte, 32))...)
	var token struct{ Token string }
	err = c.Post("/v1/token", map[string]any{"phone": c.Phone, "challenge": ch.Challenge, "signature": base64.RawURLEncoding.EncodeToString(sig)}, &token)
	c.Token = token.Token
	return err
}

// Ask makes one exchange.
func (c *Caller) Ask(req *replication.Request) (*replication.Answer, error) {
	a := &replication.Answer{}
	return a, c.Post("/v1/studios/"+c.Studio+"/exchange", req, a)
}

// Exchange asks until the phone has nothing more to send and a whole reading is
// taken in. A phone that is new to a server asks first who is there.
func (c *Caller) Exchange(server string, phone *replication.Phone) error {
	for more := true; more || len(phone.Outbox) > 0; {
		req := phone.Request(server, ops.MaxBatchOps)
		a, err := c.Ask(req)
		if err != nil {
			return err
		}
		if err := phone.Take(req, a, 100, time.Now().UnixMilli()); err != nil {
			return err
		}
		cur := phone.Cursors[server]
		more = a.More || a.Wrong != "" || cur == nil || len(cur.Back) > 0
		for _, r := range a.Refused {
			if !r.ForGood && r.Reason != replication.Forked && r.Reason != replication.Again {
				return fmt.Errorf("refused for now: %s", r.Reason)
			}
		}
	}
	return nil
}

// NewID returns 16 random bytes.
func NewID() (id ops.ID) { rand.Read(id[:]); return id }
