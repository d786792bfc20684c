package synctest

import (
	"encoding/json"
	"fmt"
	"slices"

	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// The network between phones and servers, and what is told of it.

// exchange sends what a phone has to the server it is near; the network may
// lose the request or the answer, or bring the answer again later.
func (w *World) exchange(p *phone, lossy bool) error {
	s := w.servers[p.near]
	most := 1 + w.choose("most", 6)
	if !lossy {
		most = ops.MaxBatchOps
	}
	hidden := w.hidden(p)
	req := p.Request(s.ID, most)
	if now := w.hidden(p); now != hidden { // perhaps under another name, and nothing else
		return fmt.Errorf("asking changed which records are removed: %s, and were %s", now, hidden)
	}
	if lossy && w.chance("unsent", 8) {
		w.Counts.Drops++
		return nil
	}
	a, err := w.serve(s, req, replication.Rights{Write: p.may, Purge: p.may && p.keeps})
	if err != nil {
		return err
	}
	if err := w.judged(s, p, req); err != nil {
		return err
	}
	if d, op, ok := w.newly(s, req); ok {
		w.voided[d] = true
		if lossy && w.line != nil && w.chance("lax", 1) { // of scripts only
			w.takeForReal(s, req, d, op)
			return nil // the phone asks again
		}
	}
	w.say("phone %d %s at %s: %s", slices.Index(w.phones, p), p.Replica.String()[:4], s.ID, brief(req, a))
	if req.Back != nil {
		w.Counts.HandBacks++
	}
	for _, r := range a.Refused {
		switch {
		case r.ForGood:
			w.Counts.Voids++
		case r.Reason == replication.Forked:
			w.Counts.Forks++
		default:
			w.Counts.NoRight++
		}
	}
	if a.More {
		w.Counts.Cuts++
	}
	if lossy && w.chance("unheard", 8) {
		w.Counts.Drops++
		return nil
	}
	if lossy && w.may("late") && w.chance("late", 12) { // given up, and then it comes after all
		now := w.now
		p.late = func() error { return w.takeAgain(p, s.ID, req, a, now) }
		return nil
	}
	if lossy && w.chance("twice", 8) {
		now := w.now
		p.late = func() error { return w.takeAgain(p, s.ID, req, a, now) }
	}
	name, waited := p.Replica, slices.Clone(p.Outbox)
	if err := p.Take(req, a, 1+w.choose("part", 3), w.now); err != nil || p.Replica != name {
		return err
	}
	for _, o := range waited[:len(waited)-len(p.Outbox)] {
		if !s.Has(o.Op.Dot()) {
			return fmt.Errorf("a phone takes %s for acknowledged, which %s does not have", o.Op.Dot(), s.ID)
		}
	}
	return nil
}

// hidden spells which records a phone shows as removed.
func (w *World) hidden(p *phone) (out string) {
	for _, id := range w.records {
		out += fmt.Sprint(p.Shown("note", id).Hidden(), " ")
	}
	return out
}

// takeAgain has a phone take an answer that came before: where it has read on since,
// nothing comes of it.
func (w *World) takeAgain(p *phone, server string, req *replication.Request, a *replication.Answer, now int64) error {
	stands := func() string {
		c := p.Cursors[server]
		if c == nil {
			return ""
		}
		return fmt.Sprint(p.Base.Key(), c.After, c.Digest, c.Reading, len(p.Outbox), len(p.Needs), len(c.Back))
	}
	before, c := stands(), p.Cursors[server]
	old := c != nil && c.After != req.After && a.Wrong == ""
	if err := p.Take(req, a, 2, now); err != nil {
		return err
	}
	if after := stands(); old && after != before {
		return fmt.Errorf("an answer that came again changed something: %s", difference(before, after))
	}
	return nil
}

// serve passes both messages through their bytes, as a network would.
func (w *World) serve(s *Server, req *replication.Request, may replication.Rights) (*replication.Answer, error) {
	var r replication.Request
	if err := through(req, &r); err != nil {
		return nil, err
	}
	a, err := replication.Serve(s, &r, may, 400)
	if err != nil {
		return nil, err
	}
	for _, rec := range s.Records {
		for _, f := range rec.Fields {
			if len(f.Live) > 1 {
				if pair := [2]ops.Dot{f.Live[0].Dot, f.Live[1].Dot}; !w.beside[pair] {
					w.beside[pair] = true
					w.Counts.Concurrent++
				}
			}
			for _, v := range f.Live {
				if w.refused[string(v.Value)] && !w.real[string(v.Value)] {
					w.taken[string(v.Value)] = true
				}
			}
		}
	}
	var out replication.Answer
	return &out, through(a, &out)
}

func through(from, to any) error {
	b, err := replication.Marshal(from)
	if err != nil {
		return err
	}
	return json.Unmarshal(b, to)
}

func (w *World) relay(lossy bool) error {
	room := replication.RelayBytes
	if lossy && w.may("narrow") && w.chance("narrow", 2) {
		room = 500
	}
	req := w.up.Next(w.servers[1], room)
	if lossy && w.chance("unsent", 6) {
		return nil
	}
	a, err := w.serve(w.servers[0], req, replication.Rights{Write: true, Purge: true, Servers: true})
	if err != nil {
		return err
	}
	if lossy && w.chance("unheard", 6) {
		return nil
	}
	w.say("relay: %s", brief(req, a))
	return w.up.Take(w.servers[1], req, a)
}

func (w *World) say(format string, a ...any) {
	if w.trace != nil {
		w.trace(format, a...)
	}
}

// brief tells an exchange in one line.
func brief(req *replication.Request, a *replication.Answer) string {
	out := fmt.Sprintf("after %d reading %d from %d +%d", req.After, req.Reading, req.From, len(req.Ops))
	for _, f := range req.Frames {
		out += fmt.Sprintf(" [%s %d +%d]", f.Replica.String()[:4], f.From, len(f.Ops))
	}
	if req.Back != nil {
		out += fmt.Sprintf(" back %d last %v", len(req.Back.Records), req.Back.Last)
	}
	out += fmt.Sprintf(" -> upTo %d reading %d more %v wrong %q records %d", a.UpTo, a.Reading, a.More, a.Wrong, len(a.Records))
	for _, r := range a.Refused {
		out += fmt.Sprintf(" refused %s:%d %s", r.Replica.String()[:4], r.N, r.Reason)
	}
	out += " have"
	for r, e := range a.Have {
		out += fmt.Sprintf(" %s:%d", r.String()[:4], e.N)
	}
	return out
}
