// Bench measures the built server from outside, as phones use it, beside the
// floors of the same run. npm run bench prints a table and writes JSON.
package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"evenpull/server/drive"
)

type bench struct {
	report
	binary string
}

// studio is what W1 and W2 fall on: 1,000 records of 8 fields.
var studio = shape{changes: 10_000, records: 1_000, fields: 8}

func main() {
	only := flag.String("only", "", "names of parts with commas between: w1, w1new, w3, w4, nothing, thousand, hall")
	save := flag.String("json", "", "file for the figures as JSON")
	binary := flag.String("binary", "", "a program built already")
	runs := flag.Int("runs", 5, "how often W1 and W2 are run; the median is shown")
	flag.Parse()
	if err := run(*only, *save, *binary, *runs); err != nil {
		fmt.Fprintf(os.Stderr, "bench: %v\n", err)
		os.Exit(1)
	}
}

func run(only, save, binary string, runs int) error {
	if binary == "" {
		folder, err := os.MkdirTemp("", "evenpull-bench-program-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(folder)
		if binary, err = drive.Build(folder, "bench"); err != nil {
			return err
		}
	}
	binary, err := filepath.Abs(binary)
	if err != nil {
		return err
	}
	b := &bench{report{out: os.Stdout}, binary}
	parts := []struct {
		name string
		run  func() error
	}{
		{"w1", func() error {
			return b.oneWriter("W1/W2, 10,000 changes", studio, runs, limits{up: 100, upMB: 0.45, upSlow: 1.2, down: 60, downMB: 0.40, downSlow: 0.7}, true)
		}},
		{"w1new", func() error {
			return b.oneWriter("10,000, each a new record", shape{changes: 10_000, fields: 8}, runs, limits{}, false)
		}},
		{"w3", func() error {
			return b.oneWriter("W3, 100,000 changes", shape{changes: 100_000, records: 10_000, fields: 8}, 3,
				limits{up: 800, down: 500, downMB: 4, diskMB: 10, memMB: 80}, true)
		}},
		{"w300", func() error { // by name only: minutes on a small machine
			return b.oneWriter("300,000 changes", shape{changes: 300_000, records: 30_000, fields: 8}, 1, limits{}, false)
		}},
		{"w4", b.conflicts},
		{"nothing", b.nothing},
		{"thousand", b.thousand},
		{"hall", b.hall},
	}
	for _, p := range parts {
		if only == "" && p.name == "w300" || only != "" && !strings.Contains(","+only+",", ","+p.name+",") {
			continue
		}
		if err := p.run(); err != nil {
			return err
		}
	}
	if save != "" {
		if err := b.save(save); err != nil {
			return err
		}
	}
	if over := b.over(); len(over) > 0 {
		fmt.Printf("\n%d figures are over their limit on this machine, now.\n", len(over))
	}
	return nil
}
