package replication

import (
	"bytes"
	"encoding/json"
	"maps"
	"slices"

	"evenpull/sync/clock"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
)

// A Phone is one writer's copy of a studio. Base is what servers acknowledged
// or sent; the outbox holds own ops that none acknowledged yet. What is shown
// is the base with the outbox on top, so a refusal or a fork undoes nothing: it
// drops or renames in the outbox.
//
// A replica writes to one server, in one epoch of it. That server puts all that
// bears the name in one line, and whatever another copy knows of it is the
// beginning of that line: so two phones of one name (one was cloned) part at a
// server that can tell, never at two that can't. A phone that turns to another
// server, or meets a server under a new epoch, goes on under another name with
// what was not acknowledged, and sends nothing to a server it does not know yet.
// What this leaves open: an answer lost just before the turn leaves the same
// value twice, side by side; and a server that went back in time under its old
// epoch can't tell a clone that was away meanwhile from the one it forgot.
type Phone struct {
	Replica ops.ID
	Home    string // the server that Replica writes to; "" before the first
	Person  string
	Clock   clock.Clock
	Base    *merge.State
	Acked   ops.Digest // the whole chain at Base.C[Replica]
	Outbox  []Pending
	Needs   []Needed // refused for good: shown to the person
	Cursors map[string]*Cursor
	Random  func() ops.ID // a new id
}

// A Pending op and the chain digest after it.
type Pending struct {
	Op    ops.Op
	Chain ops.Digest
}

// A Needed item is an op that no server takes, with why.
type Needed struct {
	Op     ops.Op
	Reason string
}

// A Cursor is how far one server was read.
type Cursor struct {
	Epoch   string
	After   uint64
	Digest  string
	Reading uint64 // of a reading that is not finished
	Start   uint64 // where that reading began, with the digest there
	StartAt string
	Ask     bool   // send the vector with the next request
	Back    []Back // what is still to hand back
	// Doubt names records that the server holds with a value we know to be
	// replaced: it went back in time, or never heard why. They are handed back too,
	// even where each dot of ours is below its vector.
	Doubt     map[merge.Key]bool
	Returning map[merge.Key]bool // those of the hand-back that is under way
	// Left is the name under which we wrote to this server before we turned to
	// another; of use again while N is still the last of it.
	Left *Writer
}

// A Writer is a name to write under, with the last number acknowledged and the whole chain there.
type Writer struct {
	Replica ops.ID
	N       uint64
	Acked   ops.Digest
}

// NewPhone returns an empty copy under a fresh replica.
func NewPhone(person string, random func() ops.ID) *Phone {
	return &Phone{Replica: random(), Person: person, Base: merge.NewState(), Cursors: map[string]*Cursor{}, Random: random}
}

// Clone returns the copy that a cloned or restored phone wakes up with.
func (p *Phone) Clone() *Phone {
	c := *p
	c.Base = p.Base.Clone()
	c.Outbox = slices.Clone(p.Outbox)
	c.Needs = slices.Clone(p.Needs)
	c.Cursors = make(map[string]*Cursor, len(p.Cursors))
	for id, cur := range p.Cursors {
		d := *cur
		d.Back, d.Doubt, d.Returning = slices.Clone(cur.Back), maps.Clone(cur.Doubt), maps.Clone(cur.Returning)
		c.Cursors[id] = &d
	}
	return &c
}

// Shown returns a record as the person sees it.
func (p *Phone) Shown(kind string, id ops.ID) *merge.Record {
	r := &merge.Record{Kind: kind, ID: id, Fields: map[string]*merge.Field{}}
	if b := p.Base.Records[merge.Key{Kind: kind, ID: id}]; b != nil {
		r = b.Clone()
	}
	for _, o := range p.Outbox {
		if o.Op.Kind == kind && o.Op.ID == id {
			merge.Apply(r, o.Op, p.Base)
		}
	}
	return r
}

