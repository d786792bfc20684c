package web_test

import (
	"encoding/json"
	"maps"
	"strings"
	"testing"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// later adds to every object of a body what only a program of the next version
// knows. Ops keep their eight keys: those are the format.
func later(v any) any {
	switch v := v.(type) {
	case map[string]any:
		if _, op := v["over"]; op {
			return v
		}
		out := map[string]any{"zLater": map[string]any{"deep": []any{1, "x", nil}}}
		for name, inner := range v {
			if name != "have" && name != "fields" && name != "set" { // maps by id or by name, not objects with keys
				inner = later(inner)
			}
			out[name] = inner
		}
		return out
	case []any:
		for i := range v {
			v[i] = later(v[i])
		}
	}
	return v
}

// A phone of the next version says more than this server knows: it is taken for
// what is understood, and its new kinds and fields reach other phones as they are.
func TestAClientOfTheNextVersion(t *testing.T) {
	r := newRig(t, nil)
	keeper := r.claimed()
	next := newCaller(t, "Nora")
	body := later(next.joinBody(r.code(keeper, map[string]any{"kind": "person", "role": "operator"})))
	r.settle(next, r.do("POST", "/v1/join", "", body, "X-Later", "yes"))

	p := r.replica(next)
	set := map[string]any{"rhythm": map[string]any{"b": []any{1, true, nil, map[string]any{"z": "é"}}}, "text": "understood", "zone": 60}
	kind := record(t, p, "weave", set)
	field := record(t, p, "note", maps.Clone(set))
	req := p.Request(r.st.Server(), ops.MaxBatchOps)
	var tree map[string]any
	must(t, json.Unmarshal(plain(t, req), &tree))
	delete(tree, "ops")
	told, err := json.Marshal(later(tree))
	must(t, err)
	raw := make([]string, len(req.Ops))
	for i, op := range req.Ops {
		raw[i] = string(op)
	}
	sent := strings.TrimSuffix(string(told), "}") + `,"ops":[` + strings.Join(raw, ",") + `]}`
	a := r.do("POST", next.path("exchange"), next.token, sent, "Accept-Encoding", "zstd, later;q=1, gzip;q=0")
	a.want(t, "an exchange that says more", 200, "")
	answer := &replication.Answer{}
	must(t, json.Unmarshal(a.body, answer))
	must(t, p.Take(req, answer, 100, 1))
	if len(p.Outbox) > 0 || len(answer.Refused) > 0 {
		t.Fatalf("%d wait, refused %v", len(p.Outbox), answer.Refused)
	}

	q := newReplica() // a phone of this version
	r.exchange(keeper, q)
	for _, op := range []ops.Op{kind, field} {
		got := q.Base.Records[merge.Key{Kind: op.Kind, ID: op.ID}]
		for name, value := range op.Set {
			if got == nil || got.Fields[name] == nil || string(got.Fields[name].Live[0].Value) != string(value) {
				t.Errorf("%s %s came as %v; want %s", op.Kind, name, got, value)
			}
		}
	}
	// It edits a field beside the one it does not know, and hands all of it back.
	_, err = q.Write("weave", kind.ID, map[string]json.RawMessage{"text": ops.String("edited by the older one")}, 2)
	must(t, err)
	r.exchange(keeper, q)
	r.exchange(next, p)
	if f := p.Base.Records[merge.Key{Kind: "weave", ID: kind.ID}].Fields; string(f["rhythm"].Live[0].Value) != string(kind.Set["rhythm"]) || string(f["text"].Live[0].Value) != `"edited by the older one"` {
		t.Errorf("after the older one's edit: %v", f)
	}
	// What it may not ask for gets a sentence, and nothing is done.
	r.do("POST", keeper.path("invites"), keeper.token, map[string]any{"kind": "household", "role": "operator"}).want(t, "an unknown kind of code", 400, "invalid")
	r.do("POST", keeper.path("roles"), keeper.token, map[string]any{"person": next.person, "role": "coach"}).want(t, "an unknown role", 400, "invalid")
	r.do("POST", keeper.path("weaves"), keeper.token, map[string]any{}).want(t, "a route of later", 404, "not-found")
}
