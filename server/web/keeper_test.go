package web_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
)

func TestAClassCodeEndsEarly(t *testing.T) {
	r := newRig(t, nil)
	keeper := r.claimed()
	code := r.code(keeper, map[string]any{"kind": "class", "role": "guest", "ends": r.now.Add(12 * time.Hour).UnixMilli()})
	pupil := newCaller(t, "Pia")
	r.settle(pupil, r.do("POST", "/v1/join", "", pupil.joinBody(code)))
	a := r.do("GET", keeper.path("invites"), keeper.token, nil)
	var open struct {
		Invites []struct {
			ID, Kind, Role string
			Used           int
		}
	}
	must(t, json.Unmarshal(a.body, &open))
	if len(open.Invites) != 1 || open.Invites[0].Used != 1 || open.Invites[0].Kind != "class" || strings.Contains(string(a.body), code) {
		t.Fatalf("open codes: %s", a.body)
	}
	end := map[string]any{"invite": open.Invites[0].ID}
	r.do("POST", pupil.path("endings"), pupil.token, end).want(t, "by a guest", 403, "denied")
	for range 2 { // twice is the same
		r.do("POST", keeper.path("endings"), keeper.token, end).want(t, "the end of a code", 204, "")
	}
	late := newCaller(t, "Lea")
	r.do("POST", "/v1/join", "", late.joinBody(code)).want(t, "a code that was ended", 403, "denied")
	r.settle(pupil, r.do("POST", "/v1/join", "", pupil.joinBody(code))) // the answer was lost: the same again
	r.exchange(pupil, newReplica())
	if a := r.do("GET", keeper.path("invites"), keeper.token, nil); !bytes.Contains(a.body, []byte(`"invites":[]`)) {
		t.Errorf("still open: %s", a.body)
	}
	r.do("POST", keeper.path("endings"), keeper.token, map[string]any{"invite": strings.Repeat("1", 32)}).want(t, "no such code", 404, "not-found")
	r.do("POST", keeper.path("endings"), keeper.token, map[string]any{"invite": open.Invites[0].ID, "phone": pupil.phone}).want(t, "two at once", 400, "invalid")
}

func TestDeedsSayWhoDidWhat(t *testing.T) {
	r := newRig(t, nil)
	keeper := r.claimed()
	rosa := r.joined(keeper, "Rosa", "operator")
	r.pass(time.Minute)
	r.do("POST", keeper.path("roles"), keeper.token, map[string]any{"person": rosa.person, "role": "guest"}).want(t, "role", 204, "")
	r.do("POST", keeper.path("endings"), keeper.token, map[string]any{"phone": rosa.phone}).want(t, "ending", 204, "")
	var in struct {
		Deeds []struct {
			At         int64
			By, Person ops.ID
			What, Role string
			Phone      string
		}
	}
	a := r.do("GET", keeper.path("deeds"), keeper.token, nil)
	must(t, json.Unmarshal(a.body, &in))
	got := []string{}
	for _, d := range in.Deeds {
		who := map[ops.ID]string{keeper.person: "Ines", rosa.person: "Rosa", {}: "-"}
		got = append(got, fmt.Sprintf("%s %s %s %s", who[d.By], d.What, who[d.Person], d.Role))
	}
	want := "Ines ended-phone Rosa |Ines gave-role Rosa guest|Rosa came-in Rosa operator|Ines invited - operator|Ines brought Ines keeper"
	if strings.Join(got, "|") != want {
		t.Errorf("deeds\n%s\nwant\n%s", strings.Join(got, "|"), want)
	}
	for _, name := range []string{"Ines", "Rosa"} {
		if bytes.Contains(a.body, []byte(name)) {
			t.Errorf("a name stands outside its person's record: %s", a.body)
		}
	}
}

// A purge takes what stands, what stood before, and photos; other phones follow,
// and who still held the old words can't bring them back.
func TestAKeepersPurgeTakesAllOfARecord(t *testing.T) {
	r := newRig(t, nil)
	keeper := r.claimed()
	operator := r.joined(keeper, "Rosa", "operator")
	p, q := r.replica(keeper), r.replica(operator)
	secret := note(t, p, "the first secret words")
	other := note(t, p, "stays")
	r.exchange(keeper, p)
	_, err := p.Write("note", secret.ID, map[string]json.RawMessage{"text": ops.String("the second secret words")}, r.now.UnixMilli())
	must(t, err)
	photo := append([]byte("\xff\xd8\xff\xe0"), bytes.Repeat([]byte("x"), 300)...)
	sum := fmt.Sprintf("%x", sha256.Sum256(photo))
	record(t, p, "photo", map[string]any{"sha256": sum, "bytes": len(photo), "parent": secret.ID.String(), "parentKind": "note"})
	r.exchange(keeper, p)
	r.do("PUT", keeper.path("photos/"+sum), keeper.token, photo).want(t, "photo", 200, "")
	r.exchange(operator, q)

	body := map[string]any{"records": []any{map[string]any{"kind": "note", "id": secret.ID}}}
	r.do("POST", operator.path("purges"), operator.token, body).want(t, "by an operator", 403, "denied")
	a := r.do("POST", keeper.path("purges"), keeper.token, body)
	a.want(t, "purge", 200, "")
	if !bytes.Contains(a.body, []byte(`"values":3`)) { // two texts and a photo
		t.Errorf("purged: %s", a.body)
	}
	r.do("GET", keeper.path("photos/"+sum), keeper.token, nil).want(t, "the photo", 404, "not-found")
	for range 3 {
		r.exchange(operator, q)
		r.exchange(keeper, p)
	}
	fresh := newReplica()
	for range 2 {
		r.exchange(operator, fresh)
	}
	for name, copied := range map[string]*merge.State{"the writer": p.Base, "another": q.Base, "a new phone": fresh.Base} {
		if text := copied.Key(); strings.Contains(text, "secret words") || strings.Contains(text, sum) {
			t.Errorf("%s still holds it: %.400s", name, text)
		}
		if rec := copied.Records[merge.Key{Kind: "note", ID: secret.ID}]; rec == nil || !rec.Hidden() {
			t.Errorf("%s shows what is left of it: %+v", name, rec)
		}
		if rec := copied.Records[merge.Key{Kind: "note", ID: other.ID}]; rec == nil || rec.Hidden() {
			t.Errorf("%s lost another note", name)
		}
	}
	// Somebody restored their phone from before: the words don't come back.
	old := newReplica()
	old.Base.Apply(secret, ops.Chain(ops.Digest{}, secret.Bytes()).Short())
	for range 4 {
		r.exchange(operator, old)
	}
	again := newReplica()
	for range 2 {
		r.exchange(operator, again)
	}
	if strings.Contains(again.Base.Key(), "secret words") {
		t.Error("a hand-back brought the purged words back")
	}
	r.do("POST", keeper.path("purges"), keeper.token, body).want(t, "again", 200, "")
	for _, bad := range []any{
		map[string]any{"records": []any{map[string]any{"kind": "role", "id": operator.person}}},
		map[string]any{"records": []any{map[string]any{"kind": "purge", "id": secret.ID}}},
		map[string]any{"records": []any{map[string]any{"kind": "no word!", "id": secret.ID}}},
		map[string]any{}, "[]", "{",
	} {
		r.do("POST", keeper.path("purges"), keeper.token, bad).want(t, fmt.Sprint(bad), 400, "invalid")
	}
}