// Write makes the next op: it sets fields of a record and replaces what is
// shown there. nowMS is wall time.
func (p *Phone) Write(kind string, id ops.ID, set map[string]json.RawMessage, nowMS int64) (ops.Op, error) {
	shown := p.Shown(kind, id)
	over := map[string][]ops.Dot{}
	for name := range set {
		if f := shown.Fields[name]; f != nil {
			for _, v := range f.Live {
				over[name] = append(over[name], v.Dot)
			}
		}
	}
	at, next := p.Clock.Next(nowMS)
	n, prev := p.last()
	op, err := ops.Encode(ops.Op{Replica: p.Replica, N: n + 1, At: at, By: p.Person, Kind: kind, ID: id, Set: set, Over: over})
	if err != nil {
		return op, err
	}
	p.Clock = next
	p.Outbox = append(p.Outbox, Pending{op, ops.Chain(prev, op.Bytes())})
	return op, nil
}

func (p *Phone) last() (uint64, ops.Digest) {
	if i := len(p.Outbox) - 1; i >= 0 {
		return p.Outbox[i].Op.N, p.Outbox[i].Chain
	}
	return p.Base.C[p.Replica].N, p.Acked
}

// Request returns what to send to a server; server is "" where it never
// answered: it then asks who is there. The phone turns to that server first, and
// must be stored as it then is before the request goes out.
func (p *Phone) Request(server string, most int) *Request {
	r := &Request{Format: ops.Format, Server: server, Ops: []Element{}}
	c := p.Cursors[server]
	if c == nil {
		r.Server, r.Replica, r.From, r.Have = "", p.Replica, p.Base.C[p.Replica].N+1, p.Base.C.Clone()
		r.PrevDigest = p.Acked
		return r
	}
	p.turn(server, c)
	r.Replica, r.From, r.PrevDigest = p.Replica, p.Base.C[p.Replica].N+1, p.Acked
	for _, o := range p.Outbox[:min(most, len(p.Outbox))] {
		r.Ops = append(r.Ops, o.Op.Bytes())
	}
	r.Epoch, r.After, r.AfterDigest, r.Reading = c.Epoch, c.After, c.Digest, c.Reading
	if c.Ask || c.After == 0 {
		r.Have = p.Base.C.Clone()
	}
	if len(c.Back) > 0 {
		r.Back = &c.Back[0]
	}
	return r
}

// turn takes the name under which this phone writes to that server.
func (p *Phone) turn(server string, c *Cursor) {
	if p.Home == server {
		return
	}
	if left := p.Cursors[p.Home]; left != nil {
		if left.Reading > 0 { // what others send must not come between its pages
			left.After, left.Digest, left.Reading = left.Start, left.StartAt, 0
		}
		left.Left = &Writer{p.Replica, p.Base.C[p.Replica].N, p.Acked}
	}
	p.Home = server
	c.Ask = true // what another server acknowledged may be on no disk but ours by now
	if w := c.Left; w != nil && w.N == p.Base.C[w.Replica].N {
		p.rename(w.Replica, w.Acked)
		return
	}
	p.rename(p.Random(), ops.Digest{})
}

// Take takes an answer to req in. It is idempotent: an answer that comes twice
// or late changes nothing that was not to change.
func (p *Phone) Take(req *Request, a *Answer, backSize int, nowMS int64) error {
	records, err := ReadRecords(a.Records)
	if err != nil {
		return err
	}
	c := p.Cursors[a.Server]
	if a.Wrong != "" {
		p.forget(a)
		return nil
	}
	if c == nil {
		c = &Cursor{Epoch: a.Epoch, Ask: true}
		p.Cursors[a.Server] = c
	}
	if req.After != c.After || req.Epoch != "" && req.Epoch != c.Epoch {
		return nil // an answer to a question that is no longer ours
	}
	if req.Replica == p.Replica {
		p.takeAcks(req, a)
	}
	if req.Replica == p.Replica && a.Acked[req.Replica].N < p.Base.C[req.Replica].N && !c.Ask && len(c.Back) == 0 {
		p.forget(a) // it went back in time without saying so
		return nil
	}
	for _, other := range p.Cursors {
		if w := other.Left; w != nil && bears(w.Replica, w.N, a.Have, records) {
			other.Left = nil // somebody else writes under it: our next op must not take their dot's name
		}
	}
	if bears(p.Replica, p.Base.C[p.Replica].N, a.Have, records) {
		if len(p.Outbox) > 0 {
			return nil // let the server judge our ops before we take in what bears our name
		}
		p.rename(p.Random(), ops.Digest{}) // somebody else writes under our name
	}
	for _, k := range a.Forks {
		p.takeFork(k)
	}
	for _, v := range a.Voids {
		p.Base.AddVoid(v, false)
	}
	for _, r := range records {
		for _, f := range r.Fields {
			for _, v := range f.Live {
				p.Clock, _ = p.Clock.Seen(v.At, nowMS)
			}
		}
	}
	p.doubt(c, records)
	p.Base.Take(records, a.Have)
	if c.Reading == 0 {
		c.Start, c.StartAt = c.After, c.Digest
	}
	c.Epoch, c.After, c.Digest, c.Reading = a.Epoch, a.UpTo, a.UpToDigest, a.Reading
	if !a.More {
		p.Base.Raise(a.Have)
		c.Reading = 0
	}
	if len(c.Back) > 0 && req.Back == &c.Back[0] {
		switch refusedNow(a) {
		case "":
			c.Back = c.Back[1:]
		case Again:
			c.Back, c.Ask = nil, true
			for k := range c.Returning {
				c.doubt(k)
			}
		}
	} else if req.Back == nil && !a.More && len(c.Back) == 0 && (c.Ask && req.Have != nil || !c.Ask && len(c.Doubt) > 0) {
		c.Ask = false
		c.Back = p.handBack(a.Have, c.Doubt, backSize)
		c.Doubt, c.Returning = nil, c.Doubt
	}
	return nil
}

