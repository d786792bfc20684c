package main

import (
	"context"
	"errors"
	"io"
	"net"
	"net/http"
	"sync/atomic"
	"time"
)

// A link is how a phone reaches the server. It counts all bytes, HTTP's own too.
type link struct {
	url      string
	client   *http.Client
	up, down atomic.Int64
	close    func()
}

type counted struct {
	net.Conn
	l *link
}

func (c counted) Read(b []byte) (int, error) {
	n, err := c.Conn.Read(b)
	c.l.down.Add(int64(n))
	return n, err
}

func (c counted) Write(b []byte) (int, error) {
	n, err := c.Conn.Write(b)
	c.l.up.Add(int64(n))
	return n, err
}

func (l *link) reset()                  { l.up.Store(0); l.down.Store(0) }
func (l *link) moved() (up, down int64) { return l.up.Load(), l.down.Load() }

// direct goes over loopback.
func direct(url string) *link {
	l := &link{url: url, close: func() {}}
	l.client = &http.Client{Timeout: 10 * time.Minute, Transport: &http.Transport{
		MaxIdleConnsPerHost: 100, ReadBufferSize: 64 << 10, WriteBufferSize: 64 << 10,
		DialContext: func(ctx context.Context, network, addr string) (net.Conn, error) {
			c, err := new(net.Dialer).DialContext(ctx, network, addr)
			return counted{c, l}, err
		},
	}}
	return l
}

// The slow link: 100 ms there and back, 1.25 MB/s each way.
const (
	oneWay   = 50 * time.Millisecond
	perSec   = 1_250_000
	inFlight = 64 // pieces of at most 16 KiB under way
)

// slow puts a link with delay and a rate before the server: what a phone sends
// arrives later, in order, no faster than the rate. Slow start and loss are not in it.
func slow(to string) (*link, error) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	go func() {
		for {
			near, err := listener.Accept()
			if err != nil {
				return
			}
			go func() {
				time.Sleep(2 * oneWay) // the handshake
				far, err := net.Dial("tcp", to)
				if err != nil {
					near.Close()
					return
				}
				go carry(near, far)
				go carry(far, near)
			}()
		}
	}()
	l := direct("http://" + listener.Addr().String())
	l.close = func() { listener.Close() }
	return l, nil
}

type piece struct {
	b  []byte
	at time.Time
}

func carry(from, to net.Conn) {
	pieces := make(chan piece, inFlight)
	go func() {
		defer to.Close()
		for p := range pieces {
			time.Sleep(time.Until(p.at))
			if _, err := to.Write(p.b); err != nil {
				break
			}
		}
		for range pieces { // drain
		}
	}()
	free := time.Now() // when the line has sent what it was given
	for {
		b := make([]byte, 16<<10)
		n, err := from.Read(b)
		if n > 0 {
			if now := time.Now(); free.Before(now) {
				free = now
			}
			free = free.Add(time.Duration(n) * time.Second / perSec)
			pieces <- piece{b[:n], free.Add(oneWay)}
		}
		if err != nil {
			close(pieces)
			if !errors.Is(err, io.EOF) {
				to.Close()
			}
			return
		}
	}
}
