package ops

import (
	"bytes"
	"errors"
	"strings"
	"unicode/utf8"
)

// The one JSON of the format: no white space, keys in UTF-8 byte order without
// repetition, shortest escapes, integers within ±(2^53−1), well-formed UTF-8.
// A strict scanner rather than encoding/json: what is signed for by a digest
// must have one spelling, and ten thousand ops must pass in milliseconds.

var errNotCanonical = errors.New("not the one JSON of the format")

type scanner struct {
	b []byte
	i int
}

func (s *scanner) take(c byte) bool {
	if s.i < len(s.b) && s.b[s.i] == c {
		s.i++
		return true
	}
	return false
}

func (s *scanner) literal(word string) bool {
	if bytes.HasPrefix(s.b[s.i:], []byte(word)) {
		s.i += len(word)
		return true
	}
	return false
}

// value skips one value of at most depth levels.
func (s *scanner) value(depth int) error {
	if depth < 0 || s.i >= len(s.b) {
		return errNotCanonical
	}
	switch c := s.b[s.i]; {
	case c == '"':
		_, err := s.text()
		return err
	case c == '{':
		return s.object(func(string) error { return s.value(depth - 1) })
	case c == '[':
		return s.array(func() error { return s.value(depth - 1) })
	case c == 't' && s.literal("true"), c == 'f' && s.literal("false"), c == 'n' && s.literal("null"):
		return nil
	case c == '-' || c >= '0' && c <= '9':
		_, err := s.integer()
		return err
	}
	return errNotCanonical
}

func (s *scanner) object(field func(key string) error) error {
	if !s.take('{') {
		return errNotCanonical
	}
	if s.take('}') {
		return nil
	}
	last, first := "", true
	for {
		raw, err := s.text()
		if err != nil {
			return err
		}
		key := spelled(raw)
		if !first && key <= last || !s.take(':') {
			return errNotCanonical
		}
		last, first = key, false
		if err := field(key); err != nil {
			return err
		}
		if s.take('}') {
			return nil
		}
		if !s.take(',') {
			return errNotCanonical
		}
	}
}

func (s *scanner) array(item func() error) error {
	if !s.take('[') {
		return errNotCanonical
	}
	if s.take(']') {
		return nil
	}
	for {
		if err := item(); err != nil {
			return err
		}
		if s.take(']') {
			return nil
		}
		if !s.take(',') {
			return errNotCanonical
		}
	}
}

func (s *scanner) integer() (int64, error) {
	neg := s.take('-')
	start := s.i
	var v int64
	for s.i < len(s.b) && s.b[s.i] >= '0' && s.b[s.i] <= '9' {
		v = v*10 + int64(s.b[s.i]-'0')
		if v > MaxN {
			return 0, errNotCanonical
		}
		s.i++
	}
	digits := s.i - start
	if digits == 0 || digits > 1 && s.b[start] == '0' || neg && v == 0 {
		return 0, errNotCanonical
	}
	if s.i < len(s.b) && (s.b[s.i] == '.' || s.b[s.i] == 'e' || s.b[s.i] == 'E') {
		return 0, errNotCanonical
	}
	if neg {
		v = -v
	}
	return v, nil
}

const hexDigits = "0123456789abcdef"

var shortEscape = map[byte]byte{'"': '"', '\\': '\\', 'b': '\b', 'f': '\f', 'n': '\n', 'r': '\r', 't': '\t'}

// str reads a string and returns it decoded.
func (s *scanner) str() (string, error) {
	raw, err := s.text()
	return string(raw), err
}

// spelled returns the bytes as a string, for the words of the envelope without a new one.
func spelled(raw []byte) string {
	switch string(raw) {
	case "at":
		return "at"
	case "by":
		return "by"
	case "id":
		return "id"
	case "kind":
		return "kind"
	case "n":
		return "n"
	case "over":
		return "over"
	case "replica":
		return "replica"
	case "set":
		return "set"
	}
	return string(raw)
}

// text reads a string and returns its bytes decoded; they may be the scanner's own.
func (s *scanner) text() ([]byte, error) {
	if !s.take('"') {
		return nil, errNotCanonical
	}
	start := s.i
	for s.i < len(s.b) && s.b[s.i] != '"' && s.b[s.i] != '\\' && s.b[s.i] >= 0x20 {
		s.i++
	}
	if s.i < len(s.b) && s.b[s.i] == '"' { // the common case has no escape
		raw := s.b[start:s.i]
		s.i++
		if !utf8.Valid(raw) {
			return nil, errNotCanonical
		}
		return raw, nil
	}
	out := append([]byte(nil), s.b[start:s.i]...)
	for s.i < len(s.b) {
		c := s.b[s.i]
		s.i++
		switch {
		case c == '"':
			if !utf8.Valid(out) {
				return nil, errNotCanonical
			}
			return out, nil
		case c < 0x20:
			return nil, errNotCanonical
		case c != '\\':
			out = append(out, c)
		default:
			d, err := s.escape()
			if err != nil {
				return nil, err
			}
			out = append(out, d)
		}
	}
	return nil, errNotCanonical
}

func (s *scanner) escape() (byte, error) {
	if s.i >= len(s.b) {
		return 0, errNotCanonical
	}
	c := s.b[s.i]
	s.i++
	if d, ok := shortEscape[c]; ok {
		return d, nil
	}
	if c != 'u' || s.i+4 > len(s.b) || s.b[s.i] != '0' || s.b[s.i+1] != '0' {
		return 0, errNotCanonical
	}
	hi, lo := strings.IndexByte(hexDigits, s.b[s.i+2]), strings.IndexByte(hexDigits, s.b[s.i+3])
	if hi < 0 || hi > 1 || lo < 0 {
		return 0, errNotCanonical // only control characters are written so
	}
	d := byte(hi<<4 | lo)
	if strings.IndexByte("\b\f\n\r\t", d) >= 0 {
		return 0, errNotCanonical // those have a shorter spelling
	}
	s.i += 4
	return d, nil
}

// appendString writes a string of the format.
func appendString(b []byte, s string) []byte {
	b = append(b, '"')
	for i := 0; i < len(s); i++ {
		switch c := s[i]; {
		case c == '"' || c == '\\':
			b = append(b, '\\', c)
		case c >= 0x20:
			b = append(b, c)
		default:
			b = append(b, '\\')
			switch c {
			case '\b':
				b = append(b, 'b')
			case '\f':
				b = append(b, 'f')
			case '\n':
				b = append(b, 'n')
			case '\r':
				b = append(b, 'r')
			case '\t':
				b = append(b, 't')
			default:
				b = append(b, 'u', '0', '0', hexDigits[c>>4], hexDigits[c&15])
			}
		}
	}
	return append(b, '"')
}

// CanonicalValue reports whether raw is one value of the format.
func CanonicalValue(raw []byte) bool {
	s := scanner{b: raw}
	return s.value(MaxDepth) == nil && s.i == len(raw)
}
