package main

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"html"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"github.com/evanw/esbuild/pkg/api"
)

// page puts the hashed names into index.html: the guard first, then fonts,
// styles and every script that the first screen needs, so that none waits for
// another. The first words stand in the page itself: they are painted before a script is there.
func page(files map[string][]byte, w weights) ([]byte, error) {
	page, err := os.ReadFile(src + "/index.html")
	if err != nil {
		return nil, err
	}
	var guard, links, app string
	for _, name := range sorted(files) {
		ext := filepath.Ext(name)
		switch {
		case !strings.HasPrefix(name, "assets/"):
		case ext == ".woff2":
			links += `<link rel="preload" as="font" type="font/woff2" crossorigin href="/` + name + `">`
		case ext == ".css": // of lazy parts too: the whole of it is small, and esbuild loads none by itself
			links += `<link rel="stylesheet" href="/` + name + `">`
		case ext != ".js":
		case strings.HasPrefix(name, "assets/guard-"):
			guard += `<script src="/` + name + `"></script>`
		case name == w.entry:
			app += `<script type="module" src="/` + name + `"></script>`
		case w.first[name]:
			links += `<link rel="modulepreload" href="/` + name + `">`
		}
	}
	title, what, err := firstWords()
	if err != nil {
		return nil, err
	}
	marks := map[string]string{"<!--GUARD-->": guard, "<!--LINKS-->": links, "<!--APP-->": app, "<!--TITLE-->": title, "<!--WHAT-->": what}
	for mark, tags := range marks {
		if bytes.Count(page, []byte(mark)) != 1 || tags == "" {
			return nil, fmt.Errorf("index.html: nothing to put at %s, or not one such place", mark)
		}
		page = bytes.Replace(page, []byte(mark), []byte(tags), 1)
	}
	return page, nil
}

// firstWords reads the title and the sentence below it from the words of the first screen, as HTML.
func firstWords() (title, what string, err error) {
	words, err := os.ReadFile(src + "/src/text/first.ts")
	word := func(name string) string {
		found := regexp.MustCompile(`(?m)^  ` + name + `: '([^'\\]+)',$`).FindSubmatch(words)
		if found == nil {
			err = errors.Join(err, fmt.Errorf("text/first.ts: no line that says %s: '…',", name))
			return ""
		}
		return html.EscapeString(string(found[1]))
	}
	return word("title"), word("what"), err
}

// worker adds sw.js with the list of what it keeps and a stamp of the build,
// which the worker's own source is part of: two workers never share a cache.
func worker(files map[string][]byte, version string) error {
	source, err := os.ReadFile(src + "/src/worker/sw.ts")
	if err != nil {
		return err
	}
	h := sha256.New()
	h.Write(source)
	for _, name := range sorted(files) {
		fmt.Fprintf(h, "%s %d\n", name, len(files[name]))
		h.Write(files[name])
	}
	stamp := hex.EncodeToString(h.Sum(nil))[:12]
	list, err := json.Marshal(precached(files))
	if err != nil {
		return err
	}
	o := options("worker/sw.ts", version)
	o.EntryNames, o.Format, o.Splitting, o.Sourcemap = "[name]", api.FormatIIFE, false, api.SourceMapNone
	o.Define["__FILES__"], o.Define["__STAMP__"] = string(list), quote(stamp)
	built, _, err := bundle(o)
	if err != nil {
		return err
	}
	files["sw.js"] = built["sw.js"]
	files["build.json"], err = json.Marshal(map[string]string{"version": version, "stamp": stamp})
	return err
}

// precached lists the addresses that the worker keeps: all but source maps,
// itself, and the build's own name.
func precached(files map[string][]byte) []string {
	urls := []string{}
	for _, name := range sorted(files) {
		switch {
		case strings.HasSuffix(name, ".map") || name == "sw.js" || name == "build.json":
		case name == "index.html":
			urls = append(urls, "/")
		default:
			urls = append(urls, "/"+name)
		}
	}
	return urls
}

// write empties the folder, but for the file that keeps it in the tree, and fills it.
func write(files map[string][]byte, into string) error {
	entries, err := os.ReadDir(into)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if e.Name() == ".gitkeep" {
			continue
		}
		if err := os.RemoveAll(filepath.Join(into, e.Name())); err != nil {
			return err
		}
	}
	for name, b := range files {
		path := filepath.Join(into, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return err
		}
		if err := os.WriteFile(path, b, 0o644); err != nil {
			return err
		}
		if squeezes(name) {
			if err := os.WriteFile(path+".gz", squeeze(b), 0o644); err != nil {
				return err
			}
		}
	}
	return nil
}

func squeezes(name string) bool {
	return slices.Contains([]string{".js", ".css", ".html", ".svg", ".txt", ".webmanifest", ".json"}, filepath.Ext(name))
}

func squeeze(b []byte) []byte {
	var z bytes.Buffer
	w, _ := gzip.NewWriterLevel(&z, gzip.BestCompression)
	_, _ = w.Write(b) // a bytes.Buffer takes everything
	_ = w.Close()
	return z.Bytes()
}

func sorted[V any](m map[string]V) []string {
	names := make([]string, 0, len(m))
	for n := range m {
		names = append(names, n)
	}
	slices.Sort(names)
	return names
}
