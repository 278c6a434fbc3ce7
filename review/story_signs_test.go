package review_test

import (
	"lowtide/casebook"
	"lowtide/rule"
)

// signStories are signs that were seen, and are dealt with.
var signStories = []struct {
	rule  string
	level rule.Level
	sign  string
}{
	{"SGN-BLOOD-01", rule.ActNow, "bright red blood"}, {"SGN-BOWEL-01", rule.ActNow, "bowel content"}, {"SGN-COLOUR-01", rule.ActNow, "sudden colour change"},
	{"SGN-DIZZY-01", rule.ActNow, "dizzy or confused"}, {"SGN-LIMB-01", rule.ActNow, "cold or numb limb"}, {"SGN-PAIN-01", rule.ActNow, "pain out of proportion"},
	{"SGN-MACER-01", rule.Plan, "macerated skin"}, {"SGN-PUS-01", rule.Today, "pus"}, {"SGN-REDNESS-01", rule.Today, "spreading redness"},
	{"SGN-SKIN-01", rule.Today, "raw or blistered skin"}, {"SGN-SMELL-01", rule.Today, "bad smell"}, {"SGN-WARMTH-01", rule.Today, "warmth or swelling"},
}

func skin(words ...string) casebook.DressingChanged {
	return change(func(d *casebook.DressingChanged) { d.Wounds[0].Periwound = words })
}

func pressure(now, usual float64) casebook.Seen {
	return casebook.Seen{Signs: []string{"none"}, SystolicMmHg: num(now), SystolicUsualMmHg: num(usual)}
}

