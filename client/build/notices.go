package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"

	"github.com/evanw/esbuild/pkg/api"
)

// permissive lists the licences that may be shipped. Another one fails the
// build, so that a person looks at it first.
var permissive = []string{"MIT", "ISC", "Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "0BSD", "OFL-1.1", "(MIT OR Apache-2.0)"}

// inputs returns the npm packages whose files are in the bundle.
func inputs(r api.BuildResult) []string {
	var meta struct{ Inputs map[string]any }
	_ = json.Unmarshal([]byte(r.Metafile), &meta) // esbuild's own output
	names := []string{"@fontsource/b612"}         // its fonts are shipped from client/fonts
	for path := range meta.Inputs {
		_, rest, ok := strings.Cut(path, "node_modules/")
		if !ok {
			continue
		}
		parts := strings.Split(rest, "/")
		name := parts[0]
		if strings.HasPrefix(name, "@") {
			name += "/" + parts[1]
		}
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names
}

// notices collects the licence of every shipped npm package, font and Go module.
func notices(packages []string) ([]byte, error) {
	var out bytes.Buffer
	out.WriteString("Evenpull is under the Apache License 2.0. It ships with these parts:\n")
	for _, name := range packages {
		dir := filepath.Join("node_modules", filepath.FromSlash(name))
		b, err := os.ReadFile(filepath.Join(dir, "package.json"))
		if err != nil {
			return nil, fmt.Errorf("notice of %s: %w", name, err)
		}
		var p struct{ Version, License string }
		if err := json.Unmarshal(b, &p); err != nil {
			return nil, fmt.Errorf("notice of %s: %w", name, err)
		}
		if !slices.Contains(permissive, p.License) {
			return nil, fmt.Errorf("%s is under %q, which is not on the list of licences that may be shipped", name, p.License)
		}
		text, err := licenceText(dir)
		if err != nil {
			return nil, fmt.Errorf("notice of %s: %w", name, err)
		}
		fmt.Fprintf(&out, "\n== %s %s (%s)\n\n%s\n", name, p.Version, p.License, bytes.TrimSpace(text))
	}
	if err := goNotices(&out); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// goNotices adds the modules that the server is built from.
func goNotices(out *bytes.Buffer) error {
	list := exec.Command("go", "list", "-deps", "-f", "{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}} {{.Dir}}{{end}}{{end}}", "./server")
	b, err := list.Output()
	if err != nil {
		return fmt.Errorf("list the server's modules: %w", err)
	}
	lines := strings.Split(strings.TrimSpace(string(b)), "\n")
	slices.Sort(lines)
	for _, line := range slices.Compact(lines) {
		path, rest, ok := strings.Cut(line, " ")
		if !ok {
			continue
		}
		version, dir, _ := strings.Cut(rest, " ")
		text, err := licenceText(dir)
		if err != nil {
			return fmt.Errorf("notice of %s: %w", path, err)
		}
		if !knownText(text) {
			return fmt.Errorf("the licence of %s is none that this build knows; read it, then add it", path)
		}
		fmt.Fprintf(out, "\n== %s %s\n\n%s\n", path, version, bytes.TrimSpace(text))
	}
	return nil
}

func licenceText(dir string) ([]byte, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		if name := strings.ToUpper(e.Name()); strings.HasPrefix(name, "LICEN") || strings.HasPrefix(name, "COPYING") {
			return os.ReadFile(filepath.Join(dir, e.Name()))
		}
	}
	return nil, fmt.Errorf("no licence file")
}

func knownText(text []byte) bool {
	for _, mark := range []string{"Permission is hereby granted, free of charge", "Redistribution and use in source and binary forms", "Apache License", "Permission to use, copy, modify, and/or distribute"} {
		if bytes.Contains(text, []byte(mark)) {
			return true
		}
	}
	return false
}
