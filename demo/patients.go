package demo

import (
	"time"

	"lowtide/casebook"
)

// patients are the invented people, each with what their case is there to show.
var patients = []patient{
	{"Edda Farrow", "1958-04-11", "home", "3 Lantern Row", "therapy that goes well", func(t *teller, p patient) { standard().tell(t, p) }},
	{"Osric Pell", "1949-09-02", "home", "17 Saltmarsh Lane", "a piece of filler is missing", missingPiece},
	{"Halina Wroble", "1962-01-25", "home", "8 Ferry Steps", "therapy off for hours after a leak alarm", offTooLong},
	{"Bram Achterberg", "1951-12-07", "ward", "Ward 6, bed 12", "bright red blood in the canister", bleeding},
	{"Ines Caldeira", "1970-06-30", "nursing home", "Windmill House, room 9", "canister almost full", fullCanister},
	{"Jonah Thistlewood", "1944-03-18", "home", "Upper Mill Cottage", "change overdue, nobody planned", overdue},
	{"Priya Ravindran", "1966-10-09", "ward", "Ward 2, bed 4", "referral not screened, order not complete", referral},
	{"Magnus Eklund", "1955-08-21", "ward", "Ward 6, bed 3", "conditions in which therapy must not run", hardStops(map[string]string{"eschar": "yes", "osteomyelitis_untreated": "yes", "not_debrided": "yes"})},
	{"Coralie Duquesne", "1973-02-14", "ward", "Ward 9, bed 1", "exposed structures after surgery", hardStops(map[string]string{"fistula_unexplored": "yes", "exposed_anastomosis": "yes", "exposed_organs": "yes", "enteric_fistula": "yes"})},
	{"Tobias Wendt", "1947-11-29", "nursing home", "Windmill House, room 14", "cancer and exposed vessels in the wound", hardStops(map[string]string{"malignancy": "yes", "exposed_vessels": "yes", "exposed_nerves": "yes", "active_bleeding": "yes", "coagulopathy_untreated": "yes"})},
	{"Aoife Gallagher", "1961-05-05", "home", "22 Rope Walk", "risks that the prescriber has not confirmed", openRisks},
	{"Desmond Achebe", "1953-07-17", "home", "5 Anchor Close", "the same risks, confirmed in writing", acceptedRisks},
	{"Signe Haugland", "1968-03-03", "home", "Old Customs House, flat 2", "an order in kilopascals typed as mmHg", slip(16.7)},
	{"Ruben Castellanos", "1959-12-19", "ward", "Ward 2, bed 11", "a slip of the decimal point, a missing prescriber", slip(1250)},
	{"Nell Hargreave", "1975-01-08", "home", "40 Tanner Street", "a minus sign in the order", slip(-125)},
	{"Kofi Mensah-Lowe", "1964-09-27", "home", "11 Capstan Court", "an order in centimetres of water typed as mmHg", slip(170)},
	{"Lotte Vandermeer", "2019-02-20", "ward", "Ward 5 (children), bed 2", "a child, and a limb with poor blood supply", child},
	{"Wilfred Oakshott", "1950-10-31", "nursing home", "Windmill House, room 3", "dense foam at a suction that it may not pass on", denseFoam},
	{"Yasmin Bello", "1987-04-04", "home", "6 Harbour View", "spinal cord injury with a sudden rise of blood pressure", dysreflexia},
	{"Gregor Malik", "1956-06-12", "home", "29 Netmakers Yard", "infection signs and fever", infection},
	{"Henrietta Swann", "1948-08-08", "home", "The Pilot's House", "bed level and granulated, little output", goalMet},
	{"Casimir Nowak", "1960-02-28", "home", "14 Breakwater Road", "no progress for two weeks", stalled},
	{"Beatrix Lund", "1952-05-23", "nursing home", "Windmill House, room 20", "therapy ended, pump and dressing still there", ended},
	{"Abel Quarrington", "1946-07-01", "home", "1 Signal Hill", "a record that does not add up", muddled},
}

