package review_test

import (
	"time"

	"lowtide/casebook"
	"lowtide/rule"
)

// neverUnknown lists the rules with a level for "cannot tell" that no case brings about, because review always
// sets what they look at. The level is there for local rules and for callers that know less.
var neverUnknown = map[string]string{
	"CNT-UNSURE-01":   "a count is either made or not",
	"ORD-COMPLETE-01": "what an order does not state is a list, empty or not",
	"ORD-NONE-01":     "an order is in force or it is not",
	"REC-CONFLICT-01": "conflicts are counted",
	"REC-PUMP-01":     "pumps are counted",
	"REC-UNKNOWN-01":  "unknown entries are counted",
	"REC-WOUND-01":    "a wound was described or it was not",
	"SCR-OPEN-01":     "open questions are counted, all of them without a screening",
	"SCR-OPEN-02":     "open questions are counted, all of them without a screening",
	"SCR-OPEN-04":     "open questions are counted, all of them without a screening",
	"STP-PUMP-01":     "pumps are counted",
	"VIS-TEACH-03":    "asked only once there is teaching, and then its topics are known",
	"VIS-TEACH-04":    "asked only once there is teaching, and then its topics are known",
	"VIS-TEACH-05":    "asked only once there is teaching, and then its topics are known",
}

func init() {
	eschar := func(m *casebook.WoundMeasured) {
		m.Tissue = &casebook.Tissue{GranulationPct: 70, SloughPct: 20, EscharPct: 10}
	}
	ready := func(m *casebook.WoundMeasured) { m.Tissue, m.BedLevel = &casebook.Tissue{GranulationPct: 100}, yes }
	noTissue := func(m *casebook.WoundMeasured) { m.Tissue = nil }
	long := at(-401, wound("A", nil))
	older := at(-23.9-15*24, measured(6.8, 2.9, 2.2, nil))
	noMeasure := []casebook.Kind{casebook.KindWoundMeasured}
	newWound := at(-23.9, measured(6.8, 2.9, 2.2, nil))
	storyOf(
		story{rule: "STP-BED-01", level: rule.Plan, wound: "A", without: []casebook.Kind{casebook.KindWoundMeasured}, tell: []step{at(-2, measured(5, 2, 0, ready))}, says: []string{"Wound A", "100 %", "Wed 4 Mar 10:00"}, act: []step{at(3, ended("goal met")), at(3.1, taken(1))}},
		story{rule: "STP-BED-01", level: rule.Note, state: rule.CannotTell, wound: "A", without: []casebook.Kind{casebook.KindWoundMeasured}, tell: []step{at(-2, measured(5, 2, 0.5, func(m *casebook.WoundMeasured) { ready(m); m.BedLevel = nil }))}, says: []string{"Wound A"}, act: []step{at(3, measured(5, 2, 0.5, nil))}},
		story{rule: "STP-DRESS-01", level: rule.ActNow, tell: []step{at(-3, ended("goal met"))}, says: []string{"Wed 4 Mar 09:00"}, act: []step{at(0.5, taken(1))}},
		story{rule: "STP-DRESS-01", level: rule.Today, state: rule.CannotTell, tell: []step{at(-4, counted(foam(1), nil)), at(-3, ended("goal met"))}, act: []step{at(0.5, taken(2))}},
		story{rule: "STP-ESCHAR-01", level: rule.ActNow, wound: "A", tell: []step{at(-2, measured(6.8, 2.9, 2.2, eschar))}, says: []string{"Wound A", "10 %", "Wed 4 Mar 10:00"}, act: []step{at(5, measured(6.8, 2.9, 2.4, nil))}},
		story{rule: "STP-ESCHAR-01", level: rule.Plan, state: rule.CannotTell, wound: "A", says: []string{"Wound A"}, tell: []step{at(-2, measured(6.8, 2.9, 2.2, noTissue))}, act: []step{at(5, measured(6.8, 2.9, 2.2, nil))}},
		story{rule: "STP-INFECT-01", level: rule.Today, wound: "A", tell: []step{at(-2, wound("A", func(w *casebook.WoundFound) { w.Infected = yes }))}, says: []string{"Wound A"}, act: []step{at(3, risk("infected_wound"))}},
		story{rule: "STP-INFECT-01", level: rule.Note, state: rule.CannotTell, wound: "A", says: []string{"Wound A"}, tell: []step{at(-2, wound("A", func(w *casebook.WoundFound) { w.Infected = nil }))}, act: []step{at(3, wound("A", nil))}},
		story{rule: "STP-OUTPUT-01", level: rule.Plan, tell: []step{at(-1, read(15, "straw"))}, says: []string{"16 mL a day", "20 mL a day"}, act: []step{at(23, read(75, "straw"))}},
		story{rule: "STP-OUTPUT-01", level: rule.Note, state: rule.CannotTell, without: []casebook.Kind{casebook.KindDressingChanged}, tell: []step{at(-24, read(30, "straw"))}, act: []step{at(1, read(80, "straw"))}},
		story{rule: "STP-PROGRESS-01", level: rule.Plan, wound: "A", wait: 600 * time.Hour, tell: []step{long, older}, says: []string{"Wound A", "Mon 16 Feb 12:06", "neither area nor depth"}, act: []step{at(610, measured(6.1, 2.6, 1.9, nil))}},
		story{rule: "STP-PROGRESS-01", level: rule.Plan, state: rule.CannotTell, wound: "A", without: noMeasure, says: []string{"Wound A"}, tell: []step{long, at(-400, order(nil)), at(-399, measured(7, 3, 2.4, func(m *casebook.WoundMeasured) { m.Convention, m.DepthCm = "longest and widest", nil })), newWound}, act: []step{at(320, measured(6, 2.5, 1.5, nil))}},
		story{rule: "STP-PUMP-01", level: rule.Plan, tell: []step{at(-3, ended("goal met")), at(-2.9, taken(1))}, says: []string{"Wed 4 Mar 09:00"}, act: []step{at(3, casebook.PumpReturned{Pump: "P-11", Cleaned: yes})}},
		story{rule: "STP-WORSE-01", level: rule.Today, wound: "A", tell: []step{long, older, at(-2, measured(8, 3.4, 2.4, nil))}, says: []string{"Wound A", "38 %", "Mon 16 Feb 12:06"}, act: []step{at(48, measured(6.6, 2.8, 2.1, nil))}},

		story{rule: "REC-CONFLICT-01", level: rule.Today, tell: []step{{atH: -2, body: read(60, "straw"), twice: read(160, "straw"), name: "both"}}, says: []string{": 1."}, act: []step{replaces(1, "both", read(60, "straw"))}},
		story{rule: "REC-METHOD-01", level: rule.Plan, wound: "A", tell: []step{at(-2, measured(7.5, 3.2, 2.2, func(m *casebook.WoundMeasured) { m.Convention = "longest and widest" }))}, says: []string{"Wound A"}, act: []step{at(1, measured(7.5, 3.2, 2.2, func(m *casebook.WoundMeasured) { m.Convention = "longest and widest" }))}},
		story{rule: "REC-PUMP-01", level: rule.Today, tell: []step{at(-2, casebook.PumpReturned{Pump: "P-11"})}, act: []step{at(1, casebook.PumpAssigned{Pump: "P-14", Class: "portable", CanisterML: num(300)})}},
		story{rule: "REC-PUMP-02", level: rule.Plan, tell: []step{at(-2, casebook.PumpAssigned{Pump: "P-14", Class: "portable", CanisterML: num(300)})}, says: []string{"2 pumps"}, act: []step{at(1, casebook.PumpReturned{Pump: "P-11"})}},
		story{rule: "REC-PUMP-03", level: rule.Today, tell: []step{at(-3, casebook.PumpAssigned{Pump: "P-14", Class: "portable", CanisterML: num(300)}), at(-1, read(60, "straw"))}, says: []string{"2 pumps", "60 mL in a canister on Wed 4 Mar 11:00"},
			act: []step{at(1, readOn("P-11", 60)), at(1.1, readOn("P-14", 20))}},
		story{rule: "REC-SIGN-01", level: rule.Plan, tell: []step{at(-2, change(nil))}, says: []string{"Wed 4 Mar 10:00"}, act: []step{at(1, signed())}},
		story{rule: "REC-UNKNOWN-01", level: rule.Today, tell: []step{at(-2, casebook.Unknown{Of: "wound.scanned", Raw: []byte(`{"wound":"A"}`)}).called("odd")}, says: []string{": 1."}, act: []step{withdraws(1, "odd")}},
		story{rule: "REC-WOUND-01", level: rule.Today, wound: "B", tell: []step{at(-4, wound("B", nil)).called("b"), at(-2, measured(2, 1, 0.4, func(m *casebook.WoundMeasured) { m.Wound = "B" })), withdraws(-1, "b")}, says: []string{"Wound B"},
			act: []step{{atH: -4, writtenH: 1, body: wound("B", nil)}}},
	)
}
