package synctest

import (
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"
)

// TestOneSeed plays the seed in EVENPULL_SEED alone: with EVENPULL_TRACE its
// trace is told, with EVENPULL_SCRIPT it is written as a script, of which that says what it shows.
func TestOneSeed(t *testing.T) {
	text := os.Getenv("EVENPULL_SEED")
	if text == "" {
		text = "0"
	}
	seed, err := strconv.ParseUint(text, 10, 64)
	if err != nil {
		t.Fatal(err)
	}
	w := NewWorld(seed, strings.Fields(os.Getenv("EVENPULL_CALM"))...)
	if os.Getenv("EVENPULL_TRACE") != "" {
		w.trace = w.watch(func(format string, a ...any) { fmt.Printf(format+"\n", a...) })
	}
	if err := run(w); err != nil {
		t.Error(err)
	}
	if about := os.Getenv("EVENPULL_SCRIPT"); about != "" {
		script := w.Script(about)
		out, _, err := Play(script, nil)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Print(script, strings.Join(out, "\n"), "\n")
	}
}
