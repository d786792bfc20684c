package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
)

// Budgets of what a phone loads, in bytes as sent (gzip 9, woff2 as it is).
const (
	maxFirstJS  = 70_000
	maxCSS      = 12_000
	maxFonts    = 36_000
	maxChunk    = 30_000
	maxOffline  = 900_000
	entryPrefix = "assets/main-"
)

// budgets prints what the build weighs and fails where it weighs too much.
func budgets(metafile string, files map[string][]byte, list string) error {
	var meta struct {
		Outputs map[string]struct {
			EntryPoint string
			Imports    []struct{ Path, Kind string }
		}
	}
	if err := json.Unmarshal([]byte(metafile), &meta); err != nil {
		return err
	}
	first := map[string]bool{}
	var follow func(path string)
	follow = func(path string) {
		if first[path] {
			return
		}
		first[path] = true
		for _, i := range meta.Outputs[path].Imports {
			if i.Kind == "import-statement" {
				follow(i.Path)
			}
		}
	}
	for path := range meta.Outputs {
		if strings.HasPrefix(path, dist+"/"+entryPrefix) && filepath.Ext(path) == ".js" {
			follow(path)
		}
	}
	var js, css, fonts, offline int
	var over []error
	check := func(what string, got, most int) {
		fmt.Printf("%-22s %7d of %7d bytes\n", what, got, most)
		if got > most {
			over = append(over, fmt.Errorf("%s weighs %d bytes, more than %d", what, got, most))
		}
	}
	var urls []string
	if err := json.Unmarshal([]byte(list), &urls); err != nil {
		return err
	}
	for _, u := range urls {
		if b, ok := files[strings.TrimPrefix(u, "/")]; ok && squeezes(u) {
			offline += len(squeeze(b))
		} else if ok {
			offline += len(b)
		}
	}
	for _, n := range sorted(files) {
		switch ext := filepath.Ext(n); {
		case ext == ".js" && (first[dist+"/"+n] || strings.HasPrefix(n, "assets/guard-")):
			js += len(squeeze(files[n]))
		case ext == ".js" && strings.HasPrefix(n, "assets/"):
			check("lazy "+filepath.Base(n), len(squeeze(files[n])), maxChunk)
		case ext == ".css":
			css += len(squeeze(files[n]))
		case ext == ".woff2":
			fonts += len(files[n])
		}
	}
	check("first-load scripts", js, maxFirstJS)
	check("styles", css, maxCSS)
	check("fonts", fonts, maxFonts)
	check("everything offline", offline, maxOffline)
	return errors.Join(over...)
}
