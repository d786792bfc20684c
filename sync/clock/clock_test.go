package clock

import (
	"encoding/json"
	"testing"

	"pgregory.net/rapid"

	"evenpull/sync/vectors"
)

type clockCase struct {
	Name, Call string
	LastMS     int64
	LastCount  uint16
	NowMS      int64
	SeenMS     int64
	SeenCount  uint16
	WantMS     int64
	WantCount  uint16
	Skewed     bool
}

func TestClockVectors(t *testing.T) {
	for _, c := range vectors.Load[clockCase](t, "clock") {
		t.Run(c.Name, func(t *testing.T) {
			before := Clock{Last: Stamp{c.LastMS, c.LastCount}}
			want := Stamp{c.WantMS, c.WantCount}
			switch c.Call {
			case "next":
				got, after := before.Next(c.NowMS)
				if got != want || after.Last != want {
					t.Errorf("Next(%d) = %+v, clock %+v; want %+v", c.NowMS, got, after.Last, want)
				}
			case "seen":
				after, skewed := before.Seen(Stamp{c.SeenMS, c.SeenCount}, c.NowMS)
				if after.Last != want || skewed != c.Skewed {
					t.Errorf("Seen = %+v, %v; want %+v, %v", after.Last, skewed, want, c.Skewed)
				}
			default:
				t.Fatalf("call %q", c.Call)
			}
		})
	}
}

// Whatever the wall clock does, what is written later is stamped later.
func TestNextGrows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var c Clock
		for range 40 {
			var s Stamp
			last := c.Last
			now := rapid.Int64Range(0, 200).Draw(t, "now")
			if rapid.Bool().Draw(t, "seen") {
				c, _ = c.Seen(Stamp{rapid.Int64Range(0, 400_000).Draw(t, "ms"), rapid.Uint16Range(65_530, 65_535).Draw(t, "count")}, now)
				if c.Last.Compare(last) < 0 {
					t.Fatalf("the clock went back from %v to %v", last, c.Last)
				}
				continue
			}
			if s, c = c.Next(now); s.Compare(last) <= 0 {
				t.Fatalf("%v after %v", s, last)
			}
		}
	})
}

func TestStampOnTheWire(t *testing.T) {
	for text, ok := range map[string]bool{
		`[0,0]`: true, `[9007199254740991,65535]`: true, `[9007199254740992,0]`: false, `[-1,0]`: false,
		`[1,65536]`: false, `[1,-1]`: false, `[1]`: false, `[1,2,3]`: false, `[1.5,0]`: false, `{"ms":1}`: false, `"x"`: false,
	} {
		var s Stamp
		err := json.Unmarshal([]byte(text), &s)
		if (err == nil) != ok {
			t.Errorf("%s: %v", text, err)
			continue
		}
		if back, _ := json.Marshal(s); ok && string(back) != text {
			t.Errorf("%s came back as %s", text, back)
		}
	}
}
