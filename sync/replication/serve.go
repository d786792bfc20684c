package replication

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
)

// A Tx is one write transaction over a server's copy of one studio. All of an
// exchange happens in one, or none of it. Reads see the transaction's own writes.
type Tx interface {
	merge.Context
	Server() (id, epoch string)
	Head() uint64                              // the last sequence number
	LinkAt(seq uint64) (ops.Short, bool)       // the server's chain there; false beyond the head
	Vector() ops.Vector                        // C; not to be changed
	VectorAt(seq uint64) ops.Vector            // C when seq was the head
	DigestAt(ops.Dot) (ops.Short, bool)        // where it is kept
	Chain(replica ops.ID) (ops.Digest, bool)   // whole digest at the vector's entry, where it is known
	SetChain(replica ops.ID, chain ops.Digest) // learnt from the one who wrote it
	Record(kind string, id ops.ID) *merge.Record
	All() []*merge.Record              // copies; the whole studio
	Put(*merge.Record)                 // at the current head, so after the op that changed it
	Append(d ops.Dot, l Logged)        // next seq
	Tick()                             // next seq with nothing accepted, for records that were handed back
	Raise(replica ops.ID, e ops.Entry) // next seq for what was handed back
	PutVoid(merge.Void)                // at the current head
	PutPurged([]ops.Dot)               // and takes the values out of records and op bytes
	Since(after uint64, maxBytes int) (records []json.RawMessage, upTo uint64, more bool)
	VoidsSince(after uint64) []merge.Void
	ForksSince(after uint64) []merge.Fork
	PhotosWanted(limit int) []string
}

// Rights of the one who asks. Both are all or nothing for a studio.
type Rights struct {
	Write bool
	Purge bool // keepers only
}

// ErrBad is a request that no version of the program would send. It wraps what is wrong.
var ErrBad = errors.New("not an exchange of this format")

// PageBytes bounds the records of one answer: about 384 KiB of JSON.
const PageBytes = 384 << 10

// ServerOnly lists the kinds that only a server's own replica writes.
var ServerOnly = map[string]bool{"person": true, "phone": true, "role": true, "ending": true}

// Serve takes a request's ops in and answers with what is new to its sender, in
// pages of about pageBytes (PageBytes, but for tests).
// The error wraps ErrBad; the transaction must then be rolled back.
func Serve(tx Tx, req *Request, may Rights, pageBytes int) (*Answer, error) {
	server, epoch := tx.Server()
	a := &Answer{Format: ops.Format, Server: server, Epoch: epoch, Acked: map[ops.ID]ops.Entry{},
		Records: []json.RawMessage{}, Refused: []Refusal{}}
	if req.Format != ops.Format {
		return nil, fmt.Errorf("%w: format %d", ErrBad, req.Format)
	}
	if a.Wrong = wrong(tx, req, server, epoch); a.Wrong != "" {
		return a, nil
	}
	frames := req.Frames
	if len(req.Ops) > 0 {
		frames = append([]Frame{{Replica: req.Replica, From: req.From, PrevDigest: req.PrevDigest, Ops: req.Ops, Renamed: unlearnt(tx, req)}}, frames...)
	}
	if err := takeFrames(tx, frames, may, a); err != nil {
		return nil, err
	}
	if req.Replica != (ops.ID{}) {
		a.Acked[req.Replica] = tx.Vector()[req.Replica]
	}
	if req.Back != nil {
		if !may.Write {
			a.Refused = append(a.Refused, Refusal{Reason: NoRight})
		} else if again, err := takeBack(tx, req.Back, req.After); err != nil {
			return nil, err
		} else if again {
			a.Refused = append(a.Refused, Refusal{Reason: Again})
		}
	}
	page(tx, req, a, pageBytes)
	return a, nil
}

func wrong(tx Tx, req *Request, server, epoch string) string {
	if req.Server == "" && req.Epoch == "" && req.After == 0 {
		return ""
	}
	link, known := tx.LinkAt(req.After)
	switch {
	case req.Server != server:
		return WrongServer
	case req.Epoch != epoch:
		return WrongEpoch
	case req.After > 0 && (!known || link.String() != req.AfterDigest):
		return WrongDigest
	}
	return ""
}

