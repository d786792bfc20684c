package replication_test

import (
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"

	"evenpull/sync/clock"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
	"evenpull/sync/synctest"
)

// A writer makes ops of one replica without being a phone.
type writer struct {
	testing.TB
	replica ops.ID
	ops     []replication.Element
	chains  []ops.Digest // chains[n]
}

func newWriter(t testing.TB, replica ops.ID) *writer {
	return &writer{TB: t, replica: replica, chains: []ops.Digest{{}}}
}

func (w *writer) say(note uint16, text string, over ...ops.Dot) ops.Op {
	return w.write("note", note, "text", text, over...)
}

func (w *writer) write(kind string, record uint16, field string, value any, over ...ops.Dot) ops.Op {
	w.Helper()
	raw, err := ops.Canonical(value)
	must(w.TB, err)
	n := uint64(len(w.chains))
	op := ops.Op{Replica: w.replica, N: n, At: clock.Stamp{MS: 1000 + int64(n)}, Kind: kind, ID: id(record), Set: map[string]json.RawMessage{field: raw}}
	if len(over) > 0 {
		op.Over = map[string][]ops.Dot{field: over}
	}
	op, err = ops.Encode(op)
	must(w.TB, err)
	w.ops = append(w.ops, op.Bytes())
	w.chains = append(w.chains, ops.Chain(w.chains[n-1], op.Bytes()))
	return op
}

// frame holds the ops from one number up to and with another.
func (w *writer) frame(from, to int) replication.Frame {
	return replication.Frame{Replica: w.replica, From: uint64(from), PrevDigest: w.chains[from-1], Ops: slices.Clone(w.ops[from-1 : to])}
}

func (w *writer) request(from, to int) *replication.Request {
	f := w.frame(from, to)
	return &replication.Request{Format: ops.Format, Replica: f.Replica, From: f.From, PrevDigest: f.PrevDigest, Ops: f.Ops}
}

// entry is what a vector says of the writer's first n ops.
func (w *writer) entry(n int) ops.Entry { return ops.Entry{N: uint64(n), Digest: w.chains[n].Short()} }

func nobody() *replication.Request {
	return &replication.Request{Format: ops.Format, Ops: []replication.Element{}}
}

