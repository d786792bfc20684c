package lan

import (
	"crypto/tls"
	"crypto/x509"
	"errors"
	"io/fs"
	"net/netip"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// A hall is a hub's surroundings in a test: its folder, clock and addresses.
type hall struct {
	t      *testing.T
	config Config
	now    time.Time
	at     []netip.Addr
	said   []string
}

func newHall(t *testing.T, addresses ...string) *hall {
	h := &hall{t: t, now: time.Date(2027, 3, 1, 9, 0, 0, 0, time.UTC)}
	h.move(addresses...)
	h.config = Config{
		Folder: filepath.Join(t.TempDir(), "lan"), Names: []string{"lantern.local"}, Limited: true,
		Addresses: func() []netip.Addr { return h.at }, Now: func() time.Time { return h.now }, Say: func(s string) { h.said = append(h.said, s) },
	}
	return h
}

func (h *hall) move(addresses ...string) {
	h.at = nil
	for _, a := range addresses {
		h.at = append(h.at, netip.MustParseAddr(a))
	}
}

func (h *hall) open() *Door {
	h.t.Helper()
	d, err := Open(h.config)
	if err != nil {
		h.t.Fatal(err)
	}
	return d
}

// heard returns what was said since the last call, as one text.
func (h *hall) heard() string {
	text := strings.Join(h.said, "\n")
	h.said = nil
	return text
}

// shows verifies the chain that a phone is shown, against an authority, for a host.
func shows(t *testing.T, d *Door, authority *x509.Certificate, host string, now time.Time) error {
	t.Helper()
	shown, err := d.TLS().GetCertificate(&tls.ClientHelloInfo{})
	if err != nil {
		t.Fatal(err)
	}
	return verifies(shown.Leaf, authority, host, now)
}

func verifies(leaf, authority *x509.Certificate, host string, now time.Time) error {
	roots := x509.NewCertPool()
	roots.AddCert(authority)
	_, err := leaf.Verify(x509.VerifyOptions{Roots: roots, DNSName: host, CurrentTime: now})
	return err
}

func TestAPhoneBelievesThisHubAndNothingElse(t *testing.T) {
	h := newHall(t, "192.168.4.1", "10.0.0.7")
	h.config.Names = []string{"lantern.local", "lane.local"}
	d := h.open()
	ca := d.authority.cert
	for _, host := range []string{"lantern.local", "lane.local", "192.168.4.1", "10.0.0.7"} {
		if err := shows(t, d, ca, host, h.now); err != nil {
			t.Errorf("%s: %v", host, err)
		}
	}
	for _, host := range []string{"other.local", "192.168.4.2", "quilts.example"} {
		if err := shows(t, d, ca, host, h.now); err == nil {
			t.Errorf("%s is believed", host)
		}
	}
	// Whoever steals the key makes certificates of their own.
	for _, c := range []struct {
		names     []string
		addresses []string
		believed  bool
	}{
		{[]string{"lantern.local"}, nil, true},
		{[]string{"lantern.local"}, []string{"192.168.4.1"}, true},
		{[]string{"quilts.example"}, nil, false},
		{[]string{"local"}, nil, false},
		{[]string{"lantern.local", "quilts.example"}, nil, false},
		{[]string{"lantern.local"}, []string{"192.168.4.2"}, false},
		{[]string{"lantern.local"}, []string{"203.0.113.9"}, false},
		{[]string{"lantern.local"}, []string{"fd00::1"}, false},
	} {
		var at []netip.Addr
		for _, a := range c.addresses {
			at = append(at, netip.MustParseAddr(a))
		}
		for _, limit := range []bool{true, false} {
			authority := d.authority
			if !limit {
				var err error
				if authority, err = makeAuthority([]string{"lantern.local"}, nil, false, time.Time{}, h.now); err != nil {
					t.Fatal(err)
				}
			}
			forged, err := makeLeaf(authority, c.names, at, h.now)
			if err != nil {
				t.Fatal(err)
			}
			if err := verifies(forged.cert, authority.cert, c.names[0], h.now); (err == nil) != (c.believed || !limit) {
				t.Errorf("%v %v, limited %t: %v", c.names, c.addresses, limit, err)
			}
		}
	}
	if !ca.PermittedDNSDomainsCritical || !ca.MaxPathLenZero || !slices.Equal(ca.ExtKeyUsage, []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}) {
		t.Error("the limit is not critical, or the authority may make others, or for more than servers")
	}
}

