// Breaktest takes each rule of the sync core out in turn, in a copy that only the
// compiler sees. A rule of the model (design 4.1) or of promises 1 to 6 must then be
// missed by a simulation alone, which is the seeded worlds and the scripts; of the
// others any test of the core may notice it. One that nobody misses is a failure, and
// so is one whose text is no longer found. It tells how each was seen.
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

// perRule is how long the tests of one broken copy may take: a rule taken out may well
// never come to rest. A simulation that takes so long has seen nothing: its worlds say
// so themselves when they do not come to rest.
const perRule = 5 * time.Minute

func main() {
	only := ""
	if len(os.Args) > 1 {
		only = os.Args[1]
	}
	if err := whole(); err != nil {
		fmt.Println(err)
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
		fmt.Printf("%-11s %-62s %s (%.1f s)\n", r.part(), r.name, seen, time.Since(start).Seconds())
	}
	fmt.Printf("%d rules taken out, %d missed by nobody who should\n", count, blunt)
	if blunt > 0 || count == 0 {
		os.Exit(1)
	}
}

// whole plays the simulations with every rule in its place: they must pass.
func whole() error {
	dir, err := os.MkdirTemp("", "breaktest")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	list := filepath.Join(dir, "overlay.json")
	if err := os.WriteFile(list, []byte("{}"), 0o600); err != nil {
		return err
	}
	for _, s := range simulations {
		if seen, err := simulate(dir, list, s); !errors.Is(err, errPass) {
			return fmt.Errorf("the simulations of %s fail with every rule in its place: %s %w", s.folder, seen, err)
		}
	}
	return nil
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

// broken runs the tests without the rule and tells what fails first.
func (r rule) broken() (seen string, err error) {
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
	return r.held(dir, string(overlay))
}

// held runs what must hold the rule, over an overlay.
func (r rule) held(dir, overlay string) (seen string, err error) {
	list := filepath.Join(dir, "overlay.json")
	if err := os.WriteFile(list, []byte(overlay), 0o600); err != nil {
		return "", err
	}
	if r.simulated() {
		return simulate(dir, list, simulations[r.folder == inStore])
	}
	rounds := [][]string{{"./sync/clock", "./sync/ops", "./sync/merge", "./sync/replication"}, {"./sync/synctest"}}
	for _, packages := range rounds {
		args := append([]string{"test", "-overlay", list, "-failfast", "-vet=off", "-timeout", perRule.String()}, packages...)
		if seen, err = run(exec.Command("go", args...)); !errors.Is(err, errPass) {
			return seen, err
		}
	}
	return "", errPass
}

// A simulation is the seeded worlds and scripts of one package.
type simulation struct{ folder, tests string }

// simulations by whether the rule is one of the store's.
var simulations = map[bool]simulation{
	false: {"sync/synctest", "^(TestScripts|TestNothingIsLost|TestOnce)$"},
	true:  {"server/store", "^(TestTheStoreRelaysAsTheSimulationsDo|TestWhatIsAcknowledgedIsOnTheDisk)$"},
}

// simulate builds a package's tests once and plays its simulations alone.
func simulate(dir, list string, s simulation) (seen string, err error) {
	binary := filepath.Join(dir, "worlds")
	if out, err := exec.Command("go", "test", "-c", "-overlay", list, "-vet=off", "-o", binary, "./"+s.folder).CombinedOutput(); err != nil {
		return "", fmt.Errorf("it can't be built without it:\n%s", out)
	}
	cmd := exec.Command(binary, "-test.run", s.tests, "-test.failfast", "-test.timeout", perRule.String())
	cmd.Dir = s.folder
	if seen, err = run(cmd); seen == noEnd {
		return "", fmt.Errorf("no end after %s", perRule)
	}
	return seen, err
}

const noEnd = "seen: no end"

var (
	errPass    = errors.New("every test passes without it")
	failedTest = regexp.MustCompile(`--- FAIL: (\S+)`)
	firstWords = regexp.MustCompile(`(?m)^ +\w+_test\.go:\d+: (.*)`)
)

// run runs tests and tells the first that fails, with its first words.
func run(cmd *exec.Cmd) (seen string, err error) {
	cmd.Env = append(os.Environ(), "EVENPULL_FIRST=1")
	out, err := cmd.CombinedOutput()
	switch {
	case err == nil:
		return "", errPass
	case strings.Contains(string(out), "panic: test timed out"):
		return noEnd, nil
	case strings.Contains(string(out), "[build failed]"):
		return "", fmt.Errorf("it can't be built without it:\n%s", out)
	}
	all := failedTest.FindAllSubmatch(out, -1)
	if len(all) == 0 {
		if strings.Contains(string(out), "panic:") {
			return "seen: panic", nil
		}
		return "", fmt.Errorf("the tests did not run:\n%s", out)
	}
	seen = "seen: " + string(all[len(all)-1][1])
	if words := firstWords.FindSubmatch(out); words != nil {
		seen += ", " + string(words[1][:min(len(words[1]), 90)])
	}
	return seen, nil
}
