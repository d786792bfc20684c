package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
)

// permissive lists the licences under which a part may be shipped. Another one
// fails the build, so that a person reads it first.
var permissive = []string{"MIT", "ISC", "Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "0BSD", "OFL-1.1", "(MIT OR Apache-2.0)"}

// marks are words by which the text of a permissive licence is known; Go modules name theirs nowhere else.
var marks = []string{
	"Permission is hereby granted, free of charge",
	"Redistribution and use in source and binary forms",
	"Permission to use, copy, modify, and/or distribute",
	"Apache License",
}

// fonts are shipped from client/fonts; their notice stands in the package they come from.
const (
	fontPackage = "@fontsource/b612"
	fontPattern = "files/b612-latin-%s-normal.woff2"
)

// shipped names the npm packages that have a file in the bundles, and the font's.
func shipped(metas ...metafile) []string {
	names := []string{fontPackage}
	for _, meta := range metas {
		for path := range meta.Inputs {
			_, rest, ok := strings.Cut(path, "node_modules/")
			if !ok {
				continue
			}
			parts := strings.SplitN(rest, "/", 3)
			name := parts[0]
			if strings.HasPrefix(name, "@") {
				name += "/" + parts[1]
			}
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return slices.Compact(names)
}

// notices collects the licence of every shipped npm package, font and Go module.
func notices(packages []string) ([]byte, error) {
	if err := sameFonts(); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	out.WriteString("Evenpull is under the Apache License 2.0. It ships with these parts:\n")
	for _, name := range packages {
		if err := packageNotice(&out, filepath.Join("node_modules", filepath.FromSlash(name))); err != nil {
			return nil, fmt.Errorf("notice of %s: %w", name, err)
		}
	}
	if err := goNotices(&out); err != nil {
		return nil, err
	}
	return eachTextOnce(out.Bytes()), nil
}

const partMark = "\n== " // what each part's notice begins with

// notOfTheText are the lines of a licence that tell whose it is or what it is called.
var notOfTheText = regexp.MustCompile(`(?m)^(Copyright .*|(The )?MIT License( \(MIT\))?)\n+`)

// eachTextOnce puts parts under one and the same licence text together: each keeps its name and its copyright, the text
// stands once below them. Texts are the same where they differ by line breaks or the form of quotation marks alone.
func eachTextOnce(notices []byte) []byte {
	head, rest, _ := strings.Cut(string(notices), partMark)
	type shared struct {
		whole string   // the notice as it came, for a text of one part alone
		whose []string // name and copyright of each part
		text  string
	}
	var order []*shared
	byText := map[string]*shared{}
	for _, part := range strings.Split(rest, partMark) {
		name, text, _ := strings.Cut(part, "\n")
		bare := strings.TrimSpace(notOfTheText.ReplaceAllString(text, ""))
		key := strings.NewReplacer("“", `"`, "”", `"`).Replace(strings.Join(strings.Fields(bare), " "))
		if byText[key] == nil {
			byText[key] = &shared{whole: part, text: bare}
			order = append(order, byText[key])
		}
		whose := strings.Join(notOfTheText.FindAllString(text, -1), "")
		byText[key].whose = append(byText[key].whose, name+"\n"+strings.Join(strings.FieldsFunc(whose, isBreak), "\n"))
	}
	var out strings.Builder
	out.WriteString(head)
	for _, s := range order {
		if len(s.whose) == 1 {
			out.WriteString(partMark + s.whole)
			continue
		}
		fmt.Fprintf(&out, "%s%s\n\n%s\n", partMark, strings.Join(s.whose, partMark), s.text)
	}
	return []byte(out.String())
}

func isBreak(r rune) bool { return r == '\n' }

// sameFonts makes sure that the fonts in the tree are those that the notice is about.
func sameFonts() error {
	for _, weight := range []string{"400", "700"} {
		ours, err := os.ReadFile(filepath.Join(src, "fonts", "b612-"+weight+".woff2"))
		if err != nil {
			return err
		}
		theirs, err := os.ReadFile(filepath.Join("node_modules", filepath.FromSlash(fontPackage), fmt.Sprintf(fontPattern, weight)))
		if err != nil {
			return err
		}
		if !bytes.Equal(ours, theirs) {
			return fmt.Errorf("the font of weight %s is not the one in %s", weight, fontPackage)
		}
	}
	return nil
}

func packageNotice(out *bytes.Buffer, dir string) error {
	b, err := os.ReadFile(filepath.Join(dir, "package.json"))
	if err != nil {
		return err
	}
	var p struct{ Name, Version, License string }
	if err := json.Unmarshal(b, &p); err != nil {
		return err
	}
	if !slices.Contains(permissive, p.License) {
		return fmt.Errorf("licence %q is not on the list of those that may be shipped; read it, then add it", p.License)
	}
	text, err := licenceText(dir)
	if err != nil {
		return err
	}
	// Of two that are offered side by side we take the one under MIT, whose text is short.
	if mit, err := os.ReadFile(filepath.Join(dir, "LICENSE-MIT")); err == nil && strings.Contains(p.License, "MIT OR") {
		text = bytes.TrimSpace(mit)
	}
	fmt.Fprintf(out, "\n== %s %s (%s)\n\n%s\n", p.Name, p.Version, p.License, text)
	return nil
}

// goNotices adds Go itself and the modules that the server is built from.
func goNotices(out *bytes.Buffer) error {
	// Some systems install Go without its licence; the modules of its authors carry the same text.
	authors, err := goOutput("list", "-m", "-f", "{{.Dir}}", "golang.org/x/sys")
	if err != nil {
		return err
	}
	if err := moduleNotice(out, "Go, its library and runtime", runtime.Version(), authors); err != nil {
		return err
	}
	const format = "{{with .Module}}{{if not .Main}}{{.Path}}\t{{.Version}}\t{{.Dir}}{{end}}{{end}}"
	modules, err := goOutput("list", "-deps", "-f", format, "./server")
	if err != nil {
		return err
	}
	lines := strings.Split(modules, "\n")
	slices.Sort(lines)
	for _, line := range slices.Compact(lines) {
		if part := strings.Split(line, "\t"); len(part) == 3 {
			if err := moduleNotice(out, part[0], part[1], part[2]); err != nil {
				return err
			}
		}
	}
	return nil
}

func moduleNotice(out *bytes.Buffer, path, version, dir string) error {
	text, err := licenceText(dir)
	if err != nil {
		return fmt.Errorf("notice of %s: %w", path, err)
	}
	if !slices.ContainsFunc(marks, func(m string) bool { return bytes.Contains(text, []byte(m)) }) {
		return fmt.Errorf("notice of %s: none of the licences that may be shipped; read it, then add it", path)
	}
	fmt.Fprintf(out, "\n== %s %s\n\n%s\n", path, version, text)
	return nil
}

func goOutput(args ...string) (string, error) {
	b, err := exec.Command("go", args...).Output()
	if err != nil {
		var exit *exec.ExitError
		if errors.As(err, &exit) {
			return "", fmt.Errorf("go %s: %w: %s", args[0], err, bytes.TrimSpace(exit.Stderr))
		}
		return "", fmt.Errorf("go %s: %w", args[0], err)
	}
	return strings.TrimSpace(string(b)), nil
}

// licenceText joins the licence and, where there is one, the notice of a part.
func licenceText(dir string) ([]byte, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	var texts [][]byte
	for _, e := range entries {
		name := strings.ToUpper(e.Name())
		if !e.Type().IsRegular() || !slices.ContainsFunc([]string{"LICEN", "COPYING", "NOTICE"}, func(p string) bool { return strings.HasPrefix(name, p) }) {
			continue
		}
		b, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			return nil, err
		}
		texts = append(texts, bytes.TrimSpace(b))
	}
	if len(texts) == 0 {
		return nil, errors.New("it has no licence file")
	}
	return bytes.Join(texts, []byte("\n\n")), nil
}
