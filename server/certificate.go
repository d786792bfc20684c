package main

import (
	"crypto/tls"
	"fmt"
	"log/slog"
	"os"
	"sync"
	"time"
)

// lookEvery is how often the files of a certificate are looked at, when somebody calls.
const lookEvery = time.Second

// A certificate is kept in two files and read again when they change: whoever
// renews it need not stop the server.
type certificate struct {
	cert, key string
	log       *slog.Logger
	mu        sync.Mutex
	pair      *tls.Certificate
	changed   [2]time.Time // of the files when they were read
	looked    time.Time
}

// newCertificate reads the files once; the error is a sentence for the one who starts the program.
func newCertificate(cert, key string, log *slog.Logger) (*certificate, error) {
	c := &certificate{cert: cert, key: key, log: log, looked: time.Now()}
	c.changed = c.stamps()
	pair, err := tls.LoadX509KeyPair(cert, key)
	if err != nil {
		return nil, fmt.Errorf("the certificate %s with the key %s can't be used: %w", cert, key, err)
	}
	c.pair = &pair
	return c, nil
}

func (c *certificate) stamps() (at [2]time.Time) {
	for i, name := range []string{c.cert, c.key} {
		if info, err := os.Stat(name); err == nil {
			at[i] = info.ModTime()
		}
	}
	return at
}

// get is for tls.Config. While the files can't be used, as in the middle of a
// renewal, the last good pair stays.
func (c *certificate) get(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	now := time.Now()
	if now.Sub(c.looked) < lookEvery {
		return c.pair, nil
	}
	c.looked = now
	at := c.stamps()
	if at == c.changed {
		return c.pair, nil
	}
	pair, err := tls.LoadX509KeyPair(c.cert, c.key)
	if err != nil {
		c.log.Warn("the certificate's files changed and can't be used; the old one stays", "err", err.Error())
		return c.pair, nil
	}
	c.pair, c.changed = &pair, at
	c.log.Info("the certificate was read again")
	return c.pair, nil
}
