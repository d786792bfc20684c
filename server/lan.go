package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"evenpull/server/lan"
	"evenpull/server/store"
)

const (
	// addressesEvery is how often the hub looks where it is found, and whether its authority has ended.
	addressesEvery = 15 * time.Second
	// seenEvery is how often the time is kept, for a start with a wrong clock.
	seenEvery = 10 * time.Minute
)

// firstDay is before every build of this program; a build from a repository knows its own day.
var firstDay = time.Date(2026, 11, 26, 0, 0, 0, 0, time.UTC)

func buildTime() time.Time {
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			if at, err := time.Parse(time.RFC3339, s.Value); s.Key == "vcs.time" && err == nil && at.After(firstDay) {
				return at
			}
		}
	}
	return firstDay
}

// local are the networks that nobody reaches from elsewhere: RFC 1918, 6598, 3927, 4193, 4291 and loopback.
var local, _ = networks("", "10.0.0.0/8,172.16.0.0/12,192.168.0.0/16,100.64.0.0/10,169.254.0.0/16,127.0.0.0/8,fc00::/7,fe80::/10,::1")

type lanConfig struct {
	on, limit, believe          bool
	names, networks, page, last string

	hosts    []string
	prefixes []netip.Prefix
	until    time.Time
}

func lanFlags(s settings, c *lanConfig) {
	s.BoolVar(&c.on, "lan", false, "https with an authority of this hub's own, where there is no internet")
	s.StringVar(&c.names, "lan-name", "evenpull.local", "names of the hub, .local, with commas between")
	s.StringVar(&c.networks, "lan-network", "", "addresses or networks its authority may speak for besides those of its first start, with commas between")
	s.BoolVar(&c.limit, "lan-limit", true, "limit the authority to these names and addresses; =false for phones that refuse the limit")
	s.StringVar(&c.last, "lan-until", "", "last day, YYYY-MM-DD: the authority ends a week after it, else a year after its first start")
	s.StringVar(&c.page, "lan-page", "", "HOST:PORT of the page, over plain http, that says how to trust the hub; else port 80 beside 443, or the port above --listen's")
	s.BoolVar(&c.believe, "believe-clock", false, "believe this machine's clock although a later time was seen; for one start")
}

// check completes what is not said. listen and others are flags of serve.
func (c *lanConfig) check(listen string, otherTLS bool) (err error) {
	if !c.on {
		return nil
	}
	if otherTLS {
		return errors.New("--lan, --acme and --cert are three ways to one thing: choose one")
	}
	host, port, _ := net.SplitHostPort(listen)
	if host != "" && net.ParseIP(host) == nil {
		return fmt.Errorf("--listen %q: with --lan it is an address or none, such as :8642", listen)
	}
	for _, name := range words(c.names) {
		if err := lan.CheckName(name); err != nil {
			return fmt.Errorf("--lan-name: %w", err)
		}
		c.hosts = append(c.hosts, name)
	}
	if len(c.hosts) == 0 {
		return errors.New("--lan-name names nothing, such as evenpull.local")
	}
	if c.prefixes, err = networks("--lan-network", c.networks); err != nil {
		return err
	}
	for _, n := range c.prefixes {
		if !slices.ContainsFunc(local, func(l netip.Prefix) bool { return l.Bits() <= n.Bits() && l.Contains(n.Addr()) }) {
			return fmt.Errorf("--lan-network %s reaches beyond local networks: the authority would speak for strangers' machines too; name the hub's own network, such as 192.168.4.0/24", n)
		}
	}
	if c.last != "" {
		if c.until, err = time.Parse(time.DateOnly, c.last); err != nil {
			return fmt.Errorf("--lan-until %q is no day, such as 2027-03-14", c.last)
		}
		c.until = c.until.AddDate(0, 0, 1) // the whole of it
	}
	if c.page == "" {
		c.page = net.JoinHostPort(host, beside(port))
	} else if _, _, err := net.SplitHostPort(c.page); err != nil {
		return fmt.Errorf("--lan-page %q is not HOST:PORT, such as :80", c.page)
	}
	return nil
}

// beside is the port of the page beside that of the app.
func beside(port string) string {
	n, err := strconv.Atoi(port)
	switch {
	case err != nil || n == 0 || n >= 65535:
		return "0"
	case n == 443:
		return "80"
	}
	return strconv.Itoa(n + 1)
}

// A lanDoor is what runs beside the app's listener.
type lanDoor struct {
	*lan.Door
	pages net.Listener
	clock *lan.Clock
}

// openLAN makes or reads the certificates and listens for the page.
func openLAN(ctx context.Context, c *serveConfig, st *store.Store, out io.Writer) (*lanDoor, error) {
	seen, err := st.Seen()
	if err != nil {
		return nil, fmt.Errorf("the last time can't be read: %w", err)
	}
	if c.lan.believe {
		seen = time.Time{}
	}
	say := func(sentence string) { fmt.Fprintln(out, sentence) }
	least := buildTime()
	if seen.After(least) {
		least = seen
	}
	clock := lan.NewClock(least)
	if clock.Behind() {
		say(fmt.Sprintf("This machine's clock says %s, before %s, which was surely reached: certificates go on from there. Set the clock; if that later time is wrong, start once with --believe-clock.",
			time.Now().UTC().Format(time.RFC3339), least.UTC().Format(time.RFC3339)))
	}
	if err := st.See(ctx, clock.Now()); err != nil {
		return nil, fmt.Errorf("the time can't be kept: %w", err)
	}
	door, err := lan.Open(lan.Config{
		Folder: filepath.Join(c.data, "lan"), Names: c.lan.hosts, Networks: c.lan.prefixes, Limited: c.lan.limit, Until: c.lan.until,
		Addresses: foundAt(c.listen), Now: clock.Now, Say: say,
	})
	if err != nil {
		return nil, err
	}
	pages, err := net.Listen("tcp", c.lan.page)
	if err != nil {
		return nil, fmt.Errorf("can't listen on %s for the page that says how to trust this hub: %w; choose another with --lan-page HOST:PORT", c.lan.page, err)
	}
	return &lanDoor{door, pages, clock}, nil
}