func init() {
	for _, s := range signStories {
		says := []string{"Wed 4 Mar 11:30"}
		storyOf(story{rule: s.rule, level: s.level, tell: []step{at(-0.5, saw(s.sign))}, says: says,
			// Looking again and not seeing it does not settle it; saying what was done does.
			act: []step{at(0.5, saw("none")), at(1, dealt(s.sign))}})
	}
	dysreflexia := pressure(168, 104)
	dysreflexia.Signs = []string{"headache", "flushing"}
	calm := dealt("headache", "flushing")
	calm.SystolicMmHg = num(110)
	cord := at(-30, risk("cord_injury"))
	cordOrder := at(-29, accepts("cord_injury"))
	sick := casebook.Seen{Signs: []string{"spreading redness", "pus"}, TemperatureC: num(39.1)}
	well := dealt("spreading redness", "pus")
	well.TemperatureC = num(37.2)
	// Another service put filler in and started the therapy.
	holdsFoam := wound("A", func(w *casebook.WoundFound) { w.InPlace = foam(1) })
	storyOf(
		story{rule: "SGN-ASK-01", level: rule.Today, tell: []step{at(-3, change(func(d *casebook.DressingChanged) { d.Signs = nil }))}, says: []string{"Wed 4 Mar 09:00"}, act: []step{at(1, saw("none"))}},
		story{rule: "SGN-ASK-01", level: rule.Today, state: rule.CannotTell, without: []casebook.Kind{casebook.KindDressingChanged}, tell: []step{at(-24, holdsFoam)}, act: []step{at(1, change(nil))}},
		story{rule: "SGN-CANISTER-01", level: rule.ActNow, tell: []step{at(-0.4, read(60, "bright red"))}, says: []string{"Wed 4 Mar 11:36"},
			// A new canister does not make it go away; a look at what comes then does.
			act: []step{at(0.2, casebook.CanisterRead{Changed: yes}), at(1, read(10, "straw"))}},
		story{rule: "SGN-CANISTER-02", level: rule.Today, tell: []step{at(-30, risk("anticoagulant")), at(-29, accepts("anticoagulant")), at(-1, read(60, "blood-tinged"))}, says: []string{"Wed 4 Mar 11:00"}, act: []step{at(1, read(65, "straw"))}},
		story{rule: "SGN-CANISTER-03", level: rule.Today, tell: []step{at(-1, read(60, "cloudy"))}, says: []string{"cloudy", "Wed 4 Mar 11:00"}, act: []step{at(4, read(70, "straw"))}},
		story{rule: "SGN-CANISTER-04", level: rule.Plan, tell: []step{at(-1, casebook.CanisterRead{VolumeML: num(60)})}, says: []string{"Wed 4 Mar 11:00"}, act: []step{at(2, read(65, "straw"))}},
		story{rule: "SGN-DYSREF-01", level: rule.ActNow, tell: []step{cord, cordOrder, at(-0.2, note(dysreflexia))}, says: []string{"64 mmHg"}, act: []step{at(0.5, calm)}},
		story{rule: "SGN-DYSREF-01", level: rule.ActNow, state: rule.CannotTell, tell: []step{cord, cordOrder, at(-0.2, saw("headache"))},
			act: []step{at(0.1, note(casebook.Seen{Signs: []string{"headache"}, SystolicMmHg: num(118), SystolicUsualMmHg: num(112)}))}},
		story{rule: "SGN-DYSREF-02", level: rule.Plan, tell: []step{cord, cordOrder}, act: []step{at(2, note(pressure(112, 108)))}},
		story{rule: "SGN-EDGE-01", level: rule.Today, wound: "A", tell: []step{at(-2, skin("blistered", "red"))}, says: []string{"Wound A", "blistered, red"}, act: []step{at(20, skin("intact"))}},
		story{rule: "SGN-EDGE-01", level: rule.Note, state: rule.CannotTell, wound: "A", tell: []step{at(-2, skin())}, says: []string{"Wound A"}, act: []step{at(20, skin("intact"))}},
		story{rule: "SGN-EDGE-02", level: rule.Plan, wound: "A", tell: []step{at(-2, skin("macerated", "itching"))}, says: []string{"Wound A", "macerated, itching"}, act: []step{at(20, skin("intact"))}},
		story{rule: "SGN-FEVER-01", level: rule.Today, tell: []step{at(-1, note(casebook.Seen{Signs: []string{"none"}, TemperatureC: num(39.1)}))}, says: []string{"39.1 °C", "Wed 4 Mar 11:00"}, act: []step{at(4, note(casebook.Seen{TemperatureC: num(37.4)}))}},
		story{rule: "SGN-FEVER-02", level: rule.Today, without: []casebook.Kind{casebook.KindDressingChanged}, tell: []step{at(-1, saw("pus"))}, act: []step{at(0.2, note(casebook.Seen{Signs: []string{"pus"}, TemperatureC: num(37.0)}))}},
		story{rule: "SGN-LOWBP-01", level: rule.ActNow, tell: []step{at(-0.1, note(casebook.Seen{Signs: []string{"none"}, SystolicMmHg: num(84)}))}, says: []string{"84 mmHg", "Wed 4 Mar 11:54"}, act: []step{at(0.3, note(casebook.Seen{Signs: []string{"none"}, SystolicMmHg: num(112)}))}},
		story{rule: "SGN-LOWBP-02", level: rule.ActNow, tell: []step{at(-0.1, note(pressure(96, 140)))}, says: []string{"96 mmHg", "-44 mmHg"}, act: []step{at(0.3, note(pressure(132, 140)))}},
		story{rule: "SGN-OTHER-01", level: rule.Today, tell: []step{at(-1, saw("sweating"))}, act: []step{at(0.5, dealt("sweating"))}},
		story{rule: "SGN-PULSE-01", level: rule.ActNow, tell: []step{at(-30, risk("vagus_nearby")), at(-29, accepts("vagus_nearby")), at(-0.2, saw("slow pulse"))}, says: []string{"Wed 4 Mar 11:48"}, act: []step{at(0.5, dealt("slow pulse"))}},
		story{rule: "SGN-PULSE-01", level: rule.ActNow, state: rule.CannotTell, tell: []step{at(-30, screened(map[string]string{"vagus_nearby": "unknown"})), at(-0.2, saw("slow pulse"))}, act: []step{at(0.1, screened(nil))}},
		story{rule: "SGN-SCORE-01", level: rule.Today, tell: []step{at(-2, change(func(d *casebook.DressingChanged) { d.Pain = num(8) }))}, says: []string{"8 of 10"}, act: []step{at(3, note(casebook.Seen{Signs: []string{"none"}, Pain: num(3)}))}},
		story{rule: "SGN-SCORE-01", level: rule.Plan, state: rule.CannotTell, without: []casebook.Kind{casebook.KindDressingChanged},
			tell: []step{at(-2, change(func(d *casebook.DressingChanged) { d.Pain = nil; d.Wounds[0].Out, d.Wounds[0].NoneOut = nil, true }))}, act: []step{at(3, note(casebook.Seen{Pain: num(3)}))}},
		story{rule: "SGN-SCORE-02", level: rule.Plan, tell: []step{at(-2, change(func(d *casebook.DressingChanged) { d.Pain = num(5) }))}, says: []string{"5 of 10"}, act: []step{at(20, change(nil))}},
		story{rule: "SGN-SPREAD-01", level: rule.ActNow, tell: []step{at(-1, note(sick))}, says: []string{"39.1 °C"}, act: []step{at(0.5, well)}},
		story{rule: "SGN-THREE-01", level: rule.Today, tell: []step{at(-1, saw("spreading redness", "pus", "bad smell"))}, act: []step{at(2, dealt("spreading redness", "pus", "bad smell"))}},
	)
}
