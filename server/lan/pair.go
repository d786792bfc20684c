package lan

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"
)

// A pair is a certificate with its key. Both stand in one PEM file, so that
// neither is ever there without the other.
type pair struct {
	cert *x509.Certificate
	key  *ecdsa.PrivateKey
}

// during reports whether the certificate is valid at a time.
func (p *pair) during(at time.Time) bool {
	return !p.cert.NotBefore.After(at) && p.cert.NotAfter.After(at)
}

// load reads a pair; fs.ErrNotExist where there is none. A file that others may
// read is closed to them.
func load(name string) (*pair, error) {
	raw, err := os.ReadFile(name)
	if err != nil {
		return nil, err
	}
	if err := os.Chmod(name, 0o600); err != nil {
		return nil, err
	}
	p := &pair{}
	for block, rest := pem.Decode(raw); block != nil; block, rest = pem.Decode(rest) {
		switch block.Type {
		case "CERTIFICATE":
			p.cert, err = x509.ParseCertificate(block.Bytes)
		case "EC PRIVATE KEY":
			p.key, err = x509.ParseECPrivateKey(block.Bytes)
		}
		if err != nil {
			return nil, fmt.Errorf("%s can't be read: %w", name, err)
		}
	}
	if p.cert == nil || p.key == nil || !p.key.PublicKey.Equal(p.cert.PublicKey) {
		return nil, fmt.Errorf("%s holds no certificate with its key", name)
	}
	return p, nil
}

// save puts the pair on disk whole or not at all.
func (p *pair) save(name string) (err error) {
	key, err := x509.MarshalECPrivateKey(p.key)
	if err != nil {
		return err
	}
	var text bytes.Buffer
	for _, b := range []*pem.Block{{Type: "CERTIFICATE", Bytes: p.cert.Raw}, {Type: "EC PRIVATE KEY", Bytes: key}} {
		if err := pem.Encode(&text, b); err != nil {
			return err
		}
	}
	f, err := os.CreateTemp(filepath.Dir(name), "new-") // mode 0600
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			_ = os.Remove(f.Name()) // gone already where it has its name
		}
	}()
	_, err = f.Write(text.Bytes())
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	if err = os.Rename(f.Name(), name); err != nil {
		return err
	}
	folder, err := os.Open(filepath.Dir(name))
	if err != nil {
		return err
	}
	return errors.Join(folder.Sync(), folder.Close()) // or a power cut may take what phones trust already
}