// unlearnt returns the forks that the sender has not heard of and whose renamed
// branch it followed: what its ops name there means the new name.
func unlearnt(tx Tx, req *Request) (renamed []Renamed) {
	for _, k := range tx.ForksSince(req.After) {
		if req.Have == nil || k.Concerns(req.Have[k.Replica]) {
			renamed = append(renamed, Renamed{k.Replica, k.From, k.To})
		}
	}
	return renamed
}

// takeFrames takes a request's frames in. Where one of them is a fork it takes
// none: ops of the others may name dots of the branch that is about to get another name.
func takeFrames(tx Tx, frames []Frame, may Rights, a *Answer) error {
	total, forked := 0, false
	for _, f := range frames {
		if total += len(f.Ops); total > ops.MaxBatchOps {
			return fmt.Errorf("%w: more than %d ops", ErrBad, ops.MaxBatchOps)
		}
		if f.From < 1 {
			return fmt.Errorf("%w: a frame from 0", ErrBad)
		}
		s, err := overlap(tx, f)
		if err != nil {
			return err
		}
		if s.fork != 0 && may.Write {
			a.Refused = append(a.Refused, Refusal{f.Replica, s.fork, Forked, false})
			forked = true
		}
	}
	for _, f := range frames {
		switch {
		case !may.Write:
			a.Refused = append(a.Refused, Refusal{f.Replica, f.From, NoRight, false})
		case !forked:
			if err := takeFrame(tx, f, may, a); err != nil {
				return err
			}
		}
		a.Acked[f.Replica] = tx.Vector()[f.Replica]
	}
	return nil
}

// A frameStart is where the ops of a frame that are new here begin.
type frameStart struct {
	skip  int        // ops that are known already
	chain ops.Digest // the whole chain before the first new one
	fork  uint64     // the first op that is not the one known here, or can't be told from it; 0 for none
	gap   bool       // the frame starts beyond what is known
}

// overlap compares the start of a frame with what is known of its replica.
func overlap(tx Tx, f Frame) (s frameStart, err error) {
	known := tx.Vector()[f.Replica].N
	if f.From > known+1 {
		return frameStart{gap: true}, nil // acked says from where to go on
	}
	if at, ok := digestAt(tx, f.Replica, f.From-1); ok && at != f.PrevDigest.Short() {
		return frameStart{fork: f.From}, nil
	}
	s.chain = f.PrevDigest
	unsure := uint64(0)
	for i, raw := range f.Ops {
		n := f.From + uint64(i)
		if n > known {
			break
		}
		v, isVoid, err := voidAt(raw)
		switch {
		case err != nil:
			return s, err
		case isVoid:
			s.chain = v.Chain
		default:
			s.chain = ops.Chain(s.chain, raw)
		}
		at, ok := tx.DigestAt(ops.Dot{Replica: f.Replica, N: n})
		if unsure == 0 && (!ok || at != s.chain.Short()) {
			unsure = n
		}
		if ok && at != s.chain.Short() {
			break
		}
		if ok {
			unsure = 0
		}
		s.skip++
	}
	s.fork = unsure // nothing here tells whether these are the ops we know
	return s, nil
}

func takeFrame(tx Tx, f Frame, may Rights, a *Answer) error {
	refuse := func(n uint64, reason string, forGood bool) {
		a.Refused = append(a.Refused, Refusal{f.Replica, n, reason, forGood})
	}
	s, err := overlap(tx, f)
	switch {
	case err != nil:
		return err
	case s.gap:
		return nil
	case s.fork != 0:
		refuse(s.fork, Forked, false)
		return nil
	}
	for i := range s.skip {
		if v, ok := tx.Void(ops.Dot{Replica: f.Replica, N: f.From + uint64(i)}); ok {
			refuse(v.Dot.N, v.Reason, true)
		}
	}
	if f.From == tx.Vector()[f.Replica].N+1 {
		tx.SetChain(f.Replica, f.PrevDigest)
	}
	chain := s.chain
	for i, raw := range f.Ops[s.skip:] {
		d := ops.Dot{Replica: f.Replica, N: f.From + uint64(s.skip+i)}
		v, isVoid, err := voidAt(raw)
		if err != nil {
			return err
		}
		before := chain
		if isVoid {
			chain = v.Chain
		} else {
			chain = ops.Chain(chain, raw)
		}
		l := Logged{Chain: chain, Via: f.Via, Renamed: f.Renamed}
		if i == 0 && d.N > 1 {
			l.Before = &before
		}
		if isVoid {
			tx.Append(d, l)
			takeVoid(tx, merge.Void{Dot: d, Digest: chain.Short(), Kind: v.Kind, ID: v.ID, Over: v.Over, Reason: v.Reason})
			continue
		}
		if stop := takeOp(tx, d, l, raw, f, may, refuse); stop {
			return nil
		}
	}
	return nil
}

