package ops

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"evenpull/sync/clock"
	"evenpull/sync/vectors"
)

type opCase struct {
	Name  string
	Text  string
	Fill  []any // a string and how often it stands for @@ in the text
	Prev  *Digest
	Value json.RawMessage
	Want  string
	Chain *Digest
}

func (c opCase) text() string {
	if c.Fill == nil {
		return c.Text
	}
	return strings.Replace(c.Text, "@@", strings.Repeat(c.Fill[0].(string), int(c.Fill[1].(float64))), 1)
}

// outcome is "ok" or the reason of the refusal.
func outcome(t *testing.T, err error) string {
	t.Helper()
	var refused *Refused
	switch {
	case err == nil:
		return "ok"
	case errors.As(err, &refused):
		return refused.Reason
	}
	t.Fatalf("an error that is no refusal: %v", err)
	return ""
}

func TestOpVectors(t *testing.T) {
	for _, c := range vectors.Load[opCase](t, "ops") {
		t.Run(c.Name, func(t *testing.T) {
			text := c.text()
			if c.Value != nil {
				got, err := Canonical(c.Value)
				if out := outcome(t, err); out != c.Want {
					t.Fatalf("written: %s; want %s", out, c.Want)
				}
				if c.Want == "ok" && string(got) != text {
					t.Errorf("wrote %s; want %s", got, text)
				}
				return
			}
			op, err := Parse([]byte(text))
			if out := outcome(t, err); out != c.Want {
				t.Fatalf("read: %s; want %s", out, c.Want)
			}
			if c.Want != "ok" {
				return
			}
			again, err := Encode(op)
			if err != nil || string(again.Bytes()) != text || string(op.Bytes()) != text {
				t.Errorf("written again: %v\n%s\nwant\n%s", err, again.Bytes(), text)
			}
			if c.Chain != nil {
				var prev Digest
				if c.Prev != nil {
					prev = *c.Prev
				}
				if got := Chain(prev, op.Bytes()); got != *c.Chain {
					t.Errorf("chain %s; want %s", got, c.Chain)
				}
			}
		})
	}
}

const plain = `{"at":[1764072000000,0],"by":"","id":"00112233445566778899aabbccddeeff","kind":"note","n":1,"over":{"text":["ffeeddccbbaa99887766554433221100:9"]},"replica":"0123456789abcdef0123456789abcdef","set":{"text":"hi"}}`

// A void stands in the place of a refused op, so what could be read of its envelope is told.
func TestRefusalTellsTheEnvelope(t *testing.T) {
	for name, raw := range map[string]string{
		"a value with a fraction": strings.Replace(plain, `"hi"`, `1.5`, 1),
		"a field over, not set":   strings.Replace(plain, `"set":{"text"`, `"set":{"other"`, 1),
		"cut short":               plain[:len(plain)-2],
	} {
		op, err := Parse([]byte(raw))
		if outcome(t, err) != Malformed {
			t.Fatalf("%s: %v", name, err)
		}
		if op.Kind != "note" || op.N != 1 || op.ID.String() != "00112233445566778899aabbccddeeff" || len(op.Over["text"]) != 1 {
			t.Errorf("%s: envelope %+v", name, op)
		}
	}
}

// What stands in the envelope's place of a kind or an id, and is none, goes no further: a void is handed on to everybody.
func TestRefusalTellsNothingThatIsNoEnvelope(t *testing.T) {
	for name, raw := range map[string]string{
		"a kind of two words": strings.Replace(plain, `"note"`, `"two words"`, 1),
		"an id that is none":  strings.Replace(plain, `"00112233445566778899aabbccddeeff"`, `"0011"`, 1),
		"dots of no field":    strings.Replace(plain, `"over":{"text"`, `"over":{"te xt"`, 1),
	} {
		op, err := Parse([]byte(raw))
		if outcome(t, err) != Malformed {
			t.Fatalf("%s: %v", name, err)
		}
		if op.Kind != "" && op.Kind != "note" || op.ID != (ID{}) && op.ID.String() != "00112233445566778899aabbccddeeff" || len(op.Over) > 0 && op.Over["text"] == nil {
			t.Errorf("%s: envelope %+v", name, op)
		}
	}
}

