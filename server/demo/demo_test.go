package demo

import (
	"encoding/json"
	"flag"
	"os"
	"slices"
	"testing"
	"time"

	"evenpull/sync/ops"
	"evenpull/sync/replication"
	"evenpull/sync/synctest"
)

var update = flag.Bool("update", false, "write testdata/demo/records.json anew")

const fixture = "../../testdata/demo/records.json"

func made(t *testing.T) (Studio, *synctest.Server) {
	t.Helper()
	studio, err := Make(time.Date(2026, 5, 4, 12, 0, 0, 0, time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	server := synctest.NewServer("demo", "e")
	for _, req := range studio.Requests {
		a, err := replication.Serve(server, req, replication.Rights{Write: true}, replication.PageBytes)
		if err != nil || len(a.Refused) > 0 {
			t.Fatalf("taken in: %v, refused %v", err, a.Refused)
		}
	}
	return studio, server
}

func TestHoldsWhatItPromises(t *testing.T) {
	_, server := made(t)
	count, conflicts := map[string]int{}, 0
	for k, r := range server.Records {
		count[k.Kind]++
		for _, f := range r.Fields {
			if len(f.Live) > 1 {
				conflicts++
				if k.Kind != "note" {
					t.Errorf("%s holds two values", k.Kind)
				}
			}
		}
	}
	for kind, least := range map[string]int{"machine": 2, "bobbinCase": 4, "recipe": 12, "note": 4, "reading": 18, "change": 10, "event": 20, "balancing": 1, "sample": 3} {
		if count[kind] < least {
			t.Errorf("%d of %s, want at least %d", count[kind], kind, least)
		}
	}
	if conflicts != 1 {
		t.Errorf("%d fields in conflict, want the one note", conflicts)
	}
}

// TestDropsFollowTheScrew: a case's mean drop moves the way its screw was turned,
// but for the day of the lint, which nobody turned.
func TestDropsFollowTheScrew(t *testing.T) {
	studio, _ := made(t)
	type moment struct {
		at      int64
		minutes int
		drop    int
	}
	var story []moment
	green := id("case", 0).String()
	for _, req := range studio.Requests {
		for _, raw := range req.Ops {
			op, err := ops.Parse(raw)
			if err != nil {
				t.Fatal(err)
			}
			var set struct {
				Screw, BobbinCase string
				Minutes           int
				Drops             []struct{ TenthsIn int }
			}
			whole, err := json.Marshal(op.Set)
			if err != nil {
				t.Fatal(err)
			}
			if err := json.Unmarshal(whole, &set); err != nil && op.Kind != "photo" {
				continue
			}
			switch {
			case op.Kind == "change" && set.Screw == "bobbin:"+green:
				story = append(story, moment{at: op.At.MS, minutes: set.Minutes})
			case op.Kind == "reading" && set.BobbinCase == green && len(set.Drops) == 3:
				story = append(story, moment{at: op.At.MS, drop: (set.Drops[0].TenthsIn + set.Drops[1].TenthsIn + set.Drops[2].TenthsIn) / 3})
			}
		}
	}
	slices.SortStableFunc(story, func(a, b moment) int { return int(a.at - b.at) })
	stands, readings, lint := 0, 0, 0
	for _, m := range story {
		stands += m.minutes
		if m.drop == 0 {
			continue
		}
		readings++
		off := m.drop - (dropAtNeutral - dropPerMinute*stands)
		switch {
		case off > 15:
			lint++
		case off < -3 || off > 3:
			t.Errorf("a drop of %d tenths with the screw %d minutes from neutral", m.drop, stands)
		}
	}
	if readings < 15 || lint != 1 {
		t.Errorf("%d readings with %d of lint, want at least 15 and 1", readings, lint)
	}
}

// TestFixture keeps the records that the client's own checks are held to.
func TestFixture(t *testing.T) {
	_, server := made(t)
	type record struct {
		Kind   string                       `json:"kind"`
		ID     string                       `json:"id"`
		Fields map[string][]json.RawMessage `json:"fields"`
	}
	var all []record
	for k, r := range server.Records {
		rec := record{k.Kind, k.ID.String(), map[string][]json.RawMessage{}}
		for name, f := range r.Fields {
			for _, v := range f.Live {
				rec.Fields[name] = append(rec.Fields[name], v.Value)
			}
		}
		all = append(all, rec)
	}
	slices.SortFunc(all, func(a, b record) int { return slices.Compare([]byte(a.Kind+a.ID), []byte(b.Kind+b.ID)) })
	got, err := json.MarshalIndent(all, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	got = append(got, '\n')
	if *update {
		if err := os.MkdirAll("../../testdata/demo", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(fixture, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(fixture)
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != string(want) {
		t.Error("testdata/demo/records.json is not what the demo holds now: go test ./server/demo -update")
	}
}