func TestWhatLiesOnDiskIsTheOwners(t *testing.T) {
	h := newHall(t, "192.168.4.1")
	d := h.open()
	first, leaf := d.Fingerprint(), d.leaf.cert.SerialNumber
	for _, name := range []string{"authority.pem", "leaf.pem"} {
		if err := os.Chmod(filepath.Join(h.config.Folder, name), 0o644); err != nil { // somebody copied it carelessly
			t.Fatal(err)
		}
	}
	if err := os.Chmod(h.config.Folder, 0o755); err != nil {
		t.Fatal(err)
	}
	d = h.open()
	if d.Fingerprint() != first || d.leaf.cert.SerialNumber.Cmp(leaf) != 0 {
		t.Error("a second start made new certificates")
	}
	found := 0
	err := filepath.WalkDir(h.config.Folder, func(name string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := e.Info()
		want := fs.FileMode(0o600)
		if e.IsDir() {
			want = 0o700
		}
		found++
		if err == nil && info.Mode().Perm() != want {
			t.Errorf("%s has mode %v", name, info.Mode())
		}
		return err
	})
	if err != nil || found != 3 {
		t.Errorf("%d files and folders, %v", found, err)
	}
	if h.heard() != "" {
		t.Error("something was said although nothing changed")
	}
}

func TestHowLongItIsValid(t *testing.T) {
	h := newHall(t, "192.168.4.1")
	for _, until := range []string{"", "2027-03-14", "2028-02-28"} {
		h.config.Folder, h.config.Until = filepath.Join(t.TempDir(), "lan"), time.Time{}
		if until != "" {
			h.config.Until, _ = time.Parse(time.DateOnly, until)
		}
		d := h.open()
		want := h.now.AddDate(0, 0, 365)
		if until != "" {
			want = h.config.Until.AddDate(0, 0, 7)
		}
		leaf := d.leaf.cert
		if !d.Ends().Equal(want) || !leaf.NotAfter.Equal(want) || !leaf.NotBefore.Equal(h.now.Add(-early)) {
			t.Errorf("%q: ends %s, leaf %s to %s; want %s", until, d.Ends(), leaf.NotBefore, leaf.NotAfter, want)
		}
		if err := shows(t, d, d.authority.cert, "lantern.local", want.Add(time.Second)); err == nil {
			t.Errorf("%q: believed after its end", until)
		}
	}
	for days, want := range map[int]string{-8: "is over", 367: "more than a year ahead"} {
		h.config.Folder, h.config.Until = filepath.Join(t.TempDir(), "lan"), h.now.AddDate(0, 0, days)
		if _, err := Open(h.config); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("a last day %d days from now: %v", days, err)
		}
	}
}

func TestWhatHasEndedIsMadeAnewAndSaid(t *testing.T) {
	h := newHall(t, "192.168.4.1")
	d := h.open()
	old := d.authority.cert
	h.now = h.now.Add(life - soon + time.Hour)
	h.open()
	if text := h.heard(); !strings.Contains(text, "ends on 2028-02-29") {
		t.Errorf("a month before: %q", text)
	}
	h.now = h.now.Add(soon)
	if err := d.Look(); err != nil { // while the hub runs
		t.Fatal(err)
	}
	if text := h.heard(); !strings.Contains(text, "ended on 2028-02-29") || !strings.Contains(text, "trust the new one") {
		t.Errorf("after its end: %q", text)
	}
	if d.authority.cert.Equal(old) {
		t.Fatal("the same authority")
	}
	if err := shows(t, d, d.authority.cert, "192.168.4.1", h.now); err != nil {
		t.Error(err)
	}
	if err := shows(t, d, old, "192.168.4.1", h.now); err == nil {
		t.Error("believed under the authority that ended")
	}
	if again := h.open(); again.Fingerprint() != d.Fingerprint() {
		t.Error("the new authority was not kept")
	}
}

