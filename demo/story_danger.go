package demo

import (
	"lowtide/casebook"
)

// Stories in which somebody has to act now.

func missingPiece(t *teller, p patient) {
	c := standard()
	c.pieces, c.last = 6, 50*hour
	c.wound.Site = "left buttock"
	c.wound.Type, c.wound.Stage = "pressure", "4"
	c.tell(t, p)
	t.ago(100*minute, casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "A", Out: pieces("foam", 5), In: pieces("foam", 6),
		ContactLayer: no(), Periwound: []string{"red"}, Bed: []string{"granulation", "friable"}, Exudate: "moderate"}}, Seal: "holds", SuctionMmHg: num(125),
		Seen: casebook.Seen{Signs: []string{"bad smell"}, Pain: num(4), TemperatureC: num(35.7)}, Canister: &casebook.CanisterRead{VolumeML: num(190), Colour: "pink"}, Note: "Tunnel at 2 o'clock is deep; could not see its end."})
	t.ago(95*minute, casebook.WoundMeasured{Wound: "A", LengthCm: num(6.4), WidthCm: num(4.1), DepthCm: num(2.2), Method: "ruler", Convention: "head to toe",
		Undermining: []casebook.Under{{FromClock: 10, ToClock: num(1), DepthCm: 1.5}}, Tunnels: []casebook.Under{{FromClock: 2, DepthCm: 4.5}}, Tissue: &casebook.Tissue{GranulationPct: 80, SloughPct: 20}, BedLevel: no()})
}

func flatBattery(t *teller, p patient) {
	c := standard()
	c.tell(t, p)
	off := t.now.Add(-160 * minute)
	t.ago(150*minute, casebook.PowerNoted{BatteryPct: num(3), PluggedIn: no()})
	t.ago(145*minute, casebook.AlarmReported{Alarm: "battery low", OffSince: &off, SuctionMmHg: num(0), ReportedBy: "the patient's son, by telephone", Note: "The charger is at his sister's; the pump went dark before dawn."})
}

func bleeding(t *teller, p patient) {
	c := standard()
	c.wound.Site, c.class, c.canister, c.perDay = "right groin", "bedside", 500, 160
	c.answers = map[string]string{"anticoagulant": "yes"}
	c.accepts = []string{"anticoagulant"}
	c.tell(t, p)
	// The ward round of last night found what the first screening had not.
	t.ago(14*hour, screening(map[string]string{"anticoagulant": "yes", "bleeding_risk": "yes", "friable_vessels": "yes", "vascular_anastomosis": "yes",
		"coagulopathy_untreated": "yes", "active_bleeding": "yes", "exposed_vessels": "unknown"}))
	t.ago(80*minute, casebook.CanisterRead{VolumeML: num(210), Colour: "pink"})
	t.ago(25*minute, casebook.CanisterRead{VolumeML: num(430), Colour: "bright red"})
	t.ago(22*minute, casebook.NoteWritten{Text: "Called by the ward: canister filling with bright red blood.", Seen: casebook.Seen{Signs: []string{"bright red blood", "sudden colour change", "dizzy or confused"}, TemperatureC: num(34.8), SystolicMmHg: num(84), SystolicUsualMmHg: num(128)}})
	wardCalls(t)
}

func fullCanister(t *teller, p patient) {
	c := standard()
	c.wound = casebook.WoundFound{Wound: "A", Site: "sacrum", Type: "pressure", Stage: "3", Limb: no(), Circumferential: no(), PoorPerfusion: no(), Infected: no()}
	c.canister, c.perDay, c.last = 300, 105, 40*hour
	c.tell(t, p)
	t.ago(15*hour, casebook.PowerNoted{Therapy: "off", Note: "Switched off for supper in the dining room."})
	t.ago(12*hour, casebook.PowerNoted{Therapy: "on", Note: "Found off at bedtime and switched on."})
	t.ago(50*minute, casebook.CanisterRead{VolumeML: num(285), Colour: "straw"})
	t.ago(49*minute, casebook.PowerNoted{BatteryPct: num(9), PluggedIn: no()})
	t.ago(48*minute, casebook.AlarmReported{Alarm: "canister full", ReportedBy: "care assistant, by telephone"})
	t.ago(47*minute, casebook.NoteWritten{Text: "Canister nearly at the top, pump warm.", Seen: casebook.Seen{Signs: []string{"none"}, Pain: num(2)}})
}

