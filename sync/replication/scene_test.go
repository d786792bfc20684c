package replication_test

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
	"evenpull/sync/synctest"
)

// A scene is phones and servers of one test. Ids count from 1, and a note is
// known by its number.
type scene struct {
	testing.TB
	ids uint16
	now int64
	may replication.Rights
}

func newScene(t testing.TB) *scene {
	return &scene{TB: t, now: 1_000_000, may: replication.Rights{Write: true, Purge: true}}
}

func id(n uint16) ops.ID { return ops.ID{14: byte(n >> 8), 15: byte(n)} }

func dot(replica ops.ID, n uint64) ops.Dot { return ops.Dot{Replica: replica, N: n} }

func (s *scene) fresh() ops.ID {
	s.ids++
	return id(s.ids)
}

// phone returns one that has met the server, and so keeps its name there.
func (s *scene) phone(server *synctest.Server) *replication.Phone {
	p := replication.NewPhone("", s.fresh)
	s.talk(p, server, 2)
	return p
}

func (s *scene) say(p *replication.Phone, note uint16, text string) ops.Op {
	return s.write(p, "note", note, "text", text)
}

func (s *scene) write(p *replication.Phone, kind string, record uint16, field string, value any) ops.Op {
	s.Helper()
	s.now++
	raw, err := ops.Canonical(value)
	must(s.TB, err)
	op, err := p.Write(kind, id(record), map[string]json.RawMessage{field: raw}, s.now)
	must(s.TB, err)
	return op
}

// answer passes both messages through their bytes, as a network would.
func (s *scene) answer(server *synctest.Server, req *replication.Request) *replication.Answer {
	s.Helper()
	return s.pageOf(server, req, replication.PageBytes)
}

func (s *scene) pageOf(server *synctest.Server, req *replication.Request, pageBytes int) *replication.Answer {
	s.Helper()
	a, err := replication.Serve(server, through(s.TB, req), s.may, pageBytes)
	must(s.TB, err)
	return through(s.TB, a)
}

// through is a message as it comes out of its own bytes.
func through[M any](t testing.TB, m *M) *M {
	t.Helper()
	raw, err := replication.Marshal(m)
	must(t, err)
	out := new(M)
	must(t, json.Unmarshal(raw, out))
	return out
}

func (s *scene) take(p *replication.Phone, req *replication.Request, a *replication.Answer) {
	s.Helper()
	must(s.TB, p.Take(req, a, 2, s.now))
}

// talk exchanges so many times, with nothing lost.
func (s *scene) talk(p *replication.Phone, server *synctest.Server, times int) {
	s.Helper()
	for range times {
		req := p.Request(server.ID, ops.MaxBatchOps)
		s.take(p, req, s.answer(server, req))
	}
}

// texts are the live values of a note's text, newest first, "-" where a purge took one.
func texts(r *merge.Record) (values []string) {
	if r == nil || r.Fields["text"] == nil {
		return nil
	}
	for _, v := range r.Fields["text"].Live {
		text := "-"
		if v.Value != nil && json.Unmarshal(v.Value, &text) != nil {
			text = string(v.Value)
		}
		values = append(values, text)
	}
	return values
}

func noteOf(n uint16) merge.Key { return merge.Key{Kind: "note", ID: id(n)} }

// want compares what a note says, the newest first.
func (s *scene) want(where string, got []string, want ...string) {
	s.Helper()
	if !slices.Equal(got, want) {
		s.Errorf("%s: %s; want %s", where, strings.Join(got, ", "), strings.Join(want, ", "))
	}
}

// asBefore fails where a phone is another than its spelling says.
func (s *scene) asBefore(p *replication.Phone, before string) {
	s.Helper()
	if now := spell(s.TB, p); now != before {
		s.Errorf("the phone changed\nnow    %s\nbefore %s", now, before)
	}
}

// spell tells all of a phone but its clock.
func spell(t testing.TB, p *replication.Phone) string {
	t.Helper()
	raw, err := json.Marshal(map[string]any{"replica": p.Replica, "home": p.Home, "base": p.Base.Key(), "voids": p.Base.Voids,
		"acked": p.Acked, "outbox": bytesOf(p), "needs": len(p.Needs), "cursors": cursorsOf(t, p)})
	must(t, err)
	return string(raw)
}

func bytesOf(p *replication.Phone) (all []string) {
	for _, o := range p.Outbox {
		all = append(all, string(o.Op.Bytes())+o.Chain.String())
	}
	return all
}

// cursorsOf tells what a phone would ask each server it knows.
func cursorsOf(t testing.TB, p *replication.Phone) map[string]string {
	t.Helper()
	asks := map[string]string{}
	for server := range p.Cursors {
		raw, err := replication.Marshal(p.Clone().Request(server, ops.MaxBatchOps))
		must(t, err)
		asks[server] = string(raw)
	}
	return asks
}

// short is a digest that no op here has.
func short(b byte) ops.Short { return ops.Short{b, b, b, b, b, b, b, b} }
