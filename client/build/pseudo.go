package main

import (
	_ "embed"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"github.com/evanw/esbuild/pkg/api"
)

// What lengthens and marks a word; the page of a test runs it.
//
//go:embed pseudo.js
var pseudoWords string

var exported = regexp.MustCompile(`(?m)^export (?:const|function) (\w+)|^export \{ (\w+) \};`)

// pseudo stands between the words and whatever says them: each is 40 % longer
// and marked. A screen that has no room for another language then shows it,
// and so does a word that stands outside src/text.
func pseudo() api.Plugin {
	const space = "pseudo"
	return api.Plugin{Name: space, Setup: func(b api.PluginBuild) {
		words, err := filepath.Abs(src + "/src/text")
		b.OnResolve(api.OnResolveOptions{Filter: `/text/[a-z-]+$`}, func(a api.OnResolveArgs) (api.OnResolveResult, error) {
			path := filepath.Join(a.ResolveDir, a.Path) + ".ts"
			if err != nil || a.Namespace == space || filepath.Dir(path) != words || filepath.Dir(a.Importer) == words {
				return api.OnResolveResult{}, err
			}
			return api.OnResolveResult{Path: path, Namespace: space}, nil
		})
		b.OnLoad(api.OnLoadOptions{Filter: `.*`, Namespace: space}, func(a api.OnLoadArgs) (api.OnLoadResult, error) {
			source, err := os.ReadFile(a.Path)
			if err != nil {
				return api.OnLoadResult{}, err
			}
			var out strings.Builder
			fmt.Fprintf(&out, "import * as words from %q;\n%s", a.Path, pseudoWords)
			names := exported.FindAllStringSubmatch(string(source), -1)
			if len(names) == 0 {
				return api.OnLoadResult{}, errors.New(a.Path + ": says no words")
			}
			for _, n := range names {
				fmt.Fprintf(&out, "export const %[1]s = pseudo(words.%[1]s);\n", n[1]+n[2])
			}
			contents := out.String()
			return api.OnLoadResult{Contents: &contents, ResolveDir: words, Loader: api.LoaderJS}, nil
		})
	}}
}
