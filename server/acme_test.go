package main

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/asn1"
	"encoding/base64"
	"encoding/json"
	"encoding/pem"
	"fmt"
	"io/fs"
	"math/big"
	"net"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"golang.org/x/crypto/acme"
)

// A testAuthority is an ACME authority (RFC 8555) in this process: one order at
// a time, proved within TLS (RFC 8737) at one address, whatever the name is.
type testAuthority struct {
	*httptest.Server
	ca     *x509.Certificate
	key    *ecdsa.PrivateKey
	prove  string // HOST:PORT where the name is looked for
	mu     sync.Mutex
	thumb  string
	name   string
	proved bool
	chain  []byte
	issued int
}

func newTestAuthority(t *testing.T) *testAuthority {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	must(t, err)
	root := &x509.Certificate{SerialNumber: big.NewInt(1), NotAfter: time.Now().Add(time.Hour), IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign}
	der, err := x509.CreateCertificate(rand.Reader, root, root, &key.PublicKey, key)
	must(t, err)
	a := &testAuthority{key: key}
	a.ca, err = x509.ParseCertificate(der)
	must(t, err)
	a.Server = httptest.NewTLSServer(http.HandlerFunc(a.answer))
	t.Cleanup(a.Close)
	return a
}

func (a *testAuthority) answer(w http.ResponseWriter, r *http.Request) {
	a.mu.Lock()
	defer a.mu.Unlock()
	w.Header().Set("Replay-Nonce", "nonce")
	var sealed struct{ Protected, Payload string }
	_ = json.NewDecoder(r.Body).Decode(&sealed) // a GET has none
	head, _ := base64.RawURLEncoding.DecodeString(sealed.Protected)
	payload, _ := base64.RawURLEncoding.DecodeString(sealed.Payload)
	challenge := map[string]string{"type": "tls-alpn-01", "url": a.URL + "/challenge", "token": "token", "status": "pending"}
	authorization := map[string]any{"status": "pending", "identifier": map[string]string{"type": "dns", "value": a.name}, "challenges": []any{challenge}}
	order := map[string]any{"status": "pending", "authorizations": []string{a.URL + "/authorization"}, "finalize": a.URL + "/finalize", "certificate": a.URL + "/certificate"}
	if a.proved {
		authorization["status"], order["status"], challenge["status"] = "valid", "ready", "valid"
	}
	if a.chain != nil {
		order["status"] = "valid"
	}
	say := func(status int, at string, v any) {
		w.Header().Set("Location", a.URL+at)
		w.WriteHeader(status)
		_ = json.NewEncoder(w).Encode(v)
	}
	switch r.URL.Path {
	case "/directory":
		say(200, "", map[string]string{"newNonce": a.URL + "/nonce", "newAccount": a.URL + "/account", "newOrder": a.URL + "/new"})
	case "/nonce":
	case "/account":
		var h struct{ JWK struct{ X, Y string } }
		_ = json.Unmarshal(head, &h)
		x, _ := base64.RawURLEncoding.DecodeString(h.JWK.X)
		y, _ := base64.RawURLEncoding.DecodeString(h.JWK.Y)
		account, err := ecdsa.ParseUncompressedPublicKey(elliptic.P256(), append(append([]byte{4}, x...), y...))
		if err == nil {
			a.thumb, err = acme.JWKThumbprint(account)
		}
		if err != nil {
			w.WriteHeader(400)
			return
		}
		say(201, "/account/1", map[string]string{"status": "valid"})
	case "/new":
		var o struct{ Identifiers []struct{ Value string } }
		_ = json.Unmarshal(payload, &o)
		a.name, a.proved, a.chain = o.Identifiers[0].Value, false, nil
		order["status"] = "pending"
		say(201, "/order", order)
	case "/order":
		say(200, "/order", order)
	case "/authorization":
		say(200, "", authorization)
	case "/challenge":
		a.proved = a.proves()
		say(200, "", challenge)
	case "/finalize":
		var f struct{ CSR string }
		_ = json.Unmarshal(payload, &f)
		raw, _ := base64.RawURLEncoding.DecodeString(f.CSR)
		if err := a.issue(raw); err != nil {
			w.WriteHeader(400)
			return
		}
		order["status"] = "valid"
		say(200, "/order", order)
	case "/certificate":
		w.Header().Set("Content-Type", "application/pem-certificate-chain")
		_, _ = w.Write(a.chain)
	default:
		w.WriteHeader(404)
	}
}

