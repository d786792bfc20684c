// Package demo makes an invented studio to look at: two machines, two people and
// a month at the frame. Nothing in it is measured, and nobody in it is real. The
// turns and the drops belong together, so that the ledger can be read with sense.
package demo

import (
	"fmt"
	"slices"
	"time"

	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// A Person of the studio.
type Person struct {
	ID   ops.ID
	Name string
}

// A Studio is the demo as ops of two phones, to be taken in like any other.
type Studio struct {
	ID       ops.ID
	Name     string
	People   []Person
	Requests []*replication.Request
}

// days is how long the story is. It ends at the moment it is made.
const days = 30

// Drop lengths in tenths of an inch, invented: a case at neutral drops five
// inches, and five clock-minutes on its screw move that by about one.
const (
	dropAtNeutral = 50
	dropPerMinute = 2
)

// Make returns the studio as it is at now.
func Make(now time.Time) (Studio, error) {
	s := story{start: now.Add(-days * 24 * time.Hour).Truncate(time.Hour)}
	s.wenna, s.toril = Person{id("person", "Wenna"), "Wenna"}, Person{id("person", "Toril"), "Toril"}
	s.a, s.b = newPen("a", s.wenna.ID), newPen("b", s.toril.ID)
	studio := id("studio")
	s.a.write(s.at(0, 9), "studio", studio, fields{"name": "Lantern Lane"})
	s.setUp()
	s.month()
	s.recipes()
	s.notes()
	s.openBalancing()
	s.play()
	for _, p := range []*pen{s.a, s.b} {
		if p.err != nil {
			return Studio{}, fmt.Errorf("the demo can't be written: %w", p.err)
		}
	}
	return Studio{ID: studio, Name: "Lantern Lane", People: []Person{s.wenna, s.toril},
		Requests: []*replication.Request{s.a.request(), s.b.request()}}, nil
}

type story struct {
	start        time.Time
	wenna, toril Person
	a, b         *pen
	frame, sit   ops.ID
	cases        [4]ops.ID
	threads      map[string]ops.ID
	heads        map[string]ops.ID // the last ledger record of each screw
	stands       map[ops.ID]int    // clock-minutes of each bobbin case from neutral
	made         int
	deeds        []deed
	apart        bool // the two phones do not hear of each other just now
}

// A deed is something that one of the two does at a moment. They are told in
// any order and done in the order of time, each phone having heard of the other.
type deed struct {
	at time.Time
	do func(at time.Time)
}

func (s *story) will(at time.Time, do func(at time.Time)) { s.deeds = append(s.deeds, deed{at, do}) }

func (s *story) play() {
	slices.SortStableFunc(s.deeds, func(a, b deed) int { return a.at.Compare(b.at) })
	for _, d := range s.deeds {
		if !s.apart {
			s.a.reads(s.b)
			s.b.reads(s.a)
		}
		d.do(d.at)
	}
}

func (s *story) at(day, hour int) time.Time {
	return s.start.Add(time.Duration(day*24+hour-9) * time.Hour)
}

// fresh returns the id of the next record that is written once.
func (s *story) fresh(kind string) ops.ID { s.made++; return id(kind, s.made) }

func (s *story) setUp() {
	t := s.at(0, 9)
	s.frame, s.sit = id("machine", "frame"), id("machine", "sit-down")
	s.heads, s.stands, s.threads = map[string]ops.ID{}, map[ops.ID]int{}, map[string]ops.ID{}
	s.a.write(t, "machine", s.frame, fields{"name": "Big frame", "body": "frame", "topKnob": "turns", "topTightens": "clockwise",
		"modes": []string{"hand-guided", "regulated", "manual"}, "zone": 60})
	s.a.write(t.Add(time.Hour), "machine", s.sit, fields{"name": "Window seat", "body": "sit-down", "topKnob": "dial", "topTightens": "clockwise",
		"modes": []string{"regulated", "manual"}, "zone": 60})
	for _, th := range []struct{ key, number, fibre, colour string }{
		{"blue40", "40", "polyester", "#1f4e8c"}, {"rust60", "60", "polyester", "#a8481f"}, {"cream50", "50", "cotton", "#e9dfc6"},
		{"grey60", "60", "polyester", "#8a8d91"}, {"plum30", "30", "cotton", "#5a2a52"},
	} {
		s.threads[th.key] = s.a.write(t, "thread", id("thread", th.key), fields{"number": th.number, "fibre": th.fibre, "colour": th.colour, "zone": 60})
	}
	for i, c := range []struct {
		label, thread string
		fits          []string
	}{
		{"Green dot", "rust60", []string{s.frame.String()}}, {"Two notches", "cream50", []string{s.frame.String()}},
		{"Red stripe", "grey60", []string{s.sit.String()}}, {"Bare", "grey60", []string{s.frame.String(), s.sit.String()}},
	} {
		s.cases[i] = s.a.write(t, "bobbinCase", id("case", i), fields{"label": c.label, "fits": c.fits, "tightens": "clockwise",
			"setFor": s.threads[c.thread].String(), "penLine": i < 2, "zone": 60})
	}
	quilt := s.a.write(t, "quilt", id("quilt", "orchard"), fields{"machine": s.frame.String(), "name": "Orchard rows", "work": "custom", "zone": 60})
	s.a.write(t, "bench", s.frame, fields{"quilt": quilt.String(), "topThread": s.threads["blue40"].String(), "bobbinThread": s.threads["rust60"].String(),
		"bobbinKind": "self-wound-steel", "bobbinCase": s.cases[0].String(), "needle": "100 sharp", "batting": "wool blend, one layer", "backing": "plain cotton", "zone": 60})
	harbour := s.a.write(t, "quilt", id("quilt", "harbour"), fields{"machine": s.sit.String(), "name": "Harbour squares", "work": "edge-to-edge", "zone": 60})
	s.a.write(t, "bench", s.sit, fields{"quilt": harbour.String(), "topThread": s.threads["cream50"].String(), "bobbinThread": s.threads["grey60"].String(),
		"bobbinKind": "pre-wound", "bobbinCase": s.cases[2].String(), "needle": "90 sharp", "batting": "cotton", "backing": "batik", "zone": 60})
	s.b.reads(s.a)
}

// turn writes one ledger record after the last one of that screw.
func (s *story) turn(p *pen, at time.Time, screw string, machine ops.ID, what fields) ops.ID {
	after := []string{}
	if last, ok := s.heads[screw]; ok {
		after = append(after, last.String())
	}
	set := fields{"screw": screw, "machine": machine.String(), "after": after, "zone": 60}
	for k, v := range what {
		set[k] = v
	}
	s.heads[screw] = p.write(at, "change", s.fresh("change"), set)
	return s.heads[screw]
}

// caseScrew moves a bobbin case's screw and remembers where it stands.
func (s *story) caseScrew(p *pen, at time.Time, c, machine ops.ID, minutes int, more fields) {
	set := fields{"type": "move", "minutes": minutes}
	for k, v := range more {
		set[k] = v
	}
	s.turn(p, at, "bobbin:"+c.String(), machine, set)
	s.stands[c] += minutes
}

// drops writes a drop test. lint makes the case looser than its screw says.
func (s *story) drops(p *pen, at time.Time, c, machine ops.ID, lint int, more fields) {
	want := dropAtNeutral - dropPerMinute*s.stands[c] + lint
	list := []fields{}
	for i := range 3 {
		tenths := want + (int(at.Unix()/3600)+i)%3*2 - 2 // a hand's spread, invented
		list = append(list, fields{"answer": answer(tenths), "tenthsIn": max(0, min(tenths, 400))})
	}
	set := fields{"type": "drop", "machine": machine.String(), "bobbinCase": c.String(), "fill": "full", "drops": list, "zone": 60,
		"thread": s.threads["rust60"].String(), "bobbinKind": "self-wound-steel"}
	if machine == s.sit {
		set["thread"], set["bobbinKind"] = s.threads["grey60"].String(), "pre-wound"
	}
	for k, v := range more {
		set[k] = v
	}
	p.write(at, "reading", s.fresh("reading"), set)
}

// answer is the tile that a length stands for, by the usual band of four to six inches.
func answer(tenths int) string {
	switch {
	case tenths < 3:
		return "nothing"
	case tenths < 40:
		return "short"
	case tenths > 60:
		return "far"
	}
	return "right"
}

func (s *story) event(p *pen, at time.Time, machine ops.ID, kind string, more fields) ops.ID {
	set := fields{"machine": machine.String(), "type": kind, "zone": 60}
	for k, v := range more {
		set[k] = v
	}
	return p.write(at, "event", s.fresh("event"), set)
}
