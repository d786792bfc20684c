package replication_test

import (
	"testing"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
	"evenpull/sync/synctest"
)

// A relay is a hub below an upstream.
type relay struct {
	*scene
	up, hub *synctest.Server
	link    replication.Upstream
}

func newRelay(t *testing.T) *relay {
	return &relay{scene: newScene(t), up: synctest.NewServer("up", "first"), hub: synctest.NewServer("hub", "first")}
}

// carry lets the two exchange so many times.
func (r *relay) carry(times int) {
	r.Helper()
	for range times {
		req := r.link.Next(r.hub, replication.RelayBytes)
		must(r.TB, r.link.Take(r.hub, through(r.TB, req), r.answer(r.up, req)))
	}
}

func TestAHubFirstAsksWhoIsThere(t *testing.T) {
	r := newRelay(t)
	w := newWriter(t, id(1))
	w.say(1, "a")
	r.answer(r.hub, w.request(1, 1))
	req := r.link.Next(r.hub, replication.RelayBytes)
	if req.Server != "" || len(req.Frames) > 0 || req.Back != nil || req.Have[id(1)] != w.entry(1) {
		t.Errorf("it brings %d frames and says it has %v", len(req.Frames), req.Have)
	}
}

func TestAHubCarriesOpsUpAndRecordsDown(t *testing.T) {
	r := newRelay(t)
	a, b := newWriter(t, id(1)), newWriter(t, id(2))
	a.say(1, "near the hub")
	r.answer(r.hub, a.request(1, 1))
	b.say(2, "near upstream")
	r.answer(r.up, b.request(1, 1))
	r.carry(2)
	l, ok := r.up.Logged(dot(id(1), 1))
	if !ok || l.Via != "hub" || string(l.Op) != string(a.ops[0]) {
		t.Errorf("upstream keeps the op as %+v", l)
	}
	r.want("at the hub", texts(r.hub.Records[noteOf(2)]), "near upstream")
	if up, hub := r.up.Key(), r.hub.Key(); up != hub {
		t.Errorf("upstream holds\n%s\nthe hub\n%s", up, hub)
	}
	if req := r.link.Next(r.hub, replication.RelayBytes); len(req.Frames) > 0 || req.Back != nil {
		t.Errorf("it goes on to bring %d frames", len(req.Frames))
	}
}

func TestAVoidGoesUpInItsPlace(t *testing.T) {
	r := newRelay(t)
	a := newWriter(t, id(1))
	a.say(1, "a")
	a.write("person", 1, "name", "not mine to write")
	a.say(1, "c", dot(id(1), 1))
	r.answer(r.hub, a.request(1, 3))
	r.carry(2)
	if v, ok := r.up.Void(dot(id(1), 2)); !ok || v.Reason != ops.ServerOnly || v.Digest != a.chains[2].Short() || v.Kind != "person" {
		t.Errorf("upstream has the void %+v", v)
	}
	if r.up.C[id(1)] != a.entry(3) {
		t.Errorf("upstream is at %v; want all three", r.up.C[id(1)])
	}
}

func TestWhatAHubHoldsWithoutItsOpsIsHandedUp(t *testing.T) {
	r := newRelay(t)
	a := newWriter(t, id(1))
	a.say(1, "a face")
	a.say(2, "b")
	dots := []ops.Dot{dot(id(1), 1)}
	a.write(merge.KindPurge, 3, merge.FieldDots, dots)
	r.answer(r.hub, a.request(1, 3)) // the bytes of the first are gone
	req := nobody()
	req.Back = &replication.Back{Have: ops.Vector{id(8): {N: 4, Digest: short(4)}}, Records: []*merge.Record{handed(4, dot(id(8), 4), "only handed back")}, Last: true}
	r.answer(r.hub, req)
	r.carry(4)
	r.want("purged", texts(r.up.Records[noteOf(1)]), "-")
	r.want("after it", texts(r.up.Records[noteOf(2)]), "b")
	r.want("handed back", texts(r.up.Records[noteOf(4)]), "only handed back")
	if up, hub := r.up.Key(), r.hub.Key(); up != hub {
		t.Errorf("upstream holds\n%s\nthe hub\n%s", up, hub)
	}
}

// What came before is known on both sides by its effect only; the chain before the first op that is kept is enough to go on.
func TestARelayGoesOnBehindWhatWasOnlyHandedBack(t *testing.T) {
	r := newRelay(t)
	a := newWriter(t, id(1))
	a.say(1, "a")
	a.say(1, "b", dot(id(1), 1))
	for _, server := range []*synctest.Server{r.up, r.hub} {
		req := nobody()
		req.Back = &replication.Back{Have: ops.Vector{id(1): a.entry(1)}, Records: []*merge.Record{handed(1, dot(id(1), 1), "a")}, Last: true}
		r.answer(server, req)
	}
	r.answer(r.hub, a.request(2, 2))
	r.carry(1)
	req := r.link.Next(r.hub, replication.RelayBytes)
	if len(req.Frames) != 1 || req.Frames[0].From != 2 || req.Frames[0].PrevDigest != a.chains[1] {
		t.Fatalf("brings %+v; want one frame from 2", req.Frames)
	}
	r.carry(1)
	r.want("at upstream", texts(r.up.Records[noteOf(1)]), "b")
}

