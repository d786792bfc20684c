package ops

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"

	"evenpull/sync/clock"
)

// Limits of the format. They are constants and never configuration: every
// server refuses the same bytes for good.
const (
	Format        = 1
	MaxOpBytes    = 64 << 10
	MaxBatchOps   = 5000
	MaxBatchBytes = 8 << 20 // inflated
	MaxGzipBytes  = 1 << 20
	MaxDepth      = 8
	MaxFields     = 256
	MaxOver       = 256 // dots of one field
	MaxNoteUnits  = 20000
	MaxNoteBytes  = 48 << 10 // as written in the op, escapes counted
	MaxPhotoBytes = 1500 * 1000
)

// An Op is one write by one replica: it sets fields of one record and names,
// for each, the dots its writer saw there and replaces.
type Op struct {
	Replica ID
	N       uint64
	At      clock.Stamp
	By      string // the person, 32 hex digits, or ""
	Kind    string
	ID      ID
	Set     map[string]json.RawMessage
	Over    map[string][]Dot
	raw     []byte
}

// Dot returns the op's name.
func (o Op) Dot() Dot { return Dot{o.Replica, o.N} }

// Bytes returns the bytes the op was read from or written to. They are kept
// and relayed, never encoded again.
func (o Op) Bytes() []byte { return o.raw }

// Spelled returns the op as if it had been read from raw: what a program that
// spells ops otherwise than this one would send.
func (o Op) Spelled(raw []byte) Op {
	o.raw = raw
	return o
}

// Refusals for good, told to the writer and kept in a void.
const (
	Malformed  = "malformed"
	TooLarge   = "too-large"
	ServerOnly = "server-only"
	PurgeOver  = "purge-over"
)

// A Refused op is one that no server takes, ever.
type Refused struct{ Reason string }

func (r *Refused) Error() string { return "op refused for good: " + r.Reason }

// Parse reads one op. The error is a *Refused; the op then holds what could be
// read of its envelope, so that a void can stand in its place.
func Parse(raw []byte) (Op, error) {
	o := Op{raw: raw}
	if len(raw) > MaxOpBytes {
		return o, &Refused{TooLarge}
	}
	s := &scanner{b: raw}
	seen := 0
	err := s.object(func(key string) error { seen++; return o.field(s, key) })
	if err != nil || s.i != len(raw) || seen != 8 {
		return o, &Refused{Malformed}
	}
	for f := range o.Over {
		if _, ok := o.Set[f]; !ok {
			return o, &Refused{Malformed} // it would replace values and put none there
		}
	}
	return o, nil
}

func (o *Op) field(s *scanner, key string) (err error) {
	var text []byte
	var num int64
	switch key {
	case "at":
		var pair [2]int64
		count := 0
		err = s.array(func() error { num, err := s.integer(); pair[min(count, 1)] = num; count++; return err })
		if err == nil && (count != 2 || pair[0] < 0 || pair[1] < 0 || pair[1] > 65535) {
			err = errNotCanonical
		}
		if err == nil {
			o.At = clock.Stamp{MS: pair[0], Count: uint16(pair[1])}
		}
	case "by":
		o.By, err = s.str()
		if err == nil && o.By != "" {
			var id ID
			err = id.UnmarshalText([]byte(o.By))
		}
	case "id":
		if text, err = s.text(); err == nil {
			err = lowerHex(o.ID[:], text)
		}
	case "kind":
		var word string
		if word, err = s.str(); err == nil && !Word(word, 32, false) {
			err = errNotCanonical
		}
		if err == nil {
			o.Kind = word
		}
	case "n":
		if num, err = s.integer(); err == nil && num < 1 {
			err = errNotCanonical
		}
		o.N = uint64(max(num, 0))
	case "over":
		o.Over = map[string][]Dot{}
		err = s.object(func(f string) error { return o.overField(s, f) })
	case "replica":
		if text, err = s.text(); err == nil {
			err = lowerHex(o.Replica[:], text)
		}
	case "set":
		o.Set = map[string]json.RawMessage{}
		err = s.object(func(f string) error {
			start := s.i
			if !Word(f, 64, true) || len(o.Set) == MaxFields {
				return errNotCanonical
			}
			err := s.value(MaxDepth)
			o.Set[f] = s.b[start:s.i]
			return err
		})
		if err == nil && len(o.Set) == 0 {
			err = errNotCanonical
		}
	default:
		err = errNotCanonical
	}
	return err
}

func (o *Op) overField(s *scanner, f string) error {
	var dots []Dot
	err := s.array(func() error {
		text, err := s.text()
		if err != nil {
			return err
		}
		d, err := ParseDot(string(text))
		if err != nil || len(dots) == MaxOver {
			return errNotCanonical
		}
		dots = append(dots, d)
		return nil
	})
	if err != nil || len(dots) == 0 || !Word(f, 64, true) {
		return errNotCanonical
	}
	o.Over[f] = dots
	return nil
}

// Word reports whether s is a name of the format: letters, and digits where allowed, at most `most` of them.
func Word(s string, most int, digits bool) bool {
	for i := 0; i < len(s); i++ {
		c := s[i]
		if !(c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || digits && c >= '0' && c <= '9') {
			return false
		}
	}
	return s != "" && len(s) <= most
}

// Encode writes the op's bytes and returns it with them. Values in Set must be
// canonical already (CanonicalValue); the error is what Parse would refuse.
func Encode(o Op) (Op, error) {
	b := make([]byte, 0, 256)
	b = fmt.Appendf(b, `{"at":[%d,%d],"by":%q,"id":%q,"kind":%q,"n":%d,"over":{`, o.At.MS, o.At.Count, o.By, o.ID, o.Kind, o.N)
	for i, f := range sortedKeys(o.Over) {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(appendString(b, f), ':', '[')
		for j, d := range o.Over[f] {
			if j > 0 {
				b = append(b, ',')
			}
			b = strconv.AppendQuote(b, d.String())
		}
		b = append(b, ']')
	}
	b = fmt.Appendf(b, `},"replica":%q,"set":{`, o.Replica)
	for i, f := range sortedKeys(o.Set) {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(appendString(b, f), ':')
		b = append(b, o.Set[f]...)
	}
	b = append(b, '}', '}')
	return Parse(b)
}

// String returns a canonical string value.
func String(s string) json.RawMessage { return appendString(nil, s) }

// Canonical writes any JSON value in the format's one spelling.
func Canonical(v any) (json.RawMessage, error) {
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, err
	}
	dec := json.NewDecoder(&buf)
	dec.UseNumber()
	var tree any
	if err := dec.Decode(&tree); err != nil {
		return nil, err
	}
	b := appendTree(nil, tree)
	if !CanonicalValue(b) {
		return nil, &Refused{Malformed}
	}
	return b, nil
}

func appendTree(b []byte, v any) []byte {
	switch v := v.(type) {
	case nil:
		return append(b, "null"...)
	case bool:
		return strconv.AppendBool(b, v)
	case string:
		return appendString(b, v)
	case json.Number:
		return append(b, v.String()...)
	case []any:
		b = append(b, '[')
		for i, e := range v {
			if i > 0 {
				b = append(b, ',')
			}
			b = appendTree(b, e)
		}
		return append(b, ']')
	case map[string]any:
		b = append(b, '{')
		for i, k := range sortedKeys(v) {
			if i > 0 {
				b = append(b, ',')
			}
			b = append(appendString(b, k), ':')
			b = appendTree(b, v[k])
		}
		return append(b, '}')
	}
	return b
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
