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
		if home := p.Cursors[p.Home]; home != nil { // a first visit, before the phone turns
			home.interrupt()
		}
	}
	if req.After != c.After || req.Epoch != "" && req.Epoch != c.Epoch {
		return nil // an answer to a question that is no longer ours
	}
	for id, other := range p.Cursors {
		if id != a.Server && other.Reading > 0 {
			other.interrupt()
		}
	}
	if req.Replica == p.Replica {
		p.takeAcks(req, a)
	}
	wentBack := a.Server == p.Home && a.Acked[p.Replica].N < p.Base.C[p.Replica].N // without saying so
	if req.Replica == p.Replica && wentBack && !c.Ask && len(c.Back) == 0 {
		p.forget(a)
		return nil
	}
	for _, other := range p.Cursors {
		if w := other.Left; w != nil && bears(w.Replica, w.N, a.Have, records) {
			other.Left = nil // somebody else writes under it: our next op must not take their dot's name
		}
	}
	if bears(p.Replica, p.Base.C[p.Replica].N, a.Have, records) {
		if len(p.Outbox) > 0 && !wentBack {
			return nil // let the server judge our ops before we take in what bears our name
		}
		if len(p.Outbox) == 0 || !p.wrote(records) {
			p.rename(p.Random(), ops.Digest{}) // somebody else writes under our name
		}
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
			read, _ := ops.Parse(o.Op.Bytes()) // as the server could read it
			p.Base.AddVoid(voidOf(o.Op.Dot(), o.Chain, read, reason), true)
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
