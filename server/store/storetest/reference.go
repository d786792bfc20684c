package storetest

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"testing"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
	"evenpull/sync/synctest"
)

// reference plays phones that write, clone, purge and send nonsense against the
// store and against the in-memory server of the simulations, and wants each
// answer alike to the byte.
func reference(t *testing.T, s Store) {
	counts := map[string]int{}
	for seed := range uint64(25) {
		if err := oneSeed(t, s, seed, counts); err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
	}
	t.Logf("%v", counts)
	for _, what := range []string{"exchanges", "refused for good", "forks", "purges", "hand-backs", "wrong"} {
		if counts[what] == 0 {
			t.Errorf("no run met %s: the comparison says nothing of it", what)
		}
	}
}

func oneSeed(t *testing.T, s Store, seed uint64, counts map[string]int) error {
	r := rand.New(rand.NewPCG(seed, 11))
	id := func() (id ops.ID) {
		for i := range id {
			id[i] = byte(r.UintN(256))
		}
		return id
	}
	b := newBench(t, s)
	first, err := s.Exchange(t.Context(), b.studio, b.keeper, newPhone().Request("", 0))
	if err != nil {
		return err
	}
	ref := synctest.NewServer(first.Server, first.Epoch)
	phones := []*replication.Phone{replication.NewPhone("", id), replication.NewPhone("", id), replication.NewPhone("", id)}
	notes := []ops.ID{id(), id(), id()}
	for step := range 80 {
		i := r.IntN(len(phones))
		p := phones[i]
		switch x := r.IntN(20); {
		case x < 8:
			writeAt(t, p, "note", notes[r.IntN(3)], map[string]any{string(rune('a' + r.IntN(2))): fmt.Sprint("v", step)}, int64(1000*step+r.IntN(5000)))
		case x == 8:
			writeAt(t, p, "person", notes[0], map[string]any{"name": "not mine to write"}, int64(1000*step))
		case x == 9 && len(phones) < 6:
			phones = append(phones, p.Clone())
		case x == 10:
			if f := p.Shown("note", notes[0]).Fields["a"]; f != nil && len(f.Live) > 0 {
				counts["purges"]++
				writeAt(t, p, merge.KindPurge, id(), map[string]any{merge.FieldDots: []ops.Dot{f.Live[0].Dot}}, int64(1000*step))
			}
		case x == 11: // what a store that lost its tail would meet
			if c := p.Cursors[first.Server]; c != nil && c.After > 0 {
				c.Epoch = "before"
			}
		case x == 12: // state that came by hand-over, of a writer whose ops never came here
			other := replication.NewPhone("", id)
			other.Base.Merge(p.Base)
			op := writeAt(t, other, "note", notes[r.IntN(3)], map[string]any{"a": fmt.Sprint("other", step)}, int64(1000*step))
			p.Base.Apply(op, ops.Chain(ops.Digest{}, op.Bytes()).Short())
			if c := p.Cursors[first.Server]; c != nil {
				c.Ask = true
			}
		default:
			req := p.Request(first.Server, 1+r.IntN(5))
			got, want, err := both(t, b, ref, req)
			if err != nil {
				return fmt.Errorf("step %d: %w", step, err)
			}
			if !bytes.Equal(got, want) {
				return fmt.Errorf("step %d:\n got %s\nwant %s", step, got, want)
			}
			var a replication.Answer
			if err := json.Unmarshal(got, &a); err != nil {
				return err
			}
			count(counts, req, &a)
			if err := p.Take(req, &a, 2, int64(1000*step)); err != nil {
				return err
			}
		}
	}
	return nil
}

func both(t *testing.T, b *bench, ref *synctest.Server, req *replication.Request) (got, want []byte, err error) {
	raw, err := json.Marshal(req)
	if err != nil {
		return nil, nil, err
	}
	var mine, theirs replication.Request
	if err := json.Unmarshal(raw, &mine); err != nil {
		return nil, nil, err
	}
	if err := json.Unmarshal(raw, &theirs); err != nil {
		return nil, nil, err
	}
	a, err := b.s.Exchange(t.Context(), b.studio, b.keeper, &mine)
	if err != nil {
		return nil, nil, err
	}
	w, err := replication.Serve(ref, &theirs, replication.Rights{Write: true, Purge: true}, replication.PageBytes)
	if err != nil {
		return nil, nil, err
	}
	for _, list := range []*[]json.RawMessage{&a.Records, &w.Records} {
		if *list, err = trimmed(*list, ref); err != nil {
			return nil, nil, err
		}
	}
	if got, err = json.Marshal(a); err != nil {
		return nil, nil, err
	}
	want, err = json.Marshal(w)
	return got, want, err
}

// trimmed drops dead dots that are known by now, and records that hold nothing:
// when that is done, and whether a record is kept that was only looked for, is
// each copy's own business. The bytes must be what encoding/json would write.
func trimmed(list []json.RawMessage, ctx merge.Context) ([]json.RawMessage, error) {
	kept := []json.RawMessage{}
	for _, raw := range list {
		var r merge.Record
		if err := json.Unmarshal(raw, &r); err != nil {
			return nil, err
		}
		if same, err := json.Marshal(&r); err != nil || !bytes.Equal(same, raw) {
			return nil, fmt.Errorf("record %s is not spelled as %s", raw, same)
		}
		r.Known = nil // the reference does not keep it apart
		if merge.Trim(&r, ctx); len(r.Fields) == 0 {
			continue
		}
		short, err := json.Marshal(&r)
		if err != nil {
			return nil, err
		}
		kept = append(kept, short)
	}
	return kept, nil
}

func count(counts map[string]int, req *replication.Request, a *replication.Answer) {
	counts["exchanges"]++
	if req.Back != nil {
		counts["hand-backs"]++
	}
	if a.Wrong != "" {
		counts["wrong"]++
	}
	for _, r := range a.Refused {
		if r.ForGood {
			counts["refused for good"]++
		} else if r.Reason == replication.Forked {
			counts["forks"]++
		}
	}
}

func writeAt(t *testing.T, p *replication.Phone, kind string, id ops.ID, set map[string]any, nowMS int64) ops.Op {
	t.Helper()
	values := map[string]json.RawMessage{}
	for name, v := range set {
		value, err := ops.Canonical(v)
		must(t, err)
		values[name] = value
	}
	op, err := p.Write(kind, id, values, nowMS)
	must(t, err)
	return op
}
