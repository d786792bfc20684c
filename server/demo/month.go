package demo

import (
	"time"

	"evenpull/sync/ops"
)

// month is what happened at the two machines, day by day.
func (s *story) month() {
	green, stripe := s.cases[0], s.cases[2]
	top := "top:" + s.frame.String()
	in := fields{"bobbinCase": green.String()}

	// The first day: neutral, bobbin first, then the top.
	s.will(s.at(0, 11), func(at time.Time) {
		s.turn(s.a, at, "bobbin:"+green.String(), s.frame, fields{"type": "neutral"})
		s.drops(s.a, at, green, s.frame, 0, nil)
		s.turn(s.a, at, top, s.frame, fields{"type": "neutral"})
		s.turn(s.a, at.Add(10*time.Minute), top, s.frame, fields{"type": "move", "minutes": 60, "why": "top colour showed on the back"})
		s.turn(s.a, at.Add(20*time.Minute), top, s.frame, fields{"type": "move", "minutes": 30, "why": "top colour showed on the back"})
		s.lines(s.a, at.Add(25*time.Minute), s.frame, 0, 0)
		s.event(s.a, at.Add(30*time.Minute), s.frame, "good", in)
	})
	for day := 1; day < days-1; day++ {
		p := s.a
		if day%3 == 0 {
			p = s.b
		}
		lint := 0
		if day == 12 {
			lint = 22 // lint under the spring: a longer drop with nobody at the screw
		}
		if day%2 == 1 || lint > 0 {
			s.will(s.at(day, 10), func(at time.Time) { s.drops(p, at, green, s.frame, lint, nil) })
		}
		if lint > 0 {
			s.will(s.at(day, 11), func(at time.Time) {
				p.write(at, "finding", s.fresh("finding"), fields{"machine": s.frame.String(), "finding": "card_spring", "state": "lint", "zone": 60})
				s.event(p, at, s.frame, "cleaned", in)
				s.drops(p, at.Add(5*time.Minute), green, s.frame, 0, nil)
			})
		}
		if day%2 == 0 {
			s.will(s.at(day, 12), func(at time.Time) { s.event(p, at, s.frame, "new-bobbin", in) })
		}
		if day%9 == 0 {
			s.will(s.at(day, 13), func(at time.Time) { s.event(p, at, s.frame, "new-needle", nil) })
		}
		if day%5 == 0 {
			s.will(s.at(day, 14), func(at time.Time) { s.event(p, at, s.frame, "good", in) })
		}
	}
	// A finer bobbin thread for a week: the case tightened, and put back.
	tight := ops.ID{}
	s.will(s.at(15, 15), func(at time.Time) {
		s.caseScrew(s.b, at, green, s.frame, 5, fields{"why": "finer bobbin thread"})
		tight = s.heads["bobbin:"+green.String()]
		s.drops(s.b, at.Add(5*time.Minute), green, s.frame, 0, nil)
	})
	s.will(s.at(22, 15), func(at time.Time) {
		s.caseScrew(s.b, at, green, s.frame, -5, fields{"type": "back", "backOf": tight.String()})
		s.drops(s.b, at.Add(5*time.Minute), green, s.frame, 0, nil)
	})

	// The sit-down machine has a numbered dial: numbers are read off, never summed.
	dial := "top:" + s.sit.String()
	s.will(s.at(2, 10), func(at time.Time) {
		s.turn(s.b, at, "bobbin:"+stripe.String(), s.sit, fields{"type": "neutral"})
	})
	for i, tenths := range []int{45, 50, 40} {
		s.will(s.at(2+i*8, 11), func(at time.Time) {
			s.turn(s.b, at, dial, s.sit, fields{"type": "dial", "dialTenths": tenths})
			s.drops(s.b, at.Add(10*time.Minute), stripe, s.sit, 0, nil)
			s.event(s.b, at.Add(time.Hour), s.sit, "good", fields{"bobbinCase": stripe.String()})
		})
	}
}

// lines writes a sewn sample: away and toward, scored −2 (bobbin colour on top) to +2.
func (s *story) lines(p *pen, at time.Time, machine ops.ID, away, toward int, more ...fields) {
	set := fields{"machine": machine.String(), "mode": "regulated", "allAlike": away == 0 && toward == 0, "onOffcut": true, "zone": 60,
		"rays": []fields{{"direction": 0, "score": away}, {"direction": 180, "score": toward}}}
	for _, m := range more {
		for k, v := range m {
			set[k] = v
		}
	}
	p.write(at, "sample", s.fresh("sample"), set)
}

