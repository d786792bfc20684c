// Package ops holds the unit that travels: an op, its name (a dot), its bytes
// and the chain digest over them.
package ops

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
)

// An ID names a replica, a studio, a record or a person: 16 random bytes, on
// the wire 32 lower hex digits.
type ID [16]byte

// ParseID reads 32 lower hex digits.
func ParseID(s string) (ID, error) {
	var id ID
	err := lowerHex(id[:], []byte(s))
	return id, err
}

// lowerHex fills to from as many lower hex digits as it has room for.
func lowerHex(to, text []byte) error {
	if len(text) != 2*len(to) || bytes.ContainsAny(text, "ABCDEF") {
		return fmt.Errorf("%.70q: want %d lower hex digits", text, 2*len(to))
	}
	if _, err := hex.Decode(to, text); err != nil {
		return fmt.Errorf("%.70q: want %d lower hex digits", text, 2*len(to))
	}
	return nil
}

func (id ID) String() string               { return hex.EncodeToString(id[:]) }
func (id ID) MarshalText() ([]byte, error) { return []byte(id.String()), nil }
func (id *ID) UnmarshalText(b []byte) (err error) {
	*id, err = ParseID(string(b))
	return err
}

// A Dot names one op: its replica and its number there, from 1 without a gap.
type Dot struct {
	Replica ID
	N       uint64
}

// MaxN is the largest number of an op: 2^53−1, exact in a browser too.
const MaxN = 1<<53 - 1

// ParseDot reads "replica:n".
func ParseDot(s string) (Dot, error) {
	hexID, num, ok := strings.Cut(s, ":")
	if !ok || num == "" || num[0] < '1' || num[0] > '9' {
		return Dot{}, fmt.Errorf("dot %.60q: want replica:n", s)
	}
	id, err := ParseID(hexID)
	if err != nil {
		return Dot{}, fmt.Errorf("dot %.60q: want replica:n", s)
	}
	n, err := strconv.ParseUint(num, 10, 64)
	if err != nil || n > MaxN {
		return Dot{}, fmt.Errorf("dot %.60q: want replica:n", s)
	}
	return Dot{id, n}, nil
}

func (d Dot) String() string               { return d.Replica.String() + ":" + strconv.FormatUint(d.N, 10) }
func (d Dot) MarshalText() ([]byte, error) { return []byte(d.String()), nil }
func (d *Dot) UnmarshalText(b []byte) (err error) {
	*d, err = ParseDot(string(b))
	return err
}

// Compare orders dots by replica, then by number.
func (d Dot) Compare(e Dot) int {
	if c := strings.Compare(string(d.Replica[:]), string(e.Replica[:])); c != 0 {
		return c
	}
	switch {
	case d.N < e.N:
		return -1
	case d.N > e.N:
		return 1
	}
	return 0
}

// A Digest is a link of a replica's chain: chain(n) = SHA-256(chain(n−1) ‖ op
// bytes), chain(0) = 32 zero bytes.
type Digest [32]byte

// Chain returns the link after prev for the op with these bytes.
func Chain(prev Digest, op []byte) Digest {
	h := sha256.New()
	h.Write(prev[:])
	h.Write(op)
	var d Digest
	h.Sum(d[:0])
	return d
}

// Short is what travels: the first 8 bytes.
func (d Digest) Short() Short { return Short(d[:8]) }

func (d Digest) String() string               { return hex.EncodeToString(d[:]) }
func (d Digest) MarshalText() ([]byte, error) { return []byte(d.String()), nil }
func (d *Digest) UnmarshalText(b []byte) error {
	return lowerHex(d[:], b)
}

// Short is the first 8 bytes of a digest, on the wire 16 lower hex digits.
type Short [8]byte

func (s Short) String() string               { return hex.EncodeToString(s[:]) }
func (s Short) MarshalText() ([]byte, error) { return []byte(s.String()), nil }
func (s *Short) UnmarshalText(b []byte) error {
	return lowerHex(s[:], b)
}

// An Entry of a vector: the last number of a replica and the digest there.
type Entry struct {
	N      uint64
	Digest Short
}

func (e Entry) MarshalJSON() ([]byte, error) {
	return fmt.Appendf(nil, `[%d,"%s"]`, e.N, e.Digest), nil
}

func (e *Entry) UnmarshalJSON(b []byte) error {
	var pair []json.RawMessage
	if err := json.Unmarshal(b, &pair); err != nil || len(pair) != 2 {
		return fmt.Errorf("vector entry %.60q: want [n, digest]", b)
	}
	if err := json.Unmarshal(pair[0], &e.N); err != nil || e.N > MaxN {
		return fmt.Errorf("vector entry %.60q: want [n, digest]", b)
	}
	return json.Unmarshal(pair[1], &e.Digest)
}

// A Vector says what is known of each replica: all its ops up to an entry.
type Vector map[ID]Entry

// Has reports whether the vector covers the dot.
func (v Vector) Has(d Dot) bool { return d.N <= v[d.Replica].N }

// Clone returns a copy that can be changed.
func (v Vector) Clone() Vector {
	w := make(Vector, len(v))
	for r, e := range v {
		w[r] = e
	}
	return w
}

// Raise makes each entry the larger of the two.
func (v Vector) Raise(w Vector) {
	for r, e := range w {
		if e.N > v[r].N {
			v[r] = e
		}
	}
}

// ForkName is the name that the losing branch of a fork goes on under:
// SHA-256(replica ‖ digest at its first differing op), cut to 16 bytes. Every
// copy works it out alike and none needs to ask.
func ForkName(replica ID, at Short) ID {
	h := sha256.New()
	h.Write(replica[:])
	h.Write(at[:])
	return ID(h.Sum(nil)[:16])
}

// ServerLink is the link of a server's own chain for an accepted (replica, n,
// digest), in the order of acceptance.
func ServerLink(prev Digest, d Dot, at Short) Digest {
	var n [8]byte
	binary.BigEndian.PutUint64(n[:], d.N)
	h := sha256.New()
	h.Write(prev[:])
	h.Write(d.Replica[:])
	h.Write(n[:])
	h.Write(at[:])
	return Digest(h.Sum(nil))
}