func digestAt(tx Tx, replica ops.ID, n uint64) (ops.Short, bool) {
	if n == 0 {
		return ops.Short{}, true
	}
	return tx.DigestAt(ops.Dot{Replica: replica, N: n})
}

func takeOp(tx Tx, d ops.Dot, l Logged, raw []byte, f Frame, may Rights, refuse func(uint64, string, bool)) (stop bool) {
	op, err := ops.Parse(raw)
	reason := ""
	var refused *ops.Refused
	switch {
	case errors.As(err, &refused):
		reason = refused.Reason
	case op.Dot() != d:
		reason = ops.Malformed
	case ServerOnly[op.Kind]: // a server's own writes do not pass through here
		reason = ops.ServerOnly
	case op.Kind == merge.KindPurge && len(op.Over) > 0:
		reason = ops.PurgeOver
	case op.Kind == merge.KindPurge && !may.Purge:
		refuse(d.N, NoRight, false)
		return true
	}
	if reason != "" {
		v := merge.Void{Dot: d, Digest: l.Chain.Short(), Kind: op.Kind, Over: op.Over, Reason: reason}
		if op.ID != (ops.ID{}) {
			v.ID = op.ID.String()
		}
		if v.Over == nil {
			v.Over = map[string][]ops.Dot{}
		}
		tx.Append(d, l)
		takeVoid(tx, v)
		refuse(d.N, reason, true)
		return false
	}
	for _, k := range f.Renamed {
		to := merge.Fork{Replica: k.Replica, From: k.From, To: k.To}.Dot
		for _, dots := range op.Over {
			for i, o := range dots {
				dots[i] = to(o)
			}
		}
		for name, value := range op.Set {
			op.Set[name] = merge.References(op.Kind, name, value, to)
		}
	}
	if named := merge.PurgedBy(op.Kind, op.Set[merge.FieldDots]); len(named) > 0 {
		tx.PutPurged(named)
	}
	r := tx.Record(op.Kind, op.ID)
	if !tx.Purged(d) {
		l.Op = raw
	}
	merge.Apply(r, op, tx)
	tx.Append(d, l)
	tx.Put(r)
	return false
}

func voidAt(raw Element) (v VoidAt, is bool, err error) {
	const lead = `{"void":`
	if len(raw) < len(lead) || string(raw[:len(lead)]) != lead {
		return v, false, nil
	}
	var el struct {
		Void VoidAt `json:"void"`
	}
	if err := json.Unmarshal(raw, &el); err != nil || el.Void.Reason == "" || len(el.Void.Reason) > 64 {
		return v, false, fmt.Errorf("%w: a void that can't be read", ErrBad)
	}
	return el.Void, true, nil
}

// takeVoid stores a void and touches its record, so that copies that held the
// op as real hear of what stands there without it.
func takeVoid(tx Tx, v merge.Void) {
	if _, ok := tx.Void(v.Dot); ok {
		return
	}
	tx.PutVoid(v)
	id, err := ops.ParseID(v.ID)
	if err != nil || v.Kind == "" {
		return
	}
	if r := tx.Record(v.Kind, id); len(r.Fields) > 0 {
		merge.TakeVoid(r, v, tx)
		tx.Put(r)
	}
}