func TestRequestsThatNoVersionSends(t *testing.T) {
	w := newWriter(t, id(1))
	w.say(1, "good")
	many := make([]replication.Element, ops.MaxBatchOps)
	for i := range many {
		many[i] = w.ops[0]
	}
	bad := func(element string) replication.Frame {
		return replication.Frame{Replica: id(2), From: 1, Ops: []replication.Element{replication.Element(element)}}
	}
	withFrames := func(frames ...replication.Frame) *replication.Request {
		req := nobody()
		req.Frames = frames
		return req
	}
	withRecord := func(r *merge.Record) *replication.Request {
		req := nobody()
		req.Back = &replication.Back{Have: ops.Vector{}, Records: []*merge.Record{r}, Last: true}
		return req
	}
	value := func(v merge.Value) *merge.Record {
		return &merge.Record{Kind: "note", ID: id(1), Fields: map[string]*merge.Field{"text": {Live: []merge.Value{v}}}}
	}
	fields := map[string]*merge.Field{}
	for i := range 4*ops.MaxFields + 1 {
		fields["f"+strings.Repeat("a", i%60)+string(rune('a'+i%26))+string(rune('a'+i/26%26))+string(rune('a'+i/676))] = &merge.Field{}
	}
	if len(fields) <= 4*ops.MaxFields {
		t.Fatalf("only %d fields", len(fields))
	}
	for name, req := range map[string]*replication.Request{
		"another format":                 {Format: ops.Format + 1, Ops: []replication.Element{}},
		"a frame from 0":                 withFrames(replication.Frame{Replica: id(2), Ops: w.ops}),
		"more ops than a batch":          withFrames(w.frame(1, 1), replication.Frame{Replica: id(1), From: 2, PrevDigest: w.chains[1], Ops: many}),
		"a void that can't be read":      withFrames(bad(`{"void":7}`)),
		"a void that says no reason":     withFrames(bad(`{"void":{"n":1,"chain":"` + strings.Repeat("0", 64) + `","over":{},"reason":""}}`)),
		"a void over a field of none":    withFrames(bad(`{"void":{"n":1,"chain":"` + strings.Repeat("0", 64) + `","over":{"two words":["` + dot(id(2), 1).String() + `"]},"reason":"malformed"}}`)),
		"what replaced an op of none":    withRecord(&merge.Record{Kind: "note", ID: id(1), Fields: map[string]*merge.Field{"text": {Dead: []ops.Dot{{}}}}}),
		"a void of a long reason":        withFrames(bad(`{"void":{"n":1,"chain":"` + strings.Repeat("0", 64) + `","over":{},"reason":"` + strings.Repeat("x", 65) + `"}}`)),
		"a record that is none":          withRecord(nil),
		"a record of no kind":            withRecord(&merge.Record{Kind: "two words", ID: id(1)}),
		"a record of too many fields":    withRecord(&merge.Record{Kind: "note", ID: id(1), Fields: fields}),
		"a field that is none":           withRecord(&merge.Record{Kind: "note", ID: id(1), Fields: map[string]*merge.Field{"text": nil}}),
		"a field that is no word":        withRecord(&merge.Record{Kind: "note", ID: id(1), Fields: map[string]*merge.Field{"te xt": {}}}),
		"a value under no number":        withRecord(value(merge.Value{Dot: dot(id(2), 0)})),
		"a value by no person":           withRecord(value(merge.Value{Dot: dot(id(2), 1), By: "me"})),
		"a value with a fraction":        withRecord(value(merge.Value{Dot: dot(id(2), 1), Value: json.RawMessage("1.5")})),
		"a value longer than an op":      withRecord(value(merge.Value{Dot: dot(id(2), 1), Value: ops.String(strings.Repeat("x", ops.MaxOpBytes))})),
		"a value under a dot used twice": withRecord(&merge.Record{Kind: "note", ID: id(1), Fields: map[string]*merge.Field{"text": {Live: []merge.Value{{Dot: dot(id(2), 1)}, {Dot: dot(id(2), 1)}}}}}),
	} {
		server := synctest.NewServer("one", "first")
		a, err := replication.Serve(server, req, replication.Rights{Write: true, Purge: true}, replication.PageBytes)
		if !errors.Is(err, replication.ErrBad) || a != nil {
			t.Errorf("%s: answer %v, error %v; want ErrBad", name, a != nil, err)
		}
	}
}

func TestAPageHoldsAllRecordsOfOneNumber(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	req := nobody()
	req.Back = &replication.Back{Have: ops.Vector{id(9): {N: 4, Digest: short(4)}}, Last: true}
	for n := uint16(1); n <= 4; n++ {
		req.Back.Records = append(req.Back.Records, handed(n, dot(id(9), uint64(n)), "words"))
	}
	s.answer(server, req)
	if a := s.pageOf(server, nobody(), 1); len(a.Records) != 4 || a.More {
		t.Errorf("%d records, more %v; want the four that changed at once", len(a.Records), a.More)
	}
}

// handed is a note as a hand-back brings it.
func handed(note uint16, d ops.Dot, text string) *merge.Record {
	v := merge.Value{Dot: d, At: clock.Stamp{MS: 500}, Value: ops.String(text)}
	return &merge.Record{Kind: "note", ID: id(note), Fields: map[string]*merge.Field{"text": {Live: []merge.Value{v}}}}
}