// recipes are twelve settings that worked, half of them with a word on how it went later.
func (s *story) recipes() {
	names := []string{"Orchard rows, sashing", "Orchard rows, border", "Harbour squares", "Baby quilt, soft", "Feathers in wool",
		"Straight lines on linen", "Loose scrap practice", "Night sky", "Two colours, show", "Batik back", "Thick thread outline", "Fine fillers"}
	works := []string{"custom", "custom", "edge-to-edge", "practice", "show", "custom", "practice", "edge-to-edge", "show", "edge-to-edge", "custom", "show"}
	tops := []string{"blue40", "blue40", "cream50", "cream50", "grey60", "cream50", "blue40", "blue40", "grey60", "blue40", "plum30", "grey60"}
	for i, name := range names {
		p := s.a
		set := fields{"name": name, "work": works[i], "topThread": s.threads[tops[i]].String(), "batting": "wool blend", "backing": "plain cotton",
			"fill": "full", "needle": "100 sharp", "stitchesPerInch": 10 + i%3, "zone": 60}
		if i%4 == 2 {
			p = s.b
			set["machine"], set["bobbinCase"], set["bobbinThread"] = s.sit.String(), s.cases[2].String(), s.threads["grey60"].String()
			set["topDialTenths"], set["dropTenthsIn"], set["bobbinKind"] = 40+5*(i%3), 50, "pre-wound"
		} else {
			set["machine"], set["bobbinCase"], set["bobbinThread"] = s.frame.String(), s.cases[0].String(), s.threads["rust60"].String()
			set["topMinutesFromFlush"], set["bobbinMinutesHint"], set["dropTenthsIn"], set["bobbinKind"] = 90-15*(i%4), 0, 50, "self-wound-steel"
		}
		recipe, at := id("recipe", i), s.at(1+2*i, 17)
		s.will(at, func(at time.Time) { p.write(at, "recipe", recipe, set) })
		if i%2 == 0 {
			s.will(at.Add(72*time.Hour), func(at time.Time) {
				p.write(at, "recipeUse", s.fresh("use"), fields{"recipe": recipe.String(), "worked": i%6 != 4, "machine": set["machine"], "zone": 60})
			})
		}
	}
}

// notes are by both; one was written on two phones apart, and both texts stand.
func (s *story) notes() {
	note := func(p *pen, at time.Time, key string, set fields) {
		s.will(at, func(at time.Time) { p.write(at, "note", id("note", key), set) })
	}
	note(s.a, s.at(3, 18), "lint", fields{"machine": s.frame.String(), "zone": 60,
		"text": "Wool batting sheds. Brush the hook at each bobbin, not every second one."})
	note(s.b, s.at(13, 18), "drop", fields{"machine": s.frame.String(), "bobbinCase": s.cases[0].String(), "zone": 60,
		"text": "Green dot dropped over seven inches and nobody had turned it. Lint under the spring, as a card showed. Left the screw alone."})
	note(s.b, s.at(18, 18), "seat", fields{"machine": s.sit.String(), "zone": 60,
		"text": "Hold the quilt up on the left, or the line toward me lashes on the back."})
	note(s.a, s.at(26, 16), "both", fields{"machine": s.frame.String(), "zone": 60,
		"text": "Border of Orchard rows:\nblue 40 on top, rust below\ntop one turn and a half over flush"})
	s.will(s.at(27, 15), func(time.Time) { s.apart = true })
	note(s.a, s.at(27, 16), "both", fields{"text": "Border of Orchard rows:\nblue 40 on top, rust below\ntop one turn and a quarter over flush\nlooked at in daylight"})
	note(s.b, s.at(27, 17), "both", fields{"text": "Border of Orchard rows:\nblue 40 on top, rust below\ntop one turn and a half over flush\nslow down at the points"})
	s.will(s.at(27, 18), func(time.Time) { s.apart = false })
}

// openBalancing is a round that was left with the back still showing top colour.
func (s *story) openBalancing() {
	s.will(s.at(days-1, 8), s.round)
}

func (s *story) round(at time.Time) {
	b := s.b.write(at, "balancing", id("balancing"), fields{"machine": s.frame.String(), "quilt": id("quilt", "orchard").String(), "work": "custom", "zone": 60})
	first := fields{"balancing": b.String(), "round": 1}
	s.drops(s.b, at, s.cases[0], s.frame, 0, first)
	s.b.write(at, "reading", s.fresh("reading"), fields{"type": "pull", "machine": s.frame.String(), "answer": "light", "balancing": b.String(), "round": 1, "zone": 60})
	s.lines(s.b, at.Add(10*time.Minute), s.frame, 1, 1, first)
	s.turn(s.b, at.Add(12*time.Minute), "top:"+s.frame.String(), s.frame, fields{"type": "move", "minutes": 30, "balancing": b.String(), "round": 1})
	s.lines(s.b, at.Add(20*time.Minute), s.frame, 0, 1, fields{"balancing": b.String(), "round": 2})
}