func TestAClockThatIsAheadForAWhile(t *testing.T) {
	h := newHall(t, "192.168.4.1")
	d := h.open()
	trusted, today := d.authority.cert, h.now
	h.now = today.AddDate(9, 0, 0)
	if err := d.Look(); err != nil || !strings.Contains(h.heard(), "there is a new one") {
		t.Fatalf("nine years ahead: %v", err)
	}
	ahead := d.authority.cert
	h.now = today.AddDate(0, 0, 1)
	again := h.open() // a start afterwards, and the same while the hub runs
	for _, d := range []*Door{again, d} {
		if err := d.Look(); err != nil {
			t.Fatal(err)
		}
		if err := shows(t, d, trusted, "192.168.4.1", h.now); err != nil {
			t.Errorf("what phones trusted was thrown away: %v", err)
		}
	}
	if text := h.heard(); strings.Count(text, "the one of before again") != 2 || ahead.Equal(trusted) {
		t.Errorf("put right: %q", text)
	}
	if h.open(); h.heard() != "" {
		t.Error("said at each start")
	}

	// Begun under a clock that was ahead from the first: nothing of before is there.
	h.config.Folder, h.now = filepath.Join(t.TempDir(), "lan"), today.AddDate(9, 0, 0)
	first := h.open().Fingerprint()
	h.heard()
	h.now = today
	if d := h.open(); d.Fingerprint() != first {
		t.Error("replaced without being asked")
	}
	if text := h.heard(); !strings.Contains(text, "begins on 2036-02-29") || !strings.Contains(text, "remove "+h.config.Folder) {
		t.Errorf("not begun: %q", text)
	}
}

func TestARenewalThatFailsHalfway(t *testing.T) {
	h := newHall(t, "192.168.4.1")
	d := h.open()
	old := d.authority.cert
	leaf := filepath.Join(h.config.Folder, "leaf.pem")
	if err := errors.Join(os.Remove(leaf), os.Mkdir(leaf, 0o700)); err != nil { // nothing can be written there
		t.Fatal(err)
	}
	h.now = h.now.Add(life + time.Hour)
	if err := d.Look(); err == nil || !strings.Contains(err.Error(), "can't be kept") {
		t.Fatalf("%v", err)
	}
	if h.heard() != "" || !slices.Contains(d.Hosts(), "192.168.4.1") {
		t.Error("told of, or half taken")
	}
	if err := shows(t, d, old, "192.168.4.1", h.now.Add(-2*time.Hour)); err != nil {
		t.Errorf("what was there does not serve on: %v", err)
	}
	if err := os.Remove(leaf); err != nil {
		t.Fatal(err)
	}
	if err := d.Look(); err != nil || !strings.Contains(h.heard(), "there is a new one") {
		t.Errorf("the next look: %v", err)
	}
	if err := shows(t, d, d.authority.cert, "192.168.4.1", h.now); err != nil {
		t.Error(err)
	}
}

func TestAChangedAddressIsSaid(t *testing.T) {
	h := newHall(t, "192.168.4.1")
	h.config.Networks = []netip.Prefix{netip.MustParsePrefix("192.168.4.0/24")}
	d := h.open()
	ca := d.authority.cert
	h.move("192.168.4.9")
	d = h.open()
	if text := h.heard(); !strings.Contains(text, "was 192.168.4.1 and is 192.168.4.9 now") || strings.Count(text, "\n") != 0 {
		t.Errorf("within the network: %q", text)
	}
	if err := shows(t, d, ca, "192.168.4.9", h.now); err != nil {
		t.Error(err)
	}
	h.move() // out of the cable
	if err := d.Look(); err != nil || h.heard() != "" {
		t.Errorf("off the network: %v", err)
	}
	h.move("10.0.0.3")
	if err := d.Look(); err != nil {
		t.Fatal(err)
	}
	if text := h.heard(); !strings.Contains(text, "found at 10.0.0.3 now") || !strings.Contains(text, "may not speak") || !strings.Contains(text, "remove "+h.config.Folder) {
		t.Errorf("outside of it: %q", text)
	}
	if err := d.Look(); err != nil || h.heard() != "" {
		t.Errorf("said twice: %v", err)
	}
	if err := shows(t, d, ca, "10.0.0.3", h.now); err == nil {
		t.Error("believed where it may not speak")
	}
	if err := shows(t, d, ca, "lantern.local", h.now); err != nil { // its name opens it still
		t.Error(err)
	}
	h.move("10.0.0.3", "192.168.4.9")
	if err := d.Look(); err != nil {
		t.Fatal(err)
	}
	if err := shows(t, d, ca, "192.168.4.9", h.now); err != nil {
		t.Errorf("back, with a second one: %v", err)
	}
}

