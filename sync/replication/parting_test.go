package replication_test

import (
	"testing"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
	"evenpull/sync/synctest"
)

// An op of another frame may name dots of the branch that is about to get another name.
func TestAForkInOneFrameTakesNoOther(t *testing.T) {
	s := newScene(t)
	server := synctest.NewServer("up", "first")
	theirs, ours, reader := newWriter(t, id(1)), newWriter(t, id(1)), newWriter(t, id(2))
	theirs.say(1, "upstream's")
	s.answer(server, theirs.request(1, 1))
	ours.say(1, "the hub's")
	reader.say(1, "who read the hub's", dot(id(1), 1))
	req := nobody()
	req.Frames = []replication.Frame{reader.frame(1, 1), ours.frame(1, 1)}
	a := s.answer(server, req)
	if len(a.Refused) != 1 || a.Refused[0].Reason != replication.Forked || a.Refused[0].Replica != id(1) {
		t.Errorf("refused %v; want the fork", a.Refused)
	}
	s.want("upstream", texts(server.Records[noteOf(1)]), "upstream's")
	if server.C[id(2)].N != 0 {
		t.Error("the reader's op was taken")
	}
}

func TestWhereBranchesMayPartNothingElseGoesUp(t *testing.T) {
	r := newRelay(t)
	theirs, ours, reader := newWriter(t, id(1)), newWriter(t, id(1)), newWriter(t, id(2))
	theirs.say(1, "upstream's")
	r.answer(r.up, theirs.request(1, 1))
	ours.say(1, "the hub's")
	r.answer(r.hub, ours.request(1, 1))
	reader.say(1, "who read the hub's", dot(id(1), 1))
	r.answer(r.hub, reader.request(1, 1))
	r.carry(1)
	req := r.link.Next(r.hub, replication.RelayBytes)
	if len(req.Frames) != 1 || req.Frames[0].Replica != id(1) || req.Back != nil {
		t.Errorf("it brings %v; want the branch in doubt alone", req.Frames)
	}
	r.carry(4)
	r.want("upstream", texts(r.up.Records[noteOf(1)]), "who read the hub's", "upstream's")
	if up, hub := r.up.Key(), r.hub.Key(); up != hub {
		t.Errorf("upstream holds\n%s\nthe hub\n%s", up, hub)
	}
}

// What a phone hands back may drop a value at the hub without raising its vector.
func TestWhatPhonesHandBackGoesUpAlsoWhereItRaisesNothing(t *testing.T) {
	r := newRelay(t)
	w := newWriter(t, id(1))
	w.say(1, "old")
	w.say(1, "beside")
	r.answer(r.hub, w.request(1, 2))
	r.carry(3)
	req := nobody()
	req.Back = &replication.Back{Have: r.hub.C.Clone(), Records: []*merge.Record{handed(1, dot(id(1), 2), "beside")}, Last: true}
	r.answer(r.hub, req)
	r.carry(2)
	r.want("upstream", texts(r.up.Records[noteOf(1)]), "beside")
	if req := r.link.Next(r.hub, replication.RelayBytes); req.Back != nil {
		t.Error("it is handed up again and again")
	}
}

// Who has read all that there was must hear of a void that is handed back, or handed down, later.
func TestAVoidThatComesLaterReachesWhoHasReadAll(t *testing.T) {
	v := merge.Void{Dot: dot(id(901), 1), Digest: short(1), Kind: "note", ID: id(1).String(), Over: map[string][]ops.Dot{}, Reason: ops.Malformed}
	for name, bring := range map[string]func(s *scene, server *synctest.Server){
		"by a hand-back": func(s *scene, server *synctest.Server) {
			req := nobody()
			req.Back = &replication.Back{Have: ops.Vector{id(901): {N: 1, Digest: short(1)}}, Voids: []merge.Void{v}, Last: true}
			s.answer(server, req)
		},
		"by a hub's hand-back of what is covered": func(s *scene, server *synctest.Server) {
			s.may.Servers = true
			server.C[id(901)] = ops.Entry{N: 1, Digest: short(1)}
			req := nobody()
			req.Back = &replication.Back{Have: server.C.Clone(), Voids: []merge.Void{v}, Last: true}
			s.answer(server, req)
		},
		"from upstream": func(s *scene, server *synctest.Server) {
			up := synctest.NewServer("up", "first")
			req := nobody()
			req.Back = &replication.Back{Have: ops.Vector{id(901): {N: 1, Digest: short(1)}}, Voids: []merge.Void{v}, Last: true}
			s.answer(up, req)
			r := &relay{scene: s, up: up, hub: server}
			r.carry(2)
		},
	} {
		t.Run(name, func(t *testing.T) {
			s := newScene(t)
			server := synctest.NewServer("one", "first")
			p := s.phone(server)
			s.say(p, 1, "words")
			s.talk(p, server, 2)
			bring(s, server)
			s.talk(p, server, 1)
			if _, ok := p.Base.Void(v.Dot); !ok {
				t.Error("the phone has not heard of it")
			}
		})
	}
}
