package lan

import (
	"crypto/x509"
	"io"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"regexp"
	"strings"
	"testing"
)

func TestPlainHTTPAnswersWithThePageAlone(t *testing.T) {
	h := newHall(t, "192.168.4.1")
	d := h.open()
	server := httptest.NewServer(d.Page("8642"))
	defer server.Close()
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	for _, c := range []struct {
		method, path string
		status       int
		kind         string
	}{
		{"GET", "/", 200, "text/html; charset=utf-8"},
		{"HEAD", "/", 200, "text/html; charset=utf-8"},
		{"GET", "/?code=7KMW-2RTA", 200, "text/html; charset=utf-8"},
		{"GET", "/evenpull-hub.crt", 200, "application/x-x509-ca-cert"},
		{"POST", "/", 405, "text/plain; charset=utf-8"},
		{"PUT", "/evenpull-hub.crt", 405, "text/plain; charset=utf-8"},
		{"GET", "/index.html", 404, "text/plain; charset=utf-8"},
		{"GET", "/sw.js", 404, "text/plain; charset=utf-8"},
		{"GET", "/assets/", 404, "text/plain; charset=utf-8"},
		{"GET", "/people/join", 404, "text/plain; charset=utf-8"},
		{"GET", "/healthz", 404, "text/plain; charset=utf-8"},
		{"GET", "/v1/server", 404, "text/plain; charset=utf-8"},
		{"POST", "/v1/claim", 405, "text/plain; charset=utf-8"},
		{"POST", "/v1/join", 405, "text/plain; charset=utf-8"},
		{"GET", "/v1/studios/00/events", 404, "text/plain; charset=utf-8"},
		{"GET", "/authority.pem", 404, "text/plain; charset=utf-8"},
		{"GET", "/..%2fauthority.pem", 404, "text/plain; charset=utf-8"},
		{"OPTIONS", "/v1/claim", 405, "text/plain; charset=utf-8"},
	} {
		req, err := http.NewRequest(c.method, server.URL+c.path, strings.NewReader("SECRET"))
		if err != nil {
			t.Fatal(err)
		}
		resp, err := client.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		body, err := io.ReadAll(resp.Body)
		resp.Body.Close()
		if err != nil || resp.StatusCode != c.status || resp.Header.Get("Content-Type") != c.kind {
			t.Errorf("%s %s: %d %s, %v", c.method, c.path, resp.StatusCode, resp.Header.Get("Content-Type"), err)
		}
		for _, none := range []string{"Location", "Refresh", "Set-Cookie", "Access-Control-Allow-Origin", "Strict-Transport-Security"} {
			if resp.Header.Get(none) != "" {
				t.Errorf("%s %s: %s", c.method, c.path, none)
			}
		}
		if text := string(body); strings.Contains(text, "SECRET") || strings.Contains(text, "7KMW") || strings.Contains(text, "PRIVATE KEY") || strings.Contains(text, "http-equiv") {
			t.Errorf("%s %s gives away %s", c.method, c.path, text)
		}
	}
}

func TestThePageSaysWhatTrustingMeans(t *testing.T) {
	h := newHall(t, "192.168.4.1")
	h.config.Networks = []netip.Prefix{netip.MustParsePrefix("10.7.0.0/24")}
	for _, limit := range []bool{true, false} {
		h.config.Folder, h.config.Limited = t.TempDir(), limit
		d := h.open()
		get := func(path string) string {
			w := httptest.NewRecorder()
			d.Page("443").ServeHTTP(w, httptest.NewRequest("GET", path, nil))
			return w.Body.String()
		}
		page := get("/")
		for _, want := range []string{d.Fingerprint(), "https://lantern.local/", "https://192.168.4.1/", "2028-02-29", "Evenpull lantern.local 2027-03-01", certificatePath, "iPhone", "Android", "Desktop", "To take it away"} {
			if !strings.Contains(page, want) {
				t.Errorf("limited %t: the page does not say %q", limit, want)
			}
		}
		if whole := strings.Contains(page, "it is lantern.local, 10.7.0.0/24, 192.168.4.1, on any network"); whole != limit {
			t.Errorf("limited %t, and the page names what it is limited to: %t", limit, whole)
		}
		if owns := strings.Contains(page, "not every browser heeds it"); owns != limit { // RFC 5280, 6.1.1: of what is trusted a browser need read name and key alone
			t.Errorf("limited %t, and the page says that some browsers take no limit: %t", limit, owns)
		}
		// Who changes the network's answers leaves the fingerprint on the page as it is and changes the file.
		systems := strings.Split(page, "<details>")[1:]
		for _, steps := range systems {
			if !regexp.MustCompile(`(?i)compare the fingerprint[^.]* with the sheet`).MatchString(steps) {
				t.Errorf("limited %t: trusted without a look at the file's own fingerprint: %s", limit, steps)
			}
		}
		if len(systems) != 3 || !strings.Contains(page, "your own phone shows of the file") {
			t.Errorf("limited %t: %d systems", limit, len(systems))
		}
		if any := strings.Contains(page, "any website at all"); any == limit {
			t.Errorf("limited %t, and the page says any website: %t", limit, any)
		}
		cert, err := x509.ParseCertificate([]byte(get(certificatePath)))
		if err != nil || fingerprint(cert) != d.Fingerprint() || !cert.IsCA {
			t.Errorf("the certificate to download: %v", err)
		}
	}
}
