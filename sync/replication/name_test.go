package replication_test

import (
	"strings"
	"testing"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
	"evenpull/sync/synctest"
)

func TestForkGoesOnUnderAnotherNameWithItsReferences(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	p := s.phone(server)
	s.say(p, 1, "shared")
	s.talk(p, server, 1)
	clone := p.Clone()
	s.say(p, 1, "of the first")
	s.talk(p, server, 1)
	was := clone.Replica
	own := s.say(clone, 2, "of the clone")
	s.write(clone, "note", 2, "removed", map[string]any{"seen": []ops.Dot{own.Dot()}})
	s.say(clone, 2, "again")
	s.talk(clone, server, 1)
	if clone.Replica == was {
		t.Fatal("it goes on under the name that another writes under")
	}
	ids := []uint64{}
	for _, o := range clone.Outbox {
		ids = append(ids, o.Op.N)
	}
	if len(ids) != 3 || ids[0] != 1 || ids[2] != 3 {
		t.Fatalf("waiting: %v; want 1 to 3", ids)
	}
	if over := clone.Outbox[2].Op.Over["text"]; len(over) != 1 || over[0] != dot(clone.Replica, 1) {
		t.Errorf("names %v; want its own first op", over)
	}
	if seen := string(clone.Outbox[1].Op.Set["removed"]); !strings.Contains(seen, dot(clone.Replica, 1).String()) {
		t.Errorf("has seen %s; want its own first op", seen)
	}
	s.talk(clone, server, 1)
	s.want("at the server", texts(server.Records[noteOf(2)]), "again")
	s.want("at the server", texts(server.Records[noteOf(1)]), "of the first")
}

func TestWhoSeesMoreUnderItsNameTakesAnother(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	p := s.phone(server)
	old := p.Clone() // as a phone that was set back
	s.say(p, 1, "later")
	s.talk(p, server, 1)
	s.talk(old, server, 1)
	if old.Replica == p.Replica {
		t.Error("it keeps a name under which there is more than it knows of")
	}
	s.want("what there was", texts(old.Base.Records[noteOf(1)]), "later")
	s.say(old, 1, "newest")
	s.talk(old, server, 1)
	s.want("at the server", texts(server.Records[noteOf(1)]), "newest")
}

// While own ops wait, the server must judge them before what bears their name is taken in.
func TestNothingUnderOurNameIsTakenWhileOpsWait(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	p := s.phone(server)
	old := p.Clone()
	s.say(p, 1, "later")
	s.talk(p, server, 1)
	req := old.Request("one", 0)
	a := s.answer(server, req)
	s.say(old, 2, "waits") // between question and answer
	before := spell(t, old)
	s.take(old, req, a)
	s.asBefore(old, before)
}

func TestAForkBetweenServersIsFollowed(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	p, reader := s.phone(server), s.phone(server)
	s.say(p, 1, "acknowledged")
	s.talk(p, server, 1)
	s.talk(reader, server, 1)
	s.say(reader, 1, "waits")
	s.say(p, 1, "waits too")
	k := merge.Fork{Replica: p.Replica, From: 1, Digests: []ops.Short{p.Acked.Short()}, Renamed: []ops.Short{short(7)}}
	k.To = ops.ForkName(k.Replica, k.Digests[0])
	was := p.Replica
	for name, q := range map[string]*replication.Phone{"the writer": p, "a reader": reader} {
		req := q.Request("one", 0)
		a := s.answer(server, req)
		a.Forks = []merge.Fork{k}
		s.take(q, req, a)
		if e, there := q.Base.C[was]; there || q.Base.C[k.To] != (ops.Entry{N: 1, Digest: short(7)}) {
			t.Errorf("%s: covers %v under the old name, %v under the new", name, e, q.Base.C[k.To])
		}
		if d := q.Base.Records[noteOf(1)].Fields["text"].Live[0].Dot; d != dot(k.To, 1) {
			t.Errorf("%s: the value is called %v", name, d)
		}
		if over := q.Outbox[0].Op.Over["text"]; len(over) != 1 || over[0] != dot(k.To, 1) {
			t.Errorf("%s: what waits names %v", name, over)
		}
	}
	if p.Replica == was || p.Outbox[0].Op.Replica != p.Replica || p.Outbox[0].Op.N != 1 {
		t.Errorf("the writer goes on as %v, op %d", p.Replica, p.Outbox[0].Op.N)
	}
}

func TestAForkOfTheOtherBranchChangesNothing(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	p := s.phone(server)
	s.say(p, 1, "ours")
	s.talk(p, server, 2)
	k := merge.Fork{Replica: p.Replica, From: 1, Digests: []ops.Short{short(3)}, Renamed: []ops.Short{short(4)}}
	k.To = ops.ForkName(k.Replica, k.Digests[0])
	req := p.Request("one", 0)
	a := s.answer(server, req)
	a.Forks = []merge.Fork{k}
	before := spell(t, p)
	s.take(p, req, a)
	s.asBefore(p, before)
}
