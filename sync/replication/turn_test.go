package replication_test

import (
	"encoding/json"
	"testing"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
	"evenpull/sync/synctest"
)

func TestTurningToAnotherServerTakesAnotherName(t *testing.T) {
	s := newScene(t)
	one, two := synctest.NewServer("one", "first"), synctest.NewServer("two", "first")
	p := s.phone(one)
	s.say(p, 1, "a")
	s.talk(p, one, 1)
	there := p.Replica
	s.say(p, 1, "b")
	s.talk(p, two, 1)
	req := p.Request("two", ops.MaxBatchOps)
	if req.Replica == there || len(req.Ops) != 1 {
		t.Fatalf("brings %d ops under %v; want one under another name than at the first server", len(req.Ops), req.Replica)
	}
	s.talk(p, two, 4)
	s.want("at the second", texts(two.Records[noteOf(1)]), "b")
	s.say(p, 1, "c")
	s.talk(p, one, 3)
	if p.Replica != there {
		t.Error("back at the first server it has not its name of before")
	}
	s.want("at the first", texts(one.Records[noteOf(1)]), "c")
	if n := one.C[there].N; n != 2 {
		t.Errorf("numbered %d there; want 2", n)
	}
}

func TestANameIsNotTakenBackWhereSomebodyWentOnUnderIt(t *testing.T) {
	s := newScene(t)
	one, two := synctest.NewServer("one", "first"), synctest.NewServer("two", "first")
	p := s.phone(one)
	s.say(p, 1, "a")
	s.talk(p, one, 1)
	clone, name := p.Clone(), p.Replica
	s.talk(p, two, 3)
	s.say(clone, 2, "of the clone")
	s.talk(clone, one, 1)
	s.talk(p, one, 1)
	s.say(p, 3, "of the first")
	s.talk(p, one, 3)
	if p.Replica == name {
		t.Error("it writes under a name under which the clone went on")
	}
	s.want("the clone's", texts(one.Records[noteOf(2)]), "of the clone")
	s.want("the other's", texts(one.Records[noteOf(3)]), "of the first")
}

func TestTurningPutsAHalfReadingBackToItsStart(t *testing.T) {
	s := newScene(t)
	one, two := synctest.NewServer("one", "first"), synctest.NewServer("two", "first")
	p, reader := s.phone(one), s.phone(one)
	for n := uint16(1); n <= 3; n++ {
		s.say(p, n, "words")
	}
	s.talk(p, one, 1)
	req := reader.Request("one", 0)
	s.take(reader, req, s.pageOf(one, req, 1))
	s.talk(reader, two, 2)
	if req := reader.Request("one", 0); req.After != 0 || req.Reading != 0 {
		t.Errorf("goes on after %d of a reading of %d; want from its start", req.After, req.Reading)
	}
}

// The first server is gone for good; what only it acknowledged is on no disk but the phone's.
func TestTurningBringsWhatOnlyTheOtherServerHad(t *testing.T) {
	s := newScene(t)
	one, two := synctest.NewServer("one", "first"), synctest.NewServer("two", "first")
	writer, p := s.phone(one), s.phone(one)
	s.say(writer, 1, "whoever wrote it")
	s.talk(writer, one, 1)
	s.talk(p, one, 1)
	s.talk(p, two, 3)
	s.want("at the second", texts(two.Records[noteOf(1)]), "whoever wrote it")
	if two.C[writer.Replica] != one.C[writer.Replica] {
		t.Errorf("the second covers %v of the writer; want %v", two.C[writer.Replica], one.C[writer.Replica])
	}
	s.say(writer, 1, "replaced meanwhile")
	s.talk(writer, one, 1)
	s.talk(p, two, 1)
	s.talk(p, one, 2)
	s.talk(p, two, 3) // and each turn asks anew
	s.want("at the second", texts(two.Records[noteOf(1)]), "replaced meanwhile")
}

func restored(server *synctest.Server, epoch string) *synctest.Server {
	back := server.Backup()
	back.Epoch = epoch
	return back
}

func TestARestoredServerGetsBackWhatItLost(t *testing.T) {
	for name, epoch := range map[string]string{"under a new epoch": "second", "silently": "first"} {
		t.Run(name, func(t *testing.T) {
			s := newScene(t)
			server := synctest.NewServer("one", "first")
			writer, p := s.phone(server), s.phone(server)
			s.say(p, 1, "before")
			s.talk(p, server, 1)
			backup := restored(server, epoch)
			s.say(writer, 2, "whoever wrote it")
			s.talk(writer, server, 1)
			s.say(p, 1, "after")
			s.talk(p, server, 2)
			name, want := p.Replica, p.Base.Key()
			s.talk(p, backup, 4)
			s.want("the writer's", texts(backup.Records[noteOf(2)]), "whoever wrote it")
			s.want("its own", texts(backup.Records[noteOf(1)]), "after")
			if got := backup.Key(); got != want {
				t.Errorf("the server holds\n%s\nwant\n%s", got, want)
			}
			if p.Replica == name {
				t.Error("it goes on under the name of the epoch before")
			}
		})
	}
}

