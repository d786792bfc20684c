package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/evanw/esbuild/pkg/api"
)

func TestNoticeRefusesAnUnknownLicence(t *testing.T) {
	for licence, wants := range map[string]bool{"MIT": true, "OFL-1.1": true, "GPL-3.0-only": false, "": false, "SEE LICENSE IN terms.md": false} {
		dir := t.TempDir()
		put(t, dir, "package.json", `{"name":"part","version":"1.2.3","license":"`+licence+`"}`)
		put(t, dir, "LICENSE.md", "the text")
		var out bytes.Buffer
		err := packageNotice(&out, dir)
		if (err == nil) != wants {
			t.Errorf("licence %q: %v", licence, err)
		}
		if wants && !strings.Contains(out.String(), "== part 1.2.3 ("+licence+")\n\nthe text") {
			t.Errorf("licence %q: notice is %q", licence, out.String())
		}
	}
}

func TestNoticeRefusesAPartWithoutText(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "package.json", `{"name":"part","version":"1.2.3","license":"MIT"}`)
	if err := packageNotice(&bytes.Buffer{}, dir); err == nil {
		t.Error("a part without a licence file was taken")
	}
}

func TestModuleNoticeKnowsTheTextAndKeepsTheNotice(t *testing.T) {
	for text, wants := range map[string]bool{
		"Permission is hereby granted, free of charge, to any person":        true,
		"Redistribution and use in source and binary forms, with or without": true,
		"Apache License\nVersion 2.0":                                        true,
		"GNU GENERAL PUBLIC LICENSE Version 3":                               false,
		"All rights reserved.":                                               false,
	} {
		dir := t.TempDir()
		put(t, dir, "LICENSE", text)
		put(t, dir, "NOTICE", "made by somebody")
		var out bytes.Buffer
		err := moduleNotice(&out, "example.test/part", "v1.0.0", dir)
		if (err == nil) != wants {
			t.Errorf("%q: %v", text, err)
		}
		if wants && (!strings.Contains(out.String(), text) || !strings.Contains(out.String(), "made by somebody")) {
			t.Errorf("%q: notice is %q", text, out.String())
		}
	}
}

func TestShippedNamesPackagesOnce(t *testing.T) {
	meta := metafile{Inputs: map[string]json.RawMessage{
		"client/src/main.tsx":                     nil,
		"node_modules/preact/dist/preact.mjs":     nil,
		"node_modules/preact/hooks/dist/hooks.js": nil,
		"node_modules/@noble/hashes/sha2.js":      nil,
	}}
	got := strings.Join(shipped(meta, metafile{}), " ")
	if want := "@fontsource/b612 @noble/hashes preact"; got != want {
		t.Errorf("shipped: %s; want %s", got, want)
	}
}

// noise can't be packed, so a file of n bytes weighs about n.
func noise(n int) []byte {
	b := make([]byte, n)
	x := uint32(1)
	for i := range b {
		x = x*1664525 + 1013904223
		b[i] = byte(x >> 24)
	}
	return b
}

func TestWeights(t *testing.T) {
	var meta metafile
	meta.Outputs = map[string]output{
		dist + "/assets/main-A.js":  {EntryPoint: src + "/src/main.tsx", Imports: []imported{{dist + "/assets/both-B.js", "import-statement"}, {dist + "/assets/late-C.js", "dynamic-import"}}},
		dist + "/assets/main-A.css": {EntryPoint: src + "/src/main.tsx"},
		dist + "/assets/both-B.js":  {},
		dist + "/assets/late-C.js":  {Imports: []imported{{dist + "/assets/both-B.js", "import-statement"}}},
	}
	w := newWeights(meta)
	if w.entry != "assets/main-A.js" || !w.first["assets/both-B.js"] || w.first["assets/late-C.js"] {
		t.Fatalf("entry %q, first %v", w.entry, w.first)
	}
	w.first["assets/more-G.js"] = true // as if the entry imported one more
	light := map[string]int{
		"assets/main-A.js": 30_000, "assets/both-B.js": 30_000, "assets/guard-D.js": 5_000, "assets/late-C.js": 29_000,
		"assets/main-A.css": 11_000, "assets/b612-400-E.woff2": 21_000, "index.html": 1_000, "licences.txt": 100_000,
		"assets/main-A.js.map": 900_000, // kept by nobody's phone
	}
	for _, c := range []struct {
		name string
		size int
		over string
	}{
		{"index.html", 1_000, ""},
		{"assets/both-B.js", 36_000, "scripts of the first screen, in bytes"},
		{"assets/guard-D.js", 11_000, "scripts of the first screen, in bytes"},
		{"assets/late-C.js", mostLazy + 100, "lazy late-C.js"},
		{"assets/more-G.js", 10, "scripts of the first screen, in files"},
		{"assets/main-A.css", 12_100, "styles"},
		{"assets/b612-700-F.woff2", 15_001, "fonts"},
		{"licences.txt", 800_000, "all that is kept offline"},
		{"assets/main-A.css", 0, "weighs nothing"},
	} {
		files := map[string][]byte{}
		for name, size := range light {
			files[name] = noise(size)
		}
		files[c.name] = noise(c.size)
		if c.size == 0 {
			delete(files, c.name)
		}
		err := w.check(&bytes.Buffer{}, files)
		switch {
		case c.over == "" && err != nil:
			t.Errorf("a light build: %v", err)
		case c.over != "" && (err == nil || !strings.Contains(err.Error(), c.over)):
			t.Errorf("%s of %d bytes: %v; want one about %q", c.name, c.size, err, c.over)
		}
	}
}

