package lan

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"fmt"
	"math/big"
	"net"
	"net/netip"
	"slices"
	"strings"
	"time"
)

const (
	// life of an authority without a last day, and the farthest last day.
	life = 365 * 24 * time.Hour
	// after a class's last day phones may still fetch what came late.
	after = 7 * 24 * time.Hour
	// early is how far back certificates begin: a phone's clock may be behind the hub's.
	early = 24 * time.Hour
)

// makeAuthority makes the certificate authority that phones are asked to trust.
// Limited, it may speak for these names and networks alone (RFC 5280, 4.2.1.10;
// critical, so that whoever does not know the limit refuses the whole).
func makeAuthority(names []string, networks []netip.Prefix, limited bool, until, now time.Time) (*pair, error) {
	ends := now.Add(life)
	if !until.IsZero() {
		if until.After(ends) {
			return nil, fmt.Errorf("the last day, %s, is more than a year ahead by this hub's clock (%s)", day(until), day(now))
		}
		ends = until.Add(after)
	}
	if !ends.After(now) {
		return nil, fmt.Errorf("the last day, %s, is over for more than a week by this hub's clock (%s)", day(until), day(now))
	}
	t := &x509.Certificate{
		SerialNumber: serial(),
		// Found by this name in the phone's list when the trust is taken away.
		Subject:   pkix.Name{CommonName: fmt.Sprintf("Evenpull %s %s", names[0], day(now))},
		NotBefore: now.Add(-early), NotAfter: ends,
		KeyUsage: x509.KeyUsageCertSign, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		BasicConstraintsValid: true, IsCA: true, MaxPathLenZero: true,
	}
	if limited {
		t.PermittedDNSDomainsCritical, t.PermittedDNSDomains = true, names
		for _, n := range networks {
			t.PermittedIPRanges = append(t.PermittedIPRanges, ipNet(n))
		}
	}
	return sign(t, nil)
}

// makeLeaf makes the certificate that the hub shows, signed by its authority and valid as long.
func makeLeaf(authority *pair, names []string, addresses []netip.Addr, now time.Time) (*pair, error) {
	t := &x509.Certificate{
		SerialNumber: serial(), Subject: pkix.Name{CommonName: names[0]},
		NotBefore: now.Add(-early), NotAfter: authority.cert.NotAfter,
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		BasicConstraintsValid: true, DNSNames: names,
	}
	if t.NotBefore.Before(authority.cert.NotBefore) {
		t.NotBefore = authority.cert.NotBefore
	}
	for _, a := range addresses {
		t.IPAddresses = append(t.IPAddresses, a.AsSlice())
	}
	return sign(t, authority)
}

// sign makes a key and has the authority sign for it; without one it signs for itself.
func sign(t *x509.Certificate, authority *pair) (*pair, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, err
	}
	parent, by := t, key
	if authority != nil {
		parent, by = authority.cert, authority.key
	}
	der, err := x509.CreateCertificate(rand.Reader, t, parent, &key.PublicKey, by)
	if err != nil {
		return nil, err
	}
	cert, err := x509.ParseCertificate(der)
	return &pair{cert, key}, err
}

func serial() *big.Int {
	var b [16]byte
	rand.Read(b[:])
	b[0] &= 0x7f // positive
	return new(big.Int).SetBytes(b[:])
}

// limited reports whether an authority may speak for some names only.
func limited(ca *x509.Certificate) bool { return len(ca.PermittedDNSDomains) > 0 }

// speaksFor reports whether an authority may speak for an address.
func speaksFor(ca *x509.Certificate, a netip.Addr) bool {
	return !limited(ca) || slices.ContainsFunc(ca.PermittedIPRanges, func(n *net.IPNet) bool { return n.Contains(a.AsSlice()) })
}

// scope names what a limited authority may speak for.
func scope(ca *x509.Certificate) []string {
	all := slices.Clone(ca.PermittedDNSDomains)
	for _, n := range ca.PermittedIPRanges {
		word := n.String()
		if ones, bits := n.Mask.Size(); ones == bits {
			word = n.IP.String()
		}
		all = append(all, word)
	}
	return all
}

// fingerprint is the SHA-256 digest of a certificate as people compare it: four lines of eight pairs.
func fingerprint(cert *x509.Certificate) string {
	sum := sha256.Sum256(cert.Raw)
	var lines []string
	for part := range slices.Chunk(sum[:], 8) {
		lines = append(lines, fmt.Sprintf("% X  % X", part[:4], part[4:]))
	}
	return strings.Join(lines, "\n")
}

func ipNet(p netip.Prefix) *net.IPNet {
	return &net.IPNet{IP: p.Addr().AsSlice(), Mask: net.CIDRMask(p.Bits(), p.Addr().BitLen())}
}

func day(t time.Time) string { return t.UTC().Format(time.DateOnly) }
