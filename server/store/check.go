package store

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"slices"

	"evenpull/server/account"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
)

// Checked is what Check looked at.
type Checked struct {
	Studios, Records, Ops, Photos int
}

// Check walks through the whole store and says of each thing that is wrong what
// and where. It changes nothing.
func (s *Store) Check() (n Checked, problems []string) {
	problems = s.engine.problems()
	wrong := func(format string, args ...any) { problems = append(problems, fmt.Sprintf(format, args...)) }
	err := s.engine.view(func(r rows) error {
		t := s.begin(r)
		studios := t.accountsCheck(wrong)
		for _, studio := range studios {
			n.Studios++
			guarded(wrong, "studio "+studio.String(), func() { checkStudio(openCopy(t, studio), &n, wrong) })
		}
		guarded(wrong, "photos", func() { s.checkPhotos(r, &n, wrong) })
		return nil
	})
	if err != nil {
		wrong("the store can't be read: %v", err)
	}
	return n, problems
}

type says func(format string, args ...any)

// guarded makes a problem of rows that can't be read.
func guarded(wrong says, where string, work func()) {
	defer func() {
		if p := recover(); p != nil {
			wrong("%s: %v", where, p)
		}
	}()
	work()
}

// accountsCheck returns the studios that have any row.
func (t *tx) accountsCheck(wrong says) (studios []ops.ID) {
	guarded(wrong, "accounts", func() {
		for _, s := range t.Studios() {
			studios = append(studios, s.ID)
			keepers := 0
			for _, m := range t.Members(s.ID) {
				if m.Role == account.Keeper && m.EndedMS == 0 {
					keepers++
				}
			}
			if keepers == 0 {
				wrong("studio %s has no keeper; make a code with: evenpull invite --keeper", s.ID)
			}
			for _, seat := range t.Seats(s.ID) {
				if _, ok := t.Phone(seat.Phone); !ok {
					wrong("studio %s: the key of phone %s is gone", s.ID, seat.Phone)
				}
				if _, ok := t.Member(s.ID, seat.Person); !ok && !seat.Hub {
					wrong("studio %s: phone %s belongs to nobody", s.ID, seat.Phone)
				}
			}
		}
	})
	for _, studio := range slices.Clone(studios) {
		if t.Rolled(studio) {
			studios = append(studios, account.RollOf(studio))
		}
	}
	for k := range t.rows.scan(tHeads, nil) {
		if studio := ops.ID(k); !slices.Contains(studios, studio) {
			wrong("studio %s has records and no entry of its own", studio)
			studios = append(studios, studio)
		}
	}
	return studios
}

func checkStudio(c *studioCopy, n *Checked, wrong says) {
	named := func(format string, args ...any) { wrong("studio "+c.studio.String()+": "+format, args...) }
	guarded(named, "log", func() { c.checkLinks(named) })
	guarded(named, "ops", func() { n.Ops += c.checkOps(named) })
	guarded(named, "records", func() { n.Records += c.checkRecords(named) })
}

// checkLinks follows the log from its beginning to the head, by numbers and by links.
func (c *studioCopy) checkLinks(wrong says) {
	next, link, vector, names := uint64(1), ops.Digest{}, ops.Vector{}, c.names()
	for k, raw := range under(c.t.rows, tLinks, c.studio[:], nil) {
		b := decodeLinks(k, raw)
		if b.first != next || b.before != link {
			wrong("the log is torn before %d", b.first)
		}
		link = b.before
		b.each(func(seq uint64, d ops.Dot, at ops.Short, _ ops.Entry) bool {
			link, next = ops.ServerLink(link, d, at), seq+1
			if d.N > 0 {
				d, at = names.now(seq, d, at)
				vector[d.Replica] = ops.Entry{N: d.N, Digest: at}
			}
			return true
		})
	}
	if next != c.head+1 || link != c.link {
		wrong("the log ends at %d and should end at %d", next-1, c.head)
	}
	for replica, e := range c.vector {
		if vector[replica] != e {
			wrong("the log ends replica %s at %d, the vector at %d", replica, vector[replica].N, e.N)
		}
	}
}

