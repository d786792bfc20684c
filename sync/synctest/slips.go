package synctest

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"evenpull/sync/clock"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// What programs send that went wrong: ops that are spelled otherwise than the format
// says. No server takes one, ever.

// slips are ways to spell an op. Each is given the op's bytes and those of the text it sets.
var slips = []func(raw, text []byte) []byte{
	value(func(text string) string { return strings.Replace(text, `"v`, `"\u0076`, 1) }), // the first is that of older scripts
	value(func(text string) string { return strings.Replace(text, ` `, `\u000a`, 1) }),
	value(func(text string) string { return strings.Replace(text, ` `, "\xff", 1) }),
	value(func(text string) string { return `{"b":` + text + `,"a":1}` }),
	value(func(text string) string { return `{"a":` + text + `,"a":1}` }),
	value(func(text string) string { return `[` + text + `,9007199254740992]` }),
	value(func(text string) string { return `[` + text + `,1.5]` }),
	value(func(text string) string { return strings.Repeat("[", 10) + text + strings.Repeat("]", 10) }),
	value(func(text string) string { return text[:len(text)-1] + strings.Repeat("long ", ops.MaxOpBytes/5) + `"` }),
	func(raw, _ []byte) []byte { return bytes.Replace(raw, []byte(`"by":"",`), nil, 1) },
	func(raw, _ []byte) []byte { // it replaces what it puts nothing in the place of
		at, end := bytes.Index(raw, []byte(`"over":{`))+len(`"over":{`), bytes.Index(raw, []byte(`},"replica":"`))
		replica := raw[end+len(`},"replica":"`):][:32]
		return slices.Concat(raw[:at], []byte(`"z":["`), replica, []byte(`:1"]`), raw[end:])
	},
	func(raw, _ []byte) []byte { return bytes.Replace(raw, []byte(`,"over":`), []byte(`0,"over":`), 1) }, // n, ten times as much
}

func value(spell func(string) string) func(raw, text []byte) []byte {
	return func(raw, text []byte) []byte { return bytes.Replace(raw, text, []byte(spell(string(text))), 1) }
}

// slip spells the last op that a phone wrote wrong.
func (w *World) slip(p *phone, spell func(raw, text []byte) []byte) {
	before, last := p.Acked, &p.Outbox[len(p.Outbox)-1]
	if i := len(p.Outbox) - 2; i >= 0 {
		before = p.Outbox[i].Chain
	}
	var text json.RawMessage
	for _, v := range last.Op.Set {
		text = v
		w.refused[string(v)] = true
	}
	raw := spell(last.Op.Bytes(), text)
	if bytes.Equal(raw, last.Op.Bytes()) {
		panic("a slip that is none")
	}
	w.slips[string(raw)] = last.Op
	last.Op = last.Op.Spelled(raw)
	last.Chain = ops.Chain(before, raw)
	w.Counts.Malformed++
}

// judged looks at what a server made of a phone's ops: one that is spelled wrong, or
// that its writer has no right to, is never among those it took.
func (w *World) judged(s *Server, p *phone, req *replication.Request) error {
	for i, raw := range req.Ops {
		l, ok := s.log[ops.Dot{Replica: req.Replica, N: req.From + uint64(i)}]
		if !ok || !bytes.Equal(l.Op, raw) {
			continue
		}
		if _, wrong := w.slips[string(raw)]; wrong && !w.lax[string(raw)] {
			return fmt.Errorf("%s took an op that is spelled wrong: %.300s", s.ID, raw)
		}
		if !p.keeps && bytes.Contains(raw, []byte(`"kind":"purge"`)) {
			return fmt.Errorf("%s took a purge of somebody who may not: %s", s.ID, raw)
		}
	}
	return nil
}

// newly reports whether the last op sent is one that the server refused for good just now.
func (w *World) newly(s *Server, req *replication.Request) (d ops.Dot, op ops.Op, ok bool) {
	if len(req.Ops) == 0 {
		return d, op, false
	}
	raw := req.Ops[len(req.Ops)-1]
	d = ops.Dot{Replica: req.Replica, N: req.From + uint64(len(req.Ops)) - 1}
	op, slipped := w.slips[string(raw)]
	_, void := s.State.Voids[d]
	return d, op, slipped && op.Dot() == d && void && s.voidSeq[d] == s.Head() && s.C[d.Replica].N == d.N && !w.voided[d]
}

// takeForReal makes a server hold the last op of a request as real, as one of a
// version would that did not know better: others then call it a void all the same.
func (w *World) takeForReal(s *Server, req *replication.Request, d ops.Dot, op ops.Op) {
	raw := req.Ops[len(req.Ops)-1]
	w.lax[string(raw)] = true
	for _, v := range op.Set {
		w.real[string(v)] = true
	}
	delete(s.State.Voids, d)
	delete(s.voidSeq, d)
	r := s.Record(op.Kind, op.ID)
	merge.Apply(r, op, s)
	l := s.log[d]
	l.Op = raw
	s.log[d] = l
	s.Put(r)
}

// put has a phone write, and looks at the stamp: after all that the phone wrote
// before, after what it replaces, and never where somebody's wrong clock would lead it.
func (w *World) put(p *phone, kind string, id ops.ID, set map[string]json.RawMessage, at int64) (ops.Op, error) {
	if w.may("full") && w.chance("full", 60) { // 65,535 writes while the clock stood still
		p.Clock.Last.Count, at = 65535, p.Clock.Last.MS
		w.Counts.Full++
		w.ahead++
	}
	last, shown := p.Clock.Last, p.Shown(kind, id)
	op, err := p.Write(kind, id, set, at)
	if err != nil {
		return op, err
	}
	p.wall = max(p.wall, at)
	if op.At.Compare(last) <= 0 {
		return op, fmt.Errorf("a stamp of %v after one of %v", op.At, last)
	}
	if op.At.MS > max(p.wall, w.now+clock.MaxAheadMS)+w.ahead {
		return op, fmt.Errorf("a stamp of %v at %d: somebody's clock moved it", op.At, w.now)
	}
	for name := range set {
		if f := shown.Fields[name]; f != nil {
			for _, v := range f.Live {
				if born, ok := w.born[string(v.Value)]; ok && v.At.MS <= born+clock.MaxAheadMS && op.At.Compare(v.At) <= 0 {
					return op, fmt.Errorf("%s replaces %s and is stamped before it", set[name], v.Value)
				}
			}
		}
		w.born[string(set[name])] = w.now
	}
	return op, nil
}