func missingPiece(t *teller, p patient) {
	c := standard()
	c.pieces, c.last = 2, 50*hour
	c.wound.Site = "left buttock"
	c.wound.Type, c.wound.Stage = "pressure", "4"
	c.tell(t, p)
	t.ago(100*time.Minute, casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "A", Out: []casebook.Pieces{{Filler: "foam", Count: 1}}, In: []casebook.Pieces{{Filler: "foam", Count: 2}},
		ContactLayer: no(), Periwound: []string{"red"}, Bed: []string{"granulation", "friable"}, Exudate: "moderate"}}, Seal: "holds", SuctionMmHg: num(125),
		Seen: casebook.Seen{Signs: []string{"none"}, Pain: num(4)}, Canister: &casebook.CanisterRead{VolumeML: num(190), Colour: "pink"}, Note: "Tunnel at 2 o'clock is deep; could not see its end."})
	t.ago(95*time.Minute, casebook.WoundMeasured{Wound: "A", LengthCm: num(6.4), WidthCm: num(4.1), DepthCm: num(2.2), Method: "ruler", Convention: "head to toe",
		Undermining: []casebook.Under{{FromClock: 10, ToClock: num(1), DepthCm: 1.5}}, Tunnels: []casebook.Under{{FromClock: 2, DepthCm: 4.5}}, Tissue: &casebook.Tissue{GranulationPct: 80, SloughPct: 20}, BedLevel: no()})
}

func offTooLong(t *teller, p patient) {
	c := standard()
	c.tell(t, p)
	off := t.now.Add(-160 * time.Minute)
	t.ago(150*time.Minute, casebook.AlarmReported{Alarm: "leak", OffSince: &off, SuctionMmHg: num(0), ReportedBy: "the patient's son, by telephone", Note: "Hissing at the groin side of the drape; pump switched off by the family."})
	t.ago(145*time.Minute, casebook.PowerNoted{BatteryPct: num(18), PluggedIn: no()})
}

func bleeding(t *teller, p patient) {
	c := standard()
	c.wound.Site, c.class, c.canister, c.perDay = "right groin", "bedside", 500, 160
	c.answers = map[string]string{"anticoagulant": "yes", "vascular_anastomosis": "yes"}
	c.accepts = []string{"anticoagulant", "vascular_anastomosis"}
	c.tell(t, p)
	t.ago(25*time.Minute, casebook.CanisterRead{VolumeML: num(430), Colour: "bright red"})
	t.ago(22*time.Minute, casebook.NoteWritten{Text: "Called by the ward: canister filling with bright red blood.", Seen: casebook.Seen{Signs: []string{"bright red blood", "sudden colour change", "dizzy or confused"}, SystolicMmHg: num(96), SystolicUsualMmHg: num(128)}})
}

func fullCanister(t *teller, p patient) {
	c := standard()
	c.wound = casebook.WoundFound{Wound: "A", Site: "sacrum", Type: "pressure", Stage: "3", Limb: no(), Circumferential: no(), PoorPerfusion: no(), Infected: no()}
	c.canister, c.perDay, c.last = 300, 105, 40*hour
	c.tell(t, p)
	t.ago(50*time.Minute, casebook.CanisterRead{VolumeML: num(285), Colour: "straw"})
	t.ago(49*time.Minute, casebook.PowerNoted{BatteryPct: num(9), PluggedIn: no()})
	t.ago(48*time.Minute, casebook.NoteWritten{Text: "Care assistant rang: canister nearly at the top, pump warm.", Seen: casebook.Seen{Signs: []string{"none"}, Pain: num(2)}})
}

func overdue(t *teller, p patient) {
	c := standard()
	c.days, c.last, c.next, c.unsigned = 24, 79*hour, -7*hour, true
	c.wound.Site, c.wound.Type = "left lower leg, inner side", "venous"
	c.wound.Limb = yes()
	c.person = func(r *casebook.PersonRegistered) { r.Contacts = nil }
	c.noTeaching = true
	c.tell(t, p)
}

func referral(t *teller, p patient) {
	t.ago(5*hour, casebook.PersonRegistered{Name: p.name, Born: p.born, Record: record(t.n), Place: p.place, Address: p.address, Zone: Zone, Nurse: nurses[0], Team: teams[0], Mobility: "in bed"})
	t.ago(4*hour, casebook.WoundFound{Wound: "A", Site: "right heel", Type: "pressure", Stage: "unstageable"})
	t.ago(4*hour, casebook.WoundFound{Wound: "B", Site: "left heel", Type: "pressure", Stage: "3"})
	t.ago(3*hour, casebook.ScreeningDone{Answers: map[string]string{"malignancy": "no", "exposed_organs": "no", "anticoagulant": "unknown"}})
	t.ago(2*hour, casebook.OrderWritten{Stages: []casebook.Stage{{SuctionMmHg: 125}}, Note: "as usual please"})
}

