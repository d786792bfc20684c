package synctest

import (
	"fmt"
	"slices"
	"strings"

	"evenpull/sync/merge"
)

// What must hold when all is quiet.

// heal gives every phone its right back and lets everyone exchange until nothing
// changes, then checks what must hold.
func (w *World) heal() error {
	w.phones = slices.DeleteFunc(w.phones, func(p *phone) bool { return p.gone })
	for _, p := range w.phones {
		p.may, p.keeps, p.late = true, true, nil
	}
	quiet, last := 0, ""
	for round := 0; quiet < 3; round++ {
		if round > 400 {
			return fmt.Errorf("no rest after %d rounds", round)
		}
		if err := w.everyone(); err != nil {
			return err
		}
		if err := w.look(); err != nil {
			return err
		}
		now := w.servers[0].Key() + w.servers[1].Key()
		for _, p := range w.phones {
			now += p.Base.Key() + fmt.Sprint(len(p.Outbox))
		}
		if now == last {
			quiet++
		} else {
			quiet = 0
		}
		last = now
	}
	return w.check()
}

// everyone exchanges a few times, with nothing lost.
func (w *World) everyone() error {
	for _, p := range w.phones {
		for range 3 {
			if err := w.exchange(p, false); err != nil {
				return err
			}
		}
	}
	for range 3 {
		if err := w.relay(false); err != nil {
			return err
		}
	}
	return nil
}

func (w *World) check() error {
	want := w.servers[0].Key()
	if got := w.servers[1].Key(); got != want && w.may("hub") {
		return fmt.Errorf("hub and upstream differ: %s", difference(got, want))
	}
	kept := map[string]bool{}
	for _, r := range w.servers[0].Records {
		for _, f := range r.Fields {
			for _, v := range f.Live {
				kept[string(v.Value)] = true
			}
		}
	}
	for i, p := range w.phones {
		if len(p.Outbox) > 0 {
			return fmt.Errorf("phone %d still holds %d ops", i, len(p.Outbox))
		}
		if got := p.Base.Key(); got != want {
			return fmt.Errorf("phone %d and upstream differ: %s", i, difference(got, want))
		}
		for d := range p.Base.Voids {
			if _, ok := w.servers[0].State.Voids[d]; !ok {
				return fmt.Errorf("phone %d knows that %s was refused for good, and upstream does not", i, d)
			}
		}
		for _, n := range p.Needs {
			for _, v := range n.Op.Set {
				kept[string(v)] = true
			}
		}
	}
	for v := range w.written {
		if w.replaces(v) {
			for _, saw := range w.written[v] {
				kept[saw] = true
			}
		}
	}
	if twice := w.twice(); twice != "" {
		return fmt.Errorf("value %s stands there twice", twice)
	}
	for v := range w.written {
		if !kept[v] && !w.purged[v] && !w.real[v] {
			return fmt.Errorf("value %s is gone: not live, not kept beside, not replaced by a write that saw it", v)
		}
	}
	for _, r := range w.servers[0].Records {
		for _, f := range r.Fields {
			for _, v := range f.Live {
				if w.servers[0].Purged(v.Dot) && v.Value != nil {
					return fmt.Errorf("purged value %s came back", v.Value)
				}
			}
		}
	}
	return nil
}

// twice returns a value that stands twice in one field. That may be only where
// a phone goes on under another name: it moved, was cloned, or met a restored server.
func (w *World) twice() string {
	if w.may("roam") || w.may("clone") || w.may("restore") {
		return ""
	}
	for _, r := range w.servers[0].Records {
		for name, f := range r.Fields {
			if name == merge.FieldRemoved { // two may well remove the same
				continue
			}
			seen := map[string]bool{}
			for _, v := range f.Live {
				if v.Value != nil && seen[string(v.Value)] {
					return string(v.Value)
				}
				seen[string(v.Value)] = true
			}
		}
	}
	return ""
}

// replaces reports whether what the writer of a value saw is replaced: not where
// its op was refused for good, unless an op that replaces names that one.
func (w *World) replaces(v string) bool {
	if !w.refused[v] || w.taken[v] {
		return true
	}
	for by, saw := range w.written {
		if slices.Contains(saw, v) && w.replaces(by) {
			return true
		}
	}
	return false
}

// difference returns the first line in which two spelled states differ, from a
// little before the place.
func difference(a, b string) string {
	x, y := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i := range min(len(x), len(y)) {
		if x[i] != y[i] {
			at := 0
			for at < min(len(x[i]), len(y[i])) && x[i][at] == y[i][at] {
				at++
			}
			at = max(0, at-150)
			return x[i][at:min(len(x[i]), at+400)] + "\n-- against --\n" + y[i][at:min(len(y[i]), at+400)]
		}
	}
	return fmt.Sprintf("%d lines against %d", len(x), len(y))
}
