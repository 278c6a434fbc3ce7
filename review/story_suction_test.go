package review_test

import (
	"lowtide/casebook"
	"lowtide/rule"
)

func init() {
	// held is a visit with a hold test of so many seconds.
	held := func(first, second, seconds float64) casebook.DressingChanged {
		return change(func(d *casebook.DressingChanged) {
			d.HoldTest = &casebook.HoldTest{FirstMmHg: first, SecondMmHg: second, Seconds: seconds}
		})
	}
	unread := held(125, 100, 60)
	unread.Canister = nil
	put := func(p casebook.PumpPlace) casebook.DressingChanged {
		return change(func(d *casebook.DressingChanged) { d.PumpPlace = &p })
	}
	altitude := func(m float64) casebook.PersonRegistered {
		return person(func(p *casebook.PersonRegistered) { p.AltitudeM = num(m) })
	}
	unplugged := func(pct float64, back *float64) casebook.PowerNoted {
		p := casebook.PowerNoted{BatteryPct: num(pct), PluggedIn: no, Therapy: "on"}
		if back != nil {
			p.PlugInAt = when(*back)
		}
		return p
	}
	hour := func(h float64) *float64 { return &h }
	storyOf(
		// A rest of two minutes under a tight dressing: no leak of up to 50 mL/min lets the vacuum out in time.
		story{rule: "SUC-STAGE-01", level: rule.Plan, tell: []step{at(-2, staged(125, 5, 0, 2))}, says: []string{"Stage 2 (0 mmHg) is never reached at the wound"}, act: []step{at(1, order(nil))}},
		story{rule: "SUC-STAGE-01", level: rule.Note, state: rule.CannotTell, tell: []step{at(-2, staged(125, 4, 100, 3))}, says: []string{"no seal test was made on this dressing"}, act: []step{at(1, held(125, 60, 60))}},
		story{rule: "SUC-MEAN-01", level: rule.Plan, tell: []step{at(-2, staged(125, 5, 0, 2))}, says: []string{"the wound gets 120 mmHg", "92 mmHg are ordered", "10 %"}, act: []step{at(1, order(nil))}},
		story{rule: "SUC-MEAN-01", level: rule.Note, state: rule.CannotTell, tell: []step{at(-2, staged(125, 8, 0, 1))}, says: []string{"10 %", "no seal test"}, act: []step{at(1, order(nil))}},
		// 50 cm of liquid: 1020 · 9.80665 · 0.5 / 133.322 = 38 mmHg.
		story{rule: "SUC-HEAD-01", level: rule.Plan, tell: []step{at(-2, put(casebook.PumpPlace{Place: "shoulder", AboveCm: num(50), Liquid: "full"}))}, says: []string{"50 cm above the wound", "takes from", "38 mmHg"}, act: []step{at(1, put(casebook.PumpPlace{Place: "bed", AboveCm: num(0), Liquid: "none"}))}},
		story{rule: "SUC-HEAD-01", level: rule.Note, state: rule.CannotTell, tell: []step{at(-2, put(casebook.PumpPlace{Place: "floor"}))}, says: []string{"on the floor", "adds to", "75 mmHg"}, act: []step{at(1, put(casebook.PumpPlace{Place: "floor", Liquid: "none"}))}},
		// 289 mL of gas: 125 to 124 mmHg in five minutes is 0.1 mL/min, to 60 in one minute 35 mL/min.
		story{rule: "SUC-SEAL-01", level: rule.Plan, tell: []step{at(-10, held(125, 124, 300)), at(-2, held(125, 60, 60))}, says: []string{"worse than last time", "at least 21 mL/min now", "at most 0.3 then"}, act: []step{at(1, held(125, 123, 60))}},
		story{rule: "SUC-SEAL-01", level: rule.Note, state: rule.CannotTell, tell: []step{at(-10, held(125, 100, 60)), at(-2, unread)}, says: []string{"no canister reading at the time of the test"}, act: []step{at(1, held(125, 100, 60))}},
		// 289 mL · 125/760 · ln(125/15) · 60/5 = 1209 mL/min. At 123.5 mmHg at the wound the pump moves 2000 (1 − 124/220),
		// which as a leak at 125 mmHg is 883.
		story{rule: "SUC-LEAK-01", level: rule.Today, tell: []step{at(-2, held(125, 15, 5))}, says: []string{"a leak of 1200 mL/min", "holds up to 880 mL/min"}, act: []step{at(1, held(125, 120, 60))}},
		// ISO 2533: 101325 Pa · (1 − 0.0065 · 2200 / 288.15)^5.2559 = 582 mmHg.
		story{rule: "SUC-ALT-01", level: rule.Note, tell: []step{at(-2, altitude(2200))}, says: []string{"2200 m", "582 mmHg"}, act: []step{at(1, altitude(300))}},
		story{rule: "POW-LAST-01", level: rule.Today, tell: []step{at(-1, unplugged(55, hour(12)))}, says: []string{"it has to last until Thu 5 Mar 00:00"}, act: []step{at(1, unplugged(50, hour(3)))}},
		story{rule: "POW-LAST-01", level: rule.Plan, state: rule.CannotTell, without: []casebook.Kind{casebook.KindPumpAssigned}, tell: []step{at(-30, casebook.PumpAssigned{Pump: "P-11", CanisterML: num(300)}), at(-1, unplugged(55, hour(12)))},
			act: []step{at(1, casebook.PowerNoted{BatteryPct: num(55), PluggedIn: yes, Therapy: "on"})}},
	)
}
