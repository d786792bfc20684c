// Command script bundles one TypeScript program for Node, so that benchmarks
// and checks run the project's own functions as they are written. Run it from
// the root of the tree: go run ./client/build/script ENTRY.ts OUT.mjs
package main

import (
	"fmt"
	"os"

	"github.com/evanw/esbuild/pkg/api"
)

func main() {
	if len(os.Args) != 3 {
		fmt.Fprintln(os.Stderr, "script: name a program and where its bundle goes: script ENTRY.ts OUT.mjs")
		os.Exit(2)
	}
	result := api.Build(api.BuildOptions{
		EntryPoints: []string{os.Args[1]}, Outfile: os.Args[2], Write: true,
		Bundle: true, Format: api.FormatESModule, Platform: api.PlatformNode, Target: api.ES2022,
		Sourcemap: api.SourceMapInline, LogLevel: api.LogLevelWarning,
	})
	if len(result.Errors) > 0 {
		os.Exit(1)
	}
}