// proves asks the name's server for the certificate that only the account's owner can make.
func (a *testAuthority) proves() bool {
	c, err := tls.Dial("tcp", a.prove, &tls.Config{ServerName: a.name, NextProtos: []string{acme.ALPNProto}, InsecureSkipVerify: true}) // it signs itself, by the standard
	if err != nil {
		return false
	}
	defer c.Close()
	sum := sha256.Sum256([]byte("token." + a.thumb))
	want, _ := asn1.Marshal(sum[:])
	for _, e := range c.ConnectionState().PeerCertificates[0].Extensions {
		if e.Id.String() == "1.3.6.1.5.5.7.1.31" && bytes.Equal(e.Value, want) {
			return true
		}
	}
	return false
}

func (a *testAuthority) issue(raw []byte) error {
	csr, err := x509.ParseCertificateRequest(raw)
	if err != nil || !a.proved {
		return fmt.Errorf("not proved: %w", err)
	}
	a.issued++
	leaf := &x509.Certificate{SerialNumber: big.NewInt(int64(10 + a.issued)), DNSNames: csr.DNSNames, NotBefore: time.Now().Add(-time.Minute), NotAfter: time.Now().AddDate(0, 0, 90)}
	der, err := x509.CreateCertificate(rand.Reader, leaf, a.ca, csr.PublicKey, a.key)
	a.chain = pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})
	return err
}

func TestACertificateFromAnAuthority(t *testing.T) {
	a := newTestAuthority(t)
	data := t.TempDir()
	serve := func() string {
		c := acmeConfig{name: "quilts.example", directory: a.URL + "/directory", client: a.Client()}
		must(t, c.check())
		l, err := net.Listen("tcp", "127.0.0.1:0")
		must(t, err)
		server := newServer(http.NotFoundHandler())
		server.TLSConfig = c.tls(data)
		go func() { _ = server.ServeTLS(l, "", "") }()
		t.Cleanup(func() { _ = server.Close() })
		return l.Addr().String()
	}
	roots := x509.NewCertPool()
	roots.AddCert(a.ca)
	dial := func(at, name string) error {
		c, err := tls.DialWithDialer(&net.Dialer{Timeout: 20 * time.Second}, "tcp", at, &tls.Config{ServerName: name, RootCAs: roots})
		if err == nil {
			err = c.Close()
		}
		return err
	}
	a.prove = serve()
	if err := dial(a.prove, "other.example"); err == nil || a.issued != 0 {
		t.Errorf("a name that nobody gave: %v, %d issued", err, a.issued)
	}
	must(t, dial(a.prove, "quilts.example"))
	a.Close() // no internet in the hall: what is in the data folder serves
	must(t, dial(serve(), "quilts.example"))
	if a.issued != 1 {
		t.Errorf("%d certificates were asked for", a.issued)
	}
	files := 0
	must(t, filepath.WalkDir(filepath.Join(data, "acme"), func(name string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := e.Info()
		if want := map[bool]fs.FileMode{true: 0o700, false: 0o600}[e.IsDir()]; err == nil && info.Mode().Perm() != want {
			t.Errorf("%s has mode %v", name, info.Mode())
		}
		files++
		return err
	}))
	if files < 3 {
		t.Errorf("%d files and folders kept", files)
	}
	// The hub in the hall takes the same file for both.
	if _, err := newCertificate(filepath.Join(data, "acme", "quilts.example"), filepath.Join(data, "acme", "quilts.example"), nil); err != nil {
		t.Error(err)
	}
	if at := (&acmeConfig{name: "quilts.example"}).addresses(&net.TCPAddr{Port: 443}); len(at) != 1 || at[0] != "https://quilts.example/" {
		t.Errorf("found at %v", at)
	}
}
