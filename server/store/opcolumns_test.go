package store

import (
	"bytes"
	"testing"

	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// FuzzOpColumns holds that each op which is accepted at all comes back from its
// columns byte for byte, with the chain that its writer has.
func FuzzOpColumns(f *testing.F) {
	const id = "11111111111111111111111111111111"
	for _, s := range []string{
		`{"at":[1,0],"by":"","id":"` + id + `","kind":"note","n":1,"over":{},"replica":"` + id + `","set":{"text":"x"}}`,
		`{"at":[1764064800000,65535],"by":"22222222222222222222222222222222","id":"00000000000000000000000000000000","kind":"note","n":9007199254740991,"over":{"a":["` + id + `:1","33333333333333333333333333333333:9007199254740991"]},"replica":"` + id + `","set":{"a":{"b":[1,-2,null,"\"\u0001"]},"b":""}}`,
		`{"at":[0,0],"by":"00000000000000000000000000000000","id":"` + id + `","kind":"Z","n":2,"over":{"b":["` + id + `:3"]},"replica":"22222222222222222222222222222222","set":{"a":1,"b":[]}}`,
		`{"at":[0,0],"by":"` + id + `","id":"22222222222222222222222222222222","kind":"A","n":2,"over":{"a":["33333333333333333333333333333333:3"]},"replica":"00000000000000000000000000000000","set":{"a":0,"b":[]}}`,
	} {
		f.Add([]byte(s))
	}
	p, err := newBlocks(blockBytes, mostLinks)
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		op, err := ops.Parse(raw)
		if err != nil {
			return
		}
		b := &opBlock{replica: op.Replica, first: op.N, before: ops.Digest{1}}
		b.add(replication.Logged{Op: raw, Chain: ops.Chain(b.before, raw), Via: "hub"})
		again := raw
		if next, err := ops.Encode(ops.Op{Replica: op.Replica, N: op.N + 1, At: op.At, By: op.By, Kind: op.Kind, ID: op.ID, Set: op.Set, Over: op.Over}); err == nil {
			again = next.Bytes()
			b.add(replication.Logged{Op: again, Chain: ops.Chain(b.ops[0].Chain, again)})
		}
		row := b.encode(p)
		if row[0] != rowColumns && op.By != "00000000000000000000000000000000" {
			t.Errorf("%s does not fit into columns", raw)
		}
		got := decodeOps(p, dotKey(ops.ID{}, ops.Dot{Replica: op.Replica, N: op.N}), row)
		if len(got.ops) != len(b.ops) || got.ops[0].Via != "hub" {
			t.Fatalf("%d ops came back", len(got.ops))
		}
		for i, l := range got.ops {
			if !bytes.Equal(l.Op, b.ops[i].Op) || l.Chain != b.ops[i].Chain {
				t.Errorf("op %d came back as\n%s\nit was\n%s", i, l.Op, b.ops[i].Op)
			}
		}
	})
}
