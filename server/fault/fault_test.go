package fault

import (
	"errors"
	"fmt"
	"testing"
)

func TestKindOf(t *testing.T) {
	wrapped := fmt.Errorf("join: %w", New(Denied, "code", "no such code"))
	for _, c := range []struct {
		name string
		err  error
		kind Kind
		want bool
	}{
		{"wrapped", wrapped, Denied, true},
		{"another kind", wrapped, Internal, false},
		{"unclassified is ours", errors.New("disk"), Internal, true},
		{"unclassified is nothing else", errors.New("disk"), Invalid, false},
		{"no error has no kind", nil, Internal, false},
	} {
		if got := Is(c.err, c.kind); got != c.want {
			t.Errorf("%s: Is = %v; want %v", c.name, got, c.want)
		}
	}
}

func TestEveryKindHasAName(t *testing.T) {
	seen := map[string]bool{}
	for k := Internal; k <= TooOld; k++ {
		if name := k.String(); name == "" || seen[name] {
			t.Errorf("kind %d is called %q", k, name)
		} else {
			seen[name] = true
		}
	}
}
