// Breaktest takes each rule of the sync core out in turn, in a copy that only the
// compiler sees, and runs the core's tests. A rule whose absence no test notices
// is a failure, and so is one whose text is no longer found.
//
//	go run ./sync/synctest/breaktest [name]
package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"time"
)

// perRule is how long the tests of one broken copy may take: a rule taken out may well never come to rest.
const perRule = 90 * time.Second

func main() {
	only := ""
	if len(os.Args) > 1 {
		only = os.Args[1]
	}
	blunt := 0
	for _, r := range rules {
		if only != "" && !strings.Contains(r.name, only) {
			continue
		}
		start := time.Now()
		seen, err := r.broken()
		if err != nil {
			seen = "NOT SEEN: " + err.Error()
			blunt++
		}
		fmt.Printf("%-9s %-58s %s (%.1f s)\n", r.promise, r.name, seen, time.Since(start).Seconds())
	}
	if blunt > 0 {
		fmt.Printf("%d rules are held by no test\n", blunt)
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

var failedTest = regexp.MustCompile(`--- FAIL: (\S+)`)

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
	there, list := filepath.Join(dir, "broken.go"), filepath.Join(dir, "overlay.json")
	overlay, err := json.Marshal(map[string]map[string]string{"Replace": {here: there}})
	if err != nil {
		return "", err
	}
	if err := os.WriteFile(there, []byte(strings.Replace(text, r.old, r.without, 1)), 0o600); err != nil {
		return "", err
	}
	if err := os.WriteFile(list, overlay, 0o600); err != nil {
		return "", err
	}
	ctx, cancel := context.WithTimeout(context.Background(), perRule)
	defer cancel()
	cmd := exec.CommandContext(ctx, "go", "test", "-overlay", list, "-failfast", "-vet=off", "./sync/clock", "./sync/ops", "./sync/merge", "./sync/replication", "./sync/synctest")
	cmd.Env = append(os.Environ(), "EVENPULL_FIRST=1")
	out, err := cmd.CombinedOutput()
	switch {
	case ctx.Err() != nil:
		return "seen: no end", nil
	case err == nil:
		return "", fmt.Errorf("every test passes without it")
	case strings.Contains(string(out), "[build failed]"):
		return "", fmt.Errorf("it can't be built without it:\n%s", out)
	}
	if m := failedTest.FindStringSubmatch(string(out)); m != nil {
		return "seen: " + m[1], nil
	}
	return "", fmt.Errorf("the tests did not run:\n%s", out)
}