// Two hand-backs come in parts, mixed. The first part of one knows a value to be
// replaced that the other brings afterwards; no vector says so yet.
func TestAPartRemembersWhatItKnows(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	w := newWriter(t, id(1))
	w.say(1, "old")
	w.say(1, "new", dot(id(1), 1))
	part := func(have ops.Vector, last bool, records ...*merge.Record) {
		req := nobody()
		req.After = server.Head()
		link, _ := server.LinkAt(req.After)
		req.Server, req.Epoch, req.AfterDigest = "one", "first", link.String()
		req.Back = &replication.Back{Have: have, Records: records, Last: last}
		if a := s.answer(server, req); len(a.Refused) > 0 {
			t.Fatalf("refused %v", a.Refused)
		}
	}
	knows, lags := ops.Vector{id(1): w.entry(2), id(2): {N: 1, Digest: short(2)}}, ops.Vector{id(1): w.entry(1), id(3): {N: 1, Digest: short(3)}}
	part(knows, false, handed(1, dot(id(1), 2), "new"))
	part(lags, false, handed(1, dot(id(1), 1), "old"))
	s.want("between the parts", texts(server.Records[noteOf(1)]), "new")
	part(lags, true, handed(3, dot(id(3), 1), "third"))
	part(knows, true, handed(2, dot(id(2), 1), "second"))
	s.want("at the end", texts(server.Records[noteOf(1)]), "new")
}

func TestTheLastPartWaitsForWhatItsSenderHasNotRead(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	have := ops.Vector{id(1): {N: 2, Digest: short(2)}}
	req := nobody()
	req.Back = &replication.Back{Have: have, Records: []*merge.Record{handed(1, dot(id(1), 1), "old")}}
	s.answer(server, req) // another's, not finished
	req = nobody()
	req.Back = &replication.Back{Have: have, Records: []*merge.Record{handed(2, dot(id(1), 2), "new")}, Last: true}
	a := s.answer(server, req)
	if len(a.Refused) != 1 || a.Refused[0].Reason != replication.Again || a.Refused[0].ForGood {
		t.Errorf("refused %v; want to be told to read on first", a.Refused)
	}
	if server.C[id(1)].N != 0 || server.Records[noteOf(2)] != nil {
		t.Error("something of it was taken")
	}
	req.Server, req.Epoch, req.After, req.AfterDigest = "one", "first", a.UpTo, a.UpToDigest
	if a := s.answer(server, req); len(a.Refused) > 0 || server.C[id(1)].N != 2 {
		t.Errorf("after reading on: refused %v, vector at %d", a.Refused, server.C[id(1)].N)
	}
}

// Who read between the parts of a hand-back holds what the raised vector drops.
func TestAfterAHandBackAllIsGivenOutOnceMore(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	p := s.phone(server)
	s.say(p, 1, "untouched")
	s.talk(p, server, 2)
	req := nobody()
	req.Back = &replication.Back{Have: ops.Vector{id(901): {N: 1, Digest: short(1)}}, Records: []*merge.Record{handed(2, dot(id(901), 1), "came back")}, Last: true}
	s.answer(server, req)
	if a := s.answer(server, p.Request("one", 0)); len(a.Records) != 2 {
		t.Errorf("%d records are given to who had read all; want both there are", len(a.Records))
	}
}

func TestAHandBackThatRaisesNothingGivesOutWhatItBrought(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	p := s.phone(server)
	s.say(p, 1, "untouched")
	w := newWriter(t, id(900))
	w.say(2, "old")
	w.say(2, "beside")
	s.answer(server, w.request(1, 2))
	s.talk(p, server, 2)
	req := nobody()
	req.Back = &replication.Back{Have: server.C.Clone(), Records: []*merge.Record{handed(2, dot(id(900), 2), "beside")}, Last: true}
	s.answer(server, req)
	if a := s.answer(server, p.Request("one", 0)); len(a.Records) != 1 {
		t.Errorf("%d records; want the one in which something is dropped", len(a.Records))
	}
}

