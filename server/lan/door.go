// Package lan opens a hub to phones where there is no internet: a certificate
// authority of its own that may speak for this hub alone, a page that says what
// trusting it means, and answers to the hub's .local name.
package lan

import (
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io/fs"
	"net/netip"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"time"
)

// soon is how long before an authority ends it is said at each start.
const soon = 30 * 24 * time.Hour

// A Config says what the hub is called and where it is found.
type Config struct {
	Folder    string                // of the certificates and keys; made with mode 0700
	Names     []string              // as CheckName takes them, the first is shown first
	Networks  []netip.Prefix        // that the authority may speak for besides the addresses of now
	Limited   bool                  // by name constraint to Names, Networks and the addresses of when it was made
	Until     time.Time             // the last day of what the hub is for; zero: none
	Addresses func() []netip.Addr   // where the hub is found now
	Now       func() time.Time      // UTC
	Say       func(sentence string) // to the one who runs the hub
}

// A Door holds the certificates of now.
type Door struct {
	Config
	mu        sync.Mutex
	authority *pair
	leaf      *pair
	refused   []netip.Addr // what the authority may not speak for, as it was last said
}

var label = regexp.MustCompile(`^[a-z0-9]([a-z0-9-]{0,28}[a-z0-9])?\.local$`)

// CheckName refuses what phones can't ask for without a name server.
func CheckName(name string) error {
	if !label.MatchString(name) {
		return fmt.Errorf("%q is no name such as evenpull.local: small letters, digits and hyphens, 30 at most, and .local", name)
	}
	return nil
}

// Open reads the authority, or makes it the first time. Errors are sentences for the one who starts the program.
func Open(c Config) (*Door, error) {
	d := &Door{Config: c}
	if err := os.MkdirAll(c.Folder, 0o700); err != nil {
		return nil, fmt.Errorf("the folder of the hub's certificates can't be made: %w", err)
	}
	if err := os.Chmod(c.Folder, 0o700); err != nil {
		return nil, fmt.Errorf("the folder of the hub's certificates can't be kept to its owner: %w", err)
	}
	authority, err := load(d.file("authority"))
	if err == nil && !authority.cert.IsCA {
		err = fmt.Errorf("%s is no authority", d.file("authority"))
	}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if d.authority, err = d.found(c.Now()); err != nil {
			return nil, err
		}
	case err != nil:
		return nil, fmt.Errorf("the hub's authority can't be used (%w): put back what was there, or remove %s for a new one that each phone must trust anew", err, c.Folder)
	default:
		d.authority = authority
		if err := d.fits(authority.cert); err != nil {
			return nil, err
		}
	}
	if d.leaf, err = load(d.file("leaf")); err != nil && !errors.Is(err, fs.ErrNotExist) {
		c.Say(fmt.Sprintf("The hub's certificate could not be read (%v) and is made anew by the same authority: phones need do nothing.", err))
	}
	if ends := d.authority.cert.NotAfter; c.Now().Add(soon).After(ends) && ends.After(c.Now()) && c.Until.IsZero() {
		c.Say(fmt.Sprintf("This hub's authority ends on %s; the one that follows must be trusted anew on each phone. To choose the day, remove %s and start again.", day(ends), c.Folder))
	}
	if err := d.Look(); err != nil {
		return nil, err
	}
	if begins := d.authority.cert.NotBefore; begins.After(c.Now()) {
		c.Say(fmt.Sprintf("This hub's authority begins on %s, later than this hub's clock (%s), and phones that know the day refuse it until then: set the clock, or where it is right, remove %s for a new authority that each phone must trust anew.",
			day(begins), day(c.Now()), c.Folder))
	}
	return d, nil
}

func (d *Door) file(name string) string { return filepath.Join(d.Folder, name+".pem") }

// found makes a new authority for where the hub is found now, and keeps that of before beside it.
func (d *Door) found(now time.Time) (*pair, error) {
	networks := slices.Clone(d.Networks)
	for _, a := range d.addresses() {
		networks = append(networks, netip.PrefixFrom(a, a.BitLen()))
	}
	if len(networks) == 0 {
		return nil, errors.New("this machine has no address on a local network yet, and its authority is made for one: bring the network up first, or name it, --lan-network 192.168.4.0/24")
	}
	made, err := makeAuthority(d.Names, networks, d.Limited, d.Until, now)
	if err != nil {
		return nil, fmt.Errorf("no authority can be made: %w", err)
	}
	if d.authority != nil {
		err = d.authority.save(d.file("before"))
	}
	if err == nil {
		err = made.save(d.file("authority"))
	}
	if err != nil {
		return nil, fmt.Errorf("the hub's authority can't be kept: %w", err)
	}
	return made, nil
}

// current is the authority for now, with a sentence where it is another than until now.
func (d *Door) current(now time.Time) (*pair, string, error) {
	a := d.authority
	if a.during(now) {
		return a, "", nil
	}
	// A clock that was ahead for a while had the authority replaced that phones trust.
	if kept, err := load(d.file("before")); err == nil && kept.during(now) && d.fits(kept.cert) == nil {
		if err := kept.save(d.file("authority")); err != nil {
			return nil, "", fmt.Errorf("the hub's authority can't be kept: %w", err)
		}
		return kept, fmt.Sprintf("The clock was put back, and this hub's authority is the one of before again, until %s: phones that trusted it need do nothing.", day(kept.cert.NotAfter)), nil
	}
	if a.cert.NotAfter.After(now) {
		return a, "", nil // not begun: Open says so
	}
	made, err := d.found(now)
	return made, fmt.Sprintf("This hub's authority ended on %s; there is a new one, and each phone must take the old one away and trust the new one.", day(a.cert.NotAfter)), err
}

