package store

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"strconv"

	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

func appendUint(b []byte, n uint64) []byte { return strconv.AppendUint(b, n, 10) }

// next gives what was accepted the next sequence number and the server's chain
// the next link.
func (c *studioCopy) next(d ops.Dot, at ops.Short) {
	before := entryBytes(c.vector[d.Replica])
	c.head++
	c.link = ops.ServerLink(c.link, d, at)
	c.moved = true
	short := c.link.Short()
	c.t.rows.put(tLog, c.key(num(c.head)), key(short[:], d.Replica[:], num(d.N), at[:], before))
}

// Append stores an accepted op under the next sequence number.
func (c *studioCopy) Append(d ops.Dot, l replication.Logged) {
	at := l.Chain.Short()
	c.next(d, at)
	c.vector[d.Replica] = ops.Entry{N: d.N, Digest: at}
	c.chains[d.Replica] = l.Chain
	c.raised[d.Replica] = true
	c.putLogged(d, l)
}

// Tick moves the sequence on with nothing accepted.
func (c *studioCopy) Tick() { c.next(ops.Dot{}, ops.Short{}) }

// Raise takes an entry of a hand-back's vector: what is known there is its short digest only.
func (c *studioCopy) Raise(replica ops.ID, e ops.Entry) {
	d := ops.Dot{Replica: replica, N: e.N}
	c.next(d, e.Digest)
	c.vector[replica] = e
	delete(c.chains, replica)
	c.raised[replica] = true
	c.t.rows.put(tOps, dotKey(c.studio, d), append([]byte{shortOnly}, e.Digest[:]...))
}

func (c *studioCopy) LinkAt(seq uint64) (ops.Short, bool) {
	if seq == 0 {
		return ops.Short{}, true
	}
	raw := c.t.rows.get(tLog, c.key(num(seq)))
	if seq > c.head || raw == nil {
		return ops.Short{}, false
	}
	return ops.Short(raw[:8]), true
}

// VectorAt goes back from the vector of now: each row of the log says what was
// known of its replica before, and the oldest row after seq says it last.
func (c *studioCopy) VectorAt(seq uint64) ops.Vector {
	v := c.vector.Clone()
	seen := map[ops.ID]bool{}
	for _, raw := range under(c.t.rows, tLog, c.studio[:], num(seq+1)) {
		replica := ops.ID(raw[8:24])
		if n := binary.BigEndian.Uint64(raw[24:]); n == 0 || seen[replica] {
			continue
		}
		seen[replica] = true
		if before := readEntry(raw[40:]); before.N > 0 {
			v[replica] = before
		} else {
			delete(v, replica)
		}
	}
	return v
}

// A row of the op table: one byte of flags, the digest, how it came (2 bytes of
// length and JSON), the sender's bytes.
const (
	shortOnly = 1 << iota // 8 bytes of digest, not 32
	hasHow
	hasOp
)

type how struct {
	Via     string                `json:"via,omitempty"`
	Renamed []replication.Renamed `json:"renamed,omitempty"`
	Before  *ops.Digest           `json:"before,omitempty"`
}

func (c *studioCopy) putLogged(d ops.Dot, l replication.Logged) {
	b := make([]byte, 1, 33+len(l.Op))
	b = append(b, l.Chain[:]...)
	if l.Via != "" || len(l.Renamed) > 0 || l.Before != nil {
		raw, err := json.Marshal(how{l.Via, l.Renamed, l.Before})
		if err != nil {
			panic(err)
		}
		b[0] |= hasHow
		b = append(binary.BigEndian.AppendUint16(b, uint16(len(raw))), raw...)
	}
	if l.Op != nil {
		b[0] |= hasOp
		b = append(b, l.Op...)
	}
	c.t.rows.put(tOps, dotKey(c.studio, d), b)
}

func (c *studioCopy) DigestAt(d ops.Dot) (ops.Short, bool) {
	raw := c.t.rows.get(tOps, dotKey(c.studio, d))
	if raw == nil {
		return ops.Short{}, false
	}
	return ops.Short(raw[1:9]), true
}

// logged returns what is kept of an accepted op; false where only its digest is known, or nothing.
func (c *studioCopy) logged(d ops.Dot) (l replication.Logged, ok bool) {
	raw := c.t.rows.get(tOps, dotKey(c.studio, d))
	if raw == nil || raw[0]&shortOnly != 0 {
		return l, false
	}
	l.Chain = ops.Digest(raw[1:33])
	rest := raw[33:]
	if raw[0]&hasHow != 0 {
		n := binary.BigEndian.Uint16(rest)
		var h how
		mustRead(tOps, rest[2:2+n], &h)
		l.Via, l.Renamed, l.Before = h.Via, h.Renamed, h.Before
		rest = rest[2+n:]
	}
	if raw[0]&hasOp != 0 {
		l.Op = bytes.Clone(rest)
	}
	return l, true
}
