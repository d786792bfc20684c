// Evenpull's server: one program that keeps studios' books and serves the app.
package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"strings"
	"syscall"
)

// version is put in by the build: -ldflags "-X main.version=…".
var version = "dev"

// An env is what a run of the program sees of the world.
type env struct {
	vars   []string // as of os.Environ
	out    io.Writer
	errout io.Writer
	term   bool // out is a terminal: a person reads it now and nobody later
}

// A command is one subcommand of the program.
type command struct {
	name, about string
	run         func(ctx context.Context, args []string, e env) error
}

func commands() []command {
	return []command{
		{"serve", "keep studios and serve the app (what happens without a command)", serve},
		{"backup", "write everything into one file, while the server runs or not", backup},
		{"restore", "make a server of a backup, in an empty data folder", restore},
		{"check", "read the whole store and say what is wrong with it", check},
		{"export", "write each studio as a phone's copy, and tables for a spreadsheet", export},
		{"invite", "make a code for a keeper or a hub on the server's own shell", invite},
		{"licences", "print the notices of every part in this program", licences},
	}
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	e := env{os.Environ(), os.Stdout, os.Stderr, terminal(os.Stdout)}
	if err := run(ctx, os.Args[1:], e); err != nil {
		fmt.Fprintf(os.Stderr, "evenpull: %v\n", err)
		os.Exit(1)
	}
}

// run picks the subcommand. Errors are sentences for the one at the shell.
func run(ctx context.Context, args []string, e env) error {
	name := "serve"
	if len(args) > 0 && !strings.HasPrefix(args[0], "-") {
		name, args = args[0], args[1:]
	}
	all := commands()
	i := slices.IndexFunc(all, func(c command) bool { return c.name == name })
	if i < 0 {
		names := make([]string, len(all))
		for i, c := range all {
			names[i] = c.name
		}
		return fmt.Errorf("there is no command %q; there is: %s", name, strings.Join(names, ", "))
	}
	return all[i].run(ctx, args, e)
}
