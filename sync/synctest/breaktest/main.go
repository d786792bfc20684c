// Breaktest takes each rule of the sync core out in turn, in a copy that only the
// compiler sees, and runs the core's tests. A rule whose absence no test notices
// is a failure, and so is one whose text is no longer found.
//
//	go run ./sync/synctest/breaktest [word of a name]
package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"time"
)

// perRule is how long the tests of one broken copy may take: a rule taken out may well never come to rest.
const perRule = 2 * time.Minute

func main() {
	only := ""
	if len(os.Args) > 1 {
		only = os.Args[1]
	}
	if seen, err := tests(inMerge, "", "{}"); err == nil || !errors.Is(err, errPass) {
		fmt.Printf("the tests fail with every rule in its place: %s %v\n", seen, err)
		os.Exit(1)
	}
	count, blunt := 0, 0
	for _, r := range rules {
		if !strings.Contains(r.name, only) {
			continue
		}
		count++
		start := time.Now()
		seen, err := r.broken()
		if err != nil {
			seen = "NOT SEEN: " + err.Error()
			blunt++
		}
		fmt.Printf("%-8s %-62s %s (%.1f s)\n", r.promise, r.name, seen, time.Since(start).Seconds())
	}
	fmt.Printf("%d rules taken out, %d held by no test\n", count, blunt)
	if blunt > 0 || count == 0 {
		os.Exit(1)
	}
}

// A rule is a few lines of some file in a folder and what stands there without it.
type rule struct{ promise, name, folder, old, without string }

// find returns the one file that holds the rule, with its text.
func (r rule) find() (file, text string, err error) {
	all, err := filepath.Glob(filepath.Join(r.folder, "*.go"))
	if err != nil {
		return "", "", err
	}
	times := 0
	for _, f := range all {
		b, err := os.ReadFile(f)
		if err != nil {
			return "", "", err
		}
		if n := strings.Count(string(b), r.old); n > 0 && !strings.HasSuffix(f, "_test.go") {
			times, file, text = times+n, f, string(b)
		}
	}
	if times != 1 {
		return "", "", fmt.Errorf("its text stands %d times in %s", times, r.folder)
	}
	return file, text, nil
}

// broken runs the tests without the rule and names the first that fails.
func (r rule) broken() (test string, err error) {
	file, text, err := r.find()
	if err != nil {
		return "", err
	}
	dir, err := os.MkdirTemp("", "breaktest")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(dir)
	here, err := filepath.Abs(file)
	if err != nil {
		return "", err
	}
	there := filepath.Join(dir, "broken.go")
	overlay, err := json.Marshal(map[string]map[string]string{"Replace": {here: there}})
	if err != nil {
		return "", err
	}
	if err := os.WriteFile(there, []byte(strings.Replace(text, r.old, r.without, 1)), 0o600); err != nil {
		return "", err
	}
	return tests(r.folder, dir, string(overlay))
}

var (
	errPass    = errors.New("every test passes without it")
	failedTest = regexp.MustCompile(`--- FAIL: (\S+)`)
)

// tests runs what holds a folder's rules over an overlay and names the first test
// that fails. The worlds, which take longest, are played only when all else passes.
func tests(folder, dir, overlay string) (test string, err error) {
	rounds := [][]string{{"./sync/clock", "./sync/ops", "./sync/merge", "./sync/replication"}, {"./sync/synctest"}}
	if folder == inStore {
		rounds = [][]string{{"./server/store"}}
	}
	if dir == "" {
		if dir, err = os.MkdirTemp("", "breaktest"); err != nil {
			return "", err
		}
		defer os.RemoveAll(dir)
	}
	list := filepath.Join(dir, "overlay.json")
	if err := os.WriteFile(list, []byte(overlay), 0o600); err != nil {
		return "", err
	}
	for _, packages := range rounds {
		if test, err = run(list, packages); !errors.Is(err, errPass) {
			return test, err
		}
	}
	return "", errPass
}

func run(list string, packages []string) (test string, err error) {
	cmd := exec.Command("go", append([]string{"test", "-overlay", list, "-failfast", "-vet=off", "-timeout", perRule.String()}, packages...)...)
	cmd.Env = append(os.Environ(), "EVENPULL_FIRST=1")
	out, err := cmd.CombinedOutput()
	switch {
	case err == nil:
		return "", errPass
	case strings.Contains(string(out), "panic: test timed out"):
		return "seen: no end", nil
	case strings.Contains(string(out), "[build failed]"):
		return "", fmt.Errorf("it can't be built without it:\n%s", out)
	}
	if m := failedTest.FindStringSubmatch(string(out)); m != nil {
		return "seen: " + m[1], nil
	}
	if strings.Contains(string(out), "panic:") {
		return "seen: panic", nil
	}
	return "", fmt.Errorf("the tests did not run:\n%s", out)
}
