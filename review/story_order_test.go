package review_test

import (
	"lowtide/casebook"
	"lowtide/rule"
)

func init() {
	slip := func(id string, level rule.Level, mmHg float64, says ...string) story {
		return story{rule: id, level: level, tell: []step{at(-2, suction(mmHg))}, says: says, act: []step{at(1, suction(125))}}
	}
	filler := func(id string, level rule.Level, kind string, mmHg, then float64, says ...string) story {
		return story{rule: id, level: level, tell: []step{at(-2, filled(kind, mmHg))}, says: says, act: []step{at(1, filled(kind, then))}}
	}
	every := func(h *float64) casebook.OrderWritten {
		return order(func(o *casebook.OrderWritten) { o.ChangeEveryH = h })
	}
	lasting := func(d float64) casebook.OrderWritten {
		return order(func(o *casebook.OrderWritten) { o.DurationDays = num(d) })
	}
	child := func(p *casebook.PersonRegistered) { p.Born = "2019-02-20" }
	infected := func(w *casebook.WoundFound) { w.Infected = yes }
	leg := func(round, poor *bool) casebook.WoundFound {
		return wound("A", func(w *casebook.WoundFound) {
			w.Site, w.Limb, w.Circumferential, w.PoorPerfusion = "left lower leg", yes, round, poor
		})
	}
	shown := func(mmHg float64) casebook.DressingChanged {
		return change(func(d *casebook.DressingChanged) { d.SuctionMmHg = num(mmHg) })
	}
	noSuction := order(func(o *casebook.OrderWritten) { o.Stages = nil })
	structure := []step{at(-30, risk("near_structures")), at(-29, accepts("near_structures"))}
	layer := func(in *bool) casebook.DressingChanged {
		return change(func(d *casebook.DressingChanged) { d.Wounds[0].ContactLayer = in })
	}
	storyOf(
		story{rule: "ORD-CHILD-01", level: rule.Today, tell: []step{at(-2, person(child))}, says: []string{"7 years"}, act: []step{at(2, accepts("size_and_weight"))}},
		story{rule: "ORD-CHILD-01", level: rule.Plan, state: rule.CannotTell, tell: []step{at(-2, person(func(p *casebook.PersonRegistered) { p.Born = "" }))}, act: []step{at(2, person(nil))}},
		story{rule: "ORD-CHILD-02", level: rule.Note, tell: []step{at(-2, person(child)), at(-1, accepts("size_and_weight"))}, says: []string{"7 years"}, act: []step{at(2, ended("goal met")), at(2.1, taken(1))}},
		slip("ORD-CMH2O-01", rule.Today, 136, "136 mmHg"),
		slip("ORD-CMH2O-02", rule.Note, 170, "170 mmHg"),
		story{rule: "ORD-COMPLETE-01", level: rule.Today, tell: []step{at(-2, order(func(o *casebook.OrderWritten) { o.Goal, o.Prescriber, o.DurationDays = "", "", nil }))}, says: []string{"goal, duration, prescriber"}, act: []step{at(3, order(nil))}},
		slip("ORD-DECIMAL-01", rule.Today, 1250, "1250 mmHg"),
		slip("ORD-DECIMAL-02", rule.Today, 12.5, "12.5 mmHg"),
		filler("ORD-DENSE-01", rule.Plan, "dense foam", 150, 125, "150 mmHg"),
		filler("ORD-DENSE-02", rule.Note, "dense foam", 100, 125, "100 mmHg"),
		story{rule: "ORD-END-01", level: rule.Today, tell: []step{at(-50, lasting(2))}, says: []string{"Wed 4 Mar 10:00"}, act: []step{at(3, order(nil))}},
		story{rule: "ORD-END-02", level: rule.Plan, tell: []step{at(-50, lasting(4))}, says: []string{"Fri 6 Mar 10:00"}, act: []step{at(3, order(nil))}},
		story{rule: "ORD-FILLER-01", level: rule.Today, wound: "A", tell: []step{at(-2, filled("gauze", 80))}, says: []string{"Wound A", "holds foam", "says gauze"}, act: []step{at(3, counted(foam(1), []casebook.Pieces{{Filler: "gauze", Count: 2}}))}},
		story{rule: "ORD-FILLER-01", level: rule.Plan, state: rule.CannotTell, wound: "A", tell: []step{at(-2, filled("", 125))}, act: []step{at(3, order(nil))}},
		filler("ORD-FOAM-01", rule.Note, "foam", 150, 125, "150 mmHg", "125 mmHg"),
		story{rule: "ORD-FOAM-01", level: rule.Note, state: rule.CannotTell, tell: []step{at(-2, noSuction)}, act: []step{at(3, order(nil))}},
		filler("ORD-FOAM-02", rule.Note, "foam", 60, 100, "60 mmHg", "75 mmHg"),
		filler("ORD-GAUZE-01", rule.Note, "gauze", 120, 80, "120 mmHg", "80 mmHg"),
		filler("ORD-GAUZE-02", rule.Note, "gauze", 35, 80, "35 mmHg", "40 mmHg"),
		story{rule: "ORD-INTERVAL-01", level: rule.Note, tell: []step{at(-2, every(num(96)))}, says: []string{"4 days", "3 days"}, act: []step{at(3, every(num(60)))}},
		story{rule: "ORD-INTERVAL-02", level: rule.Today, wound: "A", tell: []step{at(-2, wound("A", infected))}, says: []string{"Wound A", "2 days 12 h"}, act: []step{at(3, every(num(24)))}},
		story{rule: "ORD-INTERVAL-02", level: rule.Plan, state: rule.CannotTell, wound: "A", tell: []step{at(-2, wound("A", func(w *casebook.WoundFound) { w.Infected = nil }))}, act: []step{at(3, wound("A", nil))}},
		slip("ORD-KPA-01", rule.Today, 16.7, "16.7 mmHg"),
		story{rule: "ORD-LAYER-01", level: rule.Today, wound: "A", tell: structure, says: []string{"wound A"}, act: []step{at(4, layer(yes))}},
		story{rule: "ORD-LAYER-01", level: rule.Today, state: rule.CannotTell, wound: "A", tell: join(structure, []step{at(-2, layer(nil))}), act: []step{at(4, layer(yes))}},
		story{rule: "ORD-MEAN-01", level: rule.Plan, tell: []step{at(-2, staged(80, 3, 20, 5))}, says: []string{"42 mmHg", "50 mmHg"}, act: []step{at(2, staged(80, 5, 60, 3))}},
		story{rule: "ORD-MEAN-01", level: rule.Today, state: rule.CannotTell, tell: []step{at(-2, staged(80, 3, 20, 0))}, act: []step{at(2, staged(80, 5, 60, 3))}},
		story{rule: "ORD-MEAN-02", level: rule.Note, tell: []step{at(-2, staged(125, 5, 25, 2))}, says: []string{"125 mmHg", "96 mmHg"}, act: []step{at(2, order(nil))}},
		story{rule: "ORD-MODE-01", level: rule.Plan, tell: []step{at(-2, staged(125, 5, 100, 2))}, says: []string{"2 stages"}, act: []step{at(2, risk("intermittent_mode"))}},
		story{rule: "ORD-NONE-01", level: rule.Today, tell: []step{at(-2, casebook.OrderStopped{By: "Dr I. Vance"})}, act: []step{at(1, order(nil))}},
		story{rule: "ORD-PERF-01", level: rule.Today, wound: "A", tell: []step{at(-2, leg(no, yes))}, says: []string{"Wound A", "125 mmHg", "80 mmHg"}, act: []step{at(1, suction(75))}},
		story{rule: "ORD-PERF-01", level: rule.Plan, state: rule.CannotTell, wound: "A", tell: []step{at(-2, leg(no, nil))}, act: []step{at(1, leg(no, no))}},
		story{rule: "ORD-PUMP-01", level: rule.Today, tell: []step{at(-2, suction(205))}, says: []string{"205 mmHg", "200 mmHg"}, act: []step{at(1, suction(125))}},
		story{rule: "ORD-PUMP-01", level: rule.Plan, state: rule.CannotTell, tell: []step{at(-2, noSuction)}, act: []step{at(1, order(nil))}},
		story{rule: "ORD-PUMP-02", level: rule.Today, tell: []step{at(-2, staged(125, 5, 10, 2))}, says: []string{"10 mmHg"}, act: []step{at(1, staged(125, 5, 50, 2))}},
		slip("ORD-RANGE-01", rule.Today, 250, "250 mmHg", "200 mmHg"),
		story{rule: "ORD-RANGE-01", level: rule.Today, state: rule.CannotTell, tell: []step{at(-2, noSuction)}, act: []step{at(1, order(nil))}},
		slip("ORD-RANGE-02", rule.Today, 15, "15 mmHg", "20 mmHg"),
		story{rule: "ORD-ROUND-01", level: rule.Today, wound: "A", tell: []step{at(-2, leg(yes, no))}, says: []string{"wound A"}, act: []step{at(1, accepts("circumferential"))}},
		story{rule: "ORD-ROUND-01", level: rule.Plan, state: rule.CannotTell, wound: "A", tell: []step{at(-2, leg(nil, no))}, act: []step{at(1, leg(no, no))}},
		story{rule: "ORD-ROUND-02", level: rule.ActNow, wound: "A", tell: []step{at(-2, leg(yes, yes))}, says: []string{"wound A"}, act: []step{at(0.5, accepts("circumferential", "inadequate_perfusion"))}},
		story{rule: "ORD-ROUND-02", level: rule.Today, state: rule.CannotTell, wound: "A", tell: []step{at(-2, leg(yes, nil))}, says: nil, act: []step{at(0.5, leg(yes, no))}},
		story{rule: "ORD-SHOWN-01", level: rule.Today, tell: []step{at(-2, shown(90))}, says: []string{"90 mmHg", "Wed 4 Mar 10:00", "125 mmHg"}, act: []step{at(0.5, settled("leak"))}},
		story{rule: "ORD-SHOWN-01", level: rule.Plan, state: rule.CannotTell, without: []casebook.Kind{casebook.KindDressingChanged}, tell: []step{at(-24, change(func(d *casebook.DressingChanged) { d.SuctionMmHg = nil }))}, act: []step{at(20, change(nil))}},
		story{rule: "ORD-SHOWN-02", level: rule.Today, tell: []step{at(-2, shown(160))}, says: []string{"160 mmHg", "125 mmHg"}, act: []step{at(20, change(nil))}},
		story{rule: "ORD-SHOWN-03", level: rule.ActNow, tell: []step{at(-0.5, casebook.AlarmReported{Alarm: "leak", SuctionMmHg: num(5)})}, says: []string{"5 mmHg", "Wed 4 Mar 11:30"}, act: []step{at(0.3, settled("leak"))}},
		story{rule: "ORD-SIGN-01", level: rule.Today, tell: []step{at(-2, suction(-125))}, says: []string{"-125 mmHg"}, act: []step{at(0.5, suction(125))}},
	)
}