func TestAHubSendsNoMoreThanABatch(t *testing.T) {
	r := newRelay(t)
	for replica := uint16(1); replica <= 2; replica++ {
		a := newWriter(t, id(replica))
		for range ops.MaxBatchOps/2 + 10 {
			a.say(replica, "words")
		}
		r.answer(r.hub, a.request(1, len(a.ops)))
	}
	r.carry(1)
	count := 0
	for _, f := range r.link.Next(r.hub, 8<<20).Frames {
		count += len(f.Ops)
	}
	if count != ops.MaxBatchOps {
		t.Errorf("brings %d ops; want %d", count, ops.MaxBatchOps)
	}
	r.carry(2)
	if r.up.C[id(2)] != r.hub.C[id(2)] {
		t.Errorf("upstream is at %v; want %v", r.up.C[id(2)], r.hub.C[id(2)])
	}
}

// What a line can't carry at once goes in parts, of ops and of what was handed back.
func TestAHubSendsNoMoreThanItsRoom(t *testing.T) {
	const room = 1000
	r := newRelay(t)
	a := newWriter(t, id(1))
	for i := range uint16(30) {
		a.say(i, "words")
	}
	r.answer(r.hub, a.request(1, 30))
	req := nobody()
	req.Back = &replication.Back{Have: ops.Vector{id(8): {N: 40, Digest: short(4)}}, Last: true}
	for i := range uint16(40) {
		req.Back.Records = append(req.Back.Records, handed(100+i, dot(id(8), uint64(i)+1), "only handed back"))
	}
	r.answer(r.hub, req)
	r.carry(1)
	frames, parts := 0, 0
	for range 60 {
		req := r.link.Next(r.hub, room)
		if raw, err := replication.Marshal(req); err != nil || len(raw) > room+1500 {
			t.Fatalf("a request of %d bytes, %v", len(raw), err)
		}
		if req.Back != nil {
			parts++
			if parts == 3 { // what is written meanwhile waits for the parts that were cut before it
				a.say(0, "meanwhile", dot(id(1), 1))
				r.answer(r.hub, a.request(31, 31))
			}
		}
		frames += len(req.Frames)
		must(t, r.link.Take(r.hub, through(t, req), r.answer(r.up, req)))
	}
	if up, hub := r.up.Key(), r.hub.Key(); up != hub || frames < 5 || parts < 5 {
		t.Errorf("in %d frames and %d parts upstream holds\n%s\nthe hub\n%s", frames, parts, up, hub)
	}
}

// What phones hand back to the hub meanwhile must not come between the pages of one reading.
func TestAHubTakesAReadingTogether(t *testing.T) {
	r := newRelay(t)
	a := newWriter(t, id(1))
	for n := uint16(1); n <= 3; n++ {
		a.say(n, "words")
	}
	r.answer(r.up, a.request(1, 3))
	for page := 1; page <= 3; page++ {
		req := r.link.Next(r.hub, replication.RelayBytes)
		must(t, r.link.Take(r.hub, req, r.pageOf(r.up, req, 1)))
		if got, want := len(r.hub.Records), map[int]int{3: 3}[page]; got != want {
			t.Errorf("%d records at the hub after page %d; want %d", got, page, want)
		}
	}
	if r.hub.C[id(1)] != a.entry(3) {
		t.Errorf("the hub is at %v", r.hub.C[id(1)])
	}
}

func TestAHubIgnoresWhatComesLate(t *testing.T) {
	r := newRelay(t)
	a := newWriter(t, id(1))
	a.say(1, "old")
	a.say(1, "new", dot(id(1), 1))
	r.answer(r.up, a.request(1, 1))
	req := r.link.Next(r.hub, replication.RelayBytes)
	late := r.answer(r.up, req)
	r.carry(2)
	r.answer(r.up, a.request(2, 2))
	r.carry(1)
	before, link := r.hub.Key(), r.link.After
	must(t, r.link.Take(r.hub, req, late))
	if r.hub.Key() != before || r.link.After != link {
		t.Errorf("a late answer moved the hub from %d to %d", link, r.link.After)
	}
}

func TestAHubBeginsAnewWithAnUpstreamThatIsNotWhereItWas(t *testing.T) {
	for name, change := range map[string]func(r *relay){
		"another epoch":  func(r *relay) { r.up = synctest.NewServer("up", "second") },
		"another server": func(r *relay) { r.up = synctest.NewServer("new", "first") },
		"silently empty": func(r *relay) { r.up = synctest.NewServer("up", "first") },
	} {
		t.Run(name, func(t *testing.T) {
			r := newRelay(t)
			a := newWriter(t, id(1))
			a.say(1, "a")
			r.answer(r.hub, a.request(1, 1))
			r.carry(3)
			change(r)
			r.carry(3)
			r.want("at the new one", texts(r.up.Records[noteOf(1)]), "a")
			if up, hub := r.up.C[id(1)], r.hub.C[id(1)]; up != hub {
				t.Errorf("it is at %v; the hub at %v", up, hub)
			}
		})
	}
}

