package replication_test

import (
	"encoding/json"
	"strings"
	"testing"

	"evenpull/sync/clock"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
	"evenpull/sync/synctest"
)

func TestWriteReplacesAllThatIsShown(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	a, b := s.phone(server), s.phone(server)
	first, second := s.say(a, 1, "first"), s.say(b, 1, "second")
	s.talk(a, server, 1)
	s.talk(b, server, 1)
	s.want("beside each other", texts(b.Shown("note", id(1))), "second", "first")
	third, fourth := s.say(b, 1, "third"), s.say(b, 1, "fourth") // the last while the other waits
	if over := third.Over["text"]; len(over) != 2 || over[0] != second.Dot() || over[1] != first.Dot() {
		t.Errorf("the third names %v; want both that it replaces", over)
	}
	if over := fourth.Over["text"]; len(over) != 1 || over[0] != third.Dot() {
		t.Errorf("the fourth names %v; want the third", over)
	}
	s.want("shown", texts(b.Shown("note", id(1))), "fourth")
	s.want("acknowledged", texts(b.Base.Records[noteOf(1)]), "second", "first")
}

func TestWriteIsDenseAndChained(t *testing.T) {
	s := newScene(t)
	p := replication.NewPhone("", s.fresh)
	var chain ops.Digest
	for n := uint64(1); n <= 3; n++ {
		op := s.say(p, 1, "words")
		chain = ops.Chain(chain, op.Bytes())
		if op.N != n || p.Outbox[n-1].Chain != chain {
			t.Errorf("op %d is numbered %d, its chain %s; want %s", n, op.N, p.Outbox[n-1].Chain, chain)
		}
	}
}

func TestWriteThatIsRefusedChangesNothing(t *testing.T) {
	s := newScene(t)
	p := replication.NewPhone("", s.fresh)
	s.say(p, 1, "good")
	before, last := spell(t, p), p.Clock.Last
	for name, value := range map[string]json.RawMessage{
		"too long":          ops.String(strings.Repeat("x", ops.MaxOpBytes)),
		"not of the format": json.RawMessage(`1.5`),
	} {
		if _, err := p.Write("note", id(1), map[string]json.RawMessage{"text": value}, s.now+1000); err == nil {
			t.Errorf("%s was written", name)
		}
		s.asBefore(p, before)
		if p.Clock.Last != last {
			t.Errorf("%s moved the clock", name)
		}
	}
}

func TestStampsFollowWhatWasRead(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	ahead, far, p := s.phone(server), s.phone(server), s.phone(server)
	minute, day := s.now+60_000, s.now+86_400_000
	for i, at := range []int64{minute, day} {
		q := []*replication.Phone{ahead, far}[i]
		_, err := q.Write("note", id(1), map[string]json.RawMessage{"text": ops.String("ahead")}, at)
		must(t, err)
		s.talk(q, server, 1)
	}
	s.talk(p, server, 1)
	if at := s.say(p, 1, "after").At; (at != clock.Stamp{MS: minute, Count: 1}) {
		t.Errorf("stamped %v; want right after the one a minute ahead, %d", at, minute)
	}
	s.talk(p, server, 1)
	s.want("the far one is kept as it is until it is replaced", texts(p.Base.Records[noteOf(1)]), "after")
}

func TestUnknownServerIsOnlyAskedWhoItIs(t *testing.T) {
	s := newScene(t)
	p := replication.NewPhone("", s.fresh)
	s.say(p, 1, "mine")
	req := p.Request("one", ops.MaxBatchOps)
	if req.Server != "" || len(req.Ops) > 0 || req.After != 0 {
		t.Errorf("asked %+v; want nothing named, nothing brought", req)
	}
}

func TestRequestNamesTheSpot(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	p := s.phone(server)
	s.say(p, 1, "a")
	s.talk(p, server, 1)
	acked := p.Acked
	s.say(p, 1, "b")
	s.say(p, 1, "c")
	req := p.Request("one", 1)
	link, _ := server.LinkAt(1)
	if req.Server != "one" || req.Epoch != "first" || req.After != 1 || req.AfterDigest != link.String() {
		t.Errorf("names %s %s %d %s", req.Server, req.Epoch, req.After, req.AfterDigest)
	}
	if req.Replica != p.Replica || req.From != 2 || req.PrevDigest != acked || len(req.Ops) != 1 || string(req.Ops[0]) != string(p.Outbox[0].Op.Bytes()) {
		t.Errorf("brings %d ops from %d", len(req.Ops), req.From)
	}
}

