package replication_test

import (
	"encoding/json"
	"strings"
	"testing"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// Digests stand for bytes: a message must not spell what it carries anew.
func TestMessagesKeepTheBytesTheyCarry(t *testing.T) {
	w := newWriter(t, id(1))
	w.say(1, "<b>&\u2028é\u0001\"")
	raw, err := replication.Marshal(w.request(1, 1))
	must(t, err)
	if !strings.Contains(string(raw), string(w.ops[0])) {
		t.Errorf("%s\ndoes not hold\n%s", raw, w.ops[0])
	}
	if strings.HasSuffix(string(raw), "\n") {
		t.Error("a message ends with a line feed")
	}
	if again := through(t, w.request(1, 1)); string(again.Ops[0]) != string(w.ops[0]) {
		t.Errorf("the op comes out as %s", again.Ops[0])
	}
}

func TestMessagesAreSpelledAsTheFormatSays(t *testing.T) {
	for want, m := range map[string]any{
		`{"format":1,"server":"","epoch":"","after":0,"afterDigest":"","replica":"00000000000000000000000000000001","from":1,"prevDigest":"0000000000000000000000000000000000000000000000000000000000000000","ops":[]}`: &replication.Request{
			Format: 1, Replica: id(1), From: 1, Ops: []replication.Element{}},
		`{"format":1,"server":"one","epoch":"first","upTo":2,"upToDigest":"0202020202020202","reading":2,"acked":{"00000000000000000000000000000001":[2,"0303030303030303"]},"records":[],"more":false,"refused":[]}`: &replication.Answer{
			Format: 1, Server: "one", Epoch: "first", UpTo: 2, UpToDigest: short(2).String(), Reading: 2, Acked: map[ops.ID]ops.Entry{id(1): {N: 2, Digest: short(3)}}, Records: []json.RawMessage{}, Refused: []replication.Refusal{}},
	} {
		raw, err := replication.Marshal(m)
		must(t, err)
		if string(raw) != want {
			t.Errorf("got  %s\nwant %s", raw, want)
		}
	}
}

// Dots that mean another name's are counted from 1, and never beyond the old ones.
func TestReadRenamed(t *testing.T) {
	raw := `{"replica":"` + id(1).String() + `","from":%,"to":"` + id(2).String() + `"}`
	if err := json.Unmarshal([]byte(strings.Replace(raw, "%", "1", 1)), &replication.Renamed{}); err != nil {
		t.Error(err)
	}
	if err := json.Unmarshal([]byte(strings.Replace(raw, "%", "0", 1)), &replication.Renamed{}); err == nil {
		t.Error("a name from before the first op on was read")
	}
}

// A void's record is named well or not at all, for it is handed on.
func TestReadVoidAt(t *testing.T) {
	raw := `{"n":1,"chain":"` + strings.Repeat("0", 64) + `","kind":"two words","id":"` + id(1).String() + `","over":{},"reason":"malformed"}`
	var v replication.VoidAt
	if err := json.Unmarshal([]byte(raw), &v); err != nil || v.Kind != "" || v.ID != "" {
		t.Errorf("read %+v, %v", v, err)
	}
}

func TestReadRecords(t *testing.T) {
	good := `{"kind":"note","id":"` + id(1).String() + `","fields":{"text":{"live":[{"dot":"` + dot(id(2), 3).String() + `","at":[5,0],"by":"","value":"a"}]}}`
	records, err := replication.ReadRecords([]json.RawMessage{json.RawMessage(good + `,"known":{"` + id(7).String() + `":[9,"0000000000000000"]}}`)})
	must(t, err)
	want := &merge.Record{Kind: "note", ID: id(1), Fields: handed(1, dot(id(2), 3), "a").Fields}
	want.Fields["text"].Live[0].At.MS = 5
	if !merge.Equal(records[0], want) {
		t.Errorf("read %+v; want nothing of what it knows beyond itself", records[0])
	}
	for name, bad := range map[string]string{
		"no JSON":           `{`,
		"a number":          `7`,
		"no kind":           strings.Replace(good+"}", `"note"`, `""`, 1),
		"a short id":        strings.Replace(good+"}", id(1).String(), "01", 1),
		"a dot without n":   strings.Replace(good+"}", dot(id(2), 3).String(), id(2).String(), 1),
		"a stamp of one":    strings.Replace(good+"}", `[5,0]`, `[5]`, 1),
		"a count too large": strings.Replace(good+"}", `[5,0]`, `[5,65536]`, 1),
		"a loose value":     strings.Replace(good+"}", `"value":"a"`, `"value":"\u0061"`, 1),
	} {
		if _, err := replication.ReadRecords([]json.RawMessage{json.RawMessage(bad)}); err == nil {
			t.Errorf("%s was read", name)
		}
	}
}
