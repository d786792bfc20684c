package lan

import (
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"html/template"
	"net"
	"net/http"
	"slices"
	"strconv"
	"strings"
)

// certificatePath is where the page's certificate lies; its ending makes phones and desktops offer to install it.
const certificatePath = "/evenpull-hub.crt"

//go:embed page.html
var pageText string

//go:embed page.css
var pageStyle string

var pageTemplate = template.Must(template.New("page").Parse(pageText))

// what the page may load: its one style, by digest. It sends nothing and frames nothing.
var pagePolicy = func() string {
	sum := sha256.Sum256([]byte(pageStyle))
	return "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}()

// pageFacts are what the template shows.
type pageFacts struct {
	Style                            template.CSS
	Scope, Links                     []string
	Certificate, Print, Day, Subject string
	Limited                          bool
}

// Links are where the app is opened over https: by name first, then by address.
func (d *Door) Links(port string) (links []string) {
	for _, host := range d.Hosts() {
		links = append(links, "https://"+strings.TrimSuffix(net.JoinHostPort(host, port), ":443")+"/")
	}
	return links
}

// Hosts are the names and addresses that the hub has a certificate for.
func (d *Door) Hosts() []string {
	d.mu.Lock()
	defer d.mu.Unlock()
	hosts := slices.Clone(d.Names)
	for _, a := range d.leaf.addresses() {
		hosts = append(hosts, a.String())
	}
	return hosts
}

func (d *Door) facts(port string) pageFacts {
	d.mu.Lock()
	subject, scope := d.authority.cert.Subject.CommonName, scope(d.authority.cert)
	d.mu.Unlock()
	return pageFacts{template.CSS(pageStyle), scope, d.Links(port), certificatePath, d.Fingerprint(), day(d.Ends()), subject, d.Limited}
}

// Page answers over plain HTTP, with what trusting this hub means and with the
// certificate. Everything else is refused and nothing is sent elsewhere: what a
// caller brought, a code perhaps, would go there unsealed too. port is that of the app.
func (d *Door) Page(port string) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", pagePolicy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cache-Control", "no-store")
		h.Set("Connection", "close")
		switch {
		case r.Method != http.MethodGet && r.Method != http.MethodHead:
			h.Set("Allow", "GET, HEAD")
			http.Error(w, "Nothing is taken in here, where others can read along. Open the app over https.", http.StatusMethodNotAllowed)
		case r.URL.Path == "/":
			h.Set("Content-Type", "text/html; charset=utf-8")
			_ = pageTemplate.Execute(w, d.facts(port)) // the caller is gone
		case r.URL.Path == certificatePath:
			raw := d.certificate()
			h.Set("Content-Type", "application/x-x509-ca-cert")
			h.Set("Content-Length", strconv.Itoa(len(raw)))
			_, _ = w.Write(raw) // the caller is gone
		default:
			http.Error(w, "There is only one page here, at /. Open the app over https.", http.StatusNotFound)
		}
	})
}

// certificate is the authority's, in DER; there is no key in it.
func (d *Door) certificate() []byte {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.authority.cert.Raw
}