func TestAnotherDigestAtTheCursorIsARestore(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	p, other := s.phone(server), s.phone(server)
	backup := restored(server, "first")
	s.say(p, 1, "a")
	s.talk(p, server, 1)
	s.say(other, 2, "another history") // as long as the one that was lost
	s.talk(other, backup, 1)
	s.talk(p, backup, 4)
	s.want("handed back", texts(backup.Records[noteOf(1)]), "a")
	s.want("read", texts(p.Base.Records[noteOf(2)]), "another history")
}

// In the middle of a reading the cursor stands before the own op, so that no digest tells.
func TestAServerThatKnowsLessOfUsThanWeDoIsARestore(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	other, p := s.phone(server), s.phone(server)
	for note := range uint16(3) {
		s.say(other, note+1, "read page by page")
	}
	s.talk(other, server, 1)
	backup := restored(server, "first")
	s.say(p, 9, "mine")
	req := p.Request("one", ops.MaxBatchOps)
	answer := s.pageOf(server, req, 1)
	if !answer.More || len(p.Outbox) != 1 {
		t.Fatal("the reading is not cut, or nothing goes up")
	}
	s.take(p, req, answer)
	if len(p.Outbox) != 0 {
		t.Fatal("it is not acknowledged")
	}
	s.talk(p, backup, 6)
	s.want("handed back", texts(backup.Records[noteOf(9)]), "mine")
}

// A server that went back lacks the first op, so it can't judge the second, which came back to it by another copy.
func TestOwnOpsThatAServerCannotJudgeAreKnownAsOwn(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*merge.Value)
		dead   uint64
		own    bool
	}{
		"what was written":  {func(*merge.Value) {}, 2, true},
		"purged meanwhile":  {func(v *merge.Value) { v.Value = nil }, 2, true},
		"of another writer": {func(v *merge.Value) { v.Dot = dot(id(99), 7) }, 2, true},
		"other words":       {func(v *merge.Value) { v.Value = ops.String("of a clone") }, 2, false},
		"another stamp":     {func(v *merge.Value) { v.At.MS++ }, 2, false},
		"another number":    {func(v *merge.Value) { v.Dot.N++ }, 2, false},
		"replaced: unknown": {func(*merge.Value) {}, 5, false},
	} {
		t.Run(name, func(t *testing.T) {
			s := newScene(t)
			server := synctest.NewServer("one", "first")
			p := s.phone(server)
			s.say(p, 1, "acknowledged")
			s.talk(p, server, 1)
			op := s.say(p, 2, "waits")
			was := p.Replica
			p.Cursors["one"].Ask = true
			req := p.Request("one", ops.MaxBatchOps)
			a := s.answer(synctest.NewServer("one", "first"), &replication.Request{Format: 1, Replica: was, From: 1, Ops: []json.RawMessage{}})
			a.UpTo, a.UpToDigest, a.Epoch, a.More = req.After, req.AfterDigest, req.Epoch, true
			v := merge.Value{Dot: op.Dot(), At: op.At, Value: op.Set["text"]}
			c.change(&v)
			raw, err := replication.Marshal(&merge.Record{Kind: "note", ID: id(2), Fields: map[string]*merge.Field{
				"text": {Live: []merge.Value{v}, Dead: []ops.Dot{dot(was, c.dead)}}}})
			must(t, err)
			a.Records = []json.RawMessage{raw}
			s.take(p, req, a)
			if own := p.Replica == was; own != c.own {
				t.Errorf("it goes on under its name: %v; want %v", own, c.own)
			}
			if len(p.Outbox) != 1 {
				t.Errorf("%d ops wait; want the one", len(p.Outbox))
			}
		})
	}
}

func TestAHandBackGoesInPartsUnderTheVectorOfItsBeginning(t *testing.T) {
	s := newScene(t)
	one, two := synctest.NewServer("one", "first"), synctest.NewServer("two", "first")
	p := s.phone(one)
	for n := uint16(1); n <= 5; n++ {
		s.say(p, n, "words")
	}
	s.talk(p, one, 1)
	name, have := p.Replica, p.Base.C.Clone()
	s.talk(p, two, 1) // who is there, and what it has
	sizes, last := []int{}, []bool{}
	for range 10 {
		req := p.Request("two", 0)
		if req.Back == nil {
			break
		}
		if req.Back.Have[name] != have[name] {
			t.Errorf("handed back under %v", req.Back.Have)
		}
		sizes, last = append(sizes, len(req.Back.Records)), append(last, req.Back.Last)
		before := two.C[name].N
		s.take(p, req, s.answer(two, req))
		if now := two.C[name].N; !req.Back.Last && now != before {
			t.Errorf("the vector was raised to %d before the last part", now)
		}
	}
	if len(sizes) != 3 || sizes[0] != 2 || sizes[2] != 1 || last[0] || last[1] || !last[2] {
		t.Errorf("parts of %v, last %v; want 2, 2, 1", sizes, last)
	}
	if two.C[name] != have[name] {
		t.Errorf("covers %v of it; want %v", two.C[name], have[name])
	}
}

