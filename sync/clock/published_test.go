package clock

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"evenpull/sync/vectors"
)

// The published algorithm: what is received is taken in and then stamped. The
// values name their source; client/tools/check-values.ts runs the same for the twin.
func TestAgainstThePublishedAlgorithm(t *testing.T) {
	raw, err := os.ReadFile(filepath.Join(vectors.Root(t), "testdata", "published", "check-values.json"))
	if err != nil {
		t.Fatal(err)
	}
	var all []struct {
		ID, Calc      string
		Given, Expect json.RawMessage
	}
	if err := json.Unmarshal(raw, &all); err != nil {
		t.Fatal(err)
	}
	stamp := func(pair [2]int64) Stamp { return Stamp{pair[0], uint16(pair[1])} }
	played := 0
	for _, c := range all {
		if c.Calc != "hlc" {
			continue
		}
		var given struct {
			Start  [2]int64
			Events []struct {
				PT  int64
				Msg *[2]int64
			}
		}
		var want [][2]int64
		if err := json.Unmarshal(c.Given, &given); err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(c.Expect, &want); err != nil || len(want) != len(given.Events) {
			t.Fatal(c.ID, err)
		}
		at := Clock{Last: stamp(given.Start)}
		for i, e := range given.Events {
			if e.Msg != nil {
				at, _ = at.Seen(stamp(*e.Msg), e.PT)
			}
			var got Stamp
			if got, at = at.Next(e.PT); got != stamp(want[i]) {
				t.Errorf("%s, event %d: %v; want %v", c.ID, i+1, got, want[i])
			}
		}
		played++
	}
	if played < 8 {
		t.Errorf("%d published values of the clock", played)
	}
}
