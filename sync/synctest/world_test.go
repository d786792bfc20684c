package synctest

import (
	"fmt"
	"os"
	"reflect"
	"strconv"
	"strings"
	"testing"
)

// seeds is how many worlds a run plays: 200, or EVENPULL_SEEDS of the long tier. Under the
// race detector, which has little to find where all is done in one thread, a few.
func seeds(t *testing.T) uint64 {
	text := os.Getenv("EVENPULL_SEEDS")
	if text == "" && raced {
		return 10
	}
	if text == "" {
		return 200
	}
	n, err := strconv.ParseUint(text, 10, 32)
	if err != nil || n == 0 {
		t.Fatalf("EVENPULL_SEEDS=%q is not a number of seeds", text)
	}
	return n
}

func TestNothingIsLost(t *testing.T) {
	var all Counts
	failed := 0
	for seed := range seeds(t) {
		w := NewWorld(seed, strings.Fields(os.Getenv("EVENPULL_CALM"))...)
		err := run(w)
		all.Add(w.Counts)
		if err != nil {
			if failed++; failed < 6 {
				t.Errorf("seed %d: %v", seed, err)
			}
			if os.Getenv("EVENPULL_FIRST") != "" { // one is enough, see breaktest
				return
			}
		}
	}
	if failed > 0 {
		t.Errorf("%d seeds failed", failed)
	}
	t.Logf("%+v", all)
	if raced { // so few need not meet all there is
		return
	}
	fmt.Printf("simulated seeds met %+v\n", all)
	v := reflect.ValueOf(all)
	for i := range v.NumField() {
		if v.Field(i).Int() == 0 {
			t.Errorf("no run met %s: this proves nothing about it", v.Type().Field(i).Name)
		}
	}
}

// TestOnce plays worlds in which nobody goes on under another name: however often
// a request or an answer is lost or comes again, each value is there once.
func TestOnce(t *testing.T) {
	var all Counts
	for seed := range min(seeds(t), 60) {
		w := NewWorld(seed, "roam", "clone", "restore")
		if err := run(w); err != nil {
			t.Errorf("seed %d: %v", seed, err)
		}
		all.Add(w.Counts)
	}
	if all.Drops == 0 || all.Repeats == 0 || all.Writes == 0 {
		t.Errorf("nothing was lost or came again: %+v", all)
	}
}

func run(w *World) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("panic: %v", p)
		}
	}()
	return w.Run(150)
}
