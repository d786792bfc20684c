package web

import (
	"bytes"
	"encoding/json"
	"testing"
)

// FuzzSplit holds the fast way to the library's: of whatever the library can
// read, the fast way cuts out the same ops and leaves the same rest.
func FuzzSplit(f *testing.F) {
	for _, s := range []string{
		`{"ops":[]}`, `{"ops":[1,{"a":[1,"]"]},"x\"," ]}`, ` { "a" : "\\" , "ops" : [ {"n":1} , {"n":2} ] , "b" : {"ops":[3]} } `,
		`{"ops":[],"ops":[1]}`, `{"ops":[1}`, `{"ops":["`, `{"ops":[1,]}`, `{"ops":[,]}`, `{"ops":null}`, `[]`, `{"\u006fps":[1]}`, `{"OPS":[1],"ops":[2]}`,
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		rest, list, ok := splitOps(raw, 100)
		if !ok {
			if !bytes.Equal(rest, raw) {
				t.Errorf("not split, and the rest is %s", rest)
			}
			return
		}
		var want map[string]json.RawMessage
		if json.Unmarshal(raw, &want) != nil {
			return // what is wrong is found later: in the rest, or in an op
		}
		var ops []json.RawMessage
		if err := json.Unmarshal(want["ops"], &ops); err != nil {
			t.Fatalf("split %s, whose ops are no list", raw)
		}
		if len(ops) != len(list) {
			t.Fatalf("%d ops of %s; want %d", len(list), raw, len(ops))
		}
		for i := range ops {
			if !bytes.Equal(ops[i], list[i]) {
				t.Errorf("op %d is %q; want %q", i, list[i], ops[i])
			}
		}
		var left map[string]json.RawMessage
		if err := json.Unmarshal(rest, &left); err != nil || len(left) != len(want) {
			t.Errorf("the rest is %s, %v", rest, err)
		}
	})
}
