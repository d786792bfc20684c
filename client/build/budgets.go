package main

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
)

// What a phone may be asked to load, in bytes as sent (gzip 9; fonts as they
// are), and what it may be asked to keep, in bytes as kept. Our own choice.
const (
	mostFirst   = 70_000
	mostStyles  = 12_000
	mostFonts   = 36_000
	mostLazy    = 32_000
	mostOffline = 900_000

	mostFirstFiles = 3 // scripts of the first screen: the guard, the entry, what it shares with lazy parts (parts.go)
)

// weights knows which scripts the first screen can't do without.
type weights struct {
	entry string          // below dist
	first map[string]bool // the entry and whatever it imports at once
}

func newWeights(meta metafile) weights {
	w := weights{first: map[string]bool{}}
	var follow func(path string)
	follow = func(path string) {
		name := strings.TrimPrefix(path, dist+"/")
		if w.first[name] {
			return
		}
		w.first[name] = true
		for _, i := range meta.Outputs[path].Imports {
			if i.Kind == "import-statement" {
				follow(i.Path)
			}
		}
	}
	for path, out := range meta.Outputs {
		if out.EntryPoint == src+"/src/main.tsx" && filepath.Ext(path) == ".js" {
			w.entry = strings.TrimPrefix(path, dist+"/")
			follow(path)
		}
	}
	return w
}

// check prints what the build weighs and names everything that weighs too much.
func (w weights) check(out io.Writer, files map[string][]byte) error {
	var over []error
	say := func(what string, got, most int) {
		fmt.Fprintf(out, "%7d of %6d  %s\n", got, most, what)
		if got > most {
			over = append(over, fmt.Errorf("%s: %d, may be %d", what, got, most))
		}
	}
	var first, firstFiles, styles, fonts, offline int
	for _, name := range sorted(files) {
		switch ext := filepath.Ext(name); {
		case !strings.HasPrefix(name, "assets/"):
		case ext == ".css":
			styles += len(squeeze(files[name]))
		case ext == ".woff2":
			fonts += len(files[name])
		case ext != ".js":
		case w.first[name], strings.HasPrefix(name, "assets/guard-"):
			first += len(squeeze(files[name]))
			firstFiles++
		default:
			say("lazy "+filepath.Base(name), len(squeeze(files[name])), mostLazy)
		}
	}
	for _, url := range precached(files) {
		if url == "/" {
			url = "/index.html"
		}
		offline += len(files[url[1:]])
	}
	if w.entry == "" || first == 0 || styles == 0 || fonts == 0 {
		over = append(over, errors.New("a part that must be there weighs nothing: the budget looks in the wrong place"))
	}
	say("scripts of the first screen, in bytes", first, mostFirst)
	say("scripts of the first screen, in files", firstFiles, mostFirstFiles)
	say("styles", styles, mostStyles)
	say("fonts", fonts, mostFonts)
	say("all that is kept offline, not packed", offline, mostOffline)
	return errors.Join(over...)
}
