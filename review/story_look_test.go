package review_test

import (
	"lowtide/casebook"
	"lowtide/rule"
)

// Stories of what was ticked, of what grew, and of what the record says twice.

func bedLooks(words ...string) casebook.DressingChanged {
	return change(func(d *casebook.DressingChanged) { d.Wounds[0].Bed = words })
}

func under(tunnels, undermining []casebook.Under) casebook.WoundMeasured {
	return measured(6.7, 2.9, 2.1, func(m *casebook.WoundMeasured) {
		m.NoneUnder, m.Tunnels, m.Undermining = len(tunnels)+len(undermining) == 0, tunnels, undermining
	})
}

// woundB is a second wound with what is given, under the order and the pump of the first.
func woundB(mod func(*casebook.WoundFound)) []step {
	return []step{at(-30, wound("B", mod)), at(-29.5, order(func(o *casebook.OrderWritten) { o.Wounds = nil })), at(-29, screened(nil)),
		at(-2, change(func(d *casebook.DressingChanged) {
			d.Wounds = append(d.Wounds, casebook.WoundChange{Wound: "B", NoneOut: true, In: foam(1), ContactLayer: no, Periwound: []string{"intact"}, Bed: []string{"granulation"}})
		}))}
}

func onB(s casebook.ScreeningDone) casebook.ScreeningDone { s.Wound = "B"; return s }