// takeBack takes in what a copy hands back; after is how far that copy read
// here. The last part must wait (again) while something was handed back since by
// another: only the sender knows which of that its own vector means as replaced.
func takeBack(tx Tx, b *Back, after uint64) (again bool, err error) {
	more := beyond(tx, b.Have)
	if b.Last && unread(tx, more, after) {
		return true, nil
	}
	for _, v := range b.Voids {
		takeVoid(tx, v)
	}
	for _, r := range b.Records {
		if err := CheckRecord(r); err != nil {
			return false, err
		}
		r.Known = nil
	}
	takeRecords(tx, b.Records, b.Have, b.Last)
	if b.Last && len(more) > 0 {
		settle(tx)
	}
	return false, nil
}

// settle gives all records out once more after a hand-back raised the vector.
// Who read them before did so under a vector that said less, and of a value that
// is live nowhere no one can tell any more in which record it stood.
func settle(tx Tx) {
	tx.Tick()
	for _, r := range tx.All() {
		merge.Trim(r, tx)
		tx.Put(r)
	}
}

// unread reports whether a record changed after that point holds a dot that the
// vector covers and ours does not.
func unread(tx Tx, more ops.Vector, after uint64) bool {
	if len(more) == 0 {
		return false
	}
	changed, _, _ := tx.Since(after, math.MaxInt)
	for _, raw := range changed {
		var r merge.Record
		if json.Unmarshal(raw, &r) == nil && r.Any(func(d ops.Dot) bool { return more.Has(d) && !tx.Has(d) }) {
			return true
		}
	}
	return false
}

// beyond returns the entries of a vector that reach beyond the copy's own.
func beyond(tx Tx, v ops.Vector) ops.Vector {
	more := ops.Vector{}
	for replica, e := range v {
		if e.N > tx.Vector()[replica].N {
			more[replica] = e
		}
	}
	return more
}

// takeRecords merges records read under have. With the last part it raises the
// vector; until then each record remembers what it knows beyond it, because parts
// of other hand-backs come in between and may bring what this one knows to be replaced.
// It reports whether they held a value that is known here to be replaced.
func takeRecords(tx Tx, records []*merge.Record, have ops.Vector, last bool) (stale bool) {
	for _, r := range records {
		if f := r.Fields[merge.FieldDots]; f != nil && r.Kind == merge.KindPurge {
			for _, v := range f.Live {
				tx.PutPurged(merge.PurgedBy(r.Kind, v.Value))
			}
		}
	}
	more := beyond(tx, have) // who read a record before did so under a vector that said less
	touched := make([]*merge.Record, 0, len(records))
	for _, t := range records {
		r := tx.Record(t.Kind, t.ID)
		before := r.Clone()
		merge.Take(r, t, have, tx)
		if !last {
			r.Known = r.Known.Clone()
			r.Known.Raise(more)
		}
		stale = stale || merge.Lacks(r, t)
		if last && len(more) > 0 || !merge.Equal(before, r) {
			touched = append(touched, r)
		}
	}
	if len(touched) > 0 {
		tx.Tick()
		for _, r := range touched {
			tx.Put(r)
		}
	}
	if last {
		for _, replica := range slices.SortedFunc(maps.Keys(more), func(a, b ops.ID) int { return slices.Compare(a[:], b[:]) }) {
			tx.Raise(replica, more[replica])
		}
	}
	return stale
}

func page(tx Tx, req *Request, a *Answer, pageBytes int) {
	head := tx.Head()
	a.Reading = head
	if req.Reading > 0 && req.Reading <= head {
		a.Reading = req.Reading
	}
	a.Records, a.UpTo, a.More = tx.Since(req.After, pageBytes)
	if a.Records == nil {
		a.Records = []json.RawMessage{}
	}
	if !a.More {
		// Not the head of now: what changed since the reading began is read again
		// under a vector that covers it.
		a.UpTo = a.Reading
	}
	if a.UpTo > 0 {
		link, _ := tx.LinkAt(a.UpTo)
		a.UpToDigest = link.String()
	}
	if len(a.Records) > 0 || a.UpTo > req.After || req.Have != nil || req.Reading > 0 {
		a.Have = tx.VectorAt(a.Reading)
		a.Voids = tx.VoidsSince(req.After)
		a.Forks = tx.ForksSince(req.After)
	}
	a.PhotosWanted = tx.PhotosWanted(32)
}
