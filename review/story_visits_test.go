package review_test

import (
	"time"

	"lowtide/casebook"
	"lowtide/rule"
)

const hour = time.Hour

func teaching(understood *bool, topics ...string) casebook.TeachingGiven {
	return casebook.TeachingGiven{To: "patient", Topics: topics, Understood: understood}
}

func init() {
	everyOpen := at(-123, order(func(o *casebook.OrderWritten) { o.ChangeEveryH = nil }))
	noOrder := []casebook.Kind{casebook.KindOrderWritten}
	noVisit := []casebook.Kind{casebook.KindDressingChanged}
	noTeaching := []casebook.Kind{casebook.KindTeachingGiven}
	planned := func(h float64) casebook.NoteWritten {
		return casebook.NoteWritten{Text: "Visit arranged by telephone.", NextVisit: when(h)}
	}
	seal := func(s string) casebook.DressingChanged {
		return change(func(d *casebook.DressingChanged) { d.Seal = s })
	}
	alarm := func(h float64, name string, off *time.Time) step {
		return at(h, casebook.AlarmReported{Alarm: name, OffSince: off, ReportedBy: "the patient"})
	}
	// Another service put filler in and started the therapy.
	holds := at(-24, wound("A", func(w *casebook.WoundFound) { w.InPlace = foam(1) }))
	everything := []string{"alarms", "bleeding", "whom to call", "leak"}
	storyOf(
		story{rule: "VIS-ALARM-01", level: rule.Today, tell: []step{alarm(-2, "blockage", nil), at(-1, settled("leak"))}, says: []string{"blockage", "Wed 4 Mar 10:00"}, act: []step{at(1, settled("blockage"))}},
		story{rule: "VIS-CALL-01", level: rule.Today, tell: []step{at(-2, person(func(p *casebook.PersonRegistered) { p.Contacts = nil }))}, act: []step{at(1, person(nil))}},
		story{rule: "VIS-CALL-01", level: rule.Today, state: rule.CannotTell, without: []casebook.Kind{casebook.KindPersonRegistered}, act: []step{at(1, person(nil))}},
		story{rule: "VIS-DUE-01", level: rule.Plan, wound: "A", without: noOrder, tell: []step{everyOpen}, wait: 26 * hour, says: []string{"Wound A", "Tue 3 Mar 12:00", "2 days and 3 days"}, act: []step{at(27, change(nil))}},
		story{rule: "VIS-DUE-01", level: rule.Today, state: rule.CannotTell, wound: "A", without: append(noVisit, noOrder...), tell: []step{everyOpen, holds}, says: []string{"Wound A"}, act: []step{at(1, change(nil))}},
		story{rule: "VIS-DUE-02", level: rule.Today, wound: "A", without: noOrder, tell: []step{everyOpen}, wait: 49 * hour, says: []string{"Wound A", "Tue 3 Mar 12:00"}, act: []step{at(50, change(nil))}},
		story{rule: "VIS-DUE-03", level: rule.Today, wound: "A", without: noOrder, tell: []step{everyOpen}, wait: 73 * hour, says: []string{"Wound A", "Tue 3 Mar 12:00"}, act: []step{at(74, change(nil))}},
		story{rule: "VIS-INFECT-01", level: rule.Today, wound: "A", without: noOrder, tell: []step{everyOpen, at(-100, wound("A", func(w *casebook.WoundFound) { w.Infected = yes }))}, wait: hour, says: []string{"Wound A", "Tue 3 Mar 12:00"}, act: []step{at(2, change(nil))}},
		story{rule: "VIS-INFECT-01", level: rule.Plan, state: rule.CannotTell, wound: "A", without: noOrder, tell: []step{everyOpen, at(-100, wound("A", func(w *casebook.WoundFound) { w.Infected = nil }))}, wait: hour, says: []string{"Wound A"}, act: []step{at(2, wound("A", nil))}},
		story{rule: "VIS-LAST-01", level: rule.Today, wait: 49 * hour, says: []string{"Tue 3 Mar 12:00", "3 days"}, act: []step{at(50, change(nil))}},
		story{rule: "VIS-LAST-01", level: rule.Today, state: rule.CannotTell, without: noVisit, tell: []step{holds}, act: []step{at(1, change(nil))}},
		story{rule: "VIS-MEASURE-01", level: rule.Plan, wound: "A", wait: 145 * hour, says: []string{"Wound A", "Tue 3 Mar 12:06"}, act: []step{at(146, measured(6, 2.5, 1.8, nil))}},
		story{rule: "VIS-MEASURE-01", level: rule.Plan, state: rule.CannotTell, wound: "A", without: []casebook.Kind{casebook.KindWoundMeasured}, says: []string{"Wound A"}, act: []step{at(1, measured(6.8, 2.9, 2.2, nil))}},
		story{rule: "VIS-MEASURE-02", level: rule.Today, wound: "A", wait: 700 * hour, says: []string{"Wound A", "Tue 3 Mar 12:06", "30 days"}, act: []step{at(701, measured(5, 2, 1, nil))}},
		story{rule: "VIS-NEXT-01", level: rule.Today, tell: []step{at(-2, change(func(d *casebook.DressingChanged) { d.NextVisit = nil }))}, act: []step{at(1, planned(40))}},
		story{rule: "VIS-NEXT-02", level: rule.Today, wait: 35 * hour, says: []string{"Thu 5 Mar 18:00"}, act: []step{at(36, planned(40))}},
		story{rule: "VIS-NEXT-03", level: rule.Today, tell: []step{at(-2, planned(62))}, says: []string{"Sat 7 Mar 02:00"}, act: []step{at(1, planned(30))}},
		story{rule: "VIS-OFF-01", level: rule.ActNow, tell: []step{alarm(-2.4, "leak", when(-2.5))}, says: []string{"Wed 4 Mar 09:30", "2 h"}, act: []step{at(0.5, change(nil))}},
		story{rule: "VIS-OFF-01", level: rule.ActNow, state: rule.CannotTell, tell: []step{at(-3, counted(foam(1), nil)), at(-2.5, casebook.PowerNoted{Therapy: "off"})}, act: []step{at(0.5, taken(1))}},
		story{rule: "VIS-OFF-02", level: rule.Today, tell: []step{at(-1, casebook.PowerNoted{Therapy: "off"})}, says: []string{"Wed 4 Mar 11:00", "2 h"}, act: []step{at(0.4, casebook.PowerNoted{Therapy: "on"})}},
		story{rule: "VIS-OFF-03", level: rule.ActNow, tell: []step{alarm(-2.4, "leak", when(-3)), at(-0.5, casebook.PowerNoted{Therapy: "on"})}, says: []string{"2 h 30 min", "longer than 2 h"}, act: []step{at(0.5, change(nil))}},
		story{rule: "VIS-OFF-06", level: rule.Today, tell: []step{therapy(-8, "off"), therapy(-6.5, "on"), therapy(-4, "off"), therapy(-2.5, "on")}, says: []string{"3 h", "22 h"}, act: []step{at(0.5, change(nil))}},
		story{rule: "VIS-OFF-04", level: rule.Today, tell: []step{at(-1, casebook.NoteWritten{Text: "bleeds", Seen: casebook.Seen{Signs: []string{"bright red blood"}}}), at(-0.9, casebook.PowerNoted{Therapy: "off"})}, says: []string{"off on purpose since Wed 4 Mar 11:06", "bright red blood"}, act: []step{at(0.5, change(func(d *casebook.DressingChanged) {
			d.Settles, d.Done = []string{"bright red blood"}, "bleeding stopped, surgeon was there"
		}))}},
		story{rule: "VIS-OFF-05", level: rule.Today, tell: []step{at(-1, casebook.PumpReturned{Pump: "P-11"})}, says: []string{"Wed 4 Mar 11:00", "No pump"}, act: []step{at(0.5, taken(1))}},
		story{rule: "VIS-ORDER-01", level: rule.Plan, wound: "A", wait: 28 * hour, says: []string{"Wound A", "Tue 3 Mar 12:00", "2 days 12 h"}, act: []step{at(30, change(nil))}},
		story{rule: "VIS-ORDER-01", level: rule.Today, state: rule.CannotTell, wound: "A", without: noVisit, tell: []step{holds}, says: []string{"Wound A"}, act: []step{at(1, change(nil))}},
		story{rule: "VIS-ORDER-02", level: rule.Today, wound: "A", wait: 37 * hour, says: []string{"Wound A", "Tue 3 Mar 12:00", "2 days 12 h"}, act: []step{at(38, change(nil))}},
		story{rule: "VIS-PLACE-01", level: rule.Note, without: []casebook.Kind{casebook.KindPersonRegistered}, act: []step{at(1, person(nil))}},
		story{rule: "VIS-RUN-01", level: rule.ActNow, tell: []step{alarm(-2.4, "blockage", nil)}, says: []string{"blockage", "Wed 4 Mar 09:36", "2 h"}, act: []step{at(0.2, settled("blockage"))}},
		story{rule: "VIS-RUN-02", level: rule.Today, tell: []step{alarm(-1, "blockage", nil)}, says: []string{"blockage", "Wed 4 Mar 11:00"}, act: []step{at(0.2, casebook.PowerNoted{Therapy: "on"})}},
		story{rule: "VIS-RUN-03", level: rule.Plan, tell: []step{at(-2, change(func(d *casebook.DressingChanged) { d.SuctionMmHg, d.Power = nil, nil }))}, act: []step{at(1, casebook.PowerNoted{Therapy: "on"})}},
		story{rule: "VIS-SEAL-01", level: rule.Today, tell: []step{at(-1, seal("leaks"))}, says: []string{"Wed 4 Mar 11:00"}, act: []step{at(0.5, settled("leak"))}},
		story{rule: "VIS-SEAL-02", level: rule.ActNow, tell: []step{at(-3, seal("leaks"))}, says: []string{"Wed 4 Mar 09:00", "2 h"}, act: []step{at(0.5, change(nil))}},
		story{rule: "VIS-SEAL-03", level: rule.Plan, tell: []step{at(-3, seal("not checked"))}, says: []string{"Wed 4 Mar 09:00"}, act: []step{at(40, change(nil))}},
		story{rule: "VIS-SEAL-03", level: rule.Plan, state: rule.CannotTell, tell: []step{at(-3, seal(""))}, act: []step{at(40, change(nil))}},
		story{rule: "VIS-TEACH-01", level: rule.Plan, without: noTeaching, tell: []step{at(-721, teaching(yes, everything...))}, says: []string{"Mon 2 Feb 11:00", "30 days"}, act: []step{at(20, teaching(yes, everything...))}},
		story{rule: "VIS-TEACH-01", level: rule.Today, state: rule.CannotTell, without: noTeaching, act: []step{at(2, teaching(yes, everything...))}},
		story{rule: "VIS-TEACH-02", level: rule.Today, tell: []step{at(-3, teaching(no, everything...))}, says: []string{"Wed 4 Mar 09:00"}, act: []step{at(2, teaching(yes, everything...))}},
		story{rule: "VIS-TEACH-02", level: rule.Plan, state: rule.CannotTell, tell: []step{at(-3, teaching(nil, everything...))}, act: []step{at(2, teaching(yes, everything...))}},
		story{rule: "VIS-TEACH-03", level: rule.Today, without: noTeaching, tell: []step{at(-3, teaching(yes, "alarms", "whom to call"))}, act: []step{at(2, teaching(yes, "bleeding"))}},
		story{rule: "VIS-TEACH-04", level: rule.Today, without: noTeaching, tell: []step{at(-3, teaching(yes, "bleeding", "whom to call"))}, act: []step{at(2, teaching(yes, "alarms"))}},
		story{rule: "VIS-TEACH-05", level: rule.Today, without: noTeaching, tell: []step{at(-3, teaching(yes, "bleeding", "alarms"))}, act: []step{at(2, teaching(yes, "whom to call"))}},
	)
}
