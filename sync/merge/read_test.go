package merge

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"evenpull/sync/ops"
)

const someDot = `"0123456789abcdef0123456789abcdef:3"`

func TestReadVoid(t *testing.T) {
	good := `{"dot":` + someDot + `,"digest":"0000000000000003","kind":"note","id":"` + anID + `","over":{"text":[` + someDot + `]},"reason":"malformed"}`
	var v Void
	if err := json.Unmarshal([]byte(good), &v); err != nil || v.Kind != "note" || v.ID != anID || len(v.Over["text"]) != 1 {
		t.Fatalf("a good one: %+v, %v", v, err)
	}
	for name, bad := range map[string]string{
		"nothing":               `{}`,
		"of no op":              strings.Replace(good, someDot, "null", 1),
		"over a field of none":  strings.Replace(good, `"text"`, `""`, 1),
		"over no dots":          strings.Replace(good, `[`+someDot+`]`, `[]`, 1),
		"over a dot of none":    strings.Replace(good, `[`+someDot+`]`, `[null]`, 1),
		"over too many dots":    strings.Replace(good, `[`+someDot+`]`, `[`+strings.Repeat(someDot+",", ops.MaxOver)+someDot+`]`, 1),
		"for too long a reason": strings.Replace(good, `"malformed"`, `"`+strings.Repeat("x", MaxReason+1)+`"`, 1),
	} {
		if err := json.Unmarshal([]byte(bad), &Void{}); err == nil {
			t.Errorf("one %s was read", name)
		}
	}
	for name, loose := range map[string]string{
		"a kind of two words": strings.Replace(good, `"note"`, `"two words"`, 1),
		"an id that is none":  strings.Replace(good, `"`+anID+`"`, `"01"`, 1),
	} {
		var v Void
		if err := json.Unmarshal([]byte(loose), &v); err != nil || v.Kind != "" || v.ID != "" || v.Dot.N != 3 {
			t.Errorf("%s: %+v, %v; want a void of no record", name, v, err)
		}
	}
}

func TestReadFork(t *testing.T) {
	replica, err := ops.ParseID(anID)
	if err != nil {
		t.Fatal(err)
	}
	first := ops.Short{1}
	good := fmt.Sprintf(`{"replica":%q,"from":2,"to":%q,"before":"0000000000000001","digests":[%q],"renamed":["0000000000000009"]}`, anID, ops.ForkName(replica, first), first)
	if err := json.Unmarshal([]byte(good), &Fork{}); err != nil {
		t.Fatal(err)
	}
	for name, bad := range map[string]string{
		"before the first op":    strings.Replace(good, `"from":2`, `"from":0`, 1),
		"to a name of its own":   strings.Replace(good, ops.ForkName(replica, first).String(), anID, 1),
		"of no ops":              strings.Replace(good, `["`+first.String()+`"]`, `[]`, 1),
		"of fewer under the new": strings.Replace(good, `["0000000000000009"]`, `[]`, 1),
	} {
		if err := json.Unmarshal([]byte(bad), &Fork{}); err == nil {
			t.Errorf("one %s was read", name)
		}
	}
}
