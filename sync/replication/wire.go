// Package replication is what a peer has and wants: the messages of one
// exchange, the server's side of it over a store's transaction, the phone's
// side, and the relay between two servers. It does no I/O and knows no time.
package replication

import (
	"bytes"
	"encoding/json"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
)

// A Request is what a phone, or a server on behalf of its phones, sends.
type Request struct {
	Format      int        `json:"format"`
	Server      string     `json:"server"` // "" on first contact
	Epoch       string     `json:"epoch"`
	After       uint64     `json:"after"`
	AfterDigest string     `json:"afterDigest"` // short digest of the server's chain at after, "" at 0
	Reading     uint64     `json:"reading,omitempty"`
	Replica     ops.ID     `json:"replica"`
	From        uint64     `json:"from"`
	PrevDigest  ops.Digest `json:"prevDigest"` // the whole chain digest at from−1
	Ops         []Element  `json:"ops"`
	Have        ops.Vector `json:"have,omitempty"`
	Frames      []Frame    `json:"frames,omitempty"`
	Back        *Back      `json:"back,omitempty"`
}

// A Frame is a run of ops of one replica, each at the next n.
type Frame struct {
	Replica    ops.ID     `json:"replica"`
	From       uint64     `json:"from"`
	PrevDigest ops.Digest `json:"prevDigest"`
	Ops        []Element  `json:"ops"`
	Via        string     `json:"via,omitempty"`     // the server that relays them
	Renamed    []Renamed  `json:"renamed,omitempty"` // how to read what their over names
}

// Renamed says that dots of a replica from a number on mean another name's, from 1 on.
type Renamed struct {
	Replica ops.ID `json:"replica"`
	From    uint64 `json:"from"`
	To      ops.ID `json:"to"`
}

func (k Renamed) dot(d ops.Dot) ops.Dot {
	if d.Replica == k.Replica && d.N >= k.From {
		return ops.Dot{Replica: k.To, N: d.N - k.From + 1}
	}
	return d
}

// An Element is an op's own bytes, or {"void":{…}} in the place of one.
type Element = json.RawMessage

// A VoidAt stands in a frame where its op was refused for good elsewhere.
type VoidAt struct {
	N      uint64               `json:"n"`
	Chain  ops.Digest           `json:"chain"`
	Kind   string               `json:"kind,omitempty"`
	ID     string               `json:"id,omitempty"`
	Over   map[string][]ops.Dot `json:"over"`
	Reason string               `json:"reason"`
}

// Back hands a server what it no longer has: records with dots beyond its
// vector, whoever wrote them, read under Have. The server raises its vector
// with the last part.
type Back struct {
	Have    ops.Vector      `json:"have"`
	Records []*merge.Record `json:"records"`
	Voids   []merge.Void    `json:"voids"`
	Last    bool            `json:"last"`
}

// Reasons to take nothing of a request.
const (
	WrongServer = "server"
	WrongEpoch  = "epoch"
	WrongDigest = "digest"
)

// Reasons to refuse for now.
const (
	NoRight  = "no-right"
	DiskFull = "disk-full"
	Forked   = "fork"
	Again    = "again" // read on first, then hand back once more
)

// An Answer is what a server sends back.
type Answer struct {
	Format       int                  `json:"format"`
	Server       string               `json:"server"`
	Epoch        string               `json:"epoch"`
	UpTo         uint64               `json:"upTo"`
	UpToDigest   string               `json:"upToDigest"`
	Reading      uint64               `json:"reading"`
	Acked        map[ops.ID]ops.Entry `json:"acked"`
	Records      []json.RawMessage    `json:"records"`
	More         bool                 `json:"more"`
	Have         ops.Vector           `json:"have,omitempty"`
	Voids        []merge.Void         `json:"voids,omitempty"`
	Forks        []merge.Fork         `json:"forks,omitempty"`
	Refused      []Refusal            `json:"refused"`
	PhotosWanted []string             `json:"photosWanted,omitempty"`
	Wrong        string               `json:"wrong,omitempty"`
}

// A Refusal names the first op that was not taken, or one that never will be.
type Refusal struct {
	Replica ops.ID `json:"replica"`
	N       uint64 `json:"n"`
	Reason  string `json:"reason"`
	ForGood bool   `json:"forGood"`
}

// Marshal writes a message. Ops and values in it keep their bytes: the library's
// own Marshal would escape some characters in them, and their digests would no longer hold.
func Marshal(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), nil
}

// ReadRecords decodes the records of an answer.
func ReadRecords(raw []json.RawMessage) ([]*merge.Record, error) {
	records := make([]*merge.Record, len(raw))
	for i, b := range raw {
		records[i] = &merge.Record{}
		if err := json.Unmarshal(b, records[i]); err != nil {
			return nil, err
		}
		if err := CheckRecord(records[i]); err != nil {
			return nil, err
		}
		records[i].Known = nil
	}
	return records, nil
}
