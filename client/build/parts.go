package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"github.com/evanw/esbuild/pkg/api"
)

// byDefault finds what "export *" leaves out.
var byDefault = regexp.MustCompile(`\bexport default\b|\bas default\b`)

// firstInOne keeps all that the first screen needs in one file. esbuild splits
// by who uses a source file, and of the first screen's each is used by other
// lazy parts: that made more than thirty files, each asked for by itself, over a
// slow network and of the worker. Here every lazy part imports the entry as
// well, which is there before any of them, so what is first is used by all alike.
func firstInOne(entry string) api.Plugin {
	const lazy = "lazy"
	return api.Plugin{Name: "first-in-one", Setup: func(build api.PluginBuild) {
		root, wrong := filepath.Abs(".")
		build.OnResolve(api.OnResolveOptions{Filter: `.`}, func(args api.OnResolveArgs) (api.OnResolveResult, error) {
			if args.Kind != api.ResolveJSDynamicImport {
				return api.OnResolveResult{}, nil
			}
			r := build.Resolve(args.Path, api.ResolveOptions{ResolveDir: args.ResolveDir, Importer: args.Importer, Kind: api.ResolveJSImportStatement})
			if len(r.Errors) > 0 {
				return api.OnResolveResult{Errors: r.Errors}, nil
			}
			if wrong != nil {
				return api.OnResolveResult{}, wrong
			}
			name, err := filepath.Rel(root, r.Path) // the same on every machine, as the built names must be
			return api.OnResolveResult{Path: filepath.ToSlash(name), Namespace: lazy}, err
		})
		build.OnLoad(api.OnLoadOptions{Filter: `.`, Namespace: lazy}, func(args api.OnLoadArgs) (api.OnLoadResult, error) {
			source, err := os.ReadFile(filepath.FromSlash(args.Path))
			if err != nil {
				return api.OnLoadResult{}, err
			}
			// of a library the names are used
			if strings.HasPrefix(args.Path, src+"/") && byDefault.Match(source) {
				return api.OnLoadResult{}, fmt.Errorf("%s is a lazy part: give what it exports a name, not a default", args.Path)
			}
			both := fmt.Sprintf("import %q;\nexport * from %q;\n", "./"+entry, "./"+args.Path)
			return api.OnLoadResult{Contents: &both, ResolveDir: root, Loader: api.LoaderJS}, nil
		})
	}}
}