// forget begins anew with a server that is not where we left it, under a new name.
func (p *Phone) forget(a *Answer) {
	p.Cursors[a.Server] = &Cursor{Epoch: a.Epoch, Ask: true}
	if p.Home == a.Server {
		p.Home = ""
	}
}

// bears reports whether an answer holds ops of a replica beyond n. Where it is a
// name of ours they are ours, whose answer was lost, or a clone's.
func bears(replica ops.ID, n uint64, have ops.Vector, records []*merge.Record) bool {
	beyond := func(d ops.Dot) bool { return d.Replica == replica && d.N > n }
	if have[replica].N > n {
		return true
	}
	for _, r := range records {
		for _, f := range r.Fields {
			if slices.ContainsFunc(f.Dead, beyond) || slices.ContainsFunc(f.Live, func(v merge.Value) bool { return beyond(v.Dot) }) {
				return true
			}
		}
	}
	return false
}

func (c *Cursor) doubt(k merge.Key) {
	if c.Doubt == nil {
		c.Doubt = map[merge.Key]bool{}
	}
	c.Doubt[k] = true
}

func (p *Phone) doubt(c *Cursor, records []*merge.Record) {
	for _, t := range records {
		mine := p.Base.Records[merge.Key{Kind: t.Kind, ID: t.ID}]
		for name, f := range t.Fields {
			for _, v := range f.Live {
				if p.Base.Has(v.Dot) && !mine.Holds(name, v.Dot) || mine.HoldsDead(name, v.Dot) {
					c.doubt(merge.Key{Kind: t.Kind, ID: t.ID})
				}
			}
		}
	}
}

// refusedNow returns why a hand-back was not taken, or "".
func refusedNow(a *Answer) string {
	for _, r := range a.Refused {
		if r.Replica == (ops.ID{}) {
			return r.Reason
		}
	}
	return ""
}

// takeAcks moves acknowledged ops from the outbox into the base, voids where
// they were refused for good, and renames from a fork on. Only what was sent this
// time, byte for byte, is judged: of the rest the answer says nothing.
func (p *Phone) takeAcks(req *Request, a *Answer) {
	end := req.From + uint64(len(req.Ops))
	forGood, fork := map[uint64]string{}, uint64(0)
	for _, r := range a.Refused {
		if r.Replica != p.Replica {
			continue
		}
		if r.ForGood {
			forGood[r.N] = r.Reason
			continue
		}
		end = min(end, r.N) // from there on nothing was judged
		if r.Reason == Forked {
			fork = r.N
		}
	}
	acked := a.Acked[p.Replica]
	for len(p.Outbox) > 0 {
		o := p.Outbox[0]
		if o.Op.N >= end || o.Op.N > acked.N || o.Op.N == acked.N && o.Chain.Short() != acked.Digest ||
			o.Op.N < req.From || !bytes.Equal(o.Op.Bytes(), req.Ops[o.Op.N-req.From]) {
			break
		}
		if reason, void := forGood[o.Op.N]; void {
			v := merge.Void{Dot: o.Op.Dot(), Digest: o.Chain.Short(), Kind: o.Op.Kind, ID: o.Op.ID.String(), Over: o.Op.Over, Reason: reason}
			p.Base.AddVoid(v, true)
			p.Needs = append(p.Needs, Needed{o.Op, reason})
		} else {
			p.Base.Apply(o.Op, o.Chain.Short())
		}
		p.Acked, p.Outbox = o.Chain, p.Outbox[1:]
	}
	if fork != 0 {
		p.rename(p.Random(), ops.Digest{})
	}
}