// forkApart lets one name write two histories: the first op at upstream and
// another at the hub, and the two meet.
func forkApart(s *scene, up, hub *synctest.Server) {
	s.Helper()
	theirs := newWriter(s.TB, id(1))
	theirs.say(1, "upstream's")
	s.answer(up, theirs.request(1, 1))
	s.answer(hub, theHubs(s.TB).request(1, 2))
	r := &relay{scene: s, up: up, hub: hub}
	r.carry(6)
}

// theHubs is the branch that loses its name.
func theHubs(t testing.TB) *writer {
	w := newWriter(t, id(1))
	w.say(1, "the hub's")
	w.say(2, "the hub's second")
	return w
}

func TestAForkKeepsTheSharedBeginning(t *testing.T) {
	r := newRelay(t)
	shared := newWriter(t, id(1))
	shared.say(1, "shared")
	r.answer(r.hub, shared.request(1, 1))
	r.carry(3)
	ours, theirs := newWriter(t, id(1)), newWriter(t, id(1))
	for _, w := range []*writer{ours, theirs} {
		w.say(1, "shared")
	}
	ours.say(1, "the hub's", dot(id(1), 1))
	ours.say(1, "the hub's again", dot(id(1), 2))
	theirs.say(1, "upstream's", dot(id(1), 1))
	r.answer(r.up, theirs.request(2, 2))
	r.answer(r.hub, ours.request(2, 3))
	r.carry(5)
	to := ops.ForkName(id(1), ours.chains[2].Short())
	if r.hub.C[id(1)] != theirs.entry(2) || r.hub.C[to].N != 2 {
		t.Errorf("the hub covers %v and %v of the branch", r.hub.C[id(1)], r.hub.C[to])
	}
	r.want("at upstream", texts(r.up.Records[noteOf(1)]), "the hub's again", "upstream's")
	if l, _ := r.hub.Logged(dot(to, 2)); l.Op != nil {
		op, err := ops.Parse(l.Op)
		must(t, err)
		if over := op.Over["text"]; len(over) != 1 || over[0] != dot(to, 1) {
			t.Errorf("its second op names %v; want its first", over)
		}
	} else {
		t.Error("the branch's ops are not kept under the new name")
	}
}

// A phone near the hub followed the branch that lost its name, and another wrote on it.
func TestPhonesFollowTheBranchThatLostItsName(t *testing.T) {
	r := newRelay(t)
	reader := r.phone(r.hub)
	r.answer(r.hub, theHubs(t).request(1, 1))
	r.talk(reader, r.hub, 1)
	r.say(reader, 1, "waits")
	forkApart(r.scene, r.up, r.hub)
	r.talk(reader, r.hub, 3)
	if got, want := reader.Base.Key(), r.hub.Key(); got != want {
		t.Errorf("the phone holds\n%s\nthe hub\n%s", got, want)
	}
	r.want("what waited replaced what it named", texts(r.hub.Records[noteOf(1)]), "waits", "upstream's")
}

func TestAForkBetweenServers(t *testing.T) {
	r := newRelay(t)
	forkApart(r.scene, r.up, r.hub)
	ours := theHubs(t)
	to := ops.ForkName(id(1), ours.chains[1].Short())
	for name, server := range map[string]*synctest.Server{"upstream": r.up, "the hub": r.hub} {
		if n := server.C[id(1)].N; n != 1 {
			t.Errorf("%s: the old name is at %d; want upstream's one op", name, n)
		}
		if n := server.C[to].N; n != 2 {
			t.Errorf("%s: %v is at %d; want the hub's two", name, to, n)
		}
		r.want(name, texts(server.Records[noteOf(1)]), "the hub's", "upstream's") // written in one moment: the larger name first
		r.want(name, texts(server.Records[noteOf(2)]), "the hub's second")
	}
	if up, hub := r.up.Key(), r.hub.Key(); up != hub {
		t.Errorf("upstream holds\n%s\nthe hub\n%s", up, hub)
	}
}

// Ops of others at the hub name dots of the branch. Their bytes stay as they are; how to read them goes up beside them.
func TestOpsThatNameARenamedBranchGoUpWithItsName(t *testing.T) {
	r := newRelay(t)
	theirs, b := newWriter(t, id(1)), newWriter(t, id(2))
	theirs.say(1, "upstream's")
	b.say(1, "replaces the hub's", dot(id(1), 1))
	r.answer(r.up, theirs.request(1, 1))
	r.answer(r.hub, theHubs(t).request(1, 2))
	r.answer(r.hub, b.request(1, 1))
	r.carry(6)
	r.want("at upstream", texts(r.up.Records[noteOf(1)]), "replaces the hub's", "upstream's")
	l, _ := r.up.Logged(dot(id(2), 1))
	if len(l.Renamed) != 1 || l.Renamed[0].Replica != id(1) || string(l.Op) != string(b.ops[0]) {
		t.Errorf("upstream keeps it as %+v", l)
	}
}
