package replication

import (
	"encoding/json"
	"errors"
	"fmt"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
)

// How a server takes in runs of ops.

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

// takeFrames takes a request's frames in. Where one of them is a fork, or some
// fork is known already, it takes none: ops of the others may name dots of the
// branch that is about to get another name.
func takeFrames(tx Tx, frames []Frame, may Rights, forked bool, a *Answer) error {
	total := 0
	for _, f := range frames {
		if total += len(f.Ops); total > ops.MaxBatchOps {
			return fmt.Errorf("%w: more than %d ops", ErrBad, ops.MaxBatchOps)
		}
		if f.From < 1 || f.From > ops.MaxN || f.From-1+uint64(len(f.Ops)) > ops.MaxN {
			return fmt.Errorf("%w: a frame from %d", ErrBad, f.From)
		}
		s, err := overlap(tx, f)
		if err != nil {
			return err
		}
		if s.fork != 0 && may.Write {
			refuseVoids(tx, f, s.fork, a)
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
		refuseVoids(tx, f, s.fork, a)
		refuse(s.fork, Forked, false)
		return nil
	}
	refuseVoids(tx, f, f.From+uint64(s.skip), a)
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

// refuseVoids tells which ops of a frame before n were refused for good already.
func refuseVoids(tx Tx, f Frame, n uint64, a *Answer) {
	for d := (ops.Dot{Replica: f.Replica, N: f.From}); d.N < n; d.N++ {
		if v, ok := tx.Void(d); ok {
			a.Refused = append(a.Refused, Refusal{f.Replica, d.N, v.Reason, true})
		}
	}
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
	case ServerOnly[op.Kind] && !may.Servers:
		reason = ops.ServerOnly
	case op.Kind == merge.KindPurge && len(op.Over) > 0:
		reason = ops.PurgeOver
	case op.Kind == merge.KindPurge && !may.Purge:
		refuse(d.N, NoRight, false)
		return true
	}
	if reason != "" {
		v := voidOf(d, l.Chain, op, reason)
		tx.Append(d, l)
		takeVoid(tx, v)
		refuse(d.N, reason, true)
		return false
	}
	for _, k := range f.Renamed {
		to := k.dot
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

// voidOf returns the void for an op of which this could be read.
func voidOf(d ops.Dot, chain ops.Digest, op ops.Op, reason string) merge.Void {
	v := merge.Void{Dot: d, Digest: chain.Short(), Kind: op.Kind, Over: op.Over, Reason: reason}
	if op.ID != (ops.ID{}) {
		v.ID = op.ID.String()
	}
	if v.Over == nil {
		v.Over = map[string][]ops.Dot{}
	}
	return v
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
