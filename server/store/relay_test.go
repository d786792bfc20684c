package store

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
	"evenpull/sync/synctest"
)

// A twin is the hub of one world twice: the store, and the in-memory one of the
// simulations. Each has an upstream of its own; both must ask and answer alike.
type twin struct {
	*testing.T
	s      *Store
	studio ops.ID
	ref    *synctest.Server
	ups    [2]*synctest.Server
	links  [2]replication.Upstream
	r      *rand.Rand
	forks  int
	backs  int
}

// A branch is one history under a replica's name.
type branch struct {
	replica ops.ID
	raws    [][]byte
	chains  []ops.Digest // chains[n] at n
}

func (b *branch) clone() *branch {
	return &branch{b.replica, slices.Clone(b.raws), slices.Clone(b.chains)}
}

func (w *twin) id() (id ops.ID) {
	for i := range id {
		id[i] = byte(w.r.UintN(256))
	}
	return id
}

// write adds an op that replaces some dots of its field.
func (w *twin) write(b *branch, kind string, id ops.ID, field string, value any, over []ops.Dot) {
	w.Helper()
	raw, err := ops.Canonical(value)
	must(w.T, err)
	op := ops.Op{Replica: b.replica, N: uint64(len(b.raws)) + 1, Kind: kind, ID: id, Set: map[string]json.RawMessage{field: raw}, Over: map[string][]ops.Dot{}}
	if len(over) > 0 {
		op.Over[field] = over
	}
	op, err = ops.Encode(op)
	must(w.T, err)
	b.raws = append(b.raws, op.Bytes())
	b.chains = append(b.chains, ops.Chain(b.chains[len(b.chains)-1], op.Bytes()))
}

func (b *branch) request(from int) *replication.Request {
	r := &replication.Request{Format: ops.Format, Replica: b.replica, From: uint64(from), PrevDigest: b.chains[from-1], Ops: []replication.Element{}}
	for _, raw := range b.raws[from-1:] {
		r.Ops = append(r.Ops, raw)
	}
	return r
}

var everything = replication.Rights{Write: true, Purge: true, Servers: true}

// hub has both hubs answer, and compares.
func (w *twin) hub(req *replication.Request) *replication.Answer {
	w.Helper()
	want, err := replication.Serve(w.ref, through(w.T, req), everything, 600)
	must(w.T, err)
	var got *replication.Answer
	must(w.T, w.s.write(w.Context(), func(t *tx) (err error) {
		got, err = replication.Serve(t.copy(w.studio), through(w.T, req), everything, 600)
		return err
	}))
	w.same("the answer", got, want)
	return want
}

func (w *twin) same(what string, got, want any) {
	w.Helper()
	one, err := replication.Marshal(got)
	must(w.T, err)
	two, err := replication.Marshal(want)
	must(w.T, err)
	if !bytes.Equal(one, two) {
		w.Fatalf("%s is\n%s\nand should be\n%s", what, one, two)
	}
}

// carry lets both hubs exchange with their upstreams once.
func (w *twin) carry(room int) {
	w.Helper()
	want := w.links[0].Next(w.ref, room)
	var got *replication.Request
	must(w.T, w.s.engine.view(func(r rows) error { got = w.links[1].Next(w.s.begin(r).copy(w.studio), room); return nil }))
	if want.Back != nil {
		w.backs++
	}
	w.same("what goes up", got, want)
	answers := [2]*replication.Answer{}
	for i, req := range []*replication.Request{want, got} {
		a, err := replication.Serve(w.ups[i], through(w.T, req), everything, 600)
		must(w.T, err)
		answers[i] = through(w.T, a)
	}
	w.same("what comes down", answers[1], answers[0])
	must(w.T, w.links[0].Take(w.ref, want, answers[0]))
	must(w.T, w.s.write(w.Context(), func(t *tx) error { return w.links[1].Take(t.copy(w.studio), got, answers[1]) }))
	for _, r := range answers[0].Refused {
		if r.Reason == replication.Forked {
			w.forks++
		}
	}
}