// addresses are those of now, in an order that does not change.
func (d *Door) addresses() []netip.Addr {
	all := slices.Clone(d.Addresses())
	slices.SortFunc(all, netip.Addr.Compare)
	return slices.Compact(all)
}

// fits refuses settings that the authority of before can't serve: phones trust
// that one, and it is replaced only when somebody says so.
func (d *Door) fits(ca *x509.Certificate) error {
	anew := fmt.Sprintf("; put the setting back, or remove %s for a new authority that each phone must trust anew", d.Folder)
	if limited(ca) != d.Limited {
		return fmt.Errorf("the hub's authority was made with --lan-limit=%t%s", limited(ca), anew)
	}
	for _, n := range d.Names {
		if d.Limited && !slices.Contains(ca.PermittedDNSDomains, n) {
			return fmt.Errorf("the hub's authority may speak for %s and not for %s%s", strings.Join(ca.PermittedDNSDomains, " and "), n, anew)
		}
	}
	if last := d.Until; !last.IsZero() && ca.NotAfter.Before(last) && d.Now().Before(last) {
		return fmt.Errorf("the hub's authority ends on %s, before the last day, %s%s", day(ca.NotAfter), day(last), anew)
	}
	return nil
}

// Look brings the certificates up to date: with the addresses of now, and a new
// authority where the old one has ended. What that means for phones is said.
func (d *Door) Look() error {
	d.mu.Lock()
	defer d.mu.Unlock()
	now := d.Now()
	authority, said, err := d.current(now)
	if err != nil {
		return err
	}
	found := d.addresses()
	if len(found) == 0 && d.leaf != nil && authority == d.authority {
		return nil // off the network for a while: the next look sees where it comes back
	}
	var before []netip.Addr
	if d.leaf != nil {
		before = d.leaf.addresses()
	}
	may := slices.DeleteFunc(slices.Clone(found), func(a netip.Addr) bool { return !speaksFor(authority.cert, a) })
	mayNot, gone := without(found, may), without(before, found)
	switch {
	case len(mayNot) > 0 && !slices.Equal(mayNot, d.refused):
		d.Say(fmt.Sprintf("This hub is found at %s now, for which its authority may not speak, so phones will refuse https there: give the machine an address of before, or open the app by %s, or remove %s for a new authority that each phone must trust anew.",
			list(mayNot), d.Names[0], d.Folder))
	case len(mayNot) == 0 && len(gone) > 0:
		d.Say(fmt.Sprintf("This hub's address was %s and is %s now: a phone that opened the app at the old one finds an empty app at the new one, so give the machine its old address again, or open the app by %s.",
			list(gone), list(found), d.Names[0]))
	}
	d.refused = mayNot
	if d.leaf != nil && slices.Equal(before, may) && slices.Equal(d.leaf.cert.DNSNames, d.Names) && d.leaf.cert.CheckSignatureFrom(authority.cert) == nil {
		return nil
	}
	made, err := makeLeaf(authority, d.Names, may, now)
	if err != nil {
		return fmt.Errorf("no certificate can be made for this hub: %w", err)
	}
	if err := made.save(d.file("leaf")); err != nil {
		return fmt.Errorf("the hub's certificate can't be kept: %w", err)
	}
	d.authority, d.leaf = authority, made // both or neither: calls come in meanwhile
	if said != "" {
		d.Say(said)
	}
	return nil
}

// TLS is for the listener of the app.
func (d *Door) TLS() *tls.Config {
	return &tls.Config{MinVersion: tls.VersionTLS12, GetCertificate: func(*tls.ClientHelloInfo) (*tls.Certificate, error) {
		d.mu.Lock()
		defer d.mu.Unlock()
		return &tls.Certificate{Certificate: [][]byte{d.leaf.cert.Raw, d.authority.cert.Raw}, PrivateKey: d.leaf.key, Leaf: d.leaf.cert}, nil
	}}
}

// Fingerprint is what people compare before they trust the authority.
func (d *Door) Fingerprint() string {
	d.mu.Lock()
	defer d.mu.Unlock()
	return fingerprint(d.authority.cert)
}

// Ends is when the authority and the trust in it end.
func (d *Door) Ends() time.Time {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.authority.cert.NotAfter
}

func (p *pair) addresses() (all []netip.Addr) {
	for _, ip := range p.cert.IPAddresses {
		if a, ok := netip.AddrFromSlice(ip); ok {
			all = append(all, a.Unmap())
		}
	}
	return all
}

// without returns what stands in some and not in others.
func without(some, others []netip.Addr) (left []netip.Addr) {
	for _, a := range some {
		if !slices.Contains(others, a) {
			left = append(left, a)
		}
	}
	return left
}

func list(all []netip.Addr) string {
	words := make([]string, len(all))
	for i, a := range all {
		words[i] = a.String()
	}
	return strings.Join(words, " and ")
}