func TestAPurgeThatIsHandedBackTakesWhatIsThere(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	w := newWriter(t, id(1))
	w.say(1, "a face")
	s.answer(server, w.request(1, 1))
	dots, err := ops.Canonical([]ops.Dot{dot(id(1), 1)})
	must(t, err)
	purge := &merge.Record{Kind: merge.KindPurge, ID: id(5), Fields: map[string]*merge.Field{merge.FieldDots: {Live: []merge.Value{{Dot: dot(id(2), 1), Value: dots}}}}}
	req := nobody()
	req.Back = &replication.Back{Have: ops.Vector{id(2): {N: 1, Digest: short(2)}}, Records: []*merge.Record{purge}, Last: true}
	s.answer(server, req)
	s.want("at the server", texts(server.Records[noteOf(1)]), "-")
	if l, ok := server.Logged(dot(id(1), 1)); !ok || l.Op != nil {
		t.Error("the bytes of the op are still there")
	}
}

// A server remembers whose ops it relays and how they came.
func TestAFrameRemembersItsWay(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	w := newWriter(t, id(1))
	w.say(1, "a")
	w.say(1, "b", dot(id(1), 1))
	w.say(1, "c", dot(id(1), 2))
	req := nobody()
	back := &replication.Back{Have: ops.Vector{id(1): w.entry(1)}, Records: []*merge.Record{handed(1, dot(id(1), 1), "a")}, Last: true}
	req.Back = back
	s.answer(server, req) // the first is known by its effect only
	f := w.frame(2, 3)
	f.Via = "hub"
	req = nobody()
	req.Frames = []replication.Frame{f}
	s.answer(server, req)
	for n := uint64(2); n <= 3; n++ {
		l, ok := server.Logged(dot(id(1), n))
		if !ok || l.Via != "hub" || l.Chain != w.chains[n] || string(l.Op) != string(w.ops[n-1]) {
			t.Errorf("op %d is kept as %+v", n, l)
		}
		if first := n == 2; first != (l.Before != nil) || first && *l.Before != w.chains[1] {
			t.Errorf("op %d: the chain before it is kept as %v", n, l.Before)
		}
	}
}

// What an op names under the old name of a branch means the new one, for who has not heard of the fork.
func TestWhoHasNotHeardOfAForkIsReadUnderTheNewNames(t *testing.T) {
	s := newScene(t)
	up, hub := synctest.NewServer("up", "first"), synctest.NewServer("hub", "first")
	forkApart(s, up, hub)
	b := newWriter(t, id(2))
	b.say(1, "replaces the hub's", dot(id(1), 1))
	b.write("note", 3, "removed", map[string]any{"seen": []ops.Dot{dot(id(1), 1)}})
	req := b.request(1, 2)
	req.Have = ops.Vector{id(1): theHubs(t).entry(1)}
	s.answer(hub, req)
	s.want("at the hub", texts(hub.Records[noteOf(1)]), "replaces the hub's", "upstream's")
	to := ops.ForkName(id(1), theHubs(t).chains[1].Short())
	removed := hub.Records[noteOf(3)].Fields["removed"].Live[0].Value
	if !strings.Contains(string(removed), dot(to, 1).String()) {
		t.Errorf("the removal has seen %s; want the new name %v", removed, to)
	}
}

