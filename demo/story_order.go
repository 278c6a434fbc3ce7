package demo

import (
	"time"

	"lowtide/casebook"
)

// Stories about orders, screenings and risks.

func mustNotStart(t *teller, p patient) {
	t.ago(20*hour, casebook.PersonRegistered{Name: p.name, Born: p.born, Record: record(t.n), Place: p.place, Address: p.address, Zone: Zone, Nurse: nurses[0], Team: teams[0], Mobility: "in bed"})
	t.ago(19*hour, casebook.WoundFound{Wound: "A", Site: "right heel", Type: "pressure", Stage: "unstageable", Limb: yes(), Circumferential: no(), PoorPerfusion: no(), Infected: no()})
	t.ago(18*hour, screening(map[string]string{"eschar": "yes", "not_debrided": "yes", "active_bleeding": "yes", "size_and_weight": "yes", "osteomyelitis_untreated": "unknown"}))
}

func openRisks(t *teller, p patient) {
	c := standard()
	c.answers = map[string]string{"cord_injury": "yes", "anticoagulant": "yes", "mri_planned": "yes", "allergy": "yes"}
	c.wound = casebook.WoundFound{Wound: "A", Site: "left hip", Type: "pressure", Stage: "3", Limb: no(), Circumferential: no(), PoorPerfusion: no(), Infected: no()}
	c.stages = []casebook.Stage{{SuctionMmHg: 125, HoldMin: num(5)}, {SuctionMmHg: 25, HoldMin: num(2)}}
	c.person = func(r *casebook.PersonRegistered) { r.Mobility, r.AltitudeM = "chair", num(1640) }
	c.days, c.last = 5, 58*hour
	c.tell(t, p)
	next := t.inHours(t.now.Add(50 * hour))
	t.ago(70*minute, casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "A", Out: pieces("foam", 1), In: pieces("foam", 1), ContactLayer: no(), Periwound: []string{"intact"}, Bed: []string{"granulation", "friable"}, Exudate: "moderate"}},
		Seal: "leaks", SuctionMmHg: num(115), Seen: casebook.Seen{Signs: []string{"none"}, Pain: num(1), TemperatureC: num(36.6)}, Canister: &casebook.CanisterRead{VolumeML: num(160), Changed: yes(), Colour: "blood-tinged"},
		Power: &casebook.PowerNoted{BatteryPct: num(88), PluggedIn: yes(), Therapy: "on"}, NextVisit: &next})
	t.sign(60 * minute)
}

func acceptedRisks(t *teller, p patient) {
	c := standard()
	c.answers = map[string]string{"inadequate_perfusion": "yes", "osteomyelitis": "yes", "intermittent_mode": "yes"}
	c.accepts = []string{"inadequate_perfusion", "osteomyelitis", "intermittent_mode"}
	c.wound = casebook.WoundFound{Wound: "A", Site: "left ankle", Type: "diabetic foot", Limb: yes(), Circumferential: no(), PoorPerfusion: yes(), Infected: no(), Clock: "toes"}
	c.stages = []casebook.Stage{{SuctionMmHg: 80, HoldMin: num(3)}, {SuctionMmHg: 25, HoldMin: num(5)}}
	c.days, c.last = 9, 30*hour
	c.newest = held(80, 28, 60)
	c.order = func(o *casebook.OrderWritten) {
		o.Goal, o.GoalKind, o.GoalGranulationPct = "ready for a graft", "level and granulated", num(90)
	}
	c.tell(t, p)
	t.ago(55*minute, casebook.PowerNoted{BatteryPct: num(70), Therapy: "off", Note: "At the hospital for an X-ray of the foot; the tube was parted there."})
}

func smallOrder(t *teller, p patient) {
	c := standard()
	c.days, c.last, c.every, c.next, c.canister, c.perDay = 3, 10*hour, 40*hour, 70*hour, 200, 62
	c.answers = map[string]string{"enteric_fistula": "yes"}
	c.accepts = []string{"enteric_fistula"}
	c.order = func(o *casebook.OrderWritten) { o.Stages = []casebook.Stage{{SuctionMmHg: 12.5}} }
	// The new piece was not written down.
	c.newest = func(d *casebook.DressingChanged) { d.Wounds[0].In, d.Wounds[0].NoneIn = nil, true }
	c.tell(t, p)
	// The charger's plug was loose twice in the night: neither time was long, together they were.
	for _, ago := range []time.Duration{9 * hour, 5 * hour} {
		t.ago(ago, casebook.PowerNoted{Therapy: "off"})
		t.ago(ago-90*minute, casebook.PowerNoted{Therapy: "on"})
	}
}

