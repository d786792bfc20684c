package web

import (
	"fmt"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// An archive keeps the assets of the last builds in the data folder: a page
// that was loaded before an update still finds the parts it asks for later.
type archive struct{ folder string }

const keptBuilds = 10

// keep lays this build's assets down and drops all but the newest builds.
func (a archive) keep(files map[string]file, build string) error {
	for name, f := range files {
		rel, ok := strings.CutPrefix(name, assetsDir)
		if !ok {
			continue
		}
		to := filepath.Join(a.folder, build, filepath.FromSlash(rel))
		if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
			return fmt.Errorf("the folder for assets can't be written: %w", err)
		}
		if _, err := os.Stat(to); err == nil {
			continue
		}
		if err := os.WriteFile(to+".new", f.body, 0o600); err != nil {
			return fmt.Errorf("an asset can't be kept: %w", err)
		}
		if err := os.Rename(to+".new", to); err != nil {
			return fmt.Errorf("an asset can't be kept: %w", err)
		}
	}
	now := time.Now()
	_ = os.Chtimes(filepath.Join(a.folder, build), now, now) // without assets there is no folder
	for _, old := range a.builds()[min(keptBuilds, len(a.builds())):] {
		if err := os.RemoveAll(filepath.Join(a.folder, old)); err != nil {
			return fmt.Errorf("an old build can't be dropped: %w", err)
		}
	}
	return nil
}

// builds lists the kept builds, the last used first.
func (a archive) builds() (names []string) {
	entries, err := os.ReadDir(a.folder)
	if err != nil {
		return nil
	}
	used := map[string]time.Time{}
	for _, e := range entries {
		if info, err := e.Info(); err == nil && e.IsDir() {
			used[e.Name()] = info.ModTime()
			names = append(names, e.Name())
		}
	}
	slices.SortStableFunc(names, func(x, y string) int { return used[y].Compare(used[x]) })
	return names
}

// find looks for an asset in the kept builds. os.Root keeps what is asked for inside them.
func (a archive) find(rel string) (file, bool) {
	if a.folder == "" || rel == "" || path.Clean(rel) != rel {
		return file{}, false
	}
	root, err := os.OpenRoot(a.folder)
	if err != nil {
		return file{}, false
	}
	defer root.Close()
	for _, build := range a.builds() {
		if body, err := root.ReadFile(build + "/" + rel); err == nil {
			return file{body: body, kind: kindOf(rel)}, true
		}
	}
	return file{}, false
}
