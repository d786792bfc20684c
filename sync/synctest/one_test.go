package synctest

import (
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"
)

// TestOneSeed plays the seed in EVENPULL_SEED alone, with its trace.
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
}
