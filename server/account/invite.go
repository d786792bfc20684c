package account

import (
	"crypto/rand"
	"crypto/sha256"
	"slices"
	"strings"
	"time"

	"evenpull/server/fault"
	"evenpull/sync/ops"
)

// Kinds of invite.
const (
	ForPerson  = "person"   // one use, 15 minutes
	ForMyPhone = "my-phone" // the same, for another phone of who made it
	ForClass   = "class"    // many uses, until it ends
	ForHub     = "hub"      // one use, 15 minutes, for another server
	ForClaim   = "claim"    // one use, makes an unclaimed server somebody's
)

const (
	shortLife = 15 * time.Minute
	classLife = 31 * 24 * time.Hour // at most
	claimLife = 100 * 365 * 24 * time.Hour
	keptAfter = 24 * time.Hour // a retry of a cut answer finds its code that long
	ClassMost = 1000           // phones
)

// An Invite lets phones into a studio until it ends or is used up. The code
// itself is nowhere kept: Hash is.
type Invite struct {
	Hash     Hash
	ID       ops.ID // names it where the code may not be shown
	Kind     string
	Studio   ops.ID // zero: the first studio there is
	Person   ops.ID // of kind my-phone: whose phone it is to be
	Role     Role
	By       ops.ID // the person who made it; zero: the server's own shell or start
	MadeMS   int64
	EndsMS   int64    // UTC milliseconds
	Most     int      // phones it may let in
	Loopback bool     // only for callers on the server's own machine
	Used     []ops.ID // phones that it let in
}

// Check returns a fault of kind Denied when the invite no longer lets this phone in.
func (i Invite) Check(phone ops.ID, now time.Time) error {
	switch {
	case slices.Contains(i.Used, phone):
		return nil // the answer was lost on the way: the same again
	case now.UnixMilli() >= i.EndsMS:
		return fault.New(fault.Denied, "code", "This code ended. Ask for a new one.")
	case len(i.Used) >= i.Most:
		return fault.New(fault.Denied, "code", "This code was used. Ask for a new one.")
	}
	return nil
}

// alphabet has none of what the eye takes for another: 0 O Q, 1 I L, 8 B; and of 2 Z, 5 S, 6 G, U V only one.
const alphabet = "234579ACDEFGHJKMNPRTVWXY"

const codeLength = 8 // 24^8 = 1.1e11 codes

// A Hash stands for a code in the store.
type Hash = ops.Digest

// NewCode returns a random code as it is shown, "7KMW-2RTA".
func NewCode() string {
	var b strings.Builder
	for b.Len() < codeLength+1 {
		if b.Len() == codeLength/2 {
			b.WriteByte('-')
		}
		var r [1]byte
		rand.Read(r[:])
		if int(r[0]) < 256/len(alphabet)*len(alphabet) { // else some letters would come more often
			b.WriteByte(alphabet[int(r[0])%len(alphabet)])
		}
	}
	return b.String()
}

// HashCode reads a code as people type it: any case, with spaces or hyphens.
func HashCode(code string) (Hash, error) {
	if len(code) > 40 {
		return Hash{}, errCode()
	}
	plain := strings.NewReplacer(" ", "", "-", "").Replace(strings.ToUpper(code))
	if len(plain) != codeLength || strings.Trim(plain, alphabet) != "" {
		return Hash{}, errCode()
	}
	return sha256.Sum256([]byte("evenpull code\n" + plain)), nil
}

func errCode() error {
	return fault.New(fault.Denied, "code", "No such code. Look at it again, or ask for a new one.")
}