// checkOps reads every kept op and follows each replica's chain through its blocks.
func (c *studioCopy) checkOps(wrong says) (count int) {
	var last *opBlock
	for k, raw := range under(c.t.rows, tOps, c.studio[:], nil) {
		d := readDot(k)
		if e := c.vector[d.Replica]; e.N < d.N {
			wrong("op %s is kept and not known", d)
		}
		if raw[0] == rowShort {
			last = nil
			continue
		}
		guarded(wrong, "ops from "+d.String(), func() {
			b := decodeOps(c.t.s.blocks, k, raw)
			if last != nil && last.replica == b.replica && last.first+uint64(len(last.ops)) == b.first && last.ops[len(last.ops)-1].Chain != b.before {
				wrong("the chain is torn before op %s", d)
			}
			last = b
			for i, l := range b.ops {
				count++
				at := ops.Dot{Replica: b.replica, N: b.first + uint64(i)}
				if l.Op != nil {
					if op, err := ops.Parse(l.Op); err != nil || op.Dot() != at {
						wrong("op %s can't be read", at)
					}
				}
				if e := c.vector[at.Replica]; e.N == at.N && e.Digest != l.Chain.Short() {
					wrong("the chain of replica %s does not end as its ops do", at.Replica)
				}
			}
		})
	}
	return count
}

// checkRecords reads every record and holds places and blocks against each other.
func (c *studioCopy) checkRecords(wrong says) (count int) {
	found := map[merge.Key]uint64{}
	for k, raw := range under(c.t.rows, tRecords, c.studio[:], nil) {
		guarded(wrong, fmt.Sprintf("records from %d", binary.BigEndian.Uint64(k[16:])), func() {
			b := readBlock(c.t.s.blocks, k, raw, c.t.rows.get(tDead, k))
			for i, e := range b.entries {
				place, _ := binary.Uvarint(c.t.rows.get(c.places, e.name))
				switch {
				case b.isDead(i) && place == e.seq:
					wrong("record %s %s stands at %d, where it is marked as replaced", e.k.Kind, e.k.ID, e.seq)
				case b.isDead(i):
				case place != e.seq:
					wrong("record %s %s is at %d and looked for at %d", e.k.Kind, e.k.ID, e.seq, place)
				default:
					found[e.k] = e.seq
					c.checkRecord(readRecord(e.k, e.raw), wrong)
				}
			}
		})
	}
	for name, raw := range c.t.rows.scan(c.places, nil) {
		kind, id, ok := bytes.Cut(name, []byte{0})
		if seq, _ := binary.Uvarint(raw); !ok || len(id) != 16 || found[merge.Key{Kind: string(kind), ID: ops.ID(id)}] != seq {
			wrong("record %q is looked for at %d and is not there", name, seq)
		}
	}
	return len(found)
}

func (c *studioCopy) checkRecord(r *merge.Record, wrong says) {
	for name, f := range r.Fields {
		for _, v := range f.Live {
			if v.Value != nil && !ops.CanonicalValue(v.Value) {
				wrong("record %s %s: field %s holds what can't be read", r.Kind, r.ID, name)
			}
		}
	}
}

func (s *Store) checkPhotos(r rows, n *Checked, wrong says) {
	for k, raw := range r.scan(tPhotos, nil) {
		var row photoRow
		if mustRead(tPhotos, raw, &row); row.Size == 0 {
			continue // not come yet
		}
		n.Photos++
		d := ops.Digest(k[16:])
		body, err := s.photos.read(photoName(ops.ID(k[:16]), d))
		switch {
		case err != nil:
			wrong("photo %s is gone: %v", d, err)
		case sha256.Sum256(body) != d:
			wrong("photo %s is damaged", d)
		}
	}
}
