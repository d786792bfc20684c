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
	count := map[string]int{}
	for _, r := range rules {
		count[r.promise]++
	}
	// The first promise is what all of merge is for.
	for _, promise := range []string{"merge", "paging", "void", "removal", "purge", "bytes", "stamps", "2", "3", "4", "5", "6", "7", "9"} {
		if count[promise] == 0 {
			t.Errorf("no rule of %s is in the table", promise)
		}
		delete(count, promise)
	}
	if len(count) > 0 {
		t.Errorf("promises that are none: %v", count)
	}
}