func hardStops(found map[string]string) func(*teller, patient) {
	return func(t *teller, p patient) {
		c := standard()
		c.days, c.every, c.last = 4, 48*hour, 20*hour
		c.tell(t, p)
		t.ago(70*time.Minute, screening(found))
	}
}

// risks are all factors that the prescriber has to confirm.
func risks() (answers map[string]string, ids []string) {
	answers = map[string]string{}
	for _, q := range casebook.Questions {
		if !q.Hard {
			answers[q.ID] = casebook.AnswerYes
			ids = append(ids, q.ID)
		}
	}
	return answers, ids
}

func openRisks(t *teller, p patient) {
	c := standard()
	c.answers, _ = risks()
	c.wound = casebook.WoundFound{Wound: "A", Site: "right forearm", Type: "traumatic", Limb: yes(), Circumferential: yes(), PoorPerfusion: no(), Infected: yes()}
	c.stages = []casebook.Stage{{SuctionMmHg: 125, HoldMin: num(5)}, {SuctionMmHg: 0, HoldMin: num(2)}}
	c.days, c.last = 2, 9*hour
	c.tell(t, p)
}

func acceptedRisks(t *teller, p patient) {
	c := standard()
	c.answers, c.accepts = risks()
	c.wound = casebook.WoundFound{Wound: "A", Site: "left ankle", Type: "diabetic foot", Limb: yes(), Circumferential: no(), PoorPerfusion: yes(), Infected: no(), Clock: "toes"}
	c.stages = []casebook.Stage{{SuctionMmHg: 80, HoldMin: num(4)}, {SuctionMmHg: 20, HoldMin: num(4)}}
	c.days, c.last = 9, 30*hour
	c.tell(t, p)
}

func slip(typed float64) func(*teller, patient) {
	return func(t *teller, p patient) {
		c := standard()
		c.days, c.last, c.every = 3, 10*hour, 48*hour
		c.order = func(o *casebook.OrderWritten) {
			o.Stages = []casebook.Stage{{SuctionMmHg: typed}}
			if typed > 1000 {
				o.Prescriber = ""
			}
		}
		c.suction = 125
		c.tell(t, p)
	}
}

func child(t *teller, p patient) {
	c := standard()
	c.wound = casebook.WoundFound{Wound: "A", Site: "right lower leg", Type: "traumatic", Limb: yes(), Circumferential: yes(), PoorPerfusion: yes(), Infected: no()}
	c.answers = map[string]string{"size_and_weight": "yes", "circumferential": "yes", "inadequate_perfusion": "yes"}
	c.accepts = []string{"size_and_weight"}
	c.length, c.width, c.depth, c.days, c.canister, c.perDay = 4, 2.2, 0.9, 6, 200, 25
	c.person = func(r *casebook.PersonRegistered) { r.WeightKg = num(21.5); r.Mobility = "in bed" }
	c.tell(t, p)
	t.ago(3*hour, casebook.NoteWritten{Text: "Foot feels cool on rounds.", Seen: casebook.Seen{Signs: []string{"cold or numb limb", "pain out of proportion"}, Pain: num(8)}})
}

func denseFoam(t *teller, p patient) {
	c := standard()
	c.wound = casebook.WoundFound{Wound: "A", Site: "right hip", Type: "pressure", Stage: "4", Limb: no(), Circumferential: no(), PoorPerfusion: no(), Infected: yes()}
	c.filler, c.suction, c.pieces = "dense foam", 175, 3
	c.tell(t, p)
	t.ago(24*hour, casebook.WoundMeasured{Wound: "A", LengthCm: num(6.0), WidthCm: num(3.0), Method: "ruler", Convention: "longest and widest"})
}

func dysreflexia(t *teller, p patient) {
	c := standard()
	c.wound = casebook.WoundFound{Wound: "A", Site: "sacrum", Type: "pressure", Stage: "4", Limb: no(), Circumferential: no(), PoorPerfusion: no(), Infected: no()}
	c.answers = map[string]string{"cord_injury": "yes"}
	c.accepts = []string{"cord_injury"}
	c.person = func(r *casebook.PersonRegistered) { r.Mobility = "chair" }
	c.tell(t, p)
	t.ago(35*time.Minute, casebook.NoteWritten{Text: "Rang during repositioning: pounding head, face red.", Seen: casebook.Seen{Signs: []string{"headache", "flushing", "sweating", "slow pulse"}, SystolicMmHg: num(168), SystolicUsualMmHg: num(104)}})
}

