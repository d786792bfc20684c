package account

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/sha256"
	"encoding/base64"
	"math/big"

	"evenpull/server/fault"
	"evenpull/sync/ops"
)

// A Phone is one browser store with a key pair of its own. Its id follows from
// its key, so that every server gives it the same.
type Phone struct {
	ID  ops.ID
	Key []byte // raw P-256 public key: 4, x, y; 65 bytes
}

// A Seat is a phone's place in one studio.
type Seat struct {
	Phone   ops.ID
	Person  ops.ID // of a hub: its server's id
	EndedMS int64  // when its access ended, 0 while it has not
	Hub     bool   `json:",omitempty"` // it is another server, which carries for many
}

// A Member is a person in one studio, on however many phones.
type Member struct {
	Person  ops.ID
	Role    Role
	EndedMS int64 // 0 while it has not
}

// ReadKey reads a raw P-256 public key from base64url and returns its phone.
func ReadKey(text string) (Phone, error) {
	key, err := base64.RawURLEncoding.Strict().DecodeString(text)
	if err != nil {
		return Phone{}, errKey()
	}
	return phoneOf(key)
}

func phoneOf(key []byte) (Phone, error) {
	if _, err := ecdsa.ParseUncompressedPublicKey(elliptic.P256(), key); err != nil {
		return Phone{}, errKey()
	}
	sum := sha256.Sum256(key)
	return Phone{ID: ops.ID(sum[:16]), Key: key}, nil
}

func errKey() error {
	return fault.New(fault.Invalid, "phone.key", "The phone's key is not a raw P-256 public key.")
}

func base64Of(b []byte) string { return base64.RawURLEncoding.EncodeToString(b) }

// Signed reports whether the phone signed the text: ECDSA with SHA-256,
// signature r and s of 32 bytes each in base64url, as browsers write it.
func (p Phone) Signed(text, signature string) bool {
	sig, err := base64.RawURLEncoding.Strict().DecodeString(signature)
	if err != nil || len(sig) != 64 {
		return false
	}
	key, err := ecdsa.ParseUncompressedPublicKey(elliptic.P256(), p.Key)
	if err != nil {
		return false
	}
	sum := sha256.Sum256([]byte(text))
	return ecdsa.Verify(key, sum[:], new(big.Int).SetBytes(sig[:32]), new(big.Int).SetBytes(sig[32:]))
}
