// Package account knows people, phones, invites and roles: who may do what. It
// keeps nothing itself; where tables are needed, a Tx is handed in.
package account

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"evenpull/server/fault"
)

// A Role is what a person may do in one studio: all or nothing, no part of it is hidden from anyone in it.
type Role string

const (
	Keeper   Role = "keeper"   // writes, invites, ends, purges
	Operator Role = "operator" // writes
	Guest    Role = "guest"    // reads
)

// Hub is what another server may do that carries a studio's ops both ways: all
// that the phones near it may, and nothing of its own. No person has this role.
const Hub Role = "hub"

// rank orders roles by what they may do; an unknown role may do nothing.
func (r Role) rank() int {
	switch r {
	case Keeper:
		return 3
	case Operator:
		return 2
	case Guest:
		return 1
	}
	return 0
}

// Less reports whether r may do less than another role.
func (r Role) Less(o Role) bool { return r.rank() < o.rank() }

// Known reports whether r is a role that a person may have.
func (r Role) Known() bool { return r.rank() > 0 }

// Reads reports whether the studio is open to this role.
func (r Role) Reads() bool { return r.Known() || r == Hub }

// Writes reports whether ops of this role are taken.
func (r Role) Writes() bool { return r == Keeper || r == Operator || r == Hub }

// Purges reports whether what this role's purges name is taken away.
func (r Role) Purges() bool { return r == Keeper || r == Hub }

const maxName = 80 // code points; ours, so that names fit on a phone

// Name checks what a person calls themselves, a phone or a studio. The fault names the field.
func Name(field, s string) (string, error) {
	s = strings.TrimSpace(s)
	if s == "" || utf8.RuneCountInString(s) > maxName || !utf8.ValidString(s) || strings.ContainsFunc(s, unicode.IsControl) {
		return "", fault.New(fault.Invalid, field, "Give a name of 1 to %d characters in one line.", maxName)
	}
	return s, nil
}
