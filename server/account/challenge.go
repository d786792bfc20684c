package account

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"sync"
	"time"
)

const challengeLife = 2 * time.Minute

// Challenges hands out texts to sign, each good once. It remembers only those
// that were signed rightly: strangers can't fill its memory.
type Challenges struct {
	server string
	secret [32]byte // of this run of the process
	mu     sync.Mutex
	used   map[string]time.Time
}

// NewChallenges returns challenges that bind a signature to this server.
func NewChallenges(server string) *Challenges {
	c := &Challenges{server: server, used: map[string]time.Time{}}
	rand.Read(c.secret[:])
	return c
}

// New returns a challenge: 8 bytes of time, 16 random ones, and a seal over both.
func (c *Challenges) New(now time.Time) string {
	var b [24]byte
	binary.BigEndian.PutUint64(b[:], uint64(now.UnixMilli()))
	rand.Read(b[8:])
	return base64.RawURLEncoding.EncodeToString(append(b[:], c.seal(b[:])...))
}

func (c *Challenges) seal(b []byte) []byte {
	m := hmac.New(sha256.New, c.secret[:])
	m.Write(b)
	return m.Sum(nil)[:16]
}

// Answered reports whether the phone signed one of our challenges of the last 2 minutes, for the first time.
func (c *Challenges) Answered(p Phone, challenge, signature string, now time.Time) bool {
	b, err := base64.RawURLEncoding.Strict().DecodeString(challenge)
	if err != nil || len(b) != 40 || !hmac.Equal(b[24:], c.seal(b[:24])) {
		return false
	}
	age := now.Sub(time.UnixMilli(int64(binary.BigEndian.Uint64(b))))
	if age < 0 || age > challengeLife || !p.Signed(SignInText(c.server, challenge), signature) {
		return false
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	for text, at := range c.used {
		if now.Sub(at) > challengeLife {
			delete(c.used, text)
		}
	}
	if _, again := c.used[challenge]; again {
		return false
	}
	c.used[challenge] = now
	return true
}

// SignInText is what a phone signs: it names the server, so that no other server can use the signature.
func SignInText(server, challenge string) string {
	return "evenpull sign in\n" + server + "\n" + challenge
}
