package ops

import (
	"encoding/json"
	"testing"
)

func TestNamesOnTheWire(t *testing.T) {
	var (
		id    ID
		dot   Dot
		full  Digest
		short Short
		entry Entry
	)
	const hex32, hex64 = `0123456789abcdef0123456789abcdef`, `0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef`
	for _, c := range []struct {
		into any
		text string
		ok   bool
	}{
		{&id, `"` + hex32 + `"`, true}, {&id, `"` + hex32[1:] + `"`, false}, {&id, `"0123456789ABCDEF0123456789abcdef"`, false}, {&id, `"x123456789abcdef0123456789abcdef"`, false},
		{&dot, `"` + hex32 + `:1"`, true}, {&dot, `"` + hex32 + `:9007199254740991"`, true}, {&dot, `"` + hex32 + `:9007199254740992"`, false},
		{&dot, `"` + hex32 + `:0"`, false}, {&dot, `"` + hex32 + `:01"`, false}, {&dot, `"` + hex32 + `:"`, false}, {&dot, `"` + hex32 + `"`, false}, {&dot, `"` + hex32 + `:1x"`, false},
		{&full, `"` + hex64 + `"`, true}, {&full, `"` + hex32 + `"`, false}, {&full, `"` + hex64[2:] + `AB"`, false},
		{&short, `"0123456789abcdef"`, true}, {&short, `"0123456789ABCDEF"`, false}, {&short, `"01"`, false},
		{&entry, `[3,"0123456789abcdef"]`, true}, {&entry, `[3]`, false}, {&entry, `[-1,"0123456789abcdef"]`, false},
		{&entry, `[9007199254740992,"0123456789abcdef"]`, false}, {&entry, `[1,"0123456789abcdef",2]`, false},
	} {
		err := json.Unmarshal([]byte(c.text), c.into)
		if (err == nil) != c.ok {
			t.Errorf("%T from %s: %v", c.into, c.text, err)
			continue
		}
		if back, _ := json.Marshal(c.into); c.ok && string(back) != c.text {
			t.Errorf("%T from %s came back as %s", c.into, c.text, back)
		}
	}
}

// The links of both chains are fixed by the format; a change here would make every copy of today foreign.
func TestChains(t *testing.T) {
	r := ID{1}
	one := Chain(Digest{}, []byte("a"))
	if got := ForkName(r, one.Short()); got == r || got != ForkName(r, one.Short()) || got == ForkName(ID{2}, one.Short()) {
		t.Errorf("fork name %s", got)
	}
	a, b := ServerLink(Digest{}, Dot{r, 1}, one.Short()), ServerLink(Digest{}, Dot{r, 2}, one.Short())
	if a == b || a == ServerLink(a, Dot{r, 1}, one.Short()) || a == ServerLink(Digest{}, Dot{r, 1}, Short{}) {
		t.Error("a server's link does not tell its parts apart")
	}
}

func TestVectorRaise(t *testing.T) {
	v := Vector{{1}: {N: 3}, {2}: {N: 5}}
	w := v.Clone()
	w.Raise(Vector{{1}: {N: 4}, {2}: {N: 4}, {3}: {N: 1}})
	if w[ID{1}].N != 4 || w[ID{2}].N != 5 || w[ID{3}].N != 1 || v[ID{1}].N != 3 || len(v) != 2 {
		t.Errorf("raised to %v, from %v", w, v)
	}
	if !w.Has(Dot{ID{1}, 4}) || w.Has(Dot{ID{1}, 5}) || w.Has(Dot{ID{9}, 1}) {
		t.Error("Has")
	}
}
