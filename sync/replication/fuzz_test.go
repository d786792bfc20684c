package replication_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
	"evenpull/sync/synctest"
	"evenpull/sync/vectors"
)

// busy returns a server and a phone with something of everything in them.
func busy(t testing.TB) (*synctest.Server, *replication.Phone) {
	t.Helper()
	s := newScene(t)
	server := synctest.NewServer("one", "first")
	w := newWriter(t, id(7))
	w.say(1, "a")
	w.write("person", 1, "name", "not mine to write")
	w.say(1, "b", dot(id(7), 1), dot(id(8), 3))
	w.write(merge.KindPurge, 2, merge.FieldDots, []ops.Dot{dot(id(7), 3), dot(id(8), 1)})
	w.write("note", 3, merge.FieldRemoved, map[string]any{"seen": []ops.Dot{dot(id(7), 3)}})
	s.answer(server, w.request(1, 5))
	p := s.phone(server)
	s.say(p, 1, "c")
	s.talk(p, server, 2)
	s.say(p, 1, "waits")
	return server, p
}

// A message is fuzzed in its tree, not in its bytes: some node of one that makes
// sense becomes something else, and another node too.
func twisted(t *testing.T, message []byte, at, other uint16, value, second string) []byte {
	t.Helper()
	d := json.NewDecoder(bytes.NewReader(message))
	d.UseNumber()
	var tree any
	if d.Decode(&tree) != nil {
		return message
	}
	for i, text := range []string{value, second} {
		var v any = text
		d := json.NewDecoder(strings.NewReader(text))
		d.UseNumber()
		if err := d.Decode(&v); err != nil {
			v = text
		}
		n := int([]uint16{at, other}[i]) % count(tree)
		tree = replaced(tree, &n, v)
	}
	raw, err := replication.Marshal(tree)
	must(t, err)
	return raw
}

func count(tree any) int {
	n := 1
	switch tree := tree.(type) {
	case map[string]any:
		for _, v := range tree {
			n += count(v)
		}
	case []any:
		for _, v := range tree {
			n += count(v)
		}
	}
	return n
}

// replaced returns the tree with its n-th node, in order, as v. In the place of a
// key's value a string that begins with @ renames the key.
func replaced(tree any, n *int, v any) any {
	if *n == 0 {
		*n--
		return v
	}
	*n--
	switch tree := tree.(type) {
	case map[string]any:
		for _, k := range slices.Sorted(maps.Keys(tree)) {
			if *n < 0 {
				break
			}
			if key, ok := v.(string); *n == 0 && ok && strings.HasPrefix(key, "@") {
				*n--
				tree[key[1:]] = tree[k]
				delete(tree, k)
				break
			}
			tree[k] = replaced(tree[k], n, v)
		}
	case []any:
		for i := range tree {
			if *n < 0 {
				break
			}
			tree[i] = replaced(tree[i], n, v)
		}
	}
	return tree
}

// addMessages begins with what the shared conversations say, requests or answers, and one more.
func addMessages(f *testing.F, more any, pick func(exchangeStep) json.RawMessage) {
	f.Helper()
	last, err := replication.Marshal(more)
	must(f, err)
	all := []json.RawMessage{last, last, last, last} // it is worth several: it has all of the rare parts
	for _, c := range vectors.Load[exchangeCase](f, "exchange") {
		for _, step := range c.Steps {
			if step.Fill == nil {
				all = append(all, pick(step))
			}
		}
	}
	r := rand.New(rand.NewPCG(3, 3))
	for range 400 { // so that a plain run of the tests meets something of everything
		f.Add([]byte(all[r.IntN(len(all))]), uint16(r.UintN(1<<16)), uint16(r.UintN(1<<16)), wild[r.IntN(len(wild))], wild[r.IntN(len(wild))])
	}
}

