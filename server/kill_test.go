package main

import (
	"encoding/json"
	"math/rand/v2"
	"os"
	"strconv"
	"sync"
	"testing"
	"time"

	"evenpull/server/drive"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
)

// kept is what servers acknowledged over all kills.
type kept struct {
	mu    sync.Mutex
	notes map[ops.ID]string // written once
	edits map[ops.ID]int    // the number that the last acknowledged edit wrote
	acked int
}

// Whatever was acknowledged is there after kill -9, at whatever moment it came:
// each note, and of what is written again and again the last or a later one.
func TestKilledServerKeepsWhatItAcknowledged(t *testing.T) {
	kills := 10
	if text := os.Getenv("EVENPULL_KILLS"); text != "" {
		var err error
		kills, err = strconv.Atoi(text)
		must(t, err)
	}
	moments := rand.New(rand.NewPCG(uint64(kills), 9))
	data := t.TempDir()
	p := begin(t, data).up()
	k := p.claim(data)
	known := &kept{notes: map[ops.ID]string{}, edits: map[ops.ID]int{}}
	inFlight := 0
	for kill := range kills {
		var writers sync.WaitGroup
		cut := make(chan bool, 4)
		for w := range 4 {
			c := *k
			writers.Go(func() { cut <- known.write(&c, p.Server, uint64(kill*4+w)) })
		}
		enough := known.count() + moments.IntN(120)
		for known.count() < enough { // under load, not while phones are still finding the server
			time.Sleep(time.Millisecond)
		}
		time.Sleep(time.Duration(moments.IntN(20_000)) * time.Microsecond) // not a wait for anything: the moment to kill at
		p.Kill()
		writers.Wait()
		for range 4 {
			if <-cut {
				inFlight++
			}
		}
		p = begin(t, data).up()
		p.again(k)
		known.check(t, k, p.Server, kill)
	}
	t.Logf("%d acknowledged over %d kills, %d requests cut by them", known.acked, kills, inFlight)
	if inFlight < kills {
		t.Errorf("%d requests were cut by %d kills: they did not come under load", inFlight, kills)
	}
}

func (k *kept) count() int {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.acked
}

// write is a phone that writes and sends until the server is gone. It reports
// whether a request was under way then.
func (k *kept) write(c *drive.Caller, server string, seed uint64) (cut bool) {
	r := rand.New(rand.NewPCG(seed, 10))
	phone := newPhone()
	if c.Exchange(server, phone) != nil {
		return false
	}
	diary := drive.NewID()
	for n := 1; ; n++ {
		wrote := map[ops.ID]string{}
		for range 1 + r.IntN(8) {
			id, text := drive.NewID(), strconv.Itoa(r.Int())
			if _, err := phone.Write("note", id, map[string]json.RawMessage{"text": ops.String(text)}, time.Now().UnixMilli()); err != nil {
				panic(err)
			}
			wrote[id] = text
		}
		if _, err := phone.Write("note", diary, map[string]json.RawMessage{"page": json.RawMessage(strconv.Itoa(n))}, time.Now().UnixMilli()); err != nil {
			panic(err)
		}
		if c.Exchange(server, phone) != nil {
			return true
		}
		k.mu.Lock()
		for id, text := range wrote {
			k.notes[id] = text
		}
		k.edits[diary] = n
		k.acked += len(wrote) + 1
		k.mu.Unlock()
	}
}

func (k *kept) check(t *testing.T, c *drive.Caller, server string, kill int) {
	t.Helper()
	reader := newPhone()
	must(t, c.Exchange(server, reader))
	lost := 0
	for id, text := range k.notes {
		if r := reader.Base.Records[merge.Key{Kind: "note", ID: id}]; !holds(r, "text", string(ops.String(text))) {
			lost++
		}
	}
	for id, n := range k.edits { // one edit more may have been stored and not acknowledged
		r := reader.Base.Records[merge.Key{Kind: "note", ID: id}]
		if !holds(r, "page", strconv.Itoa(n)) && !holds(r, "page", strconv.Itoa(n+1)) {
			lost++
		}
	}
	if lost > 0 {
		t.Fatalf("after kill %d, %d of %d acknowledged writes are lost", kill+1, lost, k.acked)
	}
}

func holds(r *merge.Record, field, value string) bool {
	return r != nil && r.Fields[field] != nil && len(r.Fields[field].Live) == 1 && string(r.Fields[field].Live[0].Value) == value
}
