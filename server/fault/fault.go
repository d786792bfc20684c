// Package fault holds the kinds of refusal that the program acts on, nothing else.
package fault

import (
	"errors"
	"fmt"
	"time"
)

// A Kind says what the caller can do about a refusal.
type Kind int

// Internal is the zero value: nobody classified it, so it is ours, logged and never shown.
const (
	Internal        Kind = iota
	Invalid              // the input is wrong: change it
	Unauthenticated      // sign in, then again
	Denied               // signed in or not, there is no right
	NotFound
	Conflict // right in itself, at odds with what is there
	TooLarge
	TooMany     // wait, then again
	Unavailable // our trouble, and it may pass
	TooOld      // of a format that is not understood here
	Full        // unavailable, because the disk is full: what only reads goes on
)

var names = [...]string{"internal", "invalid", "unauthenticated", "denied", "not-found", "conflict", "too-large", "too-many", "unavailable", "too-old", "unavailable"}

// String is the kind as it stands on the wire. There Full is told by its status only.
func (k Kind) String() string { return names[k] }

// An Error is a refusal that a person may read.
type Error struct {
	Kind  Kind
	Field string        // the input at fault, or ""
	Text  string        // shown when the client has no words of its own for this kind and field
	After time.Duration // with TooMany: when to try again
}

func (e *Error) Error() string { return e.Text }

// New returns an Error with a formatted text.
func New(k Kind, field, format string, args ...any) *Error {
	return &Error{Kind: k, Field: field, Text: fmt.Sprintf(format, args...)}
}

// Is reports whether err is, or wraps, an Error of that kind. An error that nobody classified is Internal.
func Is(err error, k Kind) bool {
	var e *Error
	if errors.As(err, &e) {
		return e.Kind == k
	}
	return err != nil && k == Internal
}