// Phones write at the hub and above, often one name at both, and the two are
// carried together: the store does all that the simulated hub does, to the byte.
func TestTheStoreRelaysAsTheSimulationsDo(t *testing.T) {
	forks, backs, cursors := 0, 0, 0
	for seed := range uint64(12) {
		s := Memory()
		s.blocks.bytes, s.blocks.links = 900, 5
		w := &twin{T: t, s: s, r: rand.New(rand.NewPCG(seed, 3)), studio: ops.ID{9}}
		w.ref = synctest.NewServer(s.server, s.epoch)
		for i := range w.ups {
			w.ups[i] = synctest.NewServer("upstream", "first")
		}
		w.play()
		forks, backs = forks+w.forks, backs+w.backs
		cursors += w.cursors()
		must(t, s.engine.view(func(r rows) error {
			checkStudio(s.begin(r).copy(w.studio), &Checked{}, func(format string, args ...any) { t.Errorf("seed %d: "+format, append([]any{seed}, args...)...) })
			return nil
		}))
		if t.Failed() {
			t.Fatalf("seed %d", seed)
		}
		must(t, s.Close())
	}
	t.Logf("%d forks, %d parts handed up, %d cursors", forks, backs, cursors)
	if forks < 10 || backs < 20 || cursors < 200 {
		t.Errorf("%d forks, %d parts handed up, %d cursors: this proves little", forks, backs, cursors)
	}
}

func (w *twin) play() {
	w.Helper()
	notes := []ops.ID{w.id(), w.id(), w.id()}
	var here, above []*branch
	for range 2 {
		b := &branch{w.id(), nil, []ops.Digest{{}}}
		here, above = append(here, b), append(above, b.clone())
	}
	sent := func(b *branch) int { return len(b.raws) }
	for step := range 60 {
		i, at := w.r.IntN(2), w.r.IntN(2)
		b := here[i]
		if at == 1 {
			b = above[i]
		}
		switch x := w.r.IntN(12); {
		case x < 6:
			from := sent(b) + 1
			for range 1 + w.r.IntN(3) {
				var over []ops.Dot
				if len(b.raws) > 0 && w.r.IntN(2) == 0 {
					over = []ops.Dot{{Replica: b.replica, N: 1 + w.r.Uint64N(uint64(len(b.raws)))}}
				}
				switch kind := w.r.IntN(12); {
				case kind == 0 && len(over) > 0:
					w.write(b, merge.KindPurge, w.id(), merge.FieldDots, over, nil)
				case kind == 1 && len(over) > 0:
					w.write(b, "note", notes[w.r.IntN(3)], merge.FieldRemoved, map[string]any{"seen": over}, nil)
				default:
					w.write(b, "note", notes[w.r.IntN(3)], string(rune('a'+w.r.IntN(2))), fmt.Sprint("v", step), over)
				}
			}
			req := b.request(from)
			if at == 0 {
				w.hub(req)
				continue
			}
			for i := range w.ups {
				_, err := replication.Serve(w.ups[i], through(w.T, req), everything, 600)
				must(w.T, err)
			}
		case x == 6 && step < 30: // both go on as one
			w.carryAll()
			fresh := &branch{w.id(), nil, []ops.Digest{{}}}
			here[i] = fresh
			w.write(fresh, "note", notes[0], "a", fmt.Sprint("fresh", step), nil)
			w.hub(fresh.request(1))
			w.carryAll()
			above[i] = fresh.clone()
		case x == 7: // what a phone hands back at the hub only
			gone := w.id()
			req := &replication.Request{Format: ops.Format, From: 1, Ops: []replication.Element{}, Back: &replication.Back{Have: ops.Vector{gone: {N: 2, Digest: ops.Short{7}}}, Voids: []merge.Void{}, Last: true,
				Records: []*merge.Record{{Kind: "note", ID: notes[w.r.IntN(3)], Fields: map[string]*merge.Field{"b": {Live: []merge.Value{{Dot: ops.Dot{Replica: gone, N: 2}, Value: json.RawMessage(`"handed"`)}}}}}}}}
			w.hub(req)
		default:
			w.carry([]int{400, 2000, replication.RelayBytes}[w.r.IntN(3)])
		}
	}
	w.carryAll()
}

func (w *twin) carryAll() {
	w.Helper()
	for range 12 {
		w.carry(replication.RelayBytes)
	}
}

// cursors asks both hubs as a phone would that stopped at any point, with a reading begun there or later.
func (w *twin) cursors() (asked int) {
	w.Helper()
	head := w.ref.Head()
	for after := range head + 1 {
		link, _ := w.ref.LinkAt(after)
		req := &replication.Request{Format: ops.Format, Server: w.s.server, Epoch: w.s.epoch, After: after, AfterDigest: link.String(), From: 1,
			Reading: after + w.r.Uint64N(head-after+1), Ops: []replication.Element{}, Have: ops.Vector{}}
		if after == 0 {
			req.AfterDigest = ""
		}
		w.hub(req)
		asked++
	}
	return asked
}

func through[M any](t *testing.T, m *M) *M {
	t.Helper()
	raw, err := replication.Marshal(m)
	must(t, err)
	out := new(M)
	must(t, json.Unmarshal(raw, out))
	return out
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
