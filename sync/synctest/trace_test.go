package synctest

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenpull/sync/ops"
	"evenpull/sync/replication"
	"evenpull/sync/vectors"
)

// A trace is what one phone of a world did and was told, for the phone in the
// browser to do again: testdata/vectors/traces.json. It is worked out anew at
// each run and must be what the file says; EVENPULL_WRITE_TRACES=1 writes it.
type trace struct {
	Name    string       `json:"name"`
	Replica ops.ID       `json:"replica"`
	Events  []traceEvent `json:"events"`
}

type traceEvent struct {
	Do    string   `json:"do"` // write, request or take
	NowMS int64    `json:"nowMs,omitempty"`
	IDs   []ops.ID `json:"ids,omitempty"` // fresh ids it took

	Kind string                     `json:"kind,omitempty"` // write
	ID   *ops.ID                    `json:"id,omitempty"`
	Set  map[string]json.RawMessage `json:"set,omitempty"`
	Op   string                     `json:"op,omitempty"`

	Server  string          `json:"server,omitempty"` // request
	Most    int             `json:"most,omitempty"`
	Request json.RawMessage `json:"request,omitempty"`

	Of     *int              `json:"of,omitempty"` // take: the event with its request
	Answer json.RawMessage   `json:"answer,omitempty"`
	Base   []json.RawMessage `json:"base,omitempty"` // records and then the vector, where they changed
	Last   *traceLast        `json:"last,omitempty"`
}

// traceLast is where the writer stands afterwards.
type traceLast struct {
	Replica ops.ID     `json:"replica"`
	Waiting int        `json:"waiting"`
	Chain   ops.Digest `json:"chain"`
	Needs   int        `json:"needs"`
}

// A recorder listens to one phone.
type recorder struct {
	of    *replication.Phone
	trace trace
	asked map[*replication.Request]int
	base  string
}

// recording is the recorder of the world that is being played, for tests are
// the only ones to listen. Worlds of other tests are not recorded.
var recording *recorder

func (p *phone) recorder() *recorder {
	if recording != nil && recording.of == p.Phone {
		return recording
	}
	return nil
}

// fresh notes the ids that the phone takes while it acts.
func (r *recorder) fresh(act func()) (ids []ops.ID) {
	random := r.of.Random
	r.of.Random = func() ops.ID {
		id := random()
		ids = append(ids, id)
		return id
	}
	act()
	r.of.Random = random
	return ids
}

func (p *phone) Write(kind string, id ops.ID, set map[string]json.RawMessage, nowMS int64) (ops.Op, error) {
	op, err := p.Phone.Write(kind, id, set, nowMS)
	if r := p.recorder(); r != nil && err == nil {
		r.trace.Events = append(r.trace.Events, traceEvent{Do: "write", NowMS: nowMS, Kind: kind, ID: &id, Set: set, Op: string(op.Bytes())})
	}
	return op, err
}

func (p *phone) Request(server string, most int) (req *replication.Request) {
	r := p.recorder()
	if r == nil {
		return p.Phone.Request(server, most)
	}
	ids := r.fresh(func() { req = p.Phone.Request(server, most) })
	r.asked[req] = len(r.trace.Events)
	r.trace.Events = append(r.trace.Events, traceEvent{Do: "request", Server: server, Most: most, IDs: ids, Request: message(req)})
	return req
}

func (p *phone) Take(req *replication.Request, a *replication.Answer, backSize int, nowMS int64) (err error) {
	r := p.recorder()
	if r == nil {
		return p.Phone.Take(req, a, backSize, nowMS)
	}
	ids := r.fresh(func() { err = p.Phone.Take(req, a, 1000, nowMS) }) // a hand-back in one part: parts are cut by size elsewhere
	of, _, chain := r.asked[req], 0, p.Acked
	if i := len(p.Outbox) - 1; i >= 0 {
		chain = p.Outbox[i].Chain
	}
	e := traceEvent{Do: "take", NowMS: nowMS, IDs: ids, Of: &of, Answer: message(a), Last: &traceLast{p.Replica, len(p.Outbox), chain, len(p.Needs)}}
	if base := p.Base.Key(); base != r.base {
		r.base = base
		for _, line := range strings.Split(base, "\n") {
			e.Base = append(e.Base, json.RawMessage(line))
		}
	}
	r.trace.Events = append(r.trace.Events, e)
	return err
}

func message(m any) json.RawMessage {
	b, err := replication.Marshal(m)
	if err != nil {
		panic(err)
	}
	return bytes.ReplaceAll(b, []byte(`"records":null`), []byte(`"records":[]`))
}

// record plays a world and returns what one of its first phones did.
func record(t *testing.T, w *World, who int, name string, play func() error) trace {
	name = fmt.Sprintf("%s, phone %d", name, who)
	listen := func() {
		p := w.phones[who]
		recording = &recorder{of: p.Phone, trace: trace{Name: name, Replica: p.Replica}, asked: map[*replication.Request]int{}}
	}
	if w.met = listen; len(w.phones) > 0 {
		listen()
	}
	defer func() { recording = nil }()
	if err := play(); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return recording.trace
}

func TestTraces(t *testing.T) {
	var cases [][]byte
	for _, c := range []struct {
		seed       uint64
		who, steps int
	}{{1, 0, 60}, {4, 1, 60}, {8, 1, 90}, {11, 0, 70}, {20, 1, 70}, {36, 0, 70}, {45, 0, 70}} {
		// A phone in the browser can't spell the one and does not see the other.
		w := NewWorld(c.seed, "malformed", "narrow", "years", "slips", "full", "stranger", "late")
		cases = append(cases, message(record(t, w, c.who, fmt.Sprint("world ", c.seed), func() error { return w.Run(c.steps) })))
	}
	for _, c := range []struct {
		name string
		who  int
	}{{"turned-away-in-half-a-reading", 2}, {"turned-away-on-a-first-visit", 2}, {"restore-silent-and-own-ops-come-back", 4}} {
		script, err := os.ReadFile(filepath.Join(vectors.Root(t), "testdata", "scripts", c.name+".txt"))
		if err != nil {
			t.Fatal(err)
		}
		w := newWorld(0)
		cases = append(cases, message(record(t, w, c.who, c.name, func() error { _, _, err := w.follow(string(script)); return err })))
	}
	about := "One phone of a world: what it wrote (write: nowMs, the wanted op), what it asked (request: the server, how many ops at most, " +
		"the fresh ids it took, the wanted request) and what it was told (take: the answer to the request at event `of`, then the wanted " +
		"base, where it changed, and where its writer stands). Made by sync/synctest/trace_test.go."
	got := fmt.Appendf(nil, "{ \"about\": %s, \"cases\": [\n  %s\n] }\n", ops.String(about), bytes.Join(cases, []byte(",\n  ")))
	path := filepath.Join(vectors.Root(t), "testdata", "vectors", "traces.json")
	if os.Getenv("EVENPULL_WRITE_TRACES") != "" {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s is not what phones do now; see why, then write it with EVENPULL_WRITE_TRACES=1", path)
	}
}
