// Package clock stamps what a replica writes: a hybrid logical clock of two
// integers. Stamps are for showing and for naming the first of two, never for
// correctness. The algorithm is that of Kulkarni, Demirbas, Madappa, Avva and
// Leone, "Logical Physical Clocks" (2014), with a bounded count.
package clock

import (
	"encoding/json"
	"fmt"
	"math"
)

// MaxAheadMS is how far ahead of the local clock a foreign stamp may be and
// still move it: 5 minutes. One further ahead is stored as it is and marked.
const MaxAheadMS = 5 * 60 * 1000

// MaxMS is the largest millisecond a stamp may hold, 2^53−1: every number of
// the format is exact in a browser too.
const MaxMS = 1<<53 - 1

// A Stamp is UTC milliseconds since 1970 and a count within that millisecond.
// On the wire it is the array [ms, count].
type Stamp struct {
	MS    int64
	Count uint16
}

// Compare returns -1, 0 or +1 as s lies before, at or after t.
func (s Stamp) Compare(t Stamp) int {
	switch {
	case s.MS < t.MS || s.MS == t.MS && s.Count < t.Count:
		return -1
	case s == t:
		return 0
	}
	return 1
}

// MarshalJSON writes [ms,count].
func (s Stamp) MarshalJSON() ([]byte, error) {
	return fmt.Appendf(nil, "[%d,%d]", s.MS, s.Count), nil
}

// UnmarshalJSON reads [ms,count] and refuses what is out of range.
func (s *Stamp) UnmarshalJSON(b []byte) error {
	var pair []int64
	if err := json.Unmarshal(b, &pair); err != nil {
		return fmt.Errorf("stamp: %w", err)
	}
	if len(pair) != 2 || pair[0] < 0 || pair[0] > MaxMS || pair[1] < 0 || pair[1] > math.MaxUint16 {
		return fmt.Errorf("stamp: %s is not [milliseconds, count]", b)
	}
	*s = Stamp{MS: pair[0], Count: uint16(pair[1])}
	return nil
}

// A Clock is a value. Next and Seen return the advanced clock; a caller whose
// batch fails keeps the old one, so a refused op never moves time.
type Clock struct{ Last Stamp }

// Next stamps a new event. nowMS is wall time in milliseconds since 1970 UTC; it
// may step back, the stamp never does. A full count moves the stamp 1 ms ahead.
func (c Clock) Next(nowMS int64) (Stamp, Clock) {
	s := Stamp{MS: max(nowMS, c.Last.MS)}
	switch {
	case s.MS != c.Last.MS:
	case c.Last.Count == math.MaxUint16:
		s.MS++
	default:
		s.Count = c.Last.Count + 1
	}
	return s, Clock{Last: s}
}

// Seen takes in a foreign stamp, so that what is written next lies after what
// was read. skewed says that the stamp is more than MaxAheadMS ahead of nowMS;
// such a stamp does not move the clock.
func (c Clock) Seen(s Stamp, nowMS int64) (next Clock, skewed bool) {
	if s.MS > nowMS+MaxAheadMS {
		return c, true
	}
	if s.Compare(c.Last) > 0 {
		return Clock{Last: s}, false
	}
	return c, false
}
