package main

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"io"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"evenpull/server/lan"
	"evenpull/server/store"
)

// said waits until the program printed something of that form and returns its first group.
func (p *process) said(form string) string {
	p.t.Helper()
	for deadline := time.Now().Add(20 * time.Second); time.Now().Before(deadline); time.Sleep(10 * time.Millisecond) {
		if found := regexp.MustCompile(form).FindStringSubmatch(p.Out.String()); found != nil {
			return found[len(found)-1]
		}
	}
	p.t.Fatalf("never said %s\n%s%s", form, p.Out, p.Errs)
	return ""
}

func (p *process) stop() {
	p.t.Helper()
	must(p.t, p.Cmd.Process.Signal(syscall.SIGTERM))
	must(p.t, p.Wait(10*time.Second))
}

func TestAHubWithAnAuthorityOfItsOwn(t *testing.T) {
	data := t.TempDir()
	p := begin(t, data, "--lan", "--lan-name", "lantern.local", "--lan-network", "127.0.0.0/8")
	app := p.said(`(https://127\.0\.0\.1:\d+)/`)
	page := p.said(`\n  (http://127\.0\.0\.1:\d+)/`)
	print := p.said(`\n  ((?:[0-9A-F]{2}\s+){31}[0-9A-F]{2})\n`)
	p.said(`Records live at the address`)
	print = strings.ReplaceAll(print, "\n  ", "\n")

	// What a person does: look at the page, compare, trust, open the app.
	get := func(client *http.Client, address string) (int, string, http.Header) {
		t.Helper()
		resp, err := client.Get(address)
		must(t, err)
		defer resp.Body.Close()
		body, err := io.ReadAll(resp.Body)
		must(t, err)
		return resp.StatusCode, string(body), resp.Header
	}
	if status, body, _ := get(http.DefaultClient, page+"/"); status != 200 || !strings.Contains(body, print) || !strings.Contains(body, app+"/") {
		t.Errorf("the page: %d %s", status, body)
	}
	if status, _, _ := get(http.DefaultClient, page+"/v1/server"); status != 404 {
		t.Errorf("plain http answers the app: %d", status)
	}
	if _, err := http.Get(app + "/healthz"); err == nil || !strings.Contains(err.Error(), "x509") {
		t.Errorf("believed without trust: %v", err)
	}
	_, raw, _ := get(http.DefaultClient, page+"/evenpull-hub.crt")
	ca, err := x509.ParseCertificate([]byte(raw))
	must(t, err)
	roots := x509.NewCertPool()
	roots.AddCert(ca)
	trusting := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}}}
	status, _, head := get(trusting, app+"/healthz")
	if status != 200 {
		t.Errorf("the app: %d", status)
	}
	if head.Get("Strict-Transport-Security") != "" { // the page under the same name would be out of reach
		t.Error("browsers are told never to come over plain http")
	}
	sheet, err := os.ReadFile(filepath.Join(data, "lan", "wall-sheet.txt"))
	must(t, err)
	if text := strings.ReplaceAll(string(sheet), "\n  ", "\n"); !strings.Contains(text, print) || !strings.Contains(text, page+"/") {
		t.Errorf("the sheet for the wall: %s", sheet)
	}
	p.stop()
	raws, err := os.ReadFile(filepath.Join(data, "lan", "authority.pem"))
	must(t, err)
	for block, rest := pem.Decode(raws); block != nil; block, rest = pem.Decode(rest) {
		text := string(pem.EncodeToMemory(block))
		if block.Type != "CERTIFICATE" && strings.Contains(p.Errs.String()+p.Out.String(), text[30:60]) {
			t.Error("a key is in the log")
		}
	}

	// The same trust after a restart, at another address, which is said.
	p = begin(t, data, "--lan", "--lan-name", "lantern.local", "--lan-network", "127.0.0.0/8", "--listen", "127.0.0.2:0")
	p.said(`was 127\.0\.0\.1 and is 127\.0\.0\.2 now`)
	if status, _, _ := get(trusting, p.said(`(https://127\.0\.0\.2:\d+)/`)+"/healthz"); status != 200 {
		t.Errorf("at another address: %d", status)
	}
	p.stop()
}

func TestTheSheetFollowsTheAuthority(t *testing.T) {
	now, at := time.Now(), []netip.Addr{netip.MustParseAddr("192.168.4.1")}
	folder := t.TempDir()
	door, err := lan.Open(lan.Config{
		Folder: folder, Names: []string{"lantern.local"}, Networks: []netip.Prefix{netip.MustParsePrefix("192.168.4.0/24")}, Limited: true,
		Addresses: func() []netip.Addr { return at }, Now: func() time.Time { return now }, Say: func(string) {},
	})
	must(t, err)
	pages, err := net.Listen("tcp", "127.0.0.1:0")
	must(t, err)
	defer pages.Close()
	d := &lanDoor{Door: door, pages: pages}
	must(t, d.show(io.Discard))
	first := d.Fingerprint()
	for _, c := range []struct {
		change func()
		moved  bool
	}{
		{func() {}, false},
		{func() { now = now.AddDate(2, 0, 0) }, false},
		{func() { at = []netip.Addr{netip.MustParseAddr("192.168.4.9")} }, true},
	} {
		c.change()
		var screen strings.Builder
		moved, err := d.look(&screen)
		must(t, err)
		sheet, err := os.ReadFile(filepath.Join(folder, "wall-sheet.txt"))
		must(t, err)
		text := strings.ReplaceAll(string(sheet), "\n  ", "\n")
		if moved != c.moved || !strings.Contains(text, d.Fingerprint()) || !strings.Contains(text, "http://"+at[0].String()+":") {
			t.Errorf("moved %t; the sheet: %s", moved, text)
		}
		if changed := moved || d.Fingerprint() != first; changed != strings.Contains(screen.String(), string(sheet)) {
			t.Errorf("changed %t; the screen: %s", changed, &screen)
		}
		first = d.Fingerprint()
	}
}

func TestAHubWhoseClockStartsWrong(t *testing.T) {
	data := t.TempDir()
	later := time.Now().AddDate(0, 2, 0).UTC().Truncate(time.Second) // what was reached before the power went
	st, err := store.Open(data)
	must(t, err)
	must(t, st.See(context.Background(), later))
	if seen, err := st.Seen(); err != nil || !seen.Equal(later) {
		t.Fatalf("seen %s, %v", seen, err)
	}
	must(t, st.Close())
	p := begin(t, data, "--lan")
	p.said(`This machine's clock says .*, before ` + later.Format(time.RFC3339))
	if until := p.said(`\(until (\S+)\)`); until != later.AddDate(0, 0, 365).Format(time.DateOnly) {
		t.Errorf("until %s", until)
	}
	p.stop()
	must(t, os.RemoveAll(filepath.Join(data, "lan")))
	p = begin(t, data, "--lan", "--believe-clock")
	if until := p.said(`\(until (\S+)\)`); until != time.Now().UTC().AddDate(0, 0, 365).Format(time.DateOnly) {
		t.Errorf("with a clock that is believed: until %s", until)
	}
	p.stop()
	p = begin(t, data, "--lan")
	p.said(`Records live`)
	if strings.Contains(p.Out.String(), "surely reached") {
		t.Errorf("the time that was wrong is still believed: %s", p.Out)
	}
	p.stop()
	if built := buildTime(); built.Before(firstDay) {
		t.Errorf("built %s", built)
	}
}
