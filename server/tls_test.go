package main

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"math/big"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"testing"
	"time"

	"evenpull/server/drive"
)

// certificateFor makes a key and a certificate of that number for this machine, as PEM files.
func certificateFor(t *testing.T, number int64, certFile, keyFile string) *x509.Certificate {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	must(t, err)
	leaf := &x509.Certificate{SerialNumber: big.NewInt(number), NotAfter: time.Now().Add(time.Hour), IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}}
	der, err := x509.CreateCertificate(rand.Reader, leaf, leaf, &key.PublicKey, key)
	must(t, err)
	private, err := x509.MarshalPKCS8PrivateKey(key)
	must(t, err)
	must(t, os.WriteFile(certFile, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), 0o600))
	must(t, os.WriteFile(keyFile, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: private}), 0o600))
	cert, err := x509.ParseCertificate(der)
	must(t, err)
	return cert
}

func TestARenewedCertificateIsReadWithoutAStop(t *testing.T) {
	folder := t.TempDir()
	cert, key := filepath.Join(folder, "cert.pem"), filepath.Join(folder, "key.pem")
	certificateFor(t, 1, cert, key)
	data := filepath.Join(folder, "data")
	p := begin(t, data, "--cert", cert, "--key", key)
	address := regexp.MustCompile(`127\.0\.0\.1:\d+`)
	number := func() int64 {
		c, err := tls.Dial("tcp", address.FindString(p.Out.String()), &tls.Config{InsecureSkipVerify: true}) // only its number is looked at
		if err != nil {
			return 0
		}
		defer c.Close()
		return c.ConnectionState().PeerCertificates[0].SerialNumber.Int64()
	}
	until := func(want int64) {
		t.Helper()
		for deadline := time.Now().Add(20 * time.Second); time.Now().Before(deadline); time.Sleep(50 * time.Millisecond) {
			if number() == want {
				return
			}
		}
		t.Fatalf("certificate %d; want %d\n%s", number(), want, p.Errs)
	}
	until(1)
	certificateFor(t, 2, cert, key)
	until(2)
	must(t, os.WriteFile(key, []byte("half of a ke"), 0o600)) // in the middle of a renewal
	for range 30 {
		if n := number(); n != 2 {
			t.Fatalf("with a broken key: certificate %d", n)
		}
		time.Sleep(50 * time.Millisecond)
	}
	certificateFor(t, 3, cert, key)
	until(3)
}

// The certificate comes by files, and they are named by variables here.
func TestTLSByFilesAndSettingsByVariables(t *testing.T) {
	folder := t.TempDir()
	certFile, keyFile := filepath.Join(folder, "cert.pem"), filepath.Join(folder, "key.pem")
	cert := certificateFor(t, 1, certFile, keyFile)
	data := filepath.Join(folder, "data")
	out := &drive.Buffer{}
	cmd := exec.Command(binary)
	cmd.Stdout = out
	cmd.Env = []string{"EVENPULL_LISTEN=127.0.0.1:0", "EVENPULL_DATA=" + data, "EVENPULL_STUDIO=of another command",
		"EVENPULL_CERT=" + certFile, "EVENPULL_KEY=" + keyFile}
	must(t, cmd.Start())
	t.Cleanup(func() { _ = cmd.Process.Kill(); _ = cmd.Wait() })
	roots := x509.NewCertPool()
	roots.AddCert(cert)
	client := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}}}
	address := regexp.MustCompile(`https://127\.0\.0\.1:\d+`)
	for deadline := time.Now().Add(20 * time.Second); time.Now().Before(deadline); time.Sleep(10 * time.Millisecond) {
		resp, err := client.Get(address.FindString(out.String()) + "/healthz")
		if err != nil {
			continue
		}
		resp.Body.Close()
		if resp.StatusCode != 200 || resp.Header.Get("Strict-Transport-Security") == "" {
			t.Errorf("%d, %v", resp.StatusCode, resp.Header)
		}
		if _, err := os.Stat(filepath.Join(data, "evenpull.db")); err != nil {
			t.Error(err)
		}
		return
	}
	t.Fatalf("never answered over TLS: %s", out)
}