func exposed(t *teller, p patient) {
	c := standard()
	c.days, c.every, c.last = 4, 48*hour, 20*hour
	c.tell(t, p)
	t.ago(70*minute, screening(map[string]string{"malignancy": "yes", "fistula_unexplored": "yes", "exposed_anastomosis": "yes", "exposed_organs": "yes", "exposed_vessels": "yes", "exposed_nerves": "yes",
		"enteric_fistula": "yes", "near_structures": "yes"}))
	t.ago(65*minute, casebook.NoteWritten{Text: "Surgeon opened the dressing on the round and re-read the operation note. Green fluid at the lower edge.", Seen: casebook.Seen{Signs: []string{"bowel content"}}})
	offCall(t, "demo-opened", "ward 9", "Pump off since the surgeon's look.", 60*minute, 150*minute)
}

func child(t *teller, p patient) {
	c := standard()
	c.wound = casebook.WoundFound{Wound: "A", Site: "right lower leg", Type: "traumatic", Limb: yes(), Circumferential: yes(), PoorPerfusion: yes(), Infected: no()}
	c.answers = map[string]string{"size_and_weight": "yes", "circumferential": "yes", "inadequate_perfusion": "yes"}
	c.accepts = []string{"size_and_weight"}
	c.length, c.width, c.depth, c.days, c.canister, c.perDay = 4, 2.2, 0.9, 6, 200, 25
	c.person = func(r *casebook.PersonRegistered) { r.WeightKg = num(21.5); r.Mobility = "in bed" }
	c.tell(t, p)
	t.ago(3*hour, casebook.NoteWritten{Text: "Foot feels cool on rounds.", Seen: casebook.Seen{Signs: []string{"cold or numb limb", "pain out of proportion"}, TemperatureC: num(38.2), Pain: num(8)}})
	offCall(t, "demo-cold", "ward 5, the night nurse", "Pump off because the foot is cold.", 30*minute, 0)
}

func dysreflexia(t *teller, p patient) {
	c := standard()
	c.wound = casebook.WoundFound{Wound: "A", Site: "sacrum", Type: "pressure", Stage: "4", Limb: no(), Circumferential: no(), PoorPerfusion: no(), Infected: no()}
	c.answers = map[string]string{"cord_injury": "yes", "vagus_nearby": ""}
	c.accepts = []string{"cord_injury"}
	c.person = func(r *casebook.PersonRegistered) { r.Mobility = "chair" }
	c.tell(t, p)
	t.ago(35*minute, casebook.NoteWritten{Text: "Rang during repositioning: pounding head, face red.", Seen: casebook.Seen{Signs: []string{"headache", "flushing", "sweating", "slow pulse"}, SystolicMmHg: num(168), SystolicUsualMmHg: num(104)}})
}

func infection(t *teller, p patient) {
	c := standard()
	c.wound.Infected = yes()
	c.last = 20 * hour
	c.newest = held(125, 121, 60)
	c.tell(t, p)
	t.ago(190*minute, casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "A", Out: pieces("foam", 1), In: pieces("foam", 1), Periwound: []string{"red", "macerated", "blistered"}, Bed: []string{"slough", "eschar"}, Exudate: "much"}},
		Seal: "leaks", SuctionMmHg: num(90), HoldTest: &casebook.HoldTest{FirstMmHg: 90, SecondMmHg: 12, Seconds: 3}, Seen: casebook.Seen{Signs: []string{"spreading redness", "warmth or swelling", "pus", "bad smell", "raw or blistered skin", "macerated skin"}, TemperatureC: num(39.1), Pain: num(7)},
		Canister: &casebook.CanisterRead{VolumeML: num(120), Colour: "cloudy"}})
	t.ago(185*minute, casebook.WoundMeasured{Wound: "A", LengthCm: num(9.4), WidthCm: num(5.1), DepthCm: num(3.3), Method: "ruler", Convention: "head to toe", Tissue: &casebook.Tissue{GranulationPct: 40, SloughPct: 45, EscharPct: 15}, BedLevel: no(), NoneUnder: true})
	t.ago(170*minute, screening(map[string]string{"eschar": "yes", "osteomyelitis_untreated": "yes", "infected_wound": "yes"}))
	leakCalls(t)
	darkCall(t)
}