func TestAcknowledgedLeavesTheOutboxAndNoMore(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	p := s.phone(server)
	for _, text := range []string{"a", "b", "c"} {
		s.say(p, 1, text)
	}
	req := p.Request("one", 2)
	s.take(p, req, s.answer(server, req))
	if len(p.Outbox) != 1 || p.Outbox[0].Op.N != 3 {
		t.Fatalf("%d wait; want the third", len(p.Outbox))
	}
	s.want("base", texts(p.Base.Records[noteOf(1)]), "b")
	s.want("shown", texts(p.Shown("note", id(1))), "c")
	if p.Base.C[p.Replica] != server.C[p.Replica] {
		t.Errorf("vector %v; the server's is %v", p.Base.C[p.Replica], server.C[p.Replica])
	}
}

func TestWhatTheAnswerDoesNotAcknowledgeWaits(t *testing.T) {
	for name, change := range map[string]func(p *replication.Phone, a *replication.Answer){
		"acknowledged up to the one before": func(p *replication.Phone, a *replication.Answer) {
			a.Acked[p.Replica] = ops.Entry{N: 1, Digest: p.Outbox[0].Chain.Short()}
		},
		"nothing acknowledged": func(p *replication.Phone, a *replication.Answer) { a.Acked = nil },
		"another digest there": func(p *replication.Phone, a *replication.Answer) {
			a.Acked[p.Replica] = ops.Entry{N: 2, Digest: short(9)}
		},
		"refused for now": func(p *replication.Phone, a *replication.Answer) {
			a.Refused = []replication.Refusal{{Replica: p.Replica, N: 2, Reason: replication.DiskFull}}
		},
	} {
		t.Run(name, func(t *testing.T) {
			s := newScene(t)
			server := synctest.NewServer("one", "first")
			p := s.phone(server)
			s.say(p, 1, "a")
			s.say(p, 1, "b")
			req := p.Request("one", ops.MaxBatchOps)
			a := s.answer(server, req)
			a.Records, a.Have = nil, nil
			change(p, a)
			s.take(p, req, a)
			if i := len(p.Outbox) - 1; i < 0 || p.Outbox[i].Op.N != 2 {
				t.Fatal("the second op left the outbox")
			}
			s.want("shown", texts(p.Shown("note", id(1))), "b")
		})
	}
}

// A late answer may be to ops that went on under another number since: only
// those that were sent then, byte for byte, are acknowledged by it.
func TestOnlyTheBytesThatWereSentAreAcknowledged(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	p := s.phone(server)
	clone := p.Clone()
	s.say(p, 1, "what was sent")
	s.say(clone, 1, "what was not")
	req := p.Request("one", ops.MaxBatchOps)
	a := s.answer(server, req)
	a.Records, a.Have = nil, nil
	a.Acked[p.Replica] = ops.Entry{N: 2, Digest: short(9)} // so that no digest tells them apart
	s.take(clone, req, a)
	if len(clone.Outbox) != 1 {
		t.Error("an op that was never sent left the outbox")
	}
}

func TestAnswerToAnOlderQuestionChangesNothing(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	p, other := s.phone(server), s.phone(server)
	s.say(other, 1, "old")
	s.talk(other, server, 1)
	req := p.Request("one", ops.MaxBatchOps)
	a := s.answer(server, req)
	s.take(p, req, a)
	s.say(other, 1, "new")
	s.talk(other, server, 1)
	s.talk(p, server, 1)
	before := spell(t, p)
	s.take(p, req, a)
	s.asBefore(p, before)
}

func TestAnswerOfAnOlderEpochChangesNothing(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	p := s.phone(server)
	req := p.Request("one", ops.MaxBatchOps)
	a := s.answer(server, req)
	a.UpTo, a.UpToDigest = 5, short(5).String()
	server.Epoch = "second"
	s.talk(p, server, 2)
	before := spell(t, p)
	s.take(p, req, a)
	s.asBefore(p, before)
}

func TestAnAnswerTwiceIsAsOnce(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	p := s.phone(server)
	s.say(p, 1, "a")
	req := p.Request("one", ops.MaxBatchOps)
	a := s.answer(server, req)
	s.take(p, req, a)
	before := spell(t, p)
	s.take(p, req, a)
	s.asBefore(p, before)
}

func TestWithoutTheRightAllWaitUnderTheSameDots(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	p := s.phone(server)
	op := s.say(p, 1, "a")
	s.may = replication.Rights{}
	s.talk(p, server, 2)
	if len(p.Outbox) != 1 || len(p.Needs) != 0 || server.Head() != 0 {
		t.Fatalf("%d wait, %d need the person, head %d", len(p.Outbox), len(p.Needs), server.Head())
	}
	s.may = replication.Rights{Write: true}
	s.talk(p, server, 1)
	if len(p.Outbox) != 0 || !server.Has(op.Dot()) {
		t.Error("it did not flow when the right came back")
	}
}

