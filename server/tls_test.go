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

// The certificate comes by files, and they are named by variables here.
func TestTLSByFilesAndSettingsByVariables(t *testing.T) {
	folder := t.TempDir()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	must(t, err)
	leaf := &x509.Certificate{SerialNumber: big.NewInt(1), NotAfter: time.Now().Add(time.Hour), IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}}
	der, err := x509.CreateCertificate(rand.Reader, leaf, leaf, &key.PublicKey, key)
	must(t, err)
	private, err := x509.MarshalPKCS8PrivateKey(key)
	must(t, err)
	write := func(name, kind string, raw []byte) string {
		file := filepath.Join(folder, name)
		must(t, os.WriteFile(file, pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: raw}), 0o600))
		return file
	}
	data := filepath.Join(folder, "data")
	out := &drive.Buffer{}
	cmd := exec.Command(binary)
	cmd.Stdout = out
	cmd.Env = []string{"EVENPULL_LISTEN=127.0.0.1:0", "EVENPULL_DATA=" + data, "EVENPULL_STUDIO=of another command",
		"EVENPULL_CERT=" + write("cert.pem", "CERTIFICATE", der), "EVENPULL_KEY=" + write("key.pem", "PRIVATE KEY", private)}
	must(t, cmd.Start())
	t.Cleanup(func() { _ = cmd.Process.Kill(); _ = cmd.Wait() })
	roots := x509.NewCertPool()
	cert, err := x509.ParseCertificate(der)
	must(t, err)
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