func infection(t *teller, p patient) {
	c := standard()
	c.wound.Infected = yes()
	c.last = 20 * hour
	c.tell(t, p)
	t.ago(2*hour, casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "A", Out: []casebook.Pieces{{Filler: "foam", Count: 1}}, In: []casebook.Pieces{{Filler: "foam", Count: 1}}, Periwound: []string{"red", "macerated", "blistered"}, Bed: []string{"slough", "friable"}, Exudate: "much"}},
		Seal: "leaks", SuctionMmHg: num(90), Seen: casebook.Seen{Signs: []string{"spreading redness", "warmth or swelling", "pus", "bad smell", "raw or blistered skin", "macerated skin"}, TemperatureC: num(39.1), Pain: num(7)},
		Canister: &casebook.CanisterRead{VolumeML: num(120), Colour: "cloudy"}})
}

func goalMet(t *teller, p patient) {
	c := standard()
	c.days, c.length, c.width, c.depth, c.perDay, c.pieces = 33, 5.5, 2.5, 1.4, 12, 1
	c.tell(t, p)
	t.ago(25*hour, casebook.WoundMeasured{Wound: "A", LengthCm: num(3.9), WidthCm: num(1.6), DepthCm: num(0), Method: "ruler", Convention: "head to toe", Tissue: &casebook.Tissue{GranulationPct: 100}, BedLevel: yes()})
}

func stalled(t *teller, p patient) {
	c := standard()
	c.days, c.areaFall, c.depthFall = 30, -0.02, -0.01
	c.wound.Type, c.wound.Site, c.wound.Limb = "diabetic foot", "right foot, sole", yes()
	c.tell(t, p)
}

func ended(t *teller, p patient) {
	c := standard()
	c.days, c.last = 28, 30*hour
	c.tell(t, p)
	t.ago(5*hour, casebook.TherapyEnded{Why: "goal met", By: "Dr I. Vance", Next: "foam dressing every two days"})
}

// muddled is a record in which most things that can go wrong did.
func muddled(t *teller, p patient) {
	c := standard()
	c.days, c.last, c.unsigned = 40, 28*hour, true
	c.order = func(o *casebook.OrderWritten) { o.DurationDays = num(21); o.Filler = "gauze" }
	last := c.tell(t, p)
	// Two more wounds: one whose count nobody knows, one that nobody opened.
	t.ago(6*day, casebook.WoundFound{Wound: "B", Site: "left heel", Type: "pressure", Stage: "3", InPlaceUnknown: true})
	t.ago(26*hour, casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "A", Out: []casebook.Pieces{{Filler: "foam", Count: 3}}, In: []casebook.Pieces{{Filler: "foam", Count: 1}}}, {Wound: "C"}},
		Canister: &casebook.CanisterRead{VolumeML: num(20)}})
	t.correct(25*hour, last, "wrong time typed", casebook.EntryCorrected{Action: "replace", At: t.now.Add(-29 * hour).Format(time.RFC3339)})
	t.ago(27*hour, casebook.CanisterRead{VolumeML: num(180), Colour: "straw"})
	t.ago(24*hour, casebook.AlarmReported{Alarm: "blockage", ReportedBy: "neighbour"})
	// An entry of a newer program, and one that two devices wrote differently.
	at := t.now.Add(-23 * hour)
	t.entries = append(t.entries, casebook.Entry{ID: t.id(at), Case: t.caseID, Kind: "wound.scanned", Version: 1, At: at, Recorded: at, Author: t.author, Body: casebook.Unknown{Of: "wound.scanned", Raw: []byte(`{"wound":"A","note":"written by a newer program"}`)}})
	// A note that belongs to somebody else.
	wrong := t.ago(22*hour, casebook.NoteWritten{Text: "Daughter asks for a later visit on Fridays."})
	t.correct(21*hour, wrong, "this is about another patient", casebook.EntryCorrected{Action: "moved out", OtherCase: "the case of the patient in Ferry Steps"})
}
