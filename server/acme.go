package main

import (
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"path/filepath"
	"strings"

	"golang.org/x/crypto/acme"
	"golang.org/x/crypto/acme/autocert"
)

// An acmeConfig asks a public authority for a certificate and keeps it fresh (RFC 8555).
type acmeConfig struct {
	name, directory string
	client          *http.Client // nil: the usual one
}

func acmeFlags(s settings, c *acmeConfig) {
	s.StringVar(&c.name, "acme", "", "public name to get a certificate for from an authority, whose terms you accept by this; it calls the name at port 443")
	s.StringVar(&c.directory, "acme-directory", "", "address of the authority's directory, where it is not the usual one")
}

func (c *acmeConfig) check() error {
	if c.name == "" {
		return nil
	}
	c.name = strings.ToLower(strings.TrimSuffix(c.name, "."))
	if !strings.Contains(c.name, ".") || strings.ContainsAny(c.name, "/:@* ,") || net.ParseIP(c.name) != nil || strings.HasSuffix(c.name, ".local") {
		return fmt.Errorf("--acme %q is no public name, such as quilts.example.org; for a .local name there is --lan", c.name)
	}
	if c.directory == "" {
		return nil
	}
	if at, err := url.Parse(c.directory); err != nil || at.Scheme != "https" || at.Host == "" || at.User != nil {
		return errors.New("--acme-directory is no https address")
	}
	return nil
}

// tls proves the name within TLS itself (RFC 8737) and keeps account, key and
// certificate in the data folder, mode 0600. With no internet the one that is there serves until it ends.
func (c *acmeConfig) tls(data string) *tls.Config {
	m := &autocert.Manager{
		Prompt: autocert.AcceptTOS, Cache: autocert.DirCache(filepath.Join(data, "acme")),
		HostPolicy: autocert.HostWhitelist(c.name),
	}
	if c.directory != "" {
		m.Client = &acme.Client{DirectoryURL: c.directory, HTTPClient: c.client}
	}
	t := m.TLSConfig()
	t.MinVersion = tls.VersionTLS12
	return t
}

// addresses is where the app is found.
func (c *acmeConfig) addresses(bound net.Addr) []string {
	host := c.name
	if _, port, _ := net.SplitHostPort(bound.String()); port != "443" {
		host = net.JoinHostPort(host, port)
	}
	return []string{"https://" + host + "/"}
}
