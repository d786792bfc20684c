// Package vectors loads the golden cases that Go and TypeScript share. It is
// for tests only.
package vectors

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"testing"
)

// Load reads the cases of testdata/vectors/<name>.json. A key that T does not
// have and an empty list end the test: neither a wrong path nor a new key passes.
func Load[T any](t testing.TB, name string) []T {
	t.Helper()
	path := filepath.Join(Root(t), "testdata", "vectors", name+".json")
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	cases, err := read[T](raw)
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return cases
}

var errEmpty = errors.New("no about, or no cases")

func read[T any](raw []byte) ([]T, error) {
	var file struct {
		About string `json:"about"`
		Cases []T    `json:"cases"`
	}
	d := json.NewDecoder(bytes.NewReader(raw))
	d.DisallowUnknownFields()
	if err := d.Decode(&file); err != nil {
		return nil, err
	}
	if len(file.Cases) == 0 || file.About == "" {
		return nil, errEmpty
	}
	return file.Cases, nil
}

// Root finds the folder that holds go.mod.
func Root(t testing.TB) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for ; ; dir = filepath.Dir(dir) {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir
		}
		if dir == filepath.Dir(dir) {
			t.Fatal("no go.mod above the test")
		}
	}
}