// wild values are at home in some place of a message, and wrong in all others.
var wild = []string{"", "0", "-1", "1.5", "1", "2", "9007199254740991", "9007199254740992", "18446744073709551615", "1e999", "true", "null", "[]", "{}", `[[]]`, `{"":{}}`,
	"@", "@text", "@two words", "@00000000000000000000000000000007", "00000000000000000000000000000007", "00000000000000000000000000000000", "0000000000000000",
	"00000000000000000000000000000007:1", "00000000000000000000000000000007:0", "00000000000000000000000000000007:9007199254740991",
	`["00000000000000000000000000000007:3","00000000000000000000000000000007:3"]`, `[1,"0000000000000000"]`, `[9007199254740991,"0000000000000000"]`,
	`{"00000000000000000000000000000007":[9,"0000000000000000"]}`, `{"text":["00000000000000000000000000000007:3"]}`, `{"two words":["00000000000000000000000000000007:3"]}`,
	`[{"replica":"00000000000000000000000000000007","from":0,"to":"00000000000000000000000000000008"}]`,
	`[{"dot":"00000000000000000000000000000007:3","digest":"0000000000000000","over":{"":["00000000000000000000000000000007:1"]},"reason":"x"}]`,
	`[{"replica":"00000000000000000000000000000007","from":1,"to":"00000000000000000000000000000008","before":"0000000000000000","digests":["0000000000000000"],"renamed":[]}]`,
	`{"void":{"n":1,"chain":"0000000000000000000000000000000000000000000000000000000000000000","over":{},"reason":"malformed"}}`,
	`{"live":[{"dot":"00000000000000000000000000000007:9","at":[1,0],"by":"","value":"x"}],"dead":["00000000000000000000000000000007:9"]}`}

// rareRequest is what a hub sends that knows of a fork, and hands back too.
func rareRequest() *replication.Request {
	req := nobody()
	req.Have = ops.Vector{id(7): {N: 9, Digest: short(9)}}
	req.Frames = []replication.Frame{{Replica: id(5), From: 1, Ops: []replication.Element{
		replication.Element(`{"at":[1,0],"by":"","id":"` + id(1).String() + `","kind":"note","n":1,"over":{"text":["` + id(7).String() + `:9"]},"replica":"` + id(5).String() + `","set":{"text":"x"}}`),
		replication.Element(`{"void":{"n":2,"chain":"` + ops.Digest{}.String() + `","kind":"note","id":"` + id(1).String() + `","over":{"text":["` + id(7).String() + `:3"]},"reason":"malformed"}}`),
	}, Via: "hub", Renamed: []replication.Renamed{{Replica: id(7), From: 4, To: id(6)}}}}
	req.Back = &replication.Back{Have: req.Have, Records: []*merge.Record{handed(1, dot(id(7), 9), "x")}, Voids: []merge.Void{aVoid()}, Last: true}
	return req
}

func aVoid() merge.Void {
	return merge.Void{Dot: dot(id(7), 8), Digest: short(8), Kind: "note", ID: id(1).String(), Over: map[string][]ops.Dot{"text": {dot(id(7), 3)}}, Reason: ops.Malformed}
}

// rareAnswer is that of a server that knows of a fork, refuses and lists a void.
func rareAnswer(t testing.TB) *replication.Answer {
	a := &replication.Answer{Format: ops.Format, Server: "one", Epoch: "first", UpTo: 12, UpToDigest: short(1).String(), Reading: 12, Acked: map[ops.ID]ops.Entry{id(7): {N: 5, Digest: short(5)}},
		Have: ops.Vector{id(7): {N: 9, Digest: short(9)}}, Voids: []merge.Void{aVoid()}, Refused: []replication.Refusal{{Replica: id(1), N: 2, Reason: ops.Malformed, ForGood: true}, {Replica: id(7), N: 3, Reason: replication.Forked}}}
	server, _ := busy(t)
	k := merge.Fork{Replica: id(7), From: 3, Before: short(2)}
	for n := uint64(3); n <= 5; n++ {
		at, _ := server.DigestAt(dot(id(7), n))
		k.Digests, k.Renamed = append(k.Digests, at), append(k.Renamed, short(byte(n)))
	}
	k.To = ops.ForkName(k.Replica, k.Digests[0])
	a.Forks = []merge.Fork{k}
	raw, err := replication.Marshal(handed(1, dot(id(7), 9), "x"))
	must(t, err)
	a.Records = []json.RawMessage{raw}
	return a
}

// Whatever a request says, it is answered or refused whole, and what is given
// out afterwards can be read by everyone: nobody is stopped by what another sent.
func FuzzServe(f *testing.F) {
	addMessages(f, rareRequest(), func(s exchangeStep) json.RawMessage { return s.Request })
	f.Fuzz(func(t *testing.T, message []byte, at, other uint16, value, second string) {
		var req replication.Request
		if json.Unmarshal(twisted(t, message, at, other, value, second), &req) != nil {
			return
		}
		server, _ := busy(t)
		a, err := replication.Serve(server, &req, replication.Rights{Write: true, Purge: true}, 200)
		if err != nil {
			if !errors.Is(err, replication.ErrBad) {
				t.Fatalf("error %v; want ErrBad", err)
			}
			return
		}
		if err := readable(a); err != nil {
			t.Fatalf("the answer: %v", err)
		}
		a, err = replication.Serve(server, nobody(), replication.Rights{}, replication.PageBytes)
		must(t, err)
		if err := readable(a); err != nil {
			t.Fatalf("what others are answered: %v", err)
		}
		s := newScene(t)
		s.ids = 100
		s.talk(s.phone(server), server, 3)
	})
}

