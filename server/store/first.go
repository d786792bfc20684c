package store

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"slices"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// A reading goes by last change, so what is on the bench today comes last. A
// phone that knows nothing gets that with its first page already, and can begin;
// with its own page it comes once more, as it then is.
const (
	mostFirst = 200 // records of a kind
	lastFirst = 120 // that changed last, whatever they are
	roomFirst = replication.PageBytes / 4
)

var firstKinds = []string{"machine", "bobbinCase", "bench"}

// beginWith puts those records in front of the first page of a long reading.
func (c *studioCopy) beginWith(req *replication.Request, a *replication.Answer) {
	if req.After != 0 || req.Reading != 0 || !a.More || len(req.Ops) > 0 || req.Back != nil {
		return
	}
	in := map[string]bool{}
	for _, raw := range a.Records {
		in[string(raw)] = true
	}
	var first []json.RawMessage
	size := 0
	add := func(r *merge.Record) {
		if raw := appendJSON(nil, r); !in[string(raw)] && size+len(raw) <= roomFirst {
			in[string(raw)] = true
			first = append(first, raw)
			size += len(raw)
		}
	}
	for _, kind := range firstKinds {
		n := 0
		for name, place := range under(c.t.rows, c.places, append([]byte(kind), 0), nil) {
			if n++; n > mostFirst {
				break
			}
			seq, _ := binary.Uvarint(place)
			b := c.blockOf(seq, name)
			add(readRecord(merge.Key{Kind: kind, ID: ops.ID(name[len(kind)+1:])}, b.entries[b.find(seq, name)].raw))
		}
	}
	for _, e := range c.last(lastFirst) {
		add(readRecord(e.k, e.raw))
	}
	a.Records = append(first, a.Records...)
}

// last returns the records that changed last, the newest first.
func (c *studioCopy) last(most int) (found []entry) {
	for before := num(1 << 63); len(found) < most; {
		k, raw := atOrBefore(c.t.rows, tRecords, c.studio[:], before)
		if k == nil {
			break
		}
		live := c.block(bytes.Clone(k), raw).live()
		slices.Reverse(live)
		found = append(found, live[:min(len(live), most-len(found))]...)
		if before = bytes.Clone(k[len(c.studio):]); !less(before) {
			break
		}
	}
	return found
}

// less makes a key the greatest of those before it; false where there is none.
func less(k []byte) bool {
	for i := len(k) - 1; i >= 0; i-- {
		if k[i]--; k[i] != 0xff {
			return true
		}
	}
	return false
}