// Bytes that are no UTF-8 can't stand in a file of vectors.
func TestTextIsWellFormed(t *testing.T) {
	for name, text := range map[string]string{
		"a loose byte":                "a\xff",
		"a cut character":             "a\xe2\x82",
		"a surrogate as three bytes":  "\xed\xa0\x80",
		"a longer spelling of a byte": "\xc0\xaf",
		"one behind an escape":        "\\n\xff",
	} {
		_, err := Parse([]byte(strings.Replace(plain, `"hi"`, `"`+text+`"`, 1)))
		if out := outcome(t, err); out != Malformed {
			t.Errorf("%s: %s; want malformed", name, out)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(plain))
	f.Add([]byte(strings.Replace(plain, `"hi"`, `{"a":[1,-2,null,true,"\u0001\n\"\\é𝄞"]}`, 1)))
	f.Add([]byte(strings.Replace(plain, `"hi"`, `"\ud800"`, 1)))
	f.Add([]byte(`{"void":{}}`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		op, err := Parse(raw)
		if err != nil {
			if out := outcome(t, err); out != Malformed && out != TooLarge {
				t.Fatalf("refused as %s", out)
			}
			return
		}
		if !json.Valid(raw) {
			t.Fatal("took what is no JSON")
		}
		again, err := Encode(op)
		if err != nil || !bytes.Equal(again.Bytes(), raw) {
			t.Fatalf("two spellings: %v\n%s\n%s", err, raw, again.Bytes())
		}
		for name, value := range op.Set {
			if one, err := Canonical(value); err != nil || !bytes.Equal(one, value) {
				t.Fatalf("field %s: %s is also %s (%v)", name, value, one, err)
			}
		}
	})
}

// What is written is read back as it was, whatever stands in the strings.
func TestEncodeParse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := Op{N: rapid.Uint64Range(1, MaxN).Draw(t, "n"), At: clock.Stamp{MS: rapid.Int64Range(0, MaxN).Draw(t, "ms"), Count: rapid.Uint16().Draw(t, "count")},
			Kind: rapid.StringMatching(`[a-zA-Z]{1,32}`).Draw(t, "kind"), Set: map[string]json.RawMessage{}, Over: map[string][]Dot{}}
		for range rapid.IntRange(1, 5).Draw(t, "fields") {
			f := rapid.StringMatching(`[a-zA-Z0-9]{1,64}`).Draw(t, "field")
			want.Set[f] = String(rapid.String().Draw(t, "text"))
			if rapid.Bool().Draw(t, "replaces") {
				want.Over[f] = []Dot{{N: rapid.Uint64Range(1, MaxN).Draw(t, "over")}}
			}
		}
		written, err := Encode(want)
		if err != nil {
			t.Fatal(err)
		}
		got, err := Parse(written.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		if a, b := fmt.Sprintf("%+v", got), fmt.Sprintf("%+v", written); a != b {
			t.Fatalf("read %s\nwrote %s", a, b)
		}
	})
}

// Parsing is one pass: a byte of a long op costs about what a byte of a short one
// does. The two are measured in one run, so that a busy machine changes neither
// against the other; ten times tells one pass from one per byte.
func TestParseIsOnePass(t *testing.T) {
	short := []byte(plain)
	op, err := Parse(short)
	if err != nil {
		t.Fatal(err)
	}
	for name := range op.Set {
		op.Set[name] = String(strings.Repeat("word ", 10_000))
		break
	}
	long, err := Encode(op)
	if err != nil {
		t.Fatal(err)
	}
	perByte := func(raw []byte, times int) float64 {
		best := math.Inf(1)
		for range 5 {
			start := time.Now()
			for range times {
				if _, err := Parse(raw); err != nil {
					t.Fatal(err)
				}
			}
			best = min(best, float64(time.Since(start))/float64(times*len(raw)))
		}
		return best
	}
	a, b := perByte(short, 2000), perByte(long.Bytes(), 20)
	t.Logf("%.1f ns a byte in %d bytes, %.1f in %d", a, len(short), b, len(long.Bytes()))
	if b > 10*a {
		t.Errorf("a byte of a long op costs %.1f times that of a short one", b/a)
	}
}

func BenchmarkParse(b *testing.B) {
	raw := []byte(plain)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Parse(raw); err != nil {
			b.Fatal(err)
		}
	}
}
