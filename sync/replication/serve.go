package replication

import (
	"encoding/json"
	"errors"
	"fmt"
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
	Write   bool
	Purge   bool   // keepers, and servers for theirs
	Servers bool   // bring what only servers write: hubs
	Own     ops.ID // the server's own replica: nobody else says how far it wrote
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
	if relays := req.Replica == (ops.ID{}); relays && may.Write {
		for _, replica := range differing(tx, req.Have) { // a frame of it says where it parts
			if !slices.ContainsFunc(frames, func(f Frame) bool { return f.Replica == replica }) {
				a.Refused = append(a.Refused, Refusal{replica, req.Have[replica].N, Forked, false})
			}
		}
	}
	apart := len(a.Refused) > 0
	if err := takeFrames(tx, frames, may, apart, a); err != nil {
		return nil, err
	}
	if req.Replica != (ops.ID{}) {
		a.Acked[req.Replica] = tx.Vector()[req.Replica]
	}
	if req.Back != nil && !apart {
		if !may.Write {
			a.Refused = append(a.Refused, Refusal{Reason: NoRight})
		} else if again, err := takeBack(tx, req.Back, may, req.After); err != nil {
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
