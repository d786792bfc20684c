package main

import (
	"testing"

	"evenpull/sync/vectors"
)

// A rule that is no longer found is noticed at once, not only when the rules are taken out.
func TestEveryRuleStandsOnce(t *testing.T) {
	t.Chdir(vectors.Root(t))
	seen := map[string]bool{}
	for _, r := range rules {
		if _, _, err := r.find(); err != nil {
			t.Errorf("%s: %v", r.name, err)
		}
		if r.old == r.without || seen[r.name] {
			t.Errorf("%s: nothing is taken out, or it stands twice in the table", r.name)
		}
		seen[r.name] = true
	}
}

func TestEveryPromiseHasRules(t *testing.T) {
	count, names := map[string]int{}, map[string]bool{}
	for _, r := range rules {
		count[r.promise]++
		names[r.name] = true
	}
	for group := range parts {
		if count[group] == 0 {
			t.Errorf("no rule of %s is in the table", group)
		}
		delete(count, group)
	}
	if len(count) > 0 {
		t.Errorf("promises that are none: %v", count)
	}
	for name, why := range byTests {
		if !names[name] || why == "" {
			t.Errorf("%q is no rule, or nothing says why no simulation misses it", name)
		}
	}
}
