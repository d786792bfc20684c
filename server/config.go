package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"net"
	"net/netip"
	"strings"

	"evenpull/server/hub"
)

// settings are the flags of a subcommand. Each is also a variable: --trusted-proxy is EVENPULL_TRUSTED_PROXY.
type settings struct {
	*flag.FlagSet
	about string
	words []string // what stands beside the flags, in order: FILE
}

// errShown says that the answer was printed and the program is done.
var errShown = errors.New("shown")

const prefix = "EVENPULL_"

func newSettings(name, about string, words ...string) settings {
	s := settings{flag.NewFlagSet(name, flag.ContinueOnError), about, words}
	s.SetOutput(io.Discard) // errors are one sentence of ours
	s.Usage = func() {}
	return s
}

// parse reads variables, then flags over them, and returns the words beside
// them. Whatever it does not know stops the start.
func (s settings) parse(args []string, e env) ([]string, error) {
	help := s.Bool("help", false, "show this")
	shown := s.Bool("version", false, "show the version")
	for _, pair := range e.vars {
		name, value, _ := strings.Cut(pair, "=")
		short, ok := strings.CutPrefix(name, prefix)
		if !ok {
			continue
		}
		f := strings.ReplaceAll(strings.ToLower(short), "_", "-")
		if s.Lookup(f) == nil && !known(f) {
			return nil, fmt.Errorf("the variable %s is not a setting; see --help", name)
		}
		if s.Lookup(f) == nil {
			continue // of another subcommand
		}
		if err := s.Set(f, value); err != nil {
			return nil, fmt.Errorf("the variable %s can't be %q", name, value)
		}
	}
	var given []string
	err := s.Parse(args)
	for err == nil && s.NArg() > 0 { // flags may stand behind words too
		given = append(given, s.Arg(0))
		err = s.Parse(s.Args()[1:])
	}
	switch {
	case errors.Is(err, flag.ErrHelp) || err == nil && *help:
		s.show(e.out)
		return nil, errShown
	case err != nil:
		return nil, fmt.Errorf("%v; see --help", err)
	case *shown:
		fmt.Fprintf(e.out, "evenpull %s\n", version)
		return nil, errShown
	case len(given) > len(s.words):
		return nil, fmt.Errorf("%q is one word too many; see --help", given[len(s.words)])
	case len(given) < len(s.words):
		return nil, fmt.Errorf("say %s; see --help", s.words[len(given)])
	}
	return given, nil
}

// known reports whether any subcommand has the flag.
func known(name string) bool {
	probe := newSettings("", "")
	serveFlags(probe)
	inviteFlags(probe)
	return probe.Lookup(name) != nil
}

func (s settings) show(out io.Writer) {
	fmt.Fprintf(out, "%s\n\nCommands:\n", s.about)
	for _, c := range commands() {
		fmt.Fprintf(out, "  %-8s %s\n", c.name, c.about)
	}
	fmt.Fprintf(out, "\nFlags of %s, each also a variable (--data is %sDATA):\n", s.Name(), prefix)
	for _, word := range s.words {
		fmt.Fprintf(out, "  %s\n", word)
	}
	s.VisitAll(func(f *flag.Flag) {
		value := ""
		if f.DefValue != "" && f.DefValue != "false" {
			value = fmt.Sprintf(" (%s)", f.DefValue)
		}
		fmt.Fprintf(out, "  --%-14s %s%s\n", f.Name, f.Usage, value)
	})
}

// A serveConfig is how the server is to run.
type serveConfig struct {
	listen, data, cert, key, proxies string
	upstream, link                   string
	trusted                          []netip.Prefix
	demo                             bool
	lan                              lanConfig
	acme                             acmeConfig
}

func serveFlags(s settings) *serveConfig {
	c := &serveConfig{}
	s.StringVar(&c.listen, "listen", "127.0.0.1:8642", "HOST:PORT to listen on; :8642 for every address")
	dataFlag(s, &c.data)
	s.BoolVar(&c.demo, "demo", false, "fill an empty data folder with a demo studio")
	s.StringVar(&c.cert, "cert", "", "certificate file in PEM, for https")
	s.StringVar(&c.key, "key", "", "its key file in PEM")
	acmeFlags(s, &c.acme)
	lanFlags(s, &c.lan)
	s.StringVar(&c.upstream, "upstream", "", "address of the server above, https://NAME: this one is a hub and carries its studio")
	s.StringVar(&c.link, "link", "", "code that links a hub, from a keeper above; for the first start, or for one more studio")
	s.StringVar(&c.proxies, "trusted-proxy", "", "addresses or networks of proxies whose X-Forwarded-For is believed, with commas between")
	return c
}

// dataFlag is shared by every subcommand that knows the data folder.
func dataFlag(s settings, data *string) {
	if s.Lookup("data") == nil {
		s.StringVar(data, "data", "./evenpull-data", "data folder")
	}
}

// check refuses what can't work, before anything is made or changed.
func (c *serveConfig) check() error {
	if _, _, err := net.SplitHostPort(c.listen); err != nil {
		return fmt.Errorf("--listen %q is not HOST:PORT, such as 127.0.0.1:8642", c.listen)
	}
	if c.data == "" {
		return errors.New("--data names no folder")
	}
	if c.upstream != "" {
		var err error
		if c.upstream, err = hub.Address(c.upstream); err != nil {
			return fmt.Errorf("--upstream can't be used: %w", err)
		}
	} else if c.link != "" {
		return errors.New("--link goes together with --upstream")
	}
	if c.upstream != "" && c.demo {
		return errors.New("--demo and --upstream do not go together")
	}
	if c.demo && (c.lan.on || c.acme.name != "") {
		return errors.New("--demo opens on its own machine alone, without --lan and --acme")
	}
	if (c.cert == "") != (c.key == "") {
		return errors.New("--cert and --key go together")
	}
	if c.acme.name != "" && c.cert != "" {
		return errors.New("--lan, --acme and --cert are three ways to one thing: choose one")
	}
	if err := c.acme.check(); err != nil {
		return err
	}
	if err := c.lan.check(c.listen, c.cert != "" || c.acme.name != ""); err != nil {
		return err
	}
	var err error
	c.trusted, err = networks("--trusted-proxy", c.proxies)
	return err
}
