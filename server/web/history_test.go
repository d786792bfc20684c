package web_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"testing"
	"time"

	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// What stood in a record before is told by the server, in the order it was
// written, with who wrote it; of a purged one nothing is.
func TestWhatStoodInARecordBefore(t *testing.T) {
	r := newRig(t, nil)
	keeper := r.claimed()
	operator := r.joined(keeper, "Rosa", "operator")
	p, q := r.replica(keeper), r.replica(operator)
	first := note(t, p, "one")
	beside := note(t, p, "another note")
	at := time.Now().UnixMilli()
	write := func(c *caller, by *replication.Phone, text string) {
		t.Helper()
		at += 1000
		_, err := by.Write("note", first.ID, map[string]json.RawMessage{"text": ops.String(text)}, at)
		must(t, err)
		r.exchange(c, by)
	}
	told := func(c *caller, id ops.ID) (said []string, more bool) {
		t.Helper()
		a := r.do("GET", c.path("history/note/"+id.String()), c.token, nil)
		a.want(t, "history", 200, "")
		var got struct {
			Values []replication.Written
			More   bool
		}
		must(t, json.Unmarshal(a.body, &got))
		for _, v := range got.Values {
			said = append(said, fmt.Sprint(v.Field, " ", string(v.Value), " ", v.Live))
		}
		return said, got.More
	}
	r.exchange(keeper, p)
	r.exchange(operator, q)
	write(keeper, p, "two")
	write(operator, q, "two, apart") // saw only the first
	r.exchange(keeper, p)
	want := []string{`text "two, apart" true`, `text "two" true`, `text "one" false`}
	if got, more := told(operator, first.ID); !slices.Equal(got, want) || more {
		t.Errorf("told %q, more %v; want %q", got, more, want)
	}
	write(keeper, p, "three, of both")
	want = []string{`text "three, of both" true`, `text "two, apart" false`, `text "two" false`, `text "one" false`}
	if got, _ := told(keeper, first.ID); !slices.Equal(got, want) {
		t.Errorf("told %q; want %q", got, want)
	}
	if got, _ := told(keeper, beside.ID); !slices.Equal(got, []string{`text "another note" true`}) {
		t.Errorf("another note: told %q", got)
	}
	for i := range 210 {
		write(keeper, p, fmt.Sprint("again ", i))
	}
	if got, more := told(keeper, first.ID); len(got) != 200 || !more || got[0] != `text "again 209" true` {
		t.Errorf("of 214: told %d, more %v, first %q", len(got), more, got[:1])
	}
	body := map[string]any{"records": []any{map[string]any{"kind": "note", "id": first.ID}}}
	r.do("POST", keeper.path("purges"), keeper.token, body).want(t, "purge", 200, "")
	if got, _ := told(keeper, first.ID); len(got) > 0 && slices.ContainsFunc(got, func(s string) bool { return s[:4] == "text" }) {
		t.Errorf("of a purged note: %q", got)
	}
	r.do("GET", keeper.path("history/note/none"), keeper.token, nil).want(t, "no id", 404, "not-found")
}