func TestRefusedForGoodStepsAsideWithItsWords(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	p := s.phone(server)
	refused := s.write(p, "person", 1, "name", "mine")
	s.say(p, 2, "flows")
	s.talk(p, server, 1)
	if len(p.Needs) != 1 || p.Needs[0].Reason != ops.ServerOnly || string(p.Needs[0].Op.Bytes()) != string(refused.Bytes()) {
		t.Errorf("needs %+v; want the op with its reason", p.Needs)
	}
	if v, ok := p.Base.Void(refused.Dot()); !ok || v.Digest != ops.Chain(ops.Digest{}, refused.Bytes()).Short() {
		t.Errorf("no void in its place: %+v", v)
	}
	if r := p.Shown("person", id(1)); len(r.Fields) > 0 {
		t.Error("what was refused is still shown")
	}
	s.want("what follows", texts(p.Base.Records[noteOf(2)]), "flows")
	if len(p.Outbox) != 0 {
		t.Error("the rest waits")
	}
}

// What a refused op would have replaced is replaced by the one that was written after it.
func TestWhoNamesAVoidReplacesWhatItWouldHave(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	p, other := s.phone(server), s.phone(server)
	s.write(p, "note", 1, "text", "a")
	s.talk(p, server, 1)
	s.talk(other, server, 1)
	op := s.write(p, "note", 1, "text", "refused")
	s.write(p, "note", 1, "text", "c")
	req := p.Request("one", ops.MaxBatchOps)
	v := merge.Void{Dot: op.Dot(), Digest: p.Outbox[0].Chain.Short(), Kind: "note", ID: op.ID.String(), Over: op.Over, Reason: ops.Malformed}
	raw, err := replication.Marshal(map[string]replication.VoidAt{"void": {N: 2, Chain: p.Outbox[0].Chain, Kind: v.Kind, ID: v.ID, Over: v.Over, Reason: v.Reason}})
	must(t, err)
	sent := *req
	sent.Ops = []json.RawMessage{raw, req.Ops[1]} // as a server of another opinion would hand it on
	a := s.answer(server, &sent)
	a.Refused = append(a.Refused, replication.Refusal{Replica: p.Replica, N: 2, Reason: ops.Malformed, ForGood: true})
	s.take(p, req, a)
	s.talk(other, server, 1)
	s.want("its writer", texts(p.Base.Records[noteOf(1)]), "c")
	s.want("another phone", texts(other.Base.Records[noteOf(1)]), "c")
	if _, ok := other.Base.Void(op.Dot()); !ok {
		t.Error("the void did not travel")
	}
}

func TestRecordThatIsNotOfTheFormatChangesNothing(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	p := s.phone(server)
	s.say(p, 1, "a")
	req := p.Request("one", ops.MaxBatchOps)
	a := s.answer(server, req)
	a.Records = append(a.Records, json.RawMessage(`{"kind":"no word","id":"`+id(1).String()+`","fields":{}}`))
	before := spell(t, p)
	if err := p.Take(req, a, 2, s.now); err == nil {
		t.Error("it was taken")
	}
	s.asBefore(p, before)
}

func TestVectorIsRaisedWithTheLastPage(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	p, reader := s.phone(server), s.phone(server)
	for n := uint16(1); n <= 3; n++ {
		s.say(p, n, "words")
	}
	s.talk(p, server, 1)
	for page := 1; page <= 3; page++ {
		req := reader.Request("one", 0)
		s.take(reader, req, s.pageOf(server, req, 1))
		if got := len(reader.Base.Records); got != page {
			t.Errorf("%d records after page %d", got, page)
		}
		if got, want := reader.Base.C[p.Replica].N, map[int]uint64{1: 0, 2: 0, 3: 3}[page]; got != want {
			t.Errorf("vector at %d after page %d; want %d", got, page, want)
		}
	}
}

// What a page holds and the reader knows to be replaced does not come back with it.
func TestReplacedMeanwhileDoesNotComeBackWithALatePage(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	p, reader := s.phone(server), s.phone(server)
	s.say(p, 1, "one")
	s.say(p, 2, "two")
	s.talk(p, server, 1)
	s.talk(reader, server, 1)
	s.say(reader, 2, "two, replaced")
	s.talk(reader, server, 1)
	req := replication.Request{Format: 1, Replica: reader.Replica, From: 2, Ops: []json.RawMessage{}}
	a := s.answer(server, &req)
	old, err := replication.Marshal(&merge.Record{Kind: "note", ID: id(2), Fields: map[string]*merge.Field{"text": {Live: []merge.Value{
		{Dot: dot(p.Replica, 2), At: clock.Stamp{MS: s.now}, Value: ops.String("two")}}}}})
	must(t, err)
	a.Records, a.Have = []json.RawMessage{old}, ops.Vector{p.Replica: {N: 2, Digest: server.C[p.Replica].Digest}}
	now := reader.Request("one", 0)
	a.UpTo, a.UpToDigest, a.Epoch = now.After, now.AfterDigest, now.Epoch
	s.take(reader, now, a)
	s.want("the reader", texts(reader.Base.Records[noteOf(2)]), "two, replaced")
}
