package hub

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"time"
	"unicode"

	"evenpull/server/fault"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

const (
	mostAnswer = 64 << 20 // bytes of one answer, inflated; a page is about 2 MB
	callTime   = 2 * time.Minute
)

// Address checks where the upstream is: https://NAME or, near by, http://NAME.
func Address(text string) (string, error) {
	u, err := url.Parse(text)
	if err != nil || u.Scheme != "https" && u.Scheme != "http" || u.Hostname() == "" || u.User != nil || u.RawQuery != "" || u.Fragment != "" || strings.Trim(u.Path, "/") != "" {
		return "", errors.New("it is not an address such as https://quilts.example")
	}
	return u.Scheme + "://" + u.Host, nil
}

// An answered call. What the upstream says is as foreign as any other bytes.
type answered struct {
	status int
	header http.Header
	body   []byte
}

// refusal is an answer that is no success.
type refusal struct {
	status int
	text   string
}

func (r *refusal) Error() string { return fmt.Sprintf("answered %d: %s", r.status, r.text) }

func (a answered) fine() error {
	if a.status >= 200 && a.status < 300 {
		return nil
	}
	var said struct {
		Text string `json:"text"`
	}
	_ = json.Unmarshal(a.body, &said) // what is no JSON says nothing
	return &refusal{a.status, plain(said.Text)}
}

// plain makes foreign text fit for one line of a terminal or a log.
func plain(text string) string {
	text = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || !unicode.IsPrint(r) {
			return ' '
		}
		return r
	}, text)
	if runes := []rune(text); len(runes) > 200 {
		text = string(runes[:200])
	}
	return strings.TrimSpace(text)
}

func (h *Hub) call(ctx context.Context, method, path string, body []byte, header http.Header) (a answered, err error) {
	ctx, done := context.WithTimeout(ctx, callTime)
	defer done()
	req, err := http.NewRequestWithContext(ctx, method, h.Upstream+path, bytes.NewReader(body))
	if err != nil {
		return a, err
	}
	for name, values := range header {
		req.Header[name] = values
	}
	resp, err := h.http.Do(req)
	if err != nil {
		return a, silent(err)
	}
	defer resp.Body.Close()
	raw, err := io.ReadAll(io.LimitReader(resp.Body, mostAnswer+1))
	switch {
	case err != nil:
		return a, silent(err)
	case len(raw) > mostAnswer:
		return a, fmt.Errorf("answered with more than %d bytes", mostAnswer)
	}
	return answered{resp.StatusCode, resp.Header, raw}, nil
}

// silent takes the address out of an error: it names the studio.
func silent(err error) error {
	var u *url.Error
	if errors.As(err, &u) {
		return u.Err
	}
	return err
}

func (h *Hub) json(ctx context.Context, path string, in, out any, header http.Header) error {
	raw, err := replication.Marshal(in)
	if err != nil {
		return err
	}
	if header == nil {
		header = http.Header{}
	}
	header.Set("Content-Type", "application/json")
	if len(raw) > 1000 {
		var packed bytes.Buffer
		z := gzip.NewWriter(&packed)
		if _, err := z.Write(raw); err != nil {
			return err
		}
		if err := z.Close(); err != nil {
			return err
		}
		raw = packed.Bytes()
		header.Set("Content-Encoding", "gzip")
	}
	a, err := h.call(ctx, http.MethodPost, path, raw, header)
	if err == nil {
		err = a.fine()
	}
	if err != nil {
		return err
	}
	if err := json.Unmarshal(a.body, out); err != nil {
		return errStrange
	}
	return nil
}

var errStrange = errors.New("its answer can't be read; is it an Evenpull of this format?")

// Join takes the code that a keeper of the upstream made, and carries its studio from now on.
func (h *Hub) Join(ctx context.Context, code string) (studio string, err error) {
	var who struct {
		Server  ops.ID `json:"server"`
		Formats [2]int `json:"formats"`
	}
	a, err := h.call(ctx, http.MethodGet, "/v1/server", nil, nil)
	if err == nil {
		err = a.fine()
	}
	switch {
	case err != nil:
		return "", err
	case json.Unmarshal(a.body, &who) != nil || who.Server == (ops.ID{}):
		return "", errStrange
	case ops.Format < who.Formats[0] || ops.Format > who.Formats[1]:
		return "", fault.New(fault.TooOld, "", "it understands formats %d to %d and this program %d; bring both to the same version", who.Formats[0], who.Formats[1], ops.Format)
	case who.Server.String() == h.Store.Server():
		return "", errors.New("that is this server itself")
	}
	key, err := h.Store.HubKey(ctx)
	if err != nil {
		return "", err
	}
	var joined struct {
		Studio struct {
			ID   ops.ID `json:"id"`
			Name string `json:"name"`
		} `json:"studio"`
		Role string `json:"role"`
	}
	err = h.json(ctx, "/v1/join", map[string]any{
		"code": code, "hub": true,
		"person": map[string]any{"id": h.Store.Server(), "name": h.Label}, "phone": map[string]any{"key": key, "label": h.Label},
	}, &joined, nil)
	if err != nil {
		return "", err
	}
	if joined.Role != "hub" || joined.Studio.ID == (ops.ID{}) {
		return "", errStrange
	}
	name := plain(joined.Studio.Name)
	return name, h.Store.Carry(ctx, joined.Studio.ID, name)
}

// signed returns the header of a call that needs a token.
func (h *Hub) signed(ctx context.Context) (http.Header, error) {
	h.token.Lock()
	defer h.token.Unlock()
	if h.token.text == "" || time.Now().After(h.token.until) {
		var asked struct{ Server, Challenge string }
		if err := h.json(ctx, "/v1/challenge", struct{}{}, &asked, nil); err != nil {
			return nil, err
		}
		phone, signature, err := h.Store.SignIn(asked.Server, asked.Challenge)
		if err != nil {
			return nil, err
		}
		var got struct {
			Token   string
			Seconds int
		}
		if err := h.json(ctx, "/v1/token", map[string]any{"phone": phone, "challenge": asked.Challenge, "signature": signature}, &got, nil); err != nil {
			return nil, err
		}
		h.token.text = got.Token
		h.token.until = time.Now().Add(time.Duration(got.Seconds) * time.Second / 2)
	}
	return http.Header{"Authorization": {"Bearer " + h.token.text}}, nil
}

func (h *Hub) forgetToken() {
	h.token.Lock()
	defer h.token.Unlock()
	h.token.text = ""
}
