package review_test

import (
	"lowtide/casebook"
	"lowtide/rule"
)

func init() {
	noPump := []casebook.Kind{casebook.KindPumpAssigned}
	unsized := casebook.PumpAssigned{Pump: "P-11", Class: "portable", Wounds: []string{"A"}}
	power := func(pct float64, plugged *bool) casebook.PowerNoted {
		return casebook.PowerNoted{BatteryPct: num(pct), PluggedIn: plugged}
	}
	unnoted := []casebook.Kind{casebook.KindDressingChanged}
	first := change(func(d *casebook.DressingChanged) {
		d.Wounds[0].Out, d.Wounds[0].NoneOut, d.Power, d.Canister = nil, true, nil, nil
	})
	storyOf(
		story{rule: "CAN-ALARM-01", level: rule.ActNow, tell: []step{at(-0.5, casebook.AlarmReported{Alarm: "canister full"})}, says: []string{"Wed 4 Mar 11:30"}, act: []step{at(0.3, fresh(290, "straw")), at(0.4, settled("canister full"))}},
		story{rule: "CAN-DROP-01", level: rule.Today, tell: []step{at(-3, read(120, "straw")), at(-1, read(40, "straw"))}, says: []string{"40 mL"},
			// The son changed it at ten; that is written down an hour after noon.
			act: []step{{atH: -2, writtenH: 1, body: fresh(150, "straw")}}},
		story{rule: "CAN-FULL-01", level: rule.ActNow, tell: []step{at(-1, read(288, "straw"))}, says: []string{"96 %", "288 mL of 300 mL", "Wed 4 Mar 11:00"}, act: []step{at(0.2, fresh(290, "straw"))}},
		story{rule: "CAN-HIGH-01", level: rule.Note, tell: []step{at(-1, read(110, "straw"))}, says: []string{"115 mL a day", "90 mL a day"}, act: []step{at(23, read(170, "straw"))}},
		story{rule: "CAN-LOSS-01", level: rule.Plan, tell: []step{at(-22, fresh(20, "straw")), at(-8, fresh(150, "straw")), at(-1, read(110, "straw"))}, says: []string{"292 mL a day", "245 mL a day"}, act: []step{at(23, read(200, "straw"))}},
		story{rule: "CAN-NEAR-01", level: rule.Today, tell: []step{at(-1, read(240, "straw"))}, says: []string{"80 %", "240 mL of 300 mL"}, act: []step{at(3, fresh(250, "straw"))}},
		story{rule: "CAN-NEAR-01", level: rule.Plan, state: rule.CannotTell, without: noPump, tell: []step{at(-122, unsized)}, act: []step{at(1, casebook.CanisterRead{VolumeML: num(100), Colour: "straw", Changed: yes, SizeML: num(300)})}},
		story{rule: "CAN-OVER-01", level: rule.ActNow, tell: []step{at(-1, read(480, "straw")).called("slip")}, says: []string{"480 mL", "300 mL"}, act: []step{replaces(0.2, "slip", read(48, "straw"))}},
		story{rule: "CAN-READ-01", level: rule.Plan, wait: 50 * hour, says: []string{"Tue 3 Mar 12:00"}, act: []step{at(51, read(100, "straw"))}},
		story{rule: "CAN-READ-02", level: rule.Today, tell: []step{at(-1, read(110, "straw"))}, wait: 24 * hour, says: []string{"115 mL a day", "Wed 4 Mar 11:00"}, act: []step{at(25, read(190, "straw"))}},
		story{rule: "CAN-WEEK-01", level: rule.Today, wait: 145 * hour, says: []string{"Tue 3 Mar 12:00", "7 days"}, act: []step{at(146, fresh(280, "straw"))}},
		story{rule: "CAN-WEEK-01", level: rule.Plan, state: rule.CannotTell, without: append(noPump, casebook.KindDressingChanged), tell: []step{at(-122, unsized), at(-24, first)}, act: []step{at(1, fresh(100, "straw"))}},

		story{rule: "POW-ALARM-01", level: rule.ActNow, tell: []step{at(-0.5, casebook.AlarmReported{Alarm: "battery low"})}, says: []string{"Wed 4 Mar 11:30"}, act: []step{at(0.2, casebook.PowerNoted{PluggedIn: yes}), at(0.3, settled("battery low"))}},
		story{rule: "POW-LOW-01", level: rule.Today, tell: []step{at(-1, power(18, no))}, says: []string{"18 %", "Wed 4 Mar 11:00"}, act: []step{at(0.5, casebook.PowerNoted{PluggedIn: yes})}},
		story{rule: "POW-LOW-01", level: rule.Plan, state: rule.CannotTell, without: unnoted, tell: []step{at(-24, first)}, act: []step{at(1, power(85, yes))}},
		story{rule: "POW-FLAT-01", level: rule.ActNow, tell: []step{at(-23, power(90, no))}, wait: 12 * hour, says: []string{"battery ran flat about"}, act: []step{at(13, casebook.PowerNoted{PluggedIn: yes, Therapy: "on"})}},
		story{rule: "POW-LOW-02", level: rule.ActNow, tell: []step{at(-1, power(4, no))}, says: []string{"4 %", "Wed 4 Mar 11:00"}, act: []step{at(0.5, casebook.PowerNoted{PluggedIn: yes, Therapy: "on"})}},
		story{rule: "POW-OLD-01", level: rule.Note, wait: 50 * hour, says: []string{"Tue 3 Mar 12:00"}, act: []step{at(51, power(90, yes))}},
		story{rule: "POW-PLUG-01", level: rule.Plan, tell: []step{at(-13, casebook.PowerNoted{BatteryPct: num(90), PluggedIn: no, PlugInAt: when(-10)})}, says: []string{"Tue 3 Mar 23:00"}, act: []step{at(1, power(60, yes))}},
	)
}