func init() {
	site := func(s string) casebook.WoundFound { return wound("A", func(w *casebook.WoundFound) { w.Site = s }) }
	pause := order(func(o *casebook.OrderWritten) {
		o.Stages = []casebook.Stage{{SuctionMmHg: 125, HoldMin: num(5)}, {SuctionMmHg: 0, HoldMin: num(180)}}
		o.AcceptsRisks = []string{"intermittent_mode"}
	})
	warm := func(c float64, signs ...string) step {
		return at(-1, note(casebook.Seen{Signs: signs, TemperatureC: num(c)}))
	}
	cooled := at(1, note(casebook.Seen{Signs: []string{"none"}, TemperatureC: num(36.9)}))
	infectedB := join(woundB(nil), []step{at(-28, onB(risk("infected_wound"))), at(-27, order(func(o *casebook.OrderWritten) {
		o.Wounds, o.AcceptsRisks, o.ChangeEveryH = nil, []string{"infected_wound"}, num(24)
	}))})
	storyOf(
		story{rule: "STP-ESCHAR-02", level: rule.Today, wound: "A", tell: []step{at(-2, bedLooks("granulation", "eschar"))}, says: []string{"Wound A", "Wed 4 Mar 10:00", "granulation, eschar"}, act: []step{at(20, bedLooks("granulation"))}},
		story{rule: "SGN-BED-01", level: rule.Plan, wound: "A", tell: []step{at(-2, bedLooks("friable"))}, says: []string{"Wound A", "Wed 4 Mar 10:00"}, act: []step{at(20, bedLooks("granulation"))}},
		story{rule: "SGN-BED-02", level: rule.Today, wound: "A", tell: []step{at(-30, risk("anticoagulant")), at(-29, accepts("anticoagulant")), at(-2, bedLooks("granulation", "friable"))}, says: []string{"Wound A", "Wed 4 Mar 10:00"}, act: []step{at(20, bedLooks("granulation"))}},
		story{rule: "SGN-BED-03", level: rule.Plan, wound: "A", tell: []step{at(-2, bedLooks("pale"))}, says: []string{"Wound A", "Wed 4 Mar 10:00"}, act: []step{at(20, bedLooks("granulation"))}},
		story{rule: "SGN-TUNNEL-01", level: rule.Today, wound: "A", tell: []step{at(-2, under([]casebook.Under{{FromClock: 2, DepthCm: 7}}, nil))}, says: []string{"Wound A", "a tunnel at 2 o'clock, 7 cm"}, act: []step{at(20, under(nil, nil))}},
		story{rule: "SGN-TUNNEL-02", level: rule.Plan, wound: "A", tell: []step{at(-2, under(nil, []casebook.Under{{FromClock: 3, DepthCm: 2}}))}, says: []string{"Wound A", "undermining at 3 o'clock, 2 cm, not there before"}, act: []step{at(20, under(nil, nil))}},
		story{rule: "STP-GREW-01", level: rule.Plan, wound: "A", tell: []step{at(-2, measured(8.3, 3.5, 2.2, nil))}, says: []string{"Wound A", "Tue 3 Mar 12:06", "area 22.8 cm² from 15.5 cm² (47 % more)"}, act: []step{at(20, measured(8.0, 3.4, 2.2, nil))}},
		story{rule: "STP-GREW-02", level: rule.Today, wound: "A", tell: []step{at(-2, measured(8.8, 4, 3.4, nil))}, says: []string{"Wound A", "Tue 3 Mar 12:06", "area 27.6 cm² from 15.5 cm² (78 % more)", "depth 3.4 cm from 2.2 cm"}, act: []step{at(20, measured(8.6, 3.9, 3.3, nil))}},
		story{rule: "SUC-EMPTY-01", level: rule.Today, tell: []step{at(-2, change(func(d *casebook.DressingChanged) { d.Wounds[0].In, d.Wounds[0].NoneIn = nil, true })).called("empty")}, says: []string{"Wed 4 Mar 10:00"}, act: []step{replaces(0.5, "empty", change(nil))}},
		story{rule: "ORD-DRY-01", level: rule.Today, tell: []step{at(-30, risk("intermittent_mode")), at(-2, pause)}, says: []string{"3 h", "longer than 2 h"}, act: []step{at(1, staged(125, 5, 0, 3))}},
		story{rule: "ORD-WOUND-01", level: rule.Today, wound: "B", tell: join(woundB(nil), []step{at(-1.5, order(nil))}), says: []string{"Wound B"}, advises: []string{"wound B"}, act: []step{at(1, order(func(o *casebook.OrderWritten) { o.Wounds = []string{"A", "B"} }))}},
		story{rule: "ORD-WOUND-01", level: rule.Today, state: rule.CannotTell, wound: "B", tell: join(woundB(nil), []step{at(-1.5, order(nil)), at(-1, change(func(d *casebook.DressingChanged) {
			d.Wounds = []casebook.WoundChange{{Wound: "B", Out: foam(1)}}
		}))}), says: []string{"Wound B"}, act: []step{at(1, order(func(o *casebook.OrderWritten) { o.Wounds = []string{"A", "B"} }))}},
		story{rule: "ORD-LAYER-02", level: rule.Today, wound: "A", tell: []step{at(-2, order(func(o *casebook.OrderWritten) { o.ContactLayer = "silicone" }))}, says: []string{"Wound A", "silicone", "Tue 3 Mar 12:00"}, act: []step{at(2, change(func(d *casebook.DressingChanged) { d.Wounds[0].ContactLayer = yes }))}},
		story{rule: "ORD-BRIDGE-01", level: rule.Today, tell: infectedB, says: []string{"wound B is infected, wound A is not"}, act: []step{at(1, onB(screened(nil)))}},
		story{rule: "ORD-BRIDGE-01", level: rule.Plan, state: rule.CannotTell, tell: join(woundB(func(w *casebook.WoundFound) { w.Infected = nil }), []step{at(-28, onB(screened(map[string]string{"infected_wound": "unknown"})))}), act: []step{at(1, screened(nil))}},
		story{rule: "ORD-CHILD-03", level: rule.ActNow, tell: []step{at(-5, person(func(p *casebook.PersonRegistered) { p.Born = "2026-01-20" }))}, says: []string{"125 mmHg"}, act: []step{at(1, accepts("size_and_weight"))}},
		story{rule: "SCR-SMALL-02", level: rule.Plan, tell: []step{at(-5, person(func(p *casebook.PersonRegistered) { p.WeightKg = num(37) }))}, says: []string{"37 kg"}, act: []step{at(1, risk("size_and_weight"))}},
		story{rule: "SCR-STAGE-01", level: rule.Today, wound: "A", tell: []step{at(-5, wound("A", func(w *casebook.WoundFound) { w.Type, w.Stage = "pressure", "unstageable" }))}, says: []string{"Wound A"}, act: []step{at(1, wound("A", func(w *casebook.WoundFound) { w.Type, w.Stage = "pressure", "4" }))}},
		story{rule: "SCR-SUPPLY-01", level: rule.Today, wound: "A", tell: []step{at(-5, wound("A", func(w *casebook.WoundFound) { w.Type = "arterial" }))}, says: []string{"Wound A"}, act: []step{at(1, risk("inadequate_perfusion"))}},
		story{rule: "SCR-SITE-01", level: rule.Today, wound: "A", tell: []step{at(-5, site("neck, over the carotid"))}, says: []string{"Wound A", "neck, over the carotid"}, act: []step{at(1, risk("near_structures"))}},
		story{rule: "SCR-SITE-02", level: rule.Today, wound: "A", tell: []step{at(-5, site("open abdomen"))}, says: []string{"Wound A", "open abdomen"}, act: []step{at(1, risk("near_structures"))}},
		story{rule: "SCR-DRUG-01", level: rule.Today, tell: []step{at(-5, casebook.NoteWritten{Text: "The family doctor started apixaban 5 mg twice a day."})}, says: []string{"Wed 4 Mar 07:00", "apixaban"}, act: []step{at(1, risk("anticoagulant"))}},
		story{rule: "CAN-GUSH-01", level: rule.ActNow, tell: []step{at(-1.5, read(60, "straw")), at(-0.6, read(280, "straw"))}, says: []string{"220 mL in 54 minutes", "Wed 4 Mar 11:24"}, act: []step{at(1, read(285, "straw"))}},
		story{rule: "VIS-NEXT-04", level: rule.Today, tell: []step{{atH: -2, body: change(func(d *casebook.DressingChanged) { d.NextVisit = when(365 * 24) })}}, says: []string{"Thu 4 Mar 2027 12:00"}, act: []step{at(1, casebook.NoteWritten{Text: "The year was a slip.", NextVisit: when(50)})}},
		story{rule: "SGN-FEVER-03", level: rule.Today, tell: []step{at(-5, person(func(p *casebook.PersonRegistered) { p.Born = "2019-05-01" })), warm(38.0, "none")}, says: []string{"38 °C", "Wed 4 Mar 11:00", "6 years"}, act: []step{cooled}},
		story{rule: "SGN-COLD-01", level: rule.Today, tell: []step{warm(34.8, "none")}, says: []string{"34.8 °C", "Wed 4 Mar 11:00"}, act: []step{cooled}},
		story{rule: "SGN-COLD-02", level: rule.Today, tell: []step{warm(35.7, "pus")}, says: []string{"35.7 °C", "Wed 4 Mar 11:00"}, act: []step{at(0.5, dealt("pus")), cooled}},
	)
}
