package synctest

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"evenpull/sync/vectors"
)

// TestScripts plays testdata/scripts: what went wrong once, and each hazard by hand.
func TestScripts(t *testing.T) {
	all, err := filepath.Glob(filepath.Join(vectors.Root(t), "testdata", "scripts", "*.txt"))
	if err != nil || len(all) == 0 {
		t.Fatalf("no scripts: %v", err)
	}
	for _, path := range all {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".txt"), func(t *testing.T) {
			script, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			got, want, err := Play(string(script), nil)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Equal(got, want) {
				t.Errorf("it came out as\n%s\nand not\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
			}
		})
	}
}

// TestPlayRefuses holds that a script with a slip in it does not pass for played.
func TestPlayRefuses(t *testing.T) {
	const world = "world phones=1 hub=0\nids 01010101 02020202 03030303 04040404\n"
	for name, c := range map[string]struct{ script, want string }{
		"no end":          {world, "heal"},
		"no world":        {"write phone=0 wait=0\nheal\n", "line"},
		"unknown verb":    {world + "fly phone=0 wait=0\nheal\n", "fly"},
		"unknown word":    {world + "right phone=0 wait=0 left\nheal\n", "left"},
		"missing word":    {world + "write phone=0 wait=0 record=0\nheal\n", "field"},
		"too large":       {world + "write phone=9 wait=0 record=0 field=0 clock=0\nheal\n", "phone"},
		"twice":           {world + "right phone=0 phone=0 wait=0\nheal\n", "twice"},
		"too few ids":     {"world phones=1 hub=0\nids 01010101\nheal\n", "ids"},
		"ids ill spelled": {"world phones=1 hub=0\nids 0101\nheal\n", "8 hex"},
	} {
		t.Run(name, func(t *testing.T) {
			_, _, err := Play(c.script, nil)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v; want %q in it", err, c.want)
			}
		})
	}
}
