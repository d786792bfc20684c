package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
)

// A figure is one measured number, beside what it should stay below and the
// floor of the same run.
type figure struct {
	Name  string  `json:"name"`
	Value float64 `json:"value"`
	Unit  string  `json:"unit"`
	Limit float64 `json:"limit,omitempty"` // 0: none was set
	Floor float64 `json:"floor,omitempty"` // 0: none fits
	Of    string  `json:"floorOf,omitempty"`
}

type report struct {
	Figures []figure `json:"figures"`
	out     io.Writer
}

func (r *report) add(f figure) {
	r.Figures = append(r.Figures, f)
	line := fmt.Sprintf("%-58s %9s %-3s", f.Name, short(f.Value), f.Unit)
	if f.Limit > 0 {
		mark := "ok"
		if f.Value > f.Limit {
			mark = "OVER"
		}
		line += fmt.Sprintf("  ≤ %-7s %-4s", short(f.Limit), mark)
	} else if f.Floor > 0 {
		line += fmt.Sprintf("%16s", "")
	}
	if f.Floor > 0 {
		line += fmt.Sprintf("  %6.1f × %s (%s)", f.Value/f.Floor, f.Of, short(f.Floor))
	}
	fmt.Fprintln(r.out, line)
}

func short(v float64) string {
	if v >= 100 {
		return fmt.Sprintf("%.0f", v)
	}
	return fmt.Sprintf("%.3g", v)
}

func (r *report) save(name string) error {
	raw, err := json.MarshalIndent(r, "", "  ")
	if err != nil {
		return err
	}
	return os.WriteFile(name, append(raw, '\n'), 0o644)
}

func (r *report) over() (names []string) {
	for _, f := range r.Figures {
		if f.Limit > 0 && f.Value > f.Limit {
			names = append(names, f.Name)
		}
	}
	return names
}

const mb = 1e6

func median(v []float64) float64 {
	return percentile(v, 0.5)
}

// percentile of sorted values.
func percentile(v []float64, p float64) float64 {
	if len(v) == 0 {
		return math.MaxFloat64 // nothing was measured: over any limit
	}
	s := slices.Sorted(slices.Values(v))
	return s[min(int(float64(len(s))*p), len(s)-1)]
}