// rename goes on under another name, whose chain stands at acked, with what was not acknowledged.
func (p *Phone) rename(to ops.ID, acked ops.Digest) {
	old, rest := p.Replica, p.Outbox
	p.Replica, p.Acked, p.Outbox = to, acked, nil
	n := p.Base.C[to].N
	for _, o := range rest {
		p.rewrite(o.Op, func(d ops.Dot) ops.Dot {
			if d.Replica == old && d.N >= rest[0].Op.N {
				return ops.Dot{Replica: to, N: n + d.N - rest[0].Op.N + 1}
			}
			return d
		})
	}
}

// rewrite puts an op back into the outbox under the next number, with the dots
// that it names under their new name.
func (p *Phone) rewrite(op ops.Op, to func(ops.Dot) ops.Dot) {
	n, prev := p.last()
	op.Replica, op.N = p.Replica, n+1
	over := maps.Clone(op.Over)
	for name, dots := range over {
		over[name] = slices.Clone(dots)
		for i, d := range dots {
			over[name][i] = to(d)
		}
	}
	op.Over = over
	set := maps.Clone(op.Set)
	for name, value := range set {
		set[name] = merge.References(op.Kind, name, value, to)
	}
	op.Set = set
	op, err := ops.Encode(op)
	if err != nil {
		panic(err) // it was within the limits under the other name
	}
	p.Outbox = append(p.Outbox, Pending{op, ops.Chain(prev, op.Bytes())})
}

// takeFork follows a server that gave our branch of a replica another name.
func (p *Phone) takeFork(k merge.Fork) {
	mine := k.Replica == p.Replica
	if !k.Concerns(p.Base.C[k.Replica]) {
		return
	}
	p.Base.Rename(k)
	rest := p.Outbox
	p.Outbox = nil
	to := k.Dot
	if mine { // whoever writes under that name next is not us
		p.Replica, p.Acked = p.Random(), ops.Digest{}
		fresh := p.Replica
		to = func(d ops.Dot) ops.Dot {
			if len(rest) > 0 && d.Replica == k.Replica && d.N >= rest[0].Op.N {
				return ops.Dot{Replica: fresh, N: d.N - rest[0].Op.N + 1}
			}
			return k.Dot(d)
		}
	}
	for _, o := range rest {
		p.rewrite(o.Op, to)
	}
}

// handBack lists, in parts of size records, what a server with vector c lacks.
func (p *Phone) handBack(c ops.Vector, doubt map[merge.Key]bool, size int) (parts []Back) {
	beyond := len(doubt) > 0
	for r, e := range p.Base.C {
		beyond = beyond || e.N > c[r].N
	}
	var records []*merge.Record
	for _, k := range slices.SortedFunc(maps.Keys(p.Base.Records), compareKeys) {
		if r := p.Base.Records[k]; r.Beyond(c) || doubt[k] {
			records = append(records, r.Clone())
		}
	}
	if !beyond && len(records) == 0 {
		return nil
	}
	voids := []merge.Void{}
	for _, d := range slices.SortedFunc(maps.Keys(p.Base.Voids), ops.Dot.Compare) {
		if !c.Has(d) {
			voids = append(voids, p.Base.Voids[d])
		}
	}
	have := p.Base.C.Clone()
	for {
		n := min(size, len(records))
		parts = append(parts, Back{Have: have, Records: records[:n], Voids: voids})
		records, voids = records[n:], []merge.Void{}
		if len(records) == 0 {
			parts[len(parts)-1].Last = true
			return parts
		}
	}
}

func compareKeys(a, b merge.Key) int {
	if a.Kind != b.Kind {
		return slices.Compare([]byte(a.Kind), []byte(b.Kind))
	}
	return slices.Compare(a.ID[:], b.ID[:])
}