func largeOrder(t *teller, p patient) {
	c := standard()
	c.wound.Site = "right side of the neck"
	c.days, c.last, c.every, c.next, c.perDay = 6, 75*hour, 48*hour, 368*day, 95
	c.answers = map[string]string{"vagus_nearby": "yes"}
	c.order = func(o *casebook.OrderWritten) {
		o.Stages = []casebook.Stage{{SuctionMmHg: 1250}}
		o.Prescriber, o.ChangeEveryH = "", nil
	}
	c.tell(t, p)
	t.ago(60*hour, casebook.PowerNoted{BatteryPct: num(40), PluggedIn: no(), Therapy: "on", Note: "On the way to the garden with it."})
}

func minusSign(t *teller, p patient) {
	c := standard()
	c.wound = casebook.WoundFound{Wound: "A", Site: "right forearm", Type: "traumatic", Limb: yes(), Circumferential: no(), PoorPerfusion: no(), Infected: no()}
	c.days, c.last, c.layer = 8, 25*hour, true
	c.answers = map[string]string{"sharp_edges": "yes", "near_structures": "yes"}
	c.accepts = []string{"near_structures"}
	c.order = func(o *casebook.OrderWritten) {
		o.Stages, o.ContactLayer = []casebook.Stage{{SuctionMmHg: -125}}, "non-adherent"
	}
	c.tell(t, p)
	t.ago(24*hour, casebook.PumpAssigned{Pump: "P-204", Class: "portable", CanisterML: num(300), Wounds: []string{"A"}, Note: "Swapped: the old one was loud. The old one goes back with the next van."})
	t.ago(23*hour, casebook.CanisterRead{Pump: "P-204", VolumeML: num(0), Colour: "straw"})
	t.ago(22*hour, casebook.AlarmReported{Pump: "P-204", Alarm: "tilted", SuctionMmHg: num(125), Settled: yes(), ReportedBy: "the patient", Note: "It fell over; it stands again."})
	t.ago(21*hour, casebook.PowerNoted{Pump: "P-204", BatteryPct: num(88), PluggedIn: yes()})
	t.ago(9*hour, casebook.CanisterRead{Pump: "P-204", VolumeML: num(15), Colour: "straw"})
	t.ago(2*hour, casebook.CanisterRead{VolumeML: num(60), Colour: "straw"}) // of which pump?
	t.ago(1*hour, casebook.CanisterRead{Pump: "P-204", VolumeML: num(25), Colour: "straw"})
}

func waterOrder(t *teller, p patient) {
	c := standard()
	c.wound.Site = "breastbone"
	c.days, c.last, c.every = 5, 20*hour, 48*hour
	c.answers = map[string]string{"vagus_nearby": "yes", "defibrillation_likely": "yes", "intermittent_mode": "yes"}
	c.accepts = []string{"vagus_nearby"}
	c.stages = []casebook.Stage{{SuctionMmHg: 170, HoldMin: num(5)}, {SuctionMmHg: 150, HoldMin: num(2)}}
	c.newest = held(170, 90, 60)
	c.tell(t, p)
}

func denseFoam(t *teller, p patient) {
	c := standard()
	c.wound = casebook.WoundFound{Wound: "A", Site: "right hip", Type: "pressure", Stage: "unstageable", Limb: no(), Circumferential: no(), PoorPerfusion: no(), Infected: yes()}
	c.filler, c.suction, c.pieces, c.perDay, c.last = "dense foam", 175, 3, 128, 50*hour
	c.canister = 400
	c.answers, c.accepts = map[string]string{"active_bleeding": "yes"}, []string{"active_bleeding"}
	c.order = func(o *casebook.OrderWritten) { o.ChangeEveryH = nil }
	c.tell(t, p)
	t.ago(49*hour, casebook.WoundMeasured{Wound: "A", LengthCm: num(8.6), WidthCm: num(4.3), Method: "ruler", Convention: "longest and widest"})
	t.ago(40*minute, casebook.AlarmReported{Alarm: "blockage", ReportedBy: "day staff of Windmill House"})
}
