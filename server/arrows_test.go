package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// An arrowRule says what a package may import: our own packages (a trailing
// slash takes in all below), and packages of others. Standard packages are free
// but for those in without.
type arrowRule struct {
	ours    []string
	others  []string
	without []string // standard packages, a trailing slash takes in all below
}

// pure code is told the time and the chance, and touches no file and no network.
var pure = []string{"os", "os/", "net", "net/", "time", "math/rand", "math/rand/", "crypto/rand", "io/fs", "sync", "syscall", "log", "log/"}

// arrows is the table of which Go package may import which. A package that is not in it fails the test.
var arrows = map[string]arrowRule{
	"sync/clock":          {without: pure},
	"sync/ops":            {ours: []string{"sync/clock"}, without: pure},
	"sync/merge":          {ours: []string{"sync/clock", "sync/ops"}, without: pure},
	"sync/replication":    {ours: []string{"sync/clock", "sync/ops", "sync/merge"}, without: pure},
	"server/fault":        {},
	"server/account":      {ours: []string{"server/fault", "sync/ops"}},
	"server/store":        {ours: []string{"server/account", "server/fault", "sync/"}, others: []string{"go.etcd.io/bbolt", "github.com/klauspost/compress/"}},
	"server/web":          {ours: []string{"server/account", "server/fault", "sync/"}, others: []string{"github.com/labstack/echo/", "github.com/golang-jwt/jwt/", "github.com/klauspost/compress/"}},
	"server/hub":          {ours: []string{"server/fault", "sync/"}},
	"server/lan":          {others: []string{"github.com/pion/", "golang.org/x/net/"}},
	"server/demo":         {ours: []string{"sync/"}},
	"server":              {ours: []string{"server/", "sync/"}, others: []string{"github.com/mattn/go-isatty", "rsc.io/qr", "golang.org/x/crypto/acme"}},
	"api":                 {},
	"client/build":        {others: []string{"github.com/evanw/esbuild/"}},
	"client/build/script": {others: []string{"github.com/evanw/esbuild/"}},
	"client/bench":        {},

	// for tests and measuring only: nothing but tests imports them
	"sync/vectors":            {},
	"sync/synctest":           {ours: []string{"sync/"}},
	"sync/synctest/breaktest": {ours: []string{"sync/"}},
	"server/store/storetest":  {ours: []string{"server/account", "server/fault", "sync/"}},
	"server/drive":            {ours: []string{"server/account", "sync/"}, others: []string{"github.com/klauspost/compress/"}},
	"server/bench":            {ours: []string{"server/", "sync/"}, others: []string{"go.etcd.io/bbolt"}},
}

// testOnly packages are never part of the program.
var testOnly = []string{"sync/vectors", "sync/synctest", "sync/synctest/breaktest", "server/store/storetest", "server/drive", "server/bench"}

// wrongArrows names the imports of one package that its rule does not allow.
func wrongArrows(pkg string, imports []string) []string {
	rule, ok := arrows[pkg]
	if !ok {
		return []string{pkg + " stands in no rule"}
	}
	var wrong []string
	for _, path := range imports {
		own, ours := strings.CutPrefix(path, "evenpull/")
		switch {
		case ours && slices.Contains(testOnly, own) && !slices.Contains(testOnly, pkg):
			wrong = append(wrong, pkg+" imports "+own+", which is for tests")
		case ours && !matches(rule.ours, own), ours && own == "server":
			wrong = append(wrong, pkg+" imports "+own)
		case !ours && strings.Contains(strings.Split(path, "/")[0], ".") && !matches(rule.others, path):
			wrong = append(wrong, pkg+" imports "+path)
		case !ours && matches(rule.without, path):
			wrong = append(wrong, pkg+" imports "+path)
		}
	}
	return wrong
}

// matches looks path up in a list of packages: one of others stands for all below it, one of ours only with a trailing slash.
func matches(list []string, path string) bool {
	return slices.ContainsFunc(list, func(entry string) bool {
		below := entry
		if strings.Contains(entry, ".") && !strings.HasSuffix(entry, "/") {
			below += "/"
		}
		return path == entry || strings.HasSuffix(below, "/") && strings.HasPrefix(path, below)
	})
}

func TestArrows(t *testing.T) {
	list := exec.Command("go", "list", "-json=ImportPath,Imports", "./...")
	list.Dir = ".."
	out, err := list.Output()
	if err != nil {
		var exit *exec.ExitError
		if errors.As(err, &exit) {
			t.Fatalf("go list: %v\n%s", err, exit.Stderr)
		}
		t.Fatal(err)
	}
	seen := 0
	for dec := json.NewDecoder(strings.NewReader(string(out))); ; seen++ {
		var pkg struct {
			ImportPath string
			Imports    []string
		}
		if err := dec.Decode(&pkg); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		for _, wrong := range wrongArrows(strings.TrimPrefix(pkg.ImportPath, "evenpull/"), pkg.Imports) {
			t.Error(wrong)
		}
	}
	if seen < 12 {
		t.Errorf("only %d packages were looked at", seen)
	}
}

func TestForbiddenArrowsAreSeen(t *testing.T) {
	for _, c := range []struct {
		pkg, path string
		wrong     bool
	}{
		{"server/web", "evenpull/server/store", true},
		{"server/store", "evenpull/server/web", true},
		{"server/web", "go.etcd.io/bbolt", true},
		{"server/store", "github.com/labstack/echo/v4", true},
		{"server/account", "github.com/golang-jwt/jwt/v5", true},
		{"server/account", "evenpull/server/store", true},
		{"server/account", "evenpull/sync/merge", true},
		{"server/hub", "evenpull/server/account", true},
		{"server/demo", "evenpull/server", true},
		{"api", "evenpull/sync/ops", true},
		{"sync/clock", "evenpull/sync/ops", true},
		{"sync/merge", "evenpull/sync/replication", true},
		{"sync/replication", "evenpull/server/fault", true},
		{"sync/merge", "go.etcd.io/bbolt", true},
		{"sync/ops", "net/http", true},
		{"sync/clock", "time", true},
		{"sync/replication", "os", true},
		{"server/web", "evenpull/sync/synctest", true},
		{"server/store", "evenpull/server/store/storetest", true},
		{"server/fault", "evenpull/api", true},
		{"client/build", "evenpull/server/web", true},
		{"server/new", "fmt", true},

		{"server/web", "github.com/labstack/echo/v4/middleware", false},
		{"server/store", "go.etcd.io/bbolt/errors", false},
		{"server/web", "evenpull/sync/replication", false},
		{"sync/replication", "evenpull/sync/clock", false},
		{"server/store/storetest", "evenpull/sync/synctest", false},
		{"server", "evenpull/server/store", false},
		{"server", "net/http", false},
	} {
		t.Run(fmt.Sprint(c.pkg, " to ", c.path), func(t *testing.T) {
			if wrong := wrongArrows(c.pkg, []string{c.path}); (len(wrong) > 0) != c.wrong {
				t.Errorf("found %q; wrong is %v", wrong, c.wrong)
			}
		})
	}
}