func TestThePageTakesItsWordsFromTheFirstScreens(t *testing.T) {
	t.Chdir("../..")
	title, what, err := firstWords()
	if err != nil || title != "Evenpull" || !strings.HasPrefix(what, "Balance the top") || strings.ContainsAny(what, "'\"<") {
		t.Errorf("first words %q, %q: %v", title, what, err)
	}
}

// A lazy part brings the entry along, and a default export, which would be
// dropped in silence, fails the build.
func TestLazyPartsNameWhatTheyExport(t *testing.T) {
	t.Chdir(t.TempDir())
	if err := os.Mkdir(src, 0o700); err != nil {
		t.Fatal(err)
	}
	for late, want := range map[string]string{
		"export const See = 1;":                     "",
		"export default 1;":                         "late.ts is a lazy part: give what it exports a name",
		"const See = 1; export { See as default };": "late.ts is a lazy part: give what it exports a name",
	} {
		for name, text := range map[string]string{"main.ts": `import("./late").then((m) => console.log(m));`, "late.ts": late} {
			if err := os.WriteFile(filepath.Join(src, name), []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		r := api.Build(api.BuildOptions{
			EntryPoints: []string{src + "/main.ts"}, Outdir: "out", Bundle: true, Splitting: true, Format: api.FormatESModule,
			Plugins: []api.Plugin{firstInOne(src + "/main.ts")},
		})
		got := ""
		for _, e := range r.Errors {
			got += e.Text
		}
		if (want == "") != (got == "") || !strings.Contains(got, want) {
			t.Errorf("%s: said %q, want %q", late, got, want)
		}
	}
}

func TestPrecachedLeavesOutWhatThePhoneDoesNotNeed(t *testing.T) {
	files := map[string][]byte{"index.html": nil, "sw.js": nil, "build.json": nil, "assets/main-A.js": nil, "assets/main-A.js.map": nil, "licences.txt": nil}
	if got, want := strings.Join(precached(files), " "), "/assets/main-A.js / /licences.txt"; got != want {
		t.Errorf("precached: %s; want %s", got, want)
	}
}

func put(t *testing.T, dir, name, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func TestEachLicenceTextStandsOnceBelowAllWhoseItIs(t *testing.T) {
	text := func(quote, space string) string { return "Permission is granted" + space + "for the " + quote + ".\n" }
	given := "Ours.\n" +
		"\n== one 1.0 (MIT)\n\nThe MIT License (MIT)\n\nCopyright (c) 2012 One\nCopyright (c) 2013 Two\n\n" + text(`"Software"`, " ") +
		"\n== other 1.0\n\nCopyright 2016 Other\n\nAnother text.\n" +
		"\n== three 3.0\n\nMIT License\n\nCopyright (c) 2019 Three\n\n" + text("“Software”", "\n")
	want := "Ours.\n" +
		"\n== one 1.0 (MIT)\nThe MIT License (MIT)\nCopyright (c) 2012 One\nCopyright (c) 2013 Two" +
		"\n== three 3.0\nMIT License\nCopyright (c) 2019 Three\n\n" + text(`"Software"`, " ") +
		"\n== other 1.0\n\nCopyright 2016 Other\n\nAnother text.\n"
	if got := string(eachTextOnce([]byte(given))); got != want {
		t.Errorf("got %s", got)
	}
}

func TestOfTwoLicencesTheShortOneIsTaken(t *testing.T) {
	for licence, want := range map[string]string{
		"(MIT OR Apache-2.0)": "== part 1.0.0 ((MIT OR Apache-2.0))\n\nthe short one\n",
		"Apache-2.0":          "== part 1.0.0 (Apache-2.0)\n\nthe long one\n\nthe short one\n",
	} {
		dir := t.TempDir()
		put(t, dir, "package.json", `{"name":"part","version":"1.0.0","license":"`+licence+`"}`)
		put(t, dir, "LICENSE", "the long one\n")
		put(t, dir, "LICENSE-MIT", "the short one\n")
		var out bytes.Buffer
		if err := packageNotice(&out, dir); err != nil || strings.TrimPrefix(out.String(), "\n") != want {
			t.Errorf("%s: %v, notice is %q", licence, err, out.String())
		}
	}
}
