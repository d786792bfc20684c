package web_test

import (
	"bytes"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"evenpull/server/web"
	"evenpull/sync/ops"
)

// One address tries a thousand wrong codes, fifty at a time, while phones join
// from other addresses: none of those waits or is turned away. From the flooding
// address itself, as behind one router, an honest phone gets in by trying again.
func TestAThousandWrongCodesBesideHonestJoins(t *testing.T) {
	var held atomic.Int32
	r := newRig(t, func(c *web.Config) {
		c.Trusted = []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8"), netip.MustParsePrefix("::1/128")}
		c.Hold = func(time.Duration) error { held.Add(1); time.Sleep(2 * time.Millisecond); return nil }
	})
	keeper := r.claimed()
	class := r.code(keeper, map[string]any{"kind": "class", "role": "guest", "ends": r.now.Add(time.Hour).UnixMilli()})
	from := func(address string) []string { return []string{"X-Forwarded-For", address} }
	join := func(c *caller, code, address string) answer {
		return r.do("POST", "/v1/join", "", c.joinBody(code), from(address)...)
	}
	var flood sync.WaitGroup
	var wrong atomic.Int32
	for range 50 {
		c := newCaller(t, "Wrong")
		flood.Go(func() {
			for range 20 {
				if a := join(c, "2345-79AC", "192.0.2.66"); a.status == http.StatusForbidden || a.status == http.StatusTooManyRequests {
					wrong.Add(1)
				}
			}
		})
	}
	for wrong.Load() < 300 { // by then the whole server is slow to wrong codes
		time.Sleep(time.Millisecond)
	}
	for i := range 30 {
		join(newCaller(t, fmt.Sprint("Honest ", i)), class, fmt.Sprintf("198.51.100.%d", i+1)).want(t, "an honest join beside the flood", 200, "")
	}
	neighbour := newCaller(t, "Neighbour")
	tries := 1
	for ; join(neighbour, class, "192.0.2.66").status != http.StatusOK; tries++ {
		if tries > 200 {
			t.Fatal("the neighbour never got in")
		}
		time.Sleep(time.Millisecond)
	}
	flood.Wait()
	if wrong.Load() != 1000 || held.Load() < 50 {
		t.Errorf("%d wrong codes were refused, %d of them waited", wrong.Load(), held.Load())
	}
	join(newCaller(t, "After"), class, "192.0.2.66").want(t, "a right code once the flood is over", 200, "")
}

// What never ends is cut off: by time where it trickles, by size where it pours,
// packed or not. What it takes in memory stays near the limits.
func TestEndlessSendersAreLetGo(t *testing.T) {
	r := newRig(t, func(c *web.Config) { c.Slow = 300 * time.Millisecond })
	k := r.claimed()
	patient := newRig(t, func(c *web.Config) { c.Slow = time.Minute })
	p := patient.claimed()
	bomb := zipped(t, make([]byte, 64<<20)) // 64 MB in 64 kB
	blanks := bytes.Repeat([]byte(" "), 64<<10)
	for _, c := range []struct {
		name         string
		r            *rig
		path, header string
		body         func(w io.Writer) error // until it fails
		want         []string
	}{
		{"a trickle", r, k.path("exchange"), "", func(w io.Writer) error { time.Sleep(20 * time.Millisecond); _, err := w.Write([]byte(" ")); return err }, []string{" 503 ", "unavailable"}},
		{"a trickle of a small body", r, "/v1/join", "", func(w io.Writer) error { time.Sleep(20 * time.Millisecond); _, err := w.Write([]byte(" ")); return err }, []string{" 503 ", "unavailable"}},
		{"a flood", patient, p.path("exchange"), "", func(w io.Writer) error { _, err := w.Write(blanks); return err }, []string{" 413 ", "too-large"}},
		{"a flood into a small body", patient, "/v1/join", "", func(w io.Writer) error { _, err := w.Write(blanks); return err }, []string{" 413 ", "too-large"}},
		{"bomb after bomb", patient, p.path("exchange"), "Content-Encoding: gzip\r\n", func(w io.Writer) error { _, err := w.Write(bomb); return err }, []string{" 413 ", "too-large"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			before := allocated()
			conn, err := net.Dial("tcp", strings.TrimPrefix(c.r.web.URL, "http://"))
			must(t, err)
			defer conn.Close()
			token := map[*rig]string{r: k.token, patient: p.token}[c.r]
			fmt.Fprintf(conn, "POST %s HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\nContent-Type: application/json\r\nTransfer-Encoding: chunked\r\n%s\r\n", c.path, token, c.header)
			sent := make(chan struct{})
			go func() {
				defer close(sent)
				for c.body(chunks{conn}) == nil {
				}
			}()
			must(t, conn.SetReadDeadline(time.Now().Add(10*time.Second)))
			var got bytes.Buffer
			for line := make([]byte, 4096); ; {
				n, err := conn.Read(line)
				got.Write(line[:n])
				if err != nil || strings.Contains(got.String(), `"text"`) {
					break
				}
			}
			contains(t, "the answer", got.String(), c.want...)
			must(t, conn.Close())
			<-sent // its sender is told by the closed line
			if used := allocated() - before; used > 12*ops.MaxBatchBytes {
				t.Errorf("it took %d MB", used>>20)
			}
		})
	}
}

var crlf = []byte("\r\n")

// chunks writes in HTTP's chunks, and takes no memory for it: what is measured
// is the receiver's.
type chunks struct{ to io.Writer }

func (c chunks) Write(b []byte) (int, error) {
	if len(b) == 0 {
		return 0, nil
	}
	var size [18]byte
	head := append(strconv.AppendInt(size[:0], int64(len(b)), 16), "\r\n"...)
	for _, part := range [][]byte{head, b, crlf} {
		if _, err := c.to.Write(part); err != nil {
			return 0, err
		}
	}
	return len(b), nil
}

func allocated() int64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int64(m.TotalAlloc)
}