func TestAServerThatLacksNothingIsHandedNothing(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	p, reader := s.phone(server), replication.NewPhone("", s.fresh)
	s.say(p, 1, "a")
	s.talk(p, server, 2)
	s.talk(reader, server, 2)
	for _, q := range []*replication.Phone{p, reader} {
		if req := q.Request("one", 0); req.Back != nil {
			t.Errorf("hands back %d records", len(req.Back.Records))
		}
	}
}

func TestAPartThatWasNotTakenIsSentAgain(t *testing.T) {
	for name, c := range map[string]struct {
		reason string
		asks   bool
	}{"refused for now": {replication.NoRight, false}, "to read on first": {replication.Again, true}} {
		t.Run(name, func(t *testing.T) {
			s := newScene(t)
			one, two := synctest.NewServer("one", "first"), synctest.NewServer("two", "first")
			p := s.phone(one)
			s.say(p, 1, "a")
			s.talk(p, one, 1)
			s.talk(p, two, 1)
			req := p.Request("two", 0)
			sent := *req
			sent.Back = nil
			a := s.answer(two, &sent)
			a.Refused = []replication.Refusal{{Reason: c.reason}}
			s.take(p, req, a)
			if next := p.Request("two", 0); c.asks != (next.Back == nil) {
				t.Errorf("the next request hands back: %v", next.Back != nil)
			}
			s.talk(p, two, 3)
			s.want("at the second", texts(two.Records[noteOf(1)]), "a")
		})
	}
}

func TestAPartThatComesToBeTakenTwiceDropsNoOther(t *testing.T) {
	s := newScene(t)
	one, two := synctest.NewServer("one", "first"), synctest.NewServer("two", "first")
	p := s.phone(one)
	for n := uint16(1); n <= 5; n++ {
		s.say(p, n, "words")
	}
	s.talk(p, one, 1)
	s.talk(p, two, 1)
	req := p.Request("two", 0)
	a := s.answer(two, req)
	s.take(p, req, a)
	again := *p.Request("two", 0)
	again.Back = req.Back
	s.take(p, &again, s.answer(two, &again))
	s.talk(p, two, 3)
	if len(two.Records) != 5 {
		t.Errorf("%d records came; want 5", len(two.Records))
	}
}

// The third phone's op replaced the second's, which replaced the first's. The
// server went back to the first, and of what came after it was told the third only:
// no dot of the record lies beyond its vector, and yet it holds what we know to be replaced.
// doubted is a server that went back in time and learnt of a third write, and
// that there was a second one, but not that it replaced the first; and a phone that knows.
func doubted(s *scene) (*replication.Phone, *synctest.Server) {
	server := synctest.NewServer("one", "first")
	first, second, third := s.phone(server), s.phone(server), s.phone(server)
	s.say(first, 1, "first")
	s.talk(first, server, 1)
	backup := restored(server, "second")
	s.talk(second, server, 1)
	s.say(second, 1, "second")
	s.talk(second, server, 1)
	s.talk(third, server, 1)
	s.say(third, 1, "third")
	op := third.Outbox[0].Op
	s.talk(third, server, 1)
	s.talk(first, server, 1)
	req := &replication.Request{Format: 1, Replica: third.Replica, From: 1, Ops: []replication.Element{op.Bytes()}}
	s.answer(backup, req)
	have := ops.Vector{second.Replica: {N: 1, Digest: short(1)}}
	req = &replication.Request{Format: 1, Replica: third.Replica, From: 2, Ops: []replication.Element{}, Back: &replication.Back{Have: have, Records: []*merge.Record{}, Last: true}}
	s.answer(backup, req)
	s.want("before", texts(backup.Records[noteOf(1)]), "third", "first")
	return first, backup
}

func TestWhatTheServerHoldsAndWeKnowAsReplacedIsHandedBack(t *testing.T) {
	s := newScene(t)
	first, backup := doubted(s)
	s.talk(first, backup, 4)
	s.want("after", texts(backup.Records[noteOf(1)]), "third")
	s.want("the phone", texts(first.Base.Records[noteOf(1)]), "third")
}

func TestWhatWasDoubtedIsHandedBackAgain(t *testing.T) {
	s := newScene(t)
	first, backup := doubted(s)
	var req *replication.Request
	for range 5 {
		if req = first.Request("one", ops.MaxBatchOps); req.Back != nil {
			break
		}
		s.take(first, req, s.answer(backup, req))
	}
	if req.Back == nil {
		t.Fatal("nothing is handed back")
	}
	without := *req
	without.Back = nil
	a := s.answer(backup, &without)
	a.Refused = append(a.Refused, replication.Refusal{Reason: replication.Again})
	s.take(first, req, a)
	s.talk(first, backup, 3)
	s.want("the server", texts(backup.Records[noteOf(1)]), "third")
}
