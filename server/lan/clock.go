package lan

import "time"

// A Clock never stands below a time that was surely reached: a small computer
// without a battery starts years ago, and phones would take none of the
// certificates that it makes then.
type Clock struct {
	least   time.Time
	system  func() time.Time
	elapsed func() time.Duration
}

// NewClock returns this machine's clock, and least, and what passed since, where the machine is behind.
func NewClock(least time.Time) *Clock {
	start := time.Now() // elapsed reads its monotonic part: setting the machine's clock does not touch it
	return &Clock{least, time.Now, func() time.Duration { return time.Since(start) }}
}

// Now is the later of the machine's clock and of what was surely reached.
func (c *Clock) Now() time.Time {
	now, least := c.system().Round(0), c.least.Add(c.elapsed())
	if now.Before(least) {
		return least
	}
	return now
}

// Behind reports whether the machine's clock is behind by more than a minute.
func (c *Clock) Behind() bool { return c.Now().Sub(c.system()) > time.Minute }
