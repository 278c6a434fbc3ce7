package demo

import (
	"time"

	"lowtide/casebook"
)

// Stories about visits, progress and the end of therapy.

const (
	minute  = time.Minute
	rfc3339 = time.RFC3339
)

func pieces(filler string, n int) []casebook.Pieces {
	return []casebook.Pieces{{Filler: filler, Count: n}}
}

func goesWell(t *teller, p patient) {
	c := standard()
	c.days, c.last, c.next = 24, 50*hour, 8*hour
	c.order = func(o *casebook.OrderWritten) { o.GoalKind, o.GoalDepthCm = "depth under", num(1) }
	c.tell(t, p)
}

func lostFromSight(t *teller, p patient) {
	c := standard()
	c.days, c.last, c.next, c.unsigned, c.measuredOnce = 36, 100*hour, 0, true, true
	c.wound.Site, c.wound.Type = "left lower leg, inner side", "venous"
	c.wound.Limb = yes()
	c.person = func(r *casebook.PersonRegistered) { r.Contacts = nil }
	c.tell(t, p)
	t.ago(90*hour, casebook.OrderStopped{By: "Dr I. Vance", Note: "Compression instead. Dressing and pump to be fetched."})
}

func noPapers(t *teller, _ patient) {
	t.ago(9*hour, casebook.WoundFound{Wound: "A", Site: "sacrum", Type: "pressure", Stage: "4", Limb: no(), Circumferential: no(), PoorPerfusion: no(), Infected: no(), InPlace: pieces("foam", 2)})
	t.ago(8*hour, casebook.NoteWritten{Text: "Brought from another town after midnight. \"2 foam\" is written on the drape. No pump, no letter; she cannot say her name.", Seen: casebook.Seen{Signs: []string{"bad smell"}}})
}

func missedVisit(t *teller, p patient) {
	c := standard()
	c.wound = casebook.WoundFound{Wound: "A", Site: "right buttock", Type: "pressure", Stage: "3", Limb: no(), Circumferential: no(), PoorPerfusion: no(), Infected: no()}
	c.days, c.last, c.missed = 8, 63*hour, 15*hour
	c.topics, c.understood = []string{"leak", "canister"}, no()
	c.filler, c.suction = "dense foam", 102
	c.newest = func(d *casebook.DressingChanged) {
		d.PumpPlace = &casebook.PumpPlace{Place: "floor", AboveCm: num(-60), Liquid: "full"}
		d.Wounds[0].Bed = []string{"slough", "eschar"}
	}
	c.tell(t, p)
	t.ago(20*hour, casebook.AlarmReported{Alarm: "blockage", ReportedBy: "night staff"})
	t.ago(19*hour, casebook.AlarmReported{Alarm: "tilted", Settled: yes(), ReportedBy: "night staff", Note: "Stood it up; it runs."})
	// What was in the canister at the visit has hardly grown since: the tube is blocked.
	t.ago(21*hour, casebook.CanisterRead{VolumeML: num(20), Colour: "straw"})
	t.ago(5*hour, casebook.CanisterRead{VolumeML: num(20), Colour: "straw"})
	back := t.now.Add(4 * hour).Truncate(15 * time.Minute)
	t.ago(18*hour, casebook.PowerNoted{BatteryPct: num(60), PluggedIn: no(), PlugInAt: &back, Note: "The charger comes with the van."})
	leftOpen(t)
}

func goalMet(t *teller, p patient) {
	c := standard()
	c.days, c.every, c.last, c.length, c.width, c.depth, c.perDay, c.pieces, c.suction = 33, 96*hour, 40*hour, 5.5, 2.5, 1.4, 12, 1, 60
	c.sameCanister, c.next = 9*day, 50*hour
	c.answers = map[string]string{"size_and_weight": "yes", "allergy": "yes", "mri_planned": "yes"}
	c.accepts = []string{"size_and_weight", "allergy", "mri_planned"}
	c.order = func(o *casebook.OrderWritten) { o.GoalKind = "bed level" }
	c.tell(t, p)
	t.ago(39*hour, casebook.WoundMeasured{Wound: "A", LengthCm: num(3.9), WidthCm: num(1.6), DepthCm: num(0), Method: "ruler", Convention: "head to toe", Tissue: &casebook.Tissue{GranulationPct: 100}, BedLevel: yes()})
	// Two sizes of one evening contradict each other; a third, this morning, stands by itself.
	t.ago(2*hour, casebook.WoundMeasured{Wound: "A", LengthCm: num(4.1), WidthCm: num(1.9), DepthCm: num(0), Method: "ruler", Convention: "head to toe", Tissue: &casebook.Tissue{GranulationPct: 100}, BedLevel: yes()})
	t.ago(30*hour, casebook.NoteWritten{Text: "Her sister rang: the family doctor started apixaban last week, because of the heart."})
}

func stalled(t *teller, p patient) {
	c := standard()
	c.days, c.areaFall, c.depthFall = 41, -0.14, -0.01
	c.wound.Type, c.wound.Site, c.wound.Limb, c.wound.PoorPerfusion = "diabetic foot", "right foot, sole", yes(), yes()
	c.filler, c.suction = "gauze", 35
	c.answers = map[string]string{"osteomyelitis": "yes", "hyperbaric_planned": "yes"}
	c.order = func(o *casebook.OrderWritten) { o.DurationDays, o.ContactLayer = num(43), "silicone" }
	c.newest = func(d *casebook.DressingChanged) {
		d.Wounds[0].Bed, d.TemperatureC = []string{"slough", "pale"}, num(38.3)
	}
	c.tell(t, p)
	t.ago(27*day, casebook.NoteWritten{Text: "Asked him on the stairs: he would rather go on than have it fail again.", Wish: "to go on"})
	t.ago(3*day, casebook.NoteWritten{Text: "He is tired of the tube at night and does not see what it is for any more. He wants to say so to Dr Vance himself.", Wish: "to stop"})
	evening := t.now.Add(-13 * hour).Truncate(15 * time.Minute)
	t.ago(16*hour, casebook.PowerNoted{BatteryPct: num(85), PluggedIn: no(), PlugInAt: &evening, Note: "Out for the evening; he plugs it in when he is back."})
	t.ago(35*minute, casebook.PumpReturned{Pump: pump(t.n), Note: "The van took it along with the empty one of next door."})
	due := t.inHours(t.now.Add(-2 * day))
	t.ago(16*day, casebook.DecisionMade{Choice: "continue", By: "Dr I. Vance", Wounds: []string{"A"}, NextAt: &due, Reasons: "The bed looks cleaner since the change of filler.",
		Unsure: "Two sizes only, both by ruler; whether the shoe is worn.", Tried: []string{"filler", "off-loading"}})
}
