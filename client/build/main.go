// Command build bundles the client with esbuild's Go API into server/web/dist:
// hashed names, lazy chunks, the worker with its list of files, gzip siblings
// and the notices of everything shipped. The same sources give the same bytes.
// Run it from the root of the tree: go run ./client/build
//
// With -pseudo it builds into another folder, for tests, a client whose words are longer.
package main

import (
	"encoding/json"
	"errors"
	"flag"
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
	longer := flag.String("pseudo", "", "build a client with longer, marked words into this `folder`")
	flag.Parse()
	start := time.Now()
	if err := build(*longer); err != nil {
		fmt.Fprintln(os.Stderr, "build:", err)
		os.Exit(1)
	}
	fmt.Printf("built the client in %s\n", time.Since(start).Round(time.Millisecond))
}

// build writes everything first and weighs it last, so that a build that is
// too heavy can still be looked at. A build for a test of words is not weighed.
func build(longer string) error {
	version, err := packageVersion()
	if err != nil {
		return err
	}
	app := options("main.tsx", version)
	app.Loader[".css"] = api.LoaderEmpty // the styles are one sheet of their own
	app.Plugins = append(app.Plugins, firstInOne(src+"/src/main.tsx"))
	if longer != "" {
		app.Plugins = append(app.Plugins, pseudo())
	}
	files, appMeta, err := bundle(app)
	if err != nil {
		return err
	}
	sheet, err := styles(version)
	if err != nil {
		return err
	}
	for name, b := range sheet {
		files[name] = b
	}
	guard := options("rescue/guard.ts", version)
	guard.Format, guard.Splitting, guard.Target = api.FormatIIFE, false, api.ES2015 // old browsers must be able to read it
	guardFiles, guardMeta, err := bundle(guard)
	if err != nil {
		return err
	}
	for name, b := range guardFiles {
		files[name] = b
	}
	if err := static(files); err != nil {
		return err
	}
	if files["licences.txt"], err = notices(shipped(appMeta, guardMeta)); err != nil {
		return err
	}
	weights := newWeights(appMeta)
	if files["index.html"], err = page(files, weights); err != nil {
		return err
	}
	if err := worker(files, version); err != nil {
		return err
	}
	if longer != "" {
		return write(files, longer)
	}
	if err := write(files, dist); err != nil {
		return err
	}
	return weights.check(os.Stdout, files)
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

func options(entry, version string) api.BuildOptions {
	const hashed = "assets/[name]-[hash]" // the worker knows them by this form
	return api.BuildOptions{
		EntryPoints: []string{src + "/src/" + entry}, EntryNames: hashed, ChunkNames: hashed, AssetNames: hashed,
		Bundle: true, Splitting: true, Outdir: dist, Format: api.FormatESModule, Target: api.ES2022, Platform: api.PlatformBrowser,
		Metafile: true, Sourcemap: api.SourceMapLinked, LegalComments: api.LegalCommentsNone,
		MinifyWhitespace: true, MinifyIdentifiers: true, MinifySyntax: true,
		JSX: api.JSXAutomatic, JSXImportSource: "preact", PublicPath: "/",
		Define: map[string]string{"__VERSION__": quote(version), "process.env.NODE_ENV": `"production"`},
		Loader: map[string]api.Loader{".woff2": api.LoaderFile, ".svg": api.LoaderFile},
	}
}

// styles makes one sheet of every style file: the tokens, the base, then each
// part's. Split by lazy part, shared parts would be in it many times.
func styles(version string) (map[string][]byte, error) {
	first := []string{"./styles/tokens.css", "./styles/base.css"}
	var rest []string
	root := filepath.Join(src, "src")
	err := filepath.WalkDir(root, func(path string, _ os.DirEntry, err error) error {
		rel, relErr := filepath.Rel(root, path)
		if err != nil || relErr != nil {
			return errors.Join(err, relErr)
		}
		if name := "./" + filepath.ToSlash(rel); filepath.Ext(name) == ".css" && !slices.Contains(first, name) {
			rest = append(rest, name)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	slices.Sort(rest)
	var imports strings.Builder
	for _, name := range append(first, rest...) {
		fmt.Fprintf(&imports, "@import %q;\n", name)
	}
	dir, err := filepath.Abs(root)
	if err != nil {
		return nil, err
	}
	o := options("styles", version)
	o.EntryPoints, o.Splitting = nil, false
	o.Stdin = &api.StdinOptions{Contents: imports.String(), ResolveDir: dir, Sourcefile: "styles.css", Loader: api.LoaderCSS}
	files, _, err := bundle(o)
	return files, err
}

// A metafile is what esbuild tells of a build, as far as it is used here.
type metafile struct {
	Inputs  map[string]json.RawMessage
	Outputs map[string]output
}

type output struct {
	EntryPoint string
	Imports    []imported
}

type imported struct{ Path, Kind string }

// bundle returns the built files by their path below dist. A warning fails it:
// there is nobody to read one.
func bundle(o api.BuildOptions) (map[string][]byte, metafile, error) {
	var meta metafile
	r := api.Build(o)
	for _, m := range api.FormatMessages(append(r.Errors, r.Warnings...), api.FormatMessagesOptions{}) {
		fmt.Fprint(os.Stderr, m)
	}
	if len(r.Errors)+len(r.Warnings) > 0 {
		return nil, meta, fmt.Errorf("%s does not bundle", append(o.EntryPoints, "the styles")[0])
	}
	if err := json.Unmarshal([]byte(r.Metafile), &meta); err != nil {
		return nil, meta, err
	}
	root, err := filepath.Abs(dist)
	if err != nil {
		return nil, meta, err
	}
	files := map[string][]byte{}
	for _, f := range r.OutputFiles {
		rel, err := filepath.Rel(root, f.Path)
		if err != nil {
			return nil, meta, err
		}
		files[filepath.ToSlash(rel)] = f.Contents
	}
	return files, meta, nil
}

// static adds what is shipped as it is.
func static(files map[string][]byte) error {
	paths, err := filepath.Glob(src + "/icons/*")
	if err != nil {
		return err
	}
	for _, path := range append(paths, src+"/manifest.webmanifest") {
		b, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		files[strings.TrimPrefix(filepath.ToSlash(path), src+"/")] = b
	}
	return nil
}

func quote(s string) string {
	b, _ := json.Marshal(s) // a string always marshals
	return string(b)
}
