package replication

import (
	"maps"
	"slices"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
)

// A Logged op is what a server keeps of one it accepted.
type Logged struct {
	Op      []byte // nil where a purge took it or only its effect was handed back
	Chain   ops.Digest
	Via     string
	Renamed []Renamed // how its over was read
	// Before is the chain before the op, where the op was the first of its frame: what
	// came before it may be known here by its effect only, and a relay starts there.
	Before *ops.Digest
}

// A RelayTx is the transaction of a server that carries ops to an upstream.
type RelayTx interface {
	Tx
	Logged(ops.Dot) (Logged, bool)
	Voids() []merge.Void
	Ticked() uint64 // the sequence number of the last Tick
	// Rename gives a branch its other name: in records, vector and log. branch
	// holds the same ops, written anew.
	Rename(k merge.Fork, branch []Logged)
}

// An Upstream is what a server knows of the one above it.
type Upstream struct {
	Cursor
	Server string
	Theirs ops.Vector // what it acknowledged or said it has
	// Pages of a reading that is not finished. They are taken in together: what
	// phones hand back meanwhile must not come between them.
	Pages []*merge.Record
	Stale bool // upstream holds what we know to be replaced: hand everything back
	// Handed is the last sequence number at which something was handed back here
	// that upstream was given too: what phones bring after a restore may change
	// records without raising the vector. Handing is on its way, in Parts: once the
	// first of them was Begun with, the others are as they were cut.
	Handed, Handing uint64
	Parts           []Back
	Begun           bool
	// Parting names replicas whose branches here and there are two. Until it is known
	// where they part (true) nothing else goes up: it may name their dots. false: it
	// can't be known, for the ops are not in the log, and the two are taken for one.
	Parting map[ops.ID]bool
}

// RelayBytes bounds what one request brings an upstream: even what can't be
// packed is then no more than a server takes.
const RelayBytes = 768 << 10

// Next returns the request that brings the upstream what it lacks, about room
// bytes of it (RelayBytes, but for tests), and asks for what is new. Frames carry
// ops where they are kept; what was only handed back is handed on once no frame is left.
func (u *Upstream) Next(tx RelayTx, room int) *Request {
	id, _ := tx.Server()
	r := &Request{Format: ops.Format, Server: u.Server, Epoch: u.Epoch, After: u.After, AfterDigest: u.Digest, Reading: u.Reading,
		Ops: []Element{}, Have: tx.Vector().Clone()}
	if u.After == 0 && u.Reading == 0 {
		r.Server, r.Epoch, r.AfterDigest = "", "", ""
	}
	if u.Theirs == nil {
		return r
	}
	left, beyond, parting := budget{ops.MaxBatchOps, room}, false, u.parting()
	for _, replica := range slices.SortedFunc(maps.Keys(tx.Vector()), func(a, b ops.ID) int { return slices.Compare(a[:], b[:]) }) {
		beyond = beyond || tx.Vector()[replica].N > u.Theirs[replica].N
		if _, known := u.Parting[replica]; known {
			delete(r.Have, replica) // it says no more of them than that there are two
		}
		if parting && !u.Parting[replica] || u.Begun {
			continue
		}
		r.Frames = append(r.Frames, framesOf(tx, replica, u.Theirs[replica].N+1, id, &left)...)
	}
	if !parting && (beyond || u.Stale || tx.Ticked() > u.Handed) && len(r.Frames) == 0 {
		if !u.Begun {
			u.Handing, u.Parts = tx.Ticked(), u.cut(tx, room)
		}
		r.Back = &u.Parts[0]
	}
	return r
}

// cut returns all that is here, as of now, in parts of about room bytes.
func (u *Upstream) cut(tx RelayTx, room int) (parts []Back) {
	have := tx.Vector().Clone()
	part := Back{Have: have, Records: []*merge.Record{}, Voids: []merge.Void{}}
	for _, v := range tx.Voids() {
		if !u.Theirs.Has(v.Dot) {
			part.Voids = append(part.Voids, v)
		}
	}
	slices.SortFunc(part.Voids, func(a, b merge.Void) int { return a.Dot.Compare(b.Dot) })
	all, size := tx.All(), 0
	slices.SortFunc(all, func(a, b *merge.Record) int {
		return compareKeys(merge.Key{Kind: a.Kind, ID: a.ID}, merge.Key{Kind: b.Kind, ID: b.ID})
	})
	for _, r := range all {
		raw, _ := Marshal(r)
		if size += len(raw); size > room && len(part.Records) > 0 {
			parts = append(parts, part)
			part, size = Back{Have: have, Records: []*merge.Record{}, Voids: []merge.Void{}}, len(raw)
		}
		part.Records = append(part.Records, r)
	}
	part.Last = true
	return append(parts, part)
}

