package review_test

import (
	"time"

	"lowtide/casebook"
	"lowtide/rule"
	"lowtide/state"
)

// Brothers of what was once said wrongly: what must be said was written down before each was run.
func init() {
	second := func(h float64) []step {
		return []step{at(h, wound("B", nil)), at(h+0.1, order(func(o *casebook.OrderWritten) { o.Wounds = []string{"A", "B"} })),
			at(h+0.2, casebook.PumpAssigned{Pump: "P-14", Class: "portable", CanisterML: num(300), Wounds: []string{"B"}})}
	}
	visitOf := func(out, in int) casebook.DressingChanged {
		return change(func(d *casebook.DressingChanged) { d.Wounds[0].Out, d.Wounds[0].In = foam(out), foam(in) })
	}
	accounted := func(h float64, how string) step {
		return at(h, casebook.PiecesAccounted{Wound: "A", Filler: "foam", Count: 1, Outcome: how, By: "N. Second", Note: "in the old dressing"})
	}
	callOf := func(h float64, k casebook.CallTaken) step { k.Call = "k9"; return at(h, k) }
	answer := func(q, a string) casebook.CallAnswer { return casebook.CallAnswer{Question: q, Answer: a} }
	toldStories = append(toldStories,
		told{name: "the blood was written in the wrong case and withdrawn: off is off by accident", steps: []step{blood(-1).called("b"), therapy(-0.9, "off"), withdraws(-0.5, "b")},
			suction: state.SuctionOff, level: rule.Today, asks: []string{"restore-suction"}, never: []string{"leave-suction-off"}},
		told{name: "off for eight hours, written down late", steps: []step{{atH: -8, writtenH: -0.5, body: casebook.PowerNoted{Therapy: "off"}}},
			suction: state.SuctionOff, level: rule.ActNow, asks: []string{"dressing-off"}, never: []string{"restore-suction"}, says: "since Wed 4 Mar 04:00, longer than 2 h"},
		told{name: "off for seven hours, written down late, and on again since", steps: []step{therapy(-1, "on"), {atH: -8, writtenH: -0.5, body: casebook.PowerNoted{Therapy: "off"}}},
			suction: state.SuctionOn, level: rule.ActNow, asks: []string{"dressing-off"}, never: []string{"restore-suction"}, says: "7 h"},
		told{name: "off over the hour that the clocks jump: two hours and a quarter, not three",
			steps: []step{at(-1, person(func(p *casebook.PersonRegistered) { p.Zone = "America/New_York" })), at(92.75, casebook.AlarmReported{Alarm: "leak", OffSince: when(90.5), Settled: yes, ReportedBy: "the carer"})},
			wait:  93 * time.Hour, suction: state.SuctionOn, level: rule.ActNow, asks: []string{"dressing-off"}, says: "2 h 15 min"},
		told{name: "off over midnight", steps: []step{at(-9.8, casebook.AlarmReported{Alarm: "blockage", OffSince: when(-12.5), Settled: yes, ReportedBy: "the carer"})},
			suction: state.SuctionOn, level: rule.ActNow, asks: []string{"dressing-off"}, says: "2 h 42 min"},
		told{name: "off an hour by a call, then seen running: no dressing comes off for it", steps: []step{callOf(-2.5, casebook.CallTaken{OffSince: when(-3)}), at(-2, change(nil)), at(-1.9, signed())},
			suction: state.SuctionOn, never: []string{"dressing-off", "restore-suction", "leave-suction-off"}},
		told{name: "an order stopped, then another in force: nothing keeps suction off any more", steps: []step{at(-1.5, casebook.OrderStopped{By: "Dr Vance", Note: "theatre"}), at(-1, order(nil))},
			suction: state.SuctionOff, never: []string{"leave-suction-off"}, asks: []string{"restore-suction"}},
		told{name: "a decision to stop, then one to go on", steps: []step{at(-1.5, casebook.DecisionMade{Choice: "stop", By: "Dr Vance", Reasons: "bleeding", Unsure: "nothing"}), at(-0.5, casebook.DecisionMade{Choice: "continue", By: "Dr Vance", Reasons: "it was the drain", Unsure: "nothing", NextAt: when(60)})},
			suction: state.SuctionOff, never: []string{"leave-suction-off"}, asks: []string{"restore-suction"}},
		told{name: "a decision to stop one of two wounds leaves the pump of the other alone", steps: join(second(-3), []step{at(-1.5, casebook.DecisionMade{Choice: "stop", Wounds: []string{"B"}, By: "Dr Vance", Reasons: "closed", Unsure: "nothing"})}),
			suction: state.SuctionOn, never: []string{"leave-suction-off"}},
		told{name: "one of two pumps went back: the other one is not off", steps: join(second(-3), []step{therapy(-2, "on"), at(-1, casebook.PumpReturned{Pump: "P-14"})}),
			suction: state.SuctionOn, never: []string{"restore-suction", "leave-suction-off"}},
		told{name: "pumps exchanged, and nobody wrote whether the new one runs", steps: []step{at(-3, casebook.PumpReturned{Pump: "P-11"}), at(-2.9, casebook.PumpAssigned{Pump: "P-14", Class: "portable", CanisterML: num(300), Wounds: []string{"A"}})},
			suction: state.SuctionNotKnown, asks: []string{"look"}, never: []string{"leave-suction-off"}},
		told{name: "blood while suction runs: it is stopped, whoever wrote that it runs", steps: []step{blood(-1), therapy(-0.5, "on")},
			suction: state.SuctionOn, level: rule.ActNow, asks: []string{"leave-suction-off", "emergency", "press"}, never: []string{"restore-suction", "change-canister"}},
		told{name: "blood cannot be told in a call that broke off, and the pump is off", steps: []step{callOf(-0.5, casebook.CallTaken{Caller: "the daughter", Therapy: "off", OffSince: when(-1), Answers: []casebook.CallAnswer{answer("danger:blood", "unknown")}, Ended: "broken off"})},
			suction: state.SuctionOffOnPurpose, level: rule.ActNow, asks: []string{"look-blood", "dressing-stays"}, never: []string{"restore-suction"}},
		told{name: "blood told in a call, never looked after", steps: []step{callOf(-3, casebook.CallTaken{Caller: "the daughter", Therapy: "off", Answers: []casebook.CallAnswer{answer("danger:blood", "yes")}, Ended: "broken off"})},
			suction: state.SuctionOffOnPurpose, level: rule.ActNow, asks: []string{"leave-suction-off", "dressing-stays", "look-blood"}, never: []string{"restore-suction", "dressing-off"}},
		told{name: "a piece was found, and the next count is short again", steps: []step{at(-6, visitOf(0, 1)), accounted(-5, "found and removed"), at(-1, visitOf(0, 1))},
			suction: state.SuctionOn, level: rule.ActNow, asks: []string{"find-piece"}},
		told{name: "a piece was found, and the next count is right", steps: []step{at(-6, visitOf(0, 1)), accounted(-5, "found and removed"), at(-1, visitOf(1, 1)), at(-0.9, signed())},
			suction: state.SuctionOn, never: []string{"find-piece"}},
		told{name: "therapy ended, the dressing not yet off for three hours", steps: []step{at(-3.5, casebook.OrderStopped{By: "Dr Vance"}), at(-3, ended("goal met"))},
			suction: state.SuctionOffOnPurpose, level: rule.ActNow, asks: []string{"dressing-off"}, never: []string{"restore-suction"}},
		told{name: "therapy ended and the dressing taken off at once", steps: []step{at(-3.5, casebook.OrderStopped{By: "Dr Vance"}), at(-3, ended("goal met")), at(-2.9, taken(1)), at(-2.8, signed()), at(-2, casebook.PumpReturned{Pump: "P-11", Cleaned: yes})},
			suction: state.SuctionOffOnPurpose, never: []string{"dressing-off", "restore-suction", "leave-suction-off"}},
		told{name: "a baby of three months at the depth for adults", steps: []step{at(-1, person(func(p *casebook.PersonRegistered) { p.Born = "2025-12-01" }))},
			suction: state.SuctionOn, level: rule.ActNow, asks: []string{"tell-prescriber", "settle"}, asked: state.AskedPerson},
		told{name: "34.9 degrees", steps: []step{at(-1, casebook.NoteWritten{Text: "cold", Seen: casebook.Seen{Signs: []string{"none"}, TemperatureC: num(34.9)}})},
			suction: state.SuctionOn, level: rule.ActNow, asks: []string{"tell-prescriber", "observe"}, says: "34.9"},
		told{name: "a rest of two hours in two stages, one at each end of the cycle", steps: []step{at(-2, staged(0, 70, 125, 30, 0, 70))},
			suction: state.SuctionOn, level: rule.Today, asks: []string{"tell-prescriber"}},
		told{name: "a canister that holds less than before, and nobody changed it", steps: []step{at(-10, read(150, "straw")), at(-1, read(20, "straw"))},
			suction: state.SuctionOn, asks: []string{"ask"}},
		told{name: "millimetres typed as centimetres", steps: []step{at(-1, measured(68, 29, 2.2, nil))},
			suction: state.SuctionOn, asks: []string{"settle"}, asked: state.AskedSize, says: "grew more than wounds do"},
		told{name: "kPa typed as mmHg in the order", steps: []step{at(-1, suction(16.5))},
			suction: state.SuctionOn, level: rule.Today, asks: []string{"tell-prescriber"}},
		told{name: "two wounds, one screened and answered: the other is named", steps: join(second(-3), []step{at(-2, func() casebook.ScreeningDone { s := screened(nil); s.Wound = "A"; return s }())}),
			suction: state.SuctionOn, level: rule.Today, says: "B"},
		told{name: "green in the canister while it runs", steps: []step{at(-1, read(60, "green"))},
			suction: state.SuctionOn, level: rule.Today, asks: []string{"look", "observe"}},
		told{name: "an unsettled alarm after the last look", steps: []step{at(-1, casebook.AlarmReported{Alarm: "leak", ReportedBy: "the carer"})},
			suction: state.SuctionNotKnown, asks: []string{"look"}, never: []string{"leave-suction-off"}},
		told{name: "an unsettled alarm three hours ago at which the pump showed no suction", steps: []step{at(-3, casebook.AlarmReported{Alarm: "battery low", SuctionMmHg: num(0), ReportedBy: "the carer"})},
			suction: state.SuctionOff, level: rule.ActNow, asks: []string{"dressing-off", "look-blood"}, never: []string{"restore-suction"}, says: "longer than 2 h"},
		told{name: "off twice for an hour and a half each, seen running between: one dressing, three hours in a day", steps: []step{therapy(-8, "off"), therapy(-6.5, "on"), therapy(-4, "off"), therapy(-2.5, "on")},
			suction: state.SuctionOn, level: rule.Today, asks: []string{"look"}, says: "3 h"},
	)
}