func ended(t *teller, p patient) {
	c := standard()
	c.days, c.last = 28, 30*hour
	c.tell(t, p)
	t.ago(5*hour, casebook.TherapyEnded{Why: "goal met", By: "Dr I. Vance", Next: "foam dressing every two days"})
}

// muddled is a record in which most things that can be written wrongly were.
func muddled(t *teller, p patient) {
	c := standard()
	c.days, c.last, c.unsigned = 40, 28*hour, true
	c.order = func(o *casebook.OrderWritten) { o.DurationDays = num(21); o.Filler = "gauze" }
	c.stages = []casebook.Stage{{SuctionMmHg: 125, HoldMin: num(5)}, {SuctionMmHg: 0, HoldMin: num(180)}}
	c.wound.Site = "open abdomen, midline"
	c.person = func(r *casebook.PersonRegistered) { r.WeightKg = num(38) }
	last := c.tell(t, p)
	// A width with a digit too many.
	t.ago(9*day, casebook.WoundMeasured{Wound: "A", LengthCm: num(6.4), WidthCm: num(30), DepthCm: num(1.2), Method: "ruler", Convention: "head to toe", NoneUnder: true})
	// Two more wounds: one whose count nobody knows, one whose description was taken back.
	t.ago(6*day, casebook.WoundFound{Wound: "B", Site: "left heel", Type: "pressure", Stage: "3", Infected: yes(), InPlaceUnknown: true})
	third := t.ago(6*day-5*minute, casebook.WoundFound{Wound: "C", Site: "left heel", Type: "pressure", Stage: "3"})
	t.ago(26*hour, casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "A", Out: pieces("foam", 3), In: pieces("foam", 1)}, {Wound: "C"}},
		Canister: &casebook.CanisterRead{VolumeML: num(20)}})
	t.correct(25*hour, last, "wrong time typed", casebook.EntryCorrected{Action: "replace", At: t.now.Add(-29 * hour).Format(rfc3339)})
	t.correct(24*hour+30*minute, third, "it is the same wound as B", casebook.EntryCorrected{Action: "withdraw"})
	t.ago(27*hour, casebook.CanisterRead{VolumeML: num(180), Colour: "straw"})
	t.ago(24*hour, casebook.AlarmReported{Alarm: "blockage", ReportedBy: "neighbour"})
	t.ago(20*hour, casebook.CanisterRead{VolumeML: num(230)})
	t.ago(18*hour, casebook.CanisterRead{SizeML: num(200), Note: "The label says 200; the list said 300."})
	// An entry of a newer program.
	at := t.now.Add(-23 * hour)
	t.entries = append(t.entries, casebook.Entry{ID: t.id(at), Case: t.caseID, Kind: "wound.scanned", Version: 1, At: at, Recorded: at, Author: t.author, Body: casebook.Unknown{Of: "wound.scanned", Raw: []byte(`{"wound":"A","note":"written by a newer program"}`)}})
	// A note that belongs to somebody else, moved to where it belongs.
	wrong := t.ago(22*hour, casebook.NoteWritten{Text: "Daughter asks for a later visit on Fridays."})
	t.move(21*hour, wrong, t.of("Halina Wroble"), "this is about the patient in Ferry Steps")
}