func TestOtherSettingsReplaceNothing(t *testing.T) {
	h := newHall(t, "192.168.4.1")
	before := h.open().Fingerprint()
	for what, change := range map[string]func(*Config){
		"the limit off":  func(c *Config) { c.Limited = false },
		"another name":   func(c *Config) { c.Names = []string{"lane.local"} },
		"a name more":    func(c *Config) { c.Names = append(c.Names, "lane.local") },
		"a later day":    func(c *Config) { c.Until = h.now.AddDate(2, 0, 0) },
		"broken on disk": func(c *Config) { c.Folder = filepath.Join(t.TempDir(), "lan") },
	} {
		other := h.config
		other.Names = slices.Clone(other.Names)
		change(&other)
		if what == "broken on disk" {
			if err := os.MkdirAll(other.Folder, 0o700); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(other.Folder, "authority.pem"), []byte("half of it"), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := Open(other); err == nil || !strings.Contains(err.Error(), other.Folder) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v", what, err)
		}
	}
	if h.open().Fingerprint() != before {
		t.Error("the authority was replaced")
	}
	h.move()
	h.config.Folder = filepath.Join(t.TempDir(), "lan")
	if _, err := Open(h.config); err == nil || !strings.Contains(err.Error(), "--lan-network") {
		t.Errorf("no network: %v", err)
	}
}

func TestOddFilesInTheFolder(t *testing.T) {
	h := newHall(t, "192.168.4.1")
	before := h.open()
	file := func(name string) string { return filepath.Join(h.config.Folder, name) }
	read := func(name string) []byte {
		raw, err := os.ReadFile(file(name))
		if err != nil {
			t.Fatal(err)
		}
		return raw
	}
	authority, leaf := read("authority.pem"), read("leaf.pem")
	for what, raw := range map[string][]byte{"nothing": nil, "half": leaf[:len(leaf)/2], "no key": leaf[:strings.Index(string(leaf), "-----BEGIN EC")], "noise": {0, 1, 2}, "bad DER": []byte("-----BEGIN CERTIFICATE-----\nAAAA\n-----END CERTIFICATE-----\n")} {
		if err := os.WriteFile(file("leaf.pem"), raw, 0o600); err != nil {
			t.Fatal(err)
		}
		d := h.open() // what phones trust is there: the class goes on
		if err := shows(t, d, before.authority.cert, "192.168.4.1", h.now); err != nil || !strings.Contains(h.heard(), "phones need do nothing") {
			t.Errorf("%s as the certificate: %v", what, err)
		}
	}
	for what, raw := range map[string][]byte{"nothing": nil, "half": authority[:len(authority)/2], "no authority": read("leaf.pem")} {
		if err := os.WriteFile(file("authority.pem"), raw, 0o600); err != nil {
			t.Fatal(err)
		}
		h.config.Limited = what != "no authority"
		if _, err := Open(h.config); err == nil || !strings.Contains(err.Error(), "put back what was there, or remove "+h.config.Folder) {
			t.Errorf("%s as the authority: %v", what, err)
		}
	}
}

func TestNames(t *testing.T) {
	for name, fine := range map[string]bool{
		"evenpull.local": true, "a.local": true, "hub-2.local": true, "local": false, ".local": false, "quilts.example": false, "Hub.local": false,
		"-a.local": false, "a-.local": false, "a.b.local": false, "a b.local": false, strings.Repeat("a", 30) + ".local": true, strings.Repeat("a", 31) + ".local": false,
	} {
		if err := CheckName(name); (err == nil) != fine {
			t.Errorf("%q: %v", name, err)
		}
	}
}

func TestAClockThatStartsWrong(t *testing.T) {
	reached := time.Date(2027, 3, 1, 9, 0, 0, 0, time.UTC)
	system, passed := time.Unix(0, 0), time.Duration(0)
	c := &Clock{reached, func() time.Time { return system }, func() time.Duration { return passed }}
	if !c.Behind() || !c.Now().Equal(reached) {
		t.Errorf("in 1970: %s", c.Now())
	}
	passed = time.Hour
	if !c.Now().Equal(reached.Add(time.Hour)) {
		t.Errorf("an hour on: %s", c.Now())
	}
	system = reached.AddDate(0, 0, 3) // it was set
	if c.Behind() || !c.Now().Equal(system) {
		t.Errorf("set: %s", c.Now())
	}
	h := newHall(t, "192.168.4.1")
	system = time.Unix(0, 0)
	h.config.Now = c.Now
	d := h.open()
	if err := shows(t, d, d.authority.cert, "192.168.4.1", reached.AddDate(0, 6, 0)); err != nil {
		t.Errorf("made with the clock in 1970: %v", err)
	}
}