// handed takes note of what became of a part that was brought.
func (u *Upstream) handed(b *Back, refused string) {
	switch {
	case b == nil || len(u.Parts) == 0 || !b.starts(&u.Parts[0]):
	case refused != "":
		u.Parts, u.Begun = nil, false // all of it anew, as it is by then
	case b.Last:
		u.Parts, u.Begun, u.Stale, u.Handed = nil, false, false, max(u.Handed, u.Handing)
	default:
		u.Parts, u.Begun = u.Parts[1:], true
	}
}

// starts reports whether two parts of one cut are the same.
func (b *Back) starts(o *Back) bool {
	return len(b.Records) == len(o.Records) && b.Last == o.Last &&
		(len(b.Records) == 0 || b.Records[0].Kind == o.Records[0].Kind && b.Records[0].ID == o.Records[0].ID)
}

// A budget is what may still go into a request.
type budget struct{ ops, bytes int }

func framesOf(tx RelayTx, replica ops.ID, from uint64, via string, left *budget) (frames []Frame) {
	prev, ok := chainBefore(tx, replica, from)
	if !ok {
		return nil
	}
	for n := from; left.ops > 0 && left.bytes > 0; n++ {
		d := ops.Dot{Replica: replica, N: n}
		l, ok := tx.Logged(d)
		if !ok {
			break
		}
		raw := l.Op
		if v, void := tx.Void(d); void {
			raw, _ = Marshal(map[string]VoidAt{"void": {N: n, Chain: l.Chain, Kind: v.Kind, ID: v.ID, Over: v.Over, Reason: v.Reason}})
		}
		if raw == nil {
			break
		}
		last := len(frames) - 1
		if last < 0 || !slices.Equal(frames[last].Renamed, l.Renamed) {
			frames = append(frames, Frame{Replica: replica, From: n, PrevDigest: prev, Ops: []Element{}, Via: via, Renamed: l.Renamed})
			last++
		}
		frames[last].Ops = append(frames[last].Ops, raw)
		prev = l.Chain
		left.ops--
		left.bytes -= len(raw)
	}
	return frames
}

// chainBefore returns the whole chain digest before an op, where it is known.
func chainBefore(tx RelayTx, replica ops.ID, n uint64) (ops.Digest, bool) {
	if n == 1 {
		return ops.Digest{}, true
	}
	if l, ok := tx.Logged(ops.Dot{Replica: replica, N: n - 1}); ok {
		return l.Chain, true
	}
	if l, ok := tx.Logged(ops.Dot{Replica: replica, N: n}); ok && l.Before != nil {
		return *l.Before, true
	}
	return ops.Digest{}, false
}

// ownRun returns the first op of the last unbroken run that is kept here, from
// which a frame can start; one beyond the vector where there is none.
func ownRun(tx RelayTx, replica ops.ID) uint64 {
	from := tx.Vector()[replica].N + 1
	for n := from - 1; n > 0; n-- {
		if _, ok := tx.Logged(ops.Dot{Replica: replica, N: n}); !ok {
			break
		}
		if _, ok := chainBefore(tx, replica, n); ok {
			from = n
		}
	}
	return from
}

// Take takes the upstream's answer to req in.
func (u *Upstream) Take(tx RelayTx, req *Request, a *Answer) error {
	records, err := ReadRecords(a.Records)
	if err != nil {
		return err
	}
	if a.Wrong != "" || u.Server != "" && u.Server != a.Server {
		*u = Upstream{Server: a.Server, Cursor: Cursor{Epoch: a.Epoch}}
		return nil
	}
	if req.After != u.After || u.Server != "" && req.Epoch != "" && req.Epoch != u.Epoch {
		return nil
	}
	u.Server = a.Server
	if u.Theirs == nil {
		u.Theirs = ops.Vector{}
	}
	for replica, e := range a.Acked {
		if replica != (ops.ID{}) {
			u.Theirs[replica] = e
		}
	}
	if forked := u.part(tx, req, a); forked || u.parting() {
		u.Parts, u.Begun = nil, false
		return nil // ask again before taking in what bears a name of two
	}
	u.handed(req.Back, refusedNow(a))
	waits := tx.Ticked() > u.Handed
	takeVoids(tx, a.Voids)
	u.Pages = append(u.Pages, records...)
	u.Epoch, u.After, u.Digest, u.Reading = a.Epoch, a.UpTo, a.UpToDigest, a.Reading
	if !a.More {
		u.Stale = takeRecords(tx, u.Pages, a.Have, true, false) || u.Stale
		u.Reading, u.Pages = 0, nil
		u.Theirs.Raise(a.Have)
	}
	if !waits {
		u.Handed = tx.Ticked() // that was upstream's own
	}
	return nil
}

