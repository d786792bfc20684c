package replication_test

import (
	"bytes"
	"encoding/json"
	"reflect"
	"strings"
	"testing"

	"evenpull/sync/merge"
	"evenpull/sync/replication"
	"evenpull/sync/synctest"
	"evenpull/sync/vectors"
)

type exchangeCase struct {
	Name  string
	Steps []exchangeStep
}

type exchangeStep struct {
	May     string
	OnePage bool
	Fill    []any
	Request json.RawMessage
	Want    json.RawMessage
}

func (s exchangeStep) rights(t *testing.T) replication.Rights {
	t.Helper()
	switch s.May {
	case "":
		return replication.Rights{Write: true, Purge: true}
	case "write":
		return replication.Rights{Write: true}
	case "read":
		return replication.Rights{}
	}
	t.Fatalf("may %q", s.May)
	return replication.Rights{}
}

func TestExchangeVectors(t *testing.T) {
	for _, c := range vectors.Load[exchangeCase](t, "exchange") {
		t.Run(c.Name, func(t *testing.T) {
			if len(c.Steps) == 0 {
				t.Fatal("no steps")
			}
			server := synctest.NewServer(strings.Repeat("9", 32), "first")
			for i, step := range c.Steps {
				raw, page := []byte(step.Request), replication.PageBytes
				if step.Fill != nil {
					raw = bytes.Replace(raw, []byte("@@"), bytes.Repeat([]byte(step.Fill[0].(string)), int(step.Fill[1].(float64))), 1)
				}
				if step.OnePage {
					page = 1
				}
				var req replication.Request
				must(t, json.Unmarshal(raw, &req))
				a, err := replication.Serve(server, &req, step.rights(t), page)
				must(t, err)
				a.Records = plain(t, a.Records, server)
				got, err := replication.Marshal(a)
				must(t, err)
				if !reflect.DeepEqual(tree(t, got), tree(t, step.Want)) {
					t.Fatalf("step %d\ngot  %s\nwant %s", i, got, step.Want)
				}
			}
		})
	}
}

// plain drops what each copy may keep or not: dead dots that the vector covers,
// what a record knows beyond it, and records that hold nothing.
func plain(t *testing.T, records []json.RawMessage, ctx merge.Context) []json.RawMessage {
	t.Helper()
	kept := []json.RawMessage{}
	for _, raw := range records {
		var r merge.Record
		must(t, json.Unmarshal(raw, &r))
		r.Known = nil
		if merge.Trim(&r, ctx); len(r.Fields) == 0 {
			continue
		}
		b, err := replication.Marshal(&r)
		must(t, err)
		kept = append(kept, b)
	}
	return kept
}

// tree is a message without the order of its keys.
func tree(t *testing.T, raw []byte) (v any) {
	t.Helper()
	d := json.NewDecoder(bytes.NewReader(raw))
	d.UseNumber()
	must(t, d.Decode(&v))
	return v
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