// Whatever an answer says, a phone takes it or refuses it whole, and can go on.
func FuzzTake(f *testing.F) {
	addMessages(f, rareAnswer(f), func(s exchangeStep) json.RawMessage { return s.Want })
	f.Fuzz(func(t *testing.T, message []byte, at, other uint16, value, second string) {
		var a replication.Answer
		if json.Unmarshal(twisted(t, message, at, other, value, second), &a) != nil {
			return
		}
		for _, server := range []string{a.Server, "one"} {
			_, p := busy(t)
			a.Server = server
			if server == "one" {
				a.Epoch = "first"
			}
			req := p.Request(server, ops.MaxBatchOps)
			turned := spell(t, p)
			waits := len(p.Outbox) + len(p.Needs)
			if err := p.Take(req, &a, 2, 1_000_000); err != nil {
				newScene(t).asBefore(p, turned)
				continue
			}
			if acked := a.Acked[req.Replica].N >= req.From; len(p.Outbox)+len(p.Needs) != waits && !acked {
				t.Errorf("%d ops wait or need the person; want %d", len(p.Outbox)+len(p.Needs), waits)
			}
			through(t, p.Request(server, ops.MaxBatchOps))
			newScene(t).say(p, 1, "goes on")
		}
	})
}

// The same for a hub and what upstream answers.
func FuzzUpstream(f *testing.F) {
	addMessages(f, rareAnswer(f), func(s exchangeStep) json.RawMessage { return s.Want })
	f.Fuzz(func(t *testing.T, message []byte, at, other uint16, value, second string) {
		var a replication.Answer
		if json.Unmarshal(twisted(t, message, at, other, value, second), &a) != nil {
			return
		}
		hub, _ := busy(t)
		u := &replication.Upstream{}
		for range 2 {
			req := u.Next(hub, replication.RelayBytes)
			if err := u.Take(hub, req, &a); err != nil {
				return
			}
			through(t, u.Next(hub, replication.RelayBytes))
		}
		given, err := replication.Serve(hub, nobody(), replication.Rights{}, replication.PageBytes)
		must(t, err)
		if err := readable(given); err != nil {
			t.Fatalf("what phones are answered: %v", err)
		}
	})
}

// A record that is read is written as it was read, and merging it twice is as once.
func FuzzReadRecords(f *testing.F) {
	addMessages(f, handed(1, dot(id(2), 3), "a"), func(s exchangeStep) json.RawMessage {
		var a replication.Answer
		if json.Unmarshal(s.Want, &a) != nil || len(a.Records) == 0 {
			return json.RawMessage(`{}`)
		}
		return a.Records[0]
	})
	f.Fuzz(func(t *testing.T, message []byte, at, other uint16, value, second string) {
		raw := twisted(t, message, at, other, value, second)
		records, err := replication.ReadRecords([]json.RawMessage{raw})
		if err != nil {
			return
		}
		b, err := replication.Marshal(records[0])
		must(t, err)
		again, err := replication.ReadRecords([]json.RawMessage{b})
		if err != nil || !merge.Equal(records[0], again[0]) {
			t.Fatalf("%s\nis written %s\nand that is read as another (%v)", raw, b, err)
		}
		state := merge.NewState()
		state.Take(records, ops.Vector{})
		once := state.Key()
		state.Take(again, ops.Vector{})
		if twice := state.Key(); once != twice {
			t.Fatalf("merged once\n%s\ntwice\n%s", once, twice)
		}
	})
}

// readable holds an answer to what every phone checks before it takes one in.
func readable(a *replication.Answer) error {
	raw, err := replication.Marshal(a)
	if err != nil {
		return err
	}
	if err := json.Unmarshal(raw, &replication.Answer{}); err != nil {
		return err
	}
	if _, err := replication.ReadRecords(a.Records); err != nil {
		return err
	}
	for _, v := range a.Voids {
		if v.Dot.N < 1 || len(v.Reason) > 64 || v.Kind != "" && !ops.Word(v.Kind, 32, false) {
			return fmt.Errorf("void %v of kind %.40q, reason of %d", v.Dot, v.Kind, len(v.Reason))
		}
		for name := range v.Over {
			if !ops.Word(name, 64, true) {
				return fmt.Errorf("void over field %q", name)
			}
		}
	}
	return nil
}