// A hand-back is judged like ops: who may write brings what is lost, and nothing else.
func TestAHandBackBringsNoMoreThanItsSenderMay(t *testing.T) {
	purge := func(t *testing.T) *merge.Record {
		dots, err := ops.Canonical([]ops.Dot{dot(id(900), 1)})
		must(t, err)
		return &merge.Record{Kind: merge.KindPurge, ID: id(5), Fields: map[string]*merge.Field{merge.FieldDots: {Live: []merge.Value{{Dot: dot(id(2), 1), Value: dots}}}}}
	}
	emptied := &merge.Record{Kind: "note", ID: id(1), Fields: map[string]*merge.Field{}}
	struck := &merge.Record{Kind: "note", ID: id(1), Fields: map[string]*merge.Field{"text": {Dead: []ops.Dot{dot(id(900), 1)}}}}
	void := merge.Void{Dot: dot(id(900), 1), Digest: short(1), Kind: "note", ID: id(1).String(), Over: map[string][]ops.Dot{}, Reason: ops.Malformed}
	for name, back := range map[string]*replication.Back{
		"a purge":                   {Records: []*merge.Record{purge(t)}},
		"a void of what was taken":  {Voids: []merge.Void{void}},
		"a record that is emptied":  {Records: []*merge.Record{emptied}},
		"a record with struck dots": {Records: []*merge.Record{struck}},
	} {
		t.Run(name, func(t *testing.T) {
			s := newScene(t)
			s.may = replication.Rights{Write: true}
			server := synctest.NewServer("one", "first")
			w := newWriter(t, id(900))
			w.say(1, "acknowledged")
			s.answer(server, w.request(1, 1))
			back.Have, back.Last = server.C.Clone(), true
			back.Have[id(2)] = ops.Entry{N: 1, Digest: short(2)}
			req := nobody()
			req.Back = back
			s.answer(server, req)
			s.want("at the server", texts(server.Records[noteOf(1)]), "acknowledged")
		})
	}
	t.Run("a purge goes in with a keeper's copy afterwards", func(t *testing.T) {
		s := newScene(t)
		server := synctest.NewServer("one", "first")
		w := newWriter(t, id(900))
		w.say(1, "a face")
		s.answer(server, w.request(1, 1))
		req := nobody()
		req.Back = &replication.Back{Have: ops.Vector{id(2): {N: 1, Digest: short(2)}}, Records: []*merge.Record{purge(t)}, Last: true}
		s.may = replication.Rights{Write: true}
		s.answer(server, req) // now the vector covers it
		s.may.Purge = true
		s.answer(server, req)
		s.want("at the server", texts(server.Records[noteOf(1)]), "-")
		if r := server.Records[merge.Key{Kind: merge.KindPurge, ID: id(5)}]; r == nil || len(r.Fields[merge.FieldDots].Live) != 1 {
			t.Error("nobody will read of the purge")
		}
	})
	t.Run("what only servers write", func(t *testing.T) {
		s := newScene(t)
		s.may = replication.Rights{Write: true}
		server := synctest.NewServer("one", "first")
		req := nobody()
		req.Back = &replication.Back{Have: ops.Vector{id(2): {N: 4, Digest: short(2)}}, Last: true}
		for i, kind := range []string{"person", "phone", "role", "ending"} {
			r := handed(1, dot(id(2), uint64(i+1)), "forged")
			r.Kind = kind
			req.Back.Records = append(req.Back.Records, r)
		}
		s.answer(server, req)
		if n := len(server.All()); n != 0 {
			t.Errorf("%d of them were taken", n)
		}
	})
	t.Run("how far the server itself wrote", func(t *testing.T) {
		s := newScene(t)
		s.may = replication.Rights{Write: true, Own: id(3)}
		server := synctest.NewServer("one", "first")
		req := nobody()
		req.Back = &replication.Back{Have: ops.Vector{id(3): {N: ops.MaxN, Digest: short(3)}, id(4): {N: 1, Digest: short(4)}}, Last: true}
		s.answer(server, req)
		if got := server.C[id(3)].N; got != 0 || server.C[id(4)].N != 1 {
			t.Errorf("it takes its own number for %d", got)
		}
	})
	t.Run("more names than a vector may hold", func(t *testing.T) {
		s := newScene(t)
		server := synctest.NewServer("one", "first")
		for part := range 2 {
			req := nobody()
			req.Back = &replication.Back{Have: ops.Vector{}, Last: true}
			for i := range 6000 {
				req.Back.Have[id(uint16(part*6000+i+1))] = ops.Entry{N: 1, Digest: short(9)}
			}
			_, err := replication.Serve(server, req, s.may, replication.PageBytes)
			if part == 0 {
				must(t, err)
			} else if !errors.Is(err, replication.ErrBad) {
				t.Errorf("they were taken: %v", err)
			}
		}
		if len(server.C) != 6000 {
			t.Errorf("the vector holds %d", len(server.C))
		}
	})
}
