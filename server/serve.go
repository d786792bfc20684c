package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	stdlog "log"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"path/filepath"
	"runtime"
	"sync"
	"syscall"
	"time"

	"evenpull/server/store"
	"evenpull/server/web"
)

// stopWithin is how long streams and answers under way may take once the program is told to stop.
const stopWithin = 4 * time.Second

// roomBytes is memory that is asked for and never touched, so it costs none. The
// collector waits until as much garbage has come together: a server that holds
// little would else collect for each batch it takes.
const roomBytes = 20 << 20

// serve runs the server until it is told to stop.
func serve(ctx context.Context, args []string, e env) (err error) {
	s := newSettings("serve", "Evenpull keeps a studio's book and shares it between its phones.")
	c := serveFlags(s)
	if _, err := s.parse(args, e); err != nil {
		return shown(err)
	}
	if err := c.check(); err != nil {
		return err
	}
	log := slog.New(slog.NewJSONHandler(e.errout, nil))
	secure, err := c.tls(log)
	if err != nil {
		return err
	}
	listener, err := listen(c.listen)
	if err != nil {
		return err
	}
	defer listener.Close()
	if err := store.Folder(c.data); err != nil {
		return err
	}
	st, err := store.Open(c.data)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()

	var door *lanDoor
	_, port, _ := net.SplitHostPort(listener.Addr().String())
	if c.lan.on {
		if door, err = openLAN(ctx, c, st, e.out); err != nil {
			return err
		}
		defer door.pages.Close()
		secure = door.TLS()
	}
	if c.demo {
		if _, _, err := checkDemo(st, time.Now()); err != nil {
			return err
		}
	}
	stopping := make(chan struct{})
	claim := &claimCode{folder: c.data, out: e.out, term: e.term}
	config := web.Config{
		Store: st, Version: version, Client: web.Built(), Assets: filepath.Join(c.data, "assets"), Trusted: c.trusted,
		Strict: secure != nil && !c.lan.on, Stopping: stopping, Log: log, Claimed: claim.done,
	}
	h, err := above(ctx, c, st, log, e.out)
	if err != nil {
		return err
	}
	if h != nil {
		config.Upstream = standing(h)
		carries, stop := context.WithCancel(ctx)
		var carrying sync.WaitGroup
		carrying.Go(func() {
			if err := h.Run(carries); err != nil {
				log.Error("the hub carries nothing", "err", err.Error())
			}
		})
		defer carrying.Wait() // before the store is closed
		defer stop()
	}
	handler, err := web.New(config)
	if err != nil {
		return err
	}
	ends, err := listenControl(st, c.data, stopping)
	if err != nil {
		return err
	}
	defer ends()
	at := addresses(listener.Addr(), c.listen, secure != nil)
	if c.acme.name != "" {
		at = c.acme.addresses(listener.Addr())
	}
	if door != nil {
		at = door.Links(port)
	}
	fmt.Fprintf(e.out, "Evenpull %s keeps its data in %s and listens at\n", version, c.data)
	for _, a := range at {
		fmt.Fprintf(e.out, "  %s\n", a)
	}
	if door != nil {
		if err := door.show(e.out); err != nil {
			return err
		}
		runs, stop := context.WithCancel(ctx)
		var running sync.WaitGroup
		running.Go(func() { door.run(runs, st, port, log, e.out) })
		defer running.Wait() // before the store is closed
		defer stop()
	}
	if c.demo {
		if err := showDemo(ctx, st, e.out, at[0]); err != nil {
			return err
		}
	}
	if err := claim.show(ctx, st, at[len(at)-1]); err != nil {
		return err
	}
	room := make([]byte, roomBytes)
	defer runtime.KeepAlive(room)
	return until(ctx, listener, secure, handler, stopping)
}

// shown makes a success of what was only to be printed.
func shown(err error) error {
	if errors.Is(err, errShown) {
		return nil
	}
	return err
}

// until serves until ctx ends; then it refuses what is new, ends streams and
// lets answers under way finish.
func until(ctx context.Context, listener net.Listener, secure *tls.Config, handler http.Handler, stopping chan struct{}) error {
	server := newServer(handler)
	server.TLSConfig = secure
	served := make(chan error, 1)
	go func() {
		if secure != nil {
			served <- server.ServeTLS(listener, "", "")
		} else {
			served <- server.Serve(listener)
		}
	}()
	select {
	case err := <-served:
		return fmt.Errorf("the server stopped by itself: %w", err)
	case <-ctx.Done():
	}
	close(stopping)
	last, cancel := context.WithTimeout(context.Background(), stopWithin)
	defer cancel()
	if err := server.Shutdown(last); err != nil {
		_ = server.Close() // some caller is too slow; what was acknowledged is on disk
	}
	return nil
}

// newServer has the limits of every listener.
func newServer(handler http.Handler) *http.Server {
	return &http.Server{
		Handler: handler, ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute,
		MaxHeaderBytes: 16 << 10, ErrorLog: stdlog.New(io.Discard, "", 0), // what strangers send badly is no news
	}
}

func (c *serveConfig) tls(log *slog.Logger) (*tls.Config, error) {
	if c.acme.name != "" {
		return c.acme.tls(c.data), nil
	}
	if c.cert == "" {
		return nil, nil
	}
	cert, err := newCertificate(c.cert, c.key, log)
	if err != nil {
		return nil, err
	}
	return &tls.Config{GetCertificate: cert.get, MinVersion: tls.VersionTLS12}, nil
}

func listen(at string) (net.Listener, error) {
	l, err := net.Listen("tcp", at)
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, fmt.Errorf("%s is in use by another program; choose another with --listen HOST:PORT", at)
	case err != nil:
		return nil, fmt.Errorf("can't listen on %s: %w", at, err)
	}
	return l, nil
}

// addresses lists where the app is found; the last is the one for a phone.
func addresses(bound net.Addr, asked string, secure bool) (list []string) {
	scheme := "http"
	if secure {
		scheme = "https"
	}
	_, port, _ := net.SplitHostPort(bound.String())
	add := func(host string) { list = append(list, scheme+"://"+net.JoinHostPort(host, port)+"/") }
	host, _, _ := net.SplitHostPort(asked)
	if ip := net.ParseIP(host); host != "" && (ip == nil || !ip.IsUnspecified()) {
		add(host)
		return list
	}
	add("127.0.0.1")
	for _, a := range ownAddresses() {
		add(a.String())
	}
	return list
}

// ownAddresses are those of this machine on local networks.
func ownAddresses() (list []netip.Addr) {
	own, _ := net.InterfaceAddrs() // none: loopback has to do
	for _, a := range own {
		if n, ok := a.(*net.IPNet); ok && n.IP.To4() != nil && n.IP.IsPrivate() {
			if ip, ok := netip.AddrFromSlice(n.IP.To4()); ok {
				list = append(list, ip)
			}
		}
	}
	return list
}