// parting reports whether some branch is still to be told apart.
func (u *Upstream) parting() bool {
	for _, ask := range u.Parting {
		if ask {
			return true
		}
	}
	return false
}

// part gives our branches another name where the answer says where they part,
// and reports whether it did. Where it says only that they do, our last run of
// that replica goes up once more, to learn where.
func (u *Upstream) part(tx RelayTx, req *Request, a *Answer) (renamed bool) {
	if u.Parting == nil {
		u.Parting = map[ops.ID]bool{}
	}
	two := differing(tx, a.Have)
	for _, r := range a.Refused {
		sent := slices.ContainsFunc(req.Frames, func(f Frame) bool { return f.Replica == r.Replica })
		switch {
		case r.Reason != Forked:
		case !sent:
			two = append(two, r.Replica)
		case rename(tx, r.Replica, r.N):
			renamed = true
			delete(u.Parting, r.Replica)
		default:
			u.Parting[r.Replica] = false
		}
	}
	if renamed {
		return true // under their names of now they may be no two any more
	}
	for replica, ask := range u.Parting {
		switch {
		case ask && slices.Contains(two, replica):
			u.Parting[replica] = false
		case ask:
			delete(u.Parting, replica)
		}
	}
	for _, replica := range two {
		if _, asked := u.Parting[replica]; asked {
			continue
		}
		from := ownRun(tx, replica)
		if u.Parting[replica] = from <= tx.Vector()[replica].N; u.Parting[replica] {
			u.Theirs[replica] = ops.Entry{N: from - 1}
		}
	}
	return false
}

// differing returns the replicas of which a vector, as far as we know it, is on another branch than ours.
func differing(tx Tx, have ops.Vector) (two []ops.ID) {
	for replica, e := range have {
		if at, ok := tx.DigestAt(ops.Dot{Replica: replica, N: e.N}); ok && at != e.Digest {
			two = append(two, replica)
		}
	}
	slices.SortFunc(two, func(a, b ops.ID) int { return slices.Compare(a[:], b[:]) })
	return two
}

// rename gives our branch of a replica the fork's name from its first differing
// op. Where that op or one behind it is not in the log, what was handed back can't
// be told from the other branch, and it reports false.
func rename(tx RelayTx, replica ops.ID, from uint64) bool {
	k := merge.Fork{Replica: replica, From: from}
	var branch []Logged
	var chain ops.Digest
	for n := from; n <= tx.Vector()[replica].N; n++ {
		l, ok := tx.Logged(ops.Dot{Replica: replica, N: n})
		if !ok {
			return false
		}
		k.Digests = append(k.Digests, l.Chain.Short())
		if n == from {
			k.To = ops.ForkName(replica, l.Chain.Short())
		}
		op, named := renamedOp(k, l.Op, n)
		if named {
			chain = ops.Chain(chain, op.Bytes())
		} else { // a void, or purged: its digest stands for the bytes that are not here
			chain = ops.Chain(chain, l.Chain[:])
		}
		k.Renamed = append(k.Renamed, chain.Short())
		branch = append(branch, Logged{Op: op.Bytes(), Chain: chain, Via: l.Via, Renamed: l.Renamed})
	}
	if len(branch) == 0 {
		return false
	}
	if at, ok := tx.DigestAt(ops.Dot{Replica: replica, N: from - 1}); ok {
		k.Before = at
	}
	tx.Rename(k, branch)
	return true
}

// renamedOp writes the op with these bytes, the n-th of a branch, anew under the
// fork's name. false where there are no bytes.
func renamedOp(k merge.Fork, raw []byte, n uint64) (ops.Op, bool) {
	op, err := ops.Parse(raw)
	if raw == nil || err != nil {
		return ops.Op{}, false
	}
	op.Replica, op.N = k.To, n-k.From+1
	for _, dots := range op.Over {
		for i, d := range dots {
			dots[i] = k.Dot(d)
		}
	}
	for name, value := range op.Set {
		op.Set[name] = merge.References(op.Kind, name, value, k.Dot)
	}
	op, err = ops.Encode(op)
	return op, err == nil
}