// foundAt lists the addresses at which phones find who listens there.
func foundAt(listen string) func() []netip.Addr {
	host, _, _ := net.SplitHostPort(listen)
	if a, err := netip.ParseAddr(host); err == nil && !a.IsUnspecified() {
		return func() []netip.Addr { return []netip.Addr{a.Unmap()} }
	}
	return ownAddresses
}

// show tells the one who starts the hub what phones need, and keeps the sheet for the wall.
func (d *lanDoor) show(out io.Writer) error {
	_, own, _ := net.SplitHostPort(d.pages.Addr().String())
	var sheet strings.Builder
	fmt.Fprintf(&sheet, "Phones first open, over plain http, how to trust this hub (until %s):\n", d.Ends().UTC().Format(time.DateOnly))
	for _, host := range d.Hosts() {
		fmt.Fprintf(&sheet, "  http://%s/\n", strings.TrimSuffix(net.JoinHostPort(host, own), ":80"))
	}
	fmt.Fprintf(&sheet, "Of the certificate from there each phone itself must show this fingerprint (SHA-256):\n  %s\n", strings.ReplaceAll(d.Fingerprint(), "\n", "\n  "))
	name := filepath.Join(d.Folder, "wall-sheet.txt")
	if err := os.WriteFile(name, []byte(sheet.String()), 0o600); err != nil {
		return fmt.Errorf("the sheet for the wall can't be written: %w", err)
	}
	fmt.Fprintf(out, "%sThese lines stand in %s, for a sheet on the wall.\n", sheet.String(), name)
	fmt.Fprintln(out, "Records live at the address where the app was opened: keep this machine's address the same (by a reservation in the router), or open the app by its name.")
	return nil
}

// look brings the certificates up to date, and screen and sheet with them: phones
// are compared with these. It reports whether the hub is found elsewhere now.
func (d *lanDoor) look(out io.Writer) (moved bool, err error) {
	at, print := d.Hosts(), d.Fingerprint()
	err = d.Look()
	if moved = !slices.Equal(d.Hosts(), at); moved || d.Fingerprint() != print {
		err = errors.Join(err, d.show(out))
	}
	return moved, err
}

// run serves the page, answers to the names and looks at addresses and time until ctx ends.
func (d *lanDoor) run(ctx context.Context, st *store.Store, port string, log *slog.Logger, out io.Writer) {
	page := newServer(d.Page(port))
	page.ReadTimeout, page.WriteTimeout = 10*time.Second, 30*time.Second
	var works sync.WaitGroup
	works.Go(func() { _ = page.Serve(d.pages) })
	names, trouble := d.answers(log), ""
	addresses, seen := time.NewTicker(addressesEvery), time.NewTicker(seenEvery)
	defer addresses.Stop()
	defer seen.Stop()
	for ctx.Err() == nil {
		select {
		case <-ctx.Done():
		case <-addresses.C:
			said := trouble
			trouble = ""
			moved, err := d.look(out)
			if err != nil {
				trouble = err.Error()
			}
			if trouble != "" && trouble != said {
				log.Error("the hub's certificate stays as it was", "err", trouble)
			}
			if moved {
				_ = names.Close()
				names = d.answers(log)
			}
		case <-seen.C:
			if err := st.See(ctx, d.clock.Now()); err != nil && ctx.Err() == nil {
				log.Warn("the time was not kept", "err", err.Error())
			}
		}
	}
	_ = names.Close()
	_ = page.Close()
	works.Wait()
}

// answers starts answering to the names, where that can be.
func (d *lanDoor) answers(log *slog.Logger) io.Closer {
	c, err := lan.Answer(d.Names)
	if err != nil {
		log.Warn("no answers to .local names", "err", err.Error())
		return io.NopCloser(nil)
	}
	return c
}

// words splits a setting with commas.
func words(text string) (list []string) {
	for word := range strings.SplitSeq(text, ",") {
		if word = strings.TrimSpace(word); word != "" {
			list = append(list, word)
		}
	}
	return list
}

// networks reads addresses and networks with commas between.
func networks(flag, text string) (list []netip.Prefix, err error) {
	for _, word := range words(text) {
		p, err := netip.ParsePrefix(word)
		if a, aerr := netip.ParseAddr(word); aerr == nil {
			p, err = netip.PrefixFrom(a, a.BitLen()), nil
		}
		if err != nil {
			return nil, fmt.Errorf("%s %q is no address or network, such as 10.0.0.1 or 10.0.0.0/8", flag, word)
		}
		list = append(list, p.Masked())
	}
	return list, nil
}
