package web

import (
	"bytes"
	"encoding/json"
)

// splitOps cuts the elements of the top-level array "ops" out of a request and
// returns the rest around them. Ops are read by the format's own scanner later;
// going over their bytes as JSON first would double the time of a large batch.
// ok is false, and rest the whole, where there is no such array or more than one.
// It stops after one element more than most.
func splitOps(raw []byte, most int) (rest []byte, list []json.RawMessage, ok bool) {
	s := splitter{raw, 0}
	if !s.take('{') {
		return raw, nil, false
	}
	from, to := -1, -1
	for !s.take('}') {
		key, good := s.text()
		if !good || !s.take(':') {
			return raw, nil, false
		}
		if string(key) == `"ops"` {
			if from >= 0 || !s.take('[') {
				return raw, nil, false
			}
			from = s.i
			for !s.take(']') {
				s.space()
				start := s.i
				if !s.skip() || len(list) > most {
					return raw, list, false
				}
				list = append(list, s.b[start:s.i:s.i])
				if !s.take(',') && s.peek() != ']' {
					return raw, nil, false
				}
			}
			to = s.i - 1
		} else if s.space(); !s.skip() {
			return raw, nil, false
		}
		if !s.take(',') && s.peek() != '}' {
			return raw, nil, false
		}
	}
	if from < 0 {
		return raw, nil, false
	}
	return append(bytes.Clone(raw[:from]), raw[to:]...), list, true
}

// A splitter finds where JSON values begin and end, without judging them.
type splitter struct {
	b []byte
	i int
}

func (s *splitter) space() {
	for s.i < len(s.b) && (s.b[s.i] == ' ' || s.b[s.i] == '\n' || s.b[s.i] == '\t' || s.b[s.i] == '\r') {
		s.i++
	}
}

// peek returns the next byte that is no space, 0 at the end.
func (s *splitter) peek() byte {
	if s.space(); s.i < len(s.b) {
		return s.b[s.i]
	}
	return 0
}

func (s *splitter) take(c byte) bool {
	if s.peek() != c {
		return false
	}
	s.i++
	return true
}

// text takes a string, quotes and all.
func (s *splitter) text() ([]byte, bool) {
	if s.peek() != '"' {
		return nil, false
	}
	start := s.i
	for s.i++; s.i < len(s.b); s.i++ {
		switch s.b[s.i] {
		case '"':
			s.i++
			return s.b[start:s.i], true
		case '\\':
			s.i++
		}
	}
	return nil, false
}

// skip goes over one value.
func (s *splitter) skip() bool {
	start, depth := s.i, 0
	for s.i < len(s.b) {
		switch s.b[s.i] {
		case '"':
			if _, ok := s.text(); !ok {
				return false
			}
			if depth == 0 {
				return true
			}
			continue
		case '{', '[':
			depth++
		case '}', ']':
			if depth == 0 {
				return s.i > start
			}
			if depth--; depth == 0 {
				s.i++
				return true
			}
		case ',', ' ', '\n', '\t', '\r':
			if depth == 0 {
				return s.i > start
			}
		}
		s.i++
	}
	return false
}
