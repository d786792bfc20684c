package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"net/http"
	"sync"
	"time"

	"evenpull/server/drive"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// class lets n phones in by one code.
func (r *rig) class(n int) ([]*drive.Caller, error) {
	var code struct{ Code string }
	err := r.keeper.Post("/v1/studios/"+r.keeper.Studio+"/invites", map[string]any{"kind": "class", "role": "operator", "ends": time.Now().Add(time.Hour).UnixMilli()}, &code)
	if err != nil {
		return nil, err
	}
	phones := make([]*drive.Caller, n)
	for i := range phones {
		if phones[i], err = drive.NewCaller(r.URL); err != nil {
			return nil, err
		}
		phones[i].HTTP = &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 2}}
		if err := phones[i].Enter("/v1/join", code.Code); err != nil {
			return nil, err
		}
	}
	return phones, nil
}

// listen opens a stream and counts its lines until stop.
func listen(c *drive.Caller, stop <-chan struct{}, opened func(error)) (lines int) {
	req, err := http.NewRequest("GET", c.URL+"/v1/studios/"+c.Studio+"/events", nil)
	if err != nil {
		opened(err)
		return 0
	}
	req.Header.Set("Authorization", "Bearer "+c.Token)
	resp, err := c.HTTP.Do(req)
	if err == nil && resp.StatusCode != http.StatusOK {
		err = fmt.Errorf("a stream: %d", resp.StatusCode)
	}
	opened(err)
	if err != nil {
		return 0
	}
	go func() { <-stop; resp.Body.Close() }()
	for s := bufio.NewScanner(resp.Body); s.Scan(); {
		lines++
	}
	return lines
}

// crowd is phones that all listen, of which some write now and then for a while.
// It returns how long their exchanges took in milliseconds.
func (r *rig) crowd(phones []*drive.Caller, writers int, each, during time.Duration) (took []float64, lines int, err error) {
	stop := make(chan struct{})
	var mu sync.Mutex
	var streams, work sync.WaitGroup
	opened := make(chan error, len(phones))
	for _, c := range phones {
		streams.Go(func() {
			n := listen(c, stop, func(err error) { opened <- err })
			mu.Lock()
			lines += n
			mu.Unlock()
		})
	}
	for range phones {
		err = errors.Join(err, <-opened)
	}
	if err != nil {
		close(stop)
		return nil, 0, err
	}
	var ready sync.WaitGroup // nobody's time runs before all know the server
	ready.Add(writers)
	for i, c := range phones[:writers] {
		work.Go(func() {
			p := replication.NewPhone(person, drive.NewID)
			werr := c.Exchange(r.Server, p)
			ready.Done()
			ready.Wait()
			var mine []float64
			if werr == nil {
				mine, werr = r.writes(c, p, uint64(i), each, time.Now().Add(during))
			}
			mu.Lock()
			took, err = append(took, mine...), errors.Join(err, werr)
			mu.Unlock()
		})
	}
	work.Wait()
	close(stop)
	streams.Wait()
	return took, lines, err
}

// writes is one phone that writes at about that pace and sends each change at once.
func (r *rig) writes(c *drive.Caller, p *replication.Phone, seed uint64, each time.Duration, until time.Time) (took []float64, err error) {
	rnd := rand.New(rand.NewPCG(seed, 3))
	plot := newPlot(seed, shape{})
	for time.Now().Before(until) {
		time.Sleep(time.Duration(float64(each) * (0.5 + rnd.Float64()))) // the pace of writing is the workload
		if _, err := p.Write("note", plot.id(), map[string]json.RawMessage{"text": plot.value()}, time.Now().UnixMilli()); err != nil {
			return nil, err
		}
		start := time.Now()
		if err := c.Exchange(r.Server, p); err != nil {
			return nil, err
		}
		took = append(took, since(start))
	}
	return took, nil
}

// thousand is 1,000 phones that listen, 50 of which write.
func (b *bench) thousand() error {
	r, err := newRig(b.binary)
	if err != nil {
		return err
	}
	defer r.end()
	phones, err := r.class(1000)
	if err != nil {
		return err
	}
	busy, syncs := r.busy(), make(chan []float64)
	stop := make(chan struct{})
	go func() { syncs <- fsyncs(stop) }()
	took, lines, err := r.crowd(phones, 50, 500*time.Millisecond, 10*time.Second)
	close(stop)
	floor := <-syncs
	if err != nil {
		return err
	}
	busy = r.busy() - busy
	mem, err := r.memory()
	if err != nil {
		return err
	}
	b.add(figure{fmt.Sprintf("1,000 listen, 50 write: p99 of %d exchanges", len(took)), percentile(took, 0.99), "ms", 100, percentile(floor, 0.99), "p99 of one append and fsync meanwhile"})
	b.add(figure{"1,000 listen, 50 write: median exchange", median(took), "ms", 0, median(floor), "one append and fsync meanwhile"})
	b.add(figure{"1,000 listen, 50 write: the server's processor time", busy / 10, "ms/s", 0, 0, ""})
	b.add(figure{"1,000 listen, 50 write: lines of news a second", float64(lines) / 10, "", 0, 0, ""})
	b.add(figure{"1,000 listen, 50 write: anonymous memory", float64(mem) / mb, "MB", 150, 0, ""})
	return nil
}

// hall is 40 phones in a room and a server that has one core.
func (b *bench) hall() error {
	r, err := newRig(b.binary, "GOMAXPROCS=1")
	if err != nil {
		return err
	}
	defer r.end()
	over := direct(r.URL)
	c, err := r.over(over)
	if err != nil {
		return err
	}
	pending := newPlot(1, studio).write(ops.ID{9}, studio.changes)
	if err := push(c, pending); err != nil {
		return err
	}
	phones, err := r.class(40)
	if err != nil {
		return err
	}
	var group sync.WaitGroup
	errs := make(chan error, len(phones))
	start := time.Now()
	for _, p := range phones {
		group.Go(func() {
			p.Packed = true
			_, err := catchUp(p)
			errs <- err
		})
	}
	group.Wait()
	all := since(start) / 1000
	close(errs)
	for err := range errs {
		if err != nil {
			return err
		}
	}
	took, _, err := r.crowd(phones, 40, time.Second, 10*time.Second)
	if err != nil {
		return err
	}
	b.add(figure{"40 phones, one core: all have caught up on 10,000 after", all, "s", 0, 0, ""})
	b.add(figure{"40 phones, one core: p99 of an exchange while all write", percentile(took, 0.99), "ms", 0, 0, ""})
	return nil
}
