package replication_test

import (
	"encoding/json"
	"testing"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
	"evenpull/sync/synctest"
)

// A meter counts the rows that pass through a server's transaction: what a disk
// would read and write. Time is not counted, so a busy machine changes nothing.
type meter struct {
	replication.RelayTx
	rows int
}

func (m *meter) count(n int) { m.rows += n }

func (m *meter) LinkAt(seq uint64) (ops.Short, bool)    { m.count(1); return m.RelayTx.LinkAt(seq) }
func (m *meter) DigestAt(d ops.Dot) (ops.Short, bool)   { m.count(1); return m.RelayTx.DigestAt(d) }
func (m *meter) Void(d ops.Dot) (merge.Void, bool)      { m.count(1); return m.RelayTx.Void(d) }
func (m *meter) Purged(d ops.Dot) bool                  { m.count(1); return m.RelayTx.Purged(d) }
func (m *meter) Append(d ops.Dot, l replication.Logged) { m.count(1); m.RelayTx.Append(d, l) }
func (m *meter) Put(r *merge.Record)                    { m.count(1); m.RelayTx.Put(r) }
func (m *meter) Tick()                                  { m.count(1); m.RelayTx.Tick() }
func (m *meter) Raise(replica ops.ID, e ops.Entry)      { m.count(1); m.RelayTx.Raise(replica, e) }
func (m *meter) PutVoid(v merge.Void)                   { m.count(1); m.RelayTx.PutVoid(v) }
func (m *meter) PutPurged(dots []ops.Dot)               { m.count(len(dots)); m.RelayTx.PutPurged(dots) }

func (m *meter) Record(kind string, id ops.ID) *merge.Record {
	m.count(1)
	return m.RelayTx.Record(kind, id)
}

func (m *meter) All() []*merge.Record {
	all := m.RelayTx.All()
	m.count(len(all))
	return all
}

func (m *meter) VectorAt(seq uint64) ops.Vector {
	m.count(1 + int(m.Head()-seq)) // a store goes back from its vector of now
	return m.RelayTx.VectorAt(seq)
}

func (m *meter) Since(after uint64, maxBytes int) ([]json.RawMessage, uint64, bool) {
	records, upTo, more := m.RelayTx.Since(after, maxBytes)
	m.count(len(records))
	return records, upTo, more
}

func (m *meter) VoidsSince(after uint64) []merge.Void {
	voids := m.RelayTx.VoidsSince(after)
	m.count(len(voids))
	return voids
}

func (m *meter) ForksSince(after uint64) []merge.Fork {
	forks := m.RelayTx.ForksSince(after)
	m.count(len(forks))
	return forks
}

// A keeping server holds so many notes, by one writer, and a void for each tenth.
func keeping(t *testing.T, notes int) (*synctest.Server, *writer) {
	t.Helper()
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	w := newWriter(t, id(9))
	for n := range notes {
		if n%10 == 9 {
			w.write("person", uint16(n), "name", "not mine to write")
		} else {
			w.say(uint16(n), "kept")
		}
	}
	for from := 1; from <= notes; from += ops.MaxBatchOps {
		s.answer(server, w.request(from, min(notes, from+ops.MaxBatchOps-1)))
	}
	return server, w
}

// What an exchange reads and writes grows with what is new in it, not with what the studio keeps.
func TestAnExchangeCostsWhatIsNew(t *testing.T) {
	exchanges := map[string]func(w *writer, at *replication.Request) *replication.Request{
		"nothing new": func(_ *writer, at *replication.Request) *replication.Request { return at },
		"nothing new, the vector asked for": func(_ *writer, at *replication.Request) *replication.Request {
			at.Have = ops.Vector{id(1): {N: 1}}
			return at
		},
		"ten new ops": func(_ *writer, at *replication.Request) *replication.Request {
			n := newWriter(t, id(1))
			for i := range 10 {
				n.say(uint16(i), "new", dot(id(9), uint64(i+1)))
			}
			at.Replica, at.From, at.Ops = id(1), 1, n.ops
			return at
		},
		"the last op again": func(w *writer, at *replication.Request) *replication.Request {
			r := w.request(len(w.ops), len(w.ops))
			at.Replica, at.From, at.PrevDigest, at.Ops = r.Replica, r.From, r.PrevDigest, r.Ops
			return at
		},
		"a record handed back that raises nothing": func(w *writer, at *replication.Request) *replication.Request {
			at.Back = &replication.Back{Have: ops.Vector{id(9): w.entry(len(w.ops))}, Records: []*merge.Record{handed(1, dot(id(9), 2), "kept")}, Last: true}
			return at
		},
		"a part that is not the last": func(_ *writer, at *replication.Request) *replication.Request {
			at.Back = &replication.Back{Have: ops.Vector{id(2): {N: 1, Digest: short(2)}}, Records: []*merge.Record{handed(1, dot(id(2), 1), "lost")}}
			return at
		},
	}
	for name, exchange := range exchanges {
		t.Run(name, func(t *testing.T) {
			rows := map[int]int{}
			for _, kept := range []int{51, 3001} {
				server, w := keeping(t, kept)
				at := nobody()
				link, _ := server.LinkAt(server.Head())
				at.Server, at.Epoch, at.After, at.AfterDigest = "one", "first", server.Head(), link.String()
				m := &meter{RelayTx: server}
				a, err := replication.Serve(m, exchange(w, at), replication.Rights{Write: true, Purge: true}, replication.PageBytes)
				must(t, err)
				if a.Wrong != "" || len(a.Refused) > 0 {
					t.Fatalf("wrong %q, refused %v", a.Wrong, a.Refused)
				}
				rows[kept] = m.rows
			}
			t.Logf("rows %v", rows)
			if rows[51] != rows[3001] || rows[51] == 0 {
				t.Errorf("%d rows with 51 notes kept, %d with 3001; want as many", rows[51], rows[3001])
			}
		})
	}
}

// What a catch-up reads grows with what changed since, once however often it did.
func TestACatchUpCostsWhatIsLive(t *testing.T) {
	rows := map[int]int{}
	for _, times := range []int{1, 50} {
		server, w := keeping(t, 200)
		after := server.Head()
		n := newWriter(t, id(1))
		last := []ops.Dot{dot(id(9), 1)}
		for range times {
			last = []ops.Dot{n.say(0, "changed", last...).Dot()}
		}
		s := newScene(t)
		s.answer(server, n.request(1, times))
		link, _ := server.LinkAt(after)
		at := w.request(len(w.ops)+1, len(w.ops))
		at.Server, at.Epoch, at.After, at.AfterDigest = "one", "first", after, link.String()
		m := &meter{RelayTx: server}
		a, err := replication.Serve(m, at, replication.Rights{Write: true}, replication.PageBytes)
		must(t, err)
		if len(a.Records) != 1 {
			t.Fatalf("%d records; want the one that changed", len(a.Records))
		}
		rows[times] = m.rows
	}
	if rows[1] != rows[50] {
		t.Errorf("%d rows after one change, %d after fifty of the same field", rows[1], rows[50])
	}
}
