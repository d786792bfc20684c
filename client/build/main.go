// Command build bundles the client with esbuild's Go API into server/web/dist:
// hashed names, lazy chunks, the worker with its list of files, gzip siblings
// and the notices of everything shipped. Run from the root: go run ./client/build
package main

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/evanw/esbuild/pkg/api"
)

const (
	src  = "client"
	dist = "server/web/dist"
)

func main() {
	start := time.Now()
	if err := build(); err != nil {
		fmt.Fprintln(os.Stderr, "build:", err)
		os.Exit(1)
	}
	fmt.Printf("built the client in %s\n", time.Since(start).Round(time.Millisecond))
}

func build() error {
	version, err := packageVersion()
	if err != nil {
		return err
	}
	app, err := bundle(options("main.tsx", "assets/[name]-[hash]", version, nil))
	if err != nil {
		return err
	}
	files, err := outputs(app)
	if err != nil {
		return err
	}
	guard := options("rescue/guard.ts", "assets/[name]-[hash]", version, nil)
	guard.Format, guard.Splitting = api.FormatIIFE, false
	guardOut, err := bundle(guard)
	if err != nil {
		return err
	}
	guardFiles, err := outputs(guardOut)
	if err != nil {
		return err
	}
	for n, b := range guardFiles {
		files[n] = b
	}
	if err := static(files); err != nil {
		return err
	}
	notices, err := notices(inputs(app))
	if err != nil {
		return err
	}
	files["licences.txt"] = notices
	if err := page(files); err != nil {
		return err
	}
	list, stamp := precache(files)
	worker := options("worker/sw.ts", "[name]", version, map[string]string{"__FILES__": list, "__STAMP__": `"` + stamp + `"`})
	worker.Format, worker.Splitting, worker.Sourcemap = api.FormatIIFE, false, api.SourceMapNone
	sw, err := bundle(worker)
	if err != nil {
		return err
	}
	files["sw.js"] = sw.OutputFiles[0].Contents
	files["build.json"], err = json.Marshal(map[string]string{"version": version, "stamp": stamp})
	if err != nil {
		return err
	}
	if err := write(files); err != nil {
		return err
	}
	return budgets(app.Metafile, files, list)
}

func packageVersion() (string, error) {
	b, err := os.ReadFile("package.json")
	if err != nil {
		return "", fmt.Errorf("run it from the root of the tree: %w", err)
	}
	var p struct{ Version string }
	if err := json.Unmarshal(b, &p); err != nil {
		return "", fmt.Errorf("package.json: %w", err)
	}
	return p.Version, nil
}

func options(entry, names, version string, define map[string]string) api.BuildOptions {
	d := map[string]string{"__VERSION__": `"` + version + `"`, "process.env.NODE_ENV": `"production"`}
	for k, v := range define {
		d[k] = v
	}
	return api.BuildOptions{
		EntryPoints: []string{src + "/src/" + entry}, EntryNames: names, ChunkNames: "assets/[name]-[hash]", AssetNames: "assets/[name]-[hash]",
		Bundle: true, Splitting: true, Outdir: dist, Format: api.FormatESModule, Target: api.ES2022, Platform: api.PlatformBrowser,
		Metafile: true, Sourcemap: api.SourceMapLinked, LegalComments: api.LegalCommentsNone,
		MinifyWhitespace: true, MinifyIdentifiers: true, MinifySyntax: true,
		JSX: api.JSXAutomatic, JSXImportSource: "preact", Define: d, PublicPath: "/",
		Loader: map[string]api.Loader{".woff2": api.LoaderFile, ".svg": api.LoaderFile},
	}
}

func bundle(o api.BuildOptions) (api.BuildResult, error) {
	r := api.Build(o)
	for _, m := range api.FormatMessages(append(r.Errors, r.Warnings...), api.FormatMessagesOptions{}) {
		fmt.Fprint(os.Stderr, m)
	}
	if len(r.Errors) > 0 {
		return r, fmt.Errorf("%s does not bundle", o.EntryPoints[0])
	}
	return r, nil
}

// outputs maps paths below dist to contents.
func outputs(r api.BuildResult) (map[string][]byte, error) {
	cwd, err := os.Getwd()
	if err != nil {
		return nil, err
	}
	files := map[string][]byte{}
	for _, f := range r.OutputFiles {
		rel, err := filepath.Rel(filepath.Join(cwd, dist), f.Path)
		if err != nil {
			return nil, err
		}
		files[filepath.ToSlash(rel)] = f.Contents
	}
	return files, nil
}

func static(files map[string][]byte) error {
	icons, err := filepath.Glob(src + "/icons/*")
	if err != nil {
		return err
	}
	for _, path := range append(icons, src+"/manifest.webmanifest") {
		b, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		files[strings.TrimPrefix(filepath.ToSlash(path), src+"/")] = b
	}
	return nil
}

// page puts the hashed names into index.html.
func page(files map[string][]byte) error {
	html, err := os.ReadFile(src + "/index.html")
	if err != nil {
		return err
	}
	var links string
	for _, n := range sorted(files) {
		switch {
		case strings.HasPrefix(n, "assets/b612-") && strings.HasSuffix(n, ".woff2"):
			links += `<link rel="preload" as="font" type="font/woff2" crossorigin href="/` + n + `">`
		case strings.HasPrefix(n, "assets/main-") && strings.HasSuffix(n, ".css"):
			links += `<link rel="stylesheet" href="/` + n + `">`
		}
	}
	for mark, prefix := range map[string]string{"<!--GUARD-->": "assets/guard-", "<!--APP-->": "assets/main-"} {
		for _, n := range sorted(files) {
			if strings.HasPrefix(n, prefix) && strings.HasSuffix(n, ".js") {
				tag := `<script src="/` + n + `"></script>`
				if mark == "<!--APP-->" {
					tag = `<script type="module" src="/` + n + `"></script>`
				}
				html = bytes.Replace(html, []byte(mark), []byte(tag), 1)
			}
		}
	}
	files["index.html"] = bytes.Replace(html, []byte("<!--LINKS-->"), []byte(links), 1)
	return nil
}

// precache lists what the worker keeps and stamps the build by its contents.
func precache(files map[string][]byte) (list, stamp string) {
	h := sha256.New()
	urls := []string{}
	for _, n := range sorted(files) {
		if strings.HasSuffix(n, ".map") {
			continue
		}
		fmt.Fprintf(h, "%s %d\n", n, len(files[n]))
		h.Write(files[n])
		if n == "index.html" {
			urls = append(urls, "/")
		} else {
			urls = append(urls, "/"+n)
		}
	}
	b, _ := json.Marshal(urls)
	return string(b), hex.EncodeToString(h.Sum(nil))[:12]
}

func write(files map[string][]byte) error {
	entries, err := os.ReadDir(dist)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if e.Name() != ".gitkeep" {
			if err := os.RemoveAll(filepath.Join(dist, e.Name())); err != nil {
				return err
			}
		}
	}
	for _, n := range sorted(files) {
		path := filepath.Join(dist, filepath.FromSlash(n))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return err
		}
		if err := os.WriteFile(path, files[n], 0o644); err != nil {
			return err
		}
		if squeezes(n) {
			if err := os.WriteFile(path+".gz", squeeze(files[n]), 0o644); err != nil {
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
