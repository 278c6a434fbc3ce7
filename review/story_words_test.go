package review_test

import (
	"encoding/json"
	"strings"
	"time"

	"lowtide/casebook"
)

// The words that stories are written in. Each gives a tidy body; the function changes it.

func num(x float64) *float64 { return &x }

var yes, no = ptr(true), ptr(false)

func ptr(b bool) *bool { return &b }

func when(h float64) *time.Time { t := noonPlus(h); return &t }

func mustJSON(b casebook.Body) json.RawMessage {
	raw, err := json.Marshal(b)
	if err != nil {
		panic(err)
	}
	return raw
}

func person(mod func(*casebook.PersonRegistered)) casebook.PersonRegistered {
	b := casebook.PersonRegistered{Name: "Edda Farrow", Born: "1958-04-11", Place: "home", Zone: "Europe/London", Mobility: "walks",
		Contacts: []casebook.Contact{{Role: "nurse on call", Phone: "0115 496 0100"}}}
	if mod != nil {
		mod(&b)
	}
	return b
}

func wound(name string, mod func(*casebook.WoundFound)) casebook.WoundFound {
	b := casebook.WoundFound{Wound: name, Site: "lower abdomen", Type: "surgical", Limb: no, Circumferential: no, PoorPerfusion: no, Infected: no}
	if mod != nil {
		mod(&b)
	}
	return b
}

// screened answers no to everything but what is given; "" leaves a question open.
func screened(answers map[string]string) casebook.ScreeningDone {
	b := casebook.ScreeningDone{Answers: map[string]string{}}
	for _, q := range casebook.Questions {
		a, given := answers[q.ID]
		if !given {
			a = casebook.AnswerNo
		}
		if a != "" {
			b.Answers[q.ID] = a
		}
	}
	return b
}

// risk is a screening that found the conditions.
func risk(ids ...string) casebook.ScreeningDone {
	m := map[string]string{}
	for _, id := range ids {
		m[id] = casebook.AnswerYes
	}
	return screened(m)
}

func order(mod func(*casebook.OrderWritten)) casebook.OrderWritten {
	b := casebook.OrderWritten{Prescriber: "Dr I. Vance", Wounds: []string{"A"}, Stages: []casebook.Stage{{SuctionMmHg: 125}}, Filler: "foam", ContactLayer: "none",
		ChangeEveryH: num(60), Goal: "bed level and ready to close", DurationDays: num(28)}
	if mod != nil {
		mod(&b)
	}
	return b
}

// suction is the tidy order at another depth.
func suction(mmHg float64) casebook.OrderWritten {
	return order(func(o *casebook.OrderWritten) { o.Stages[0].SuctionMmHg = mmHg })
}

// filled is the tidy order with another filler and depth.
func filled(filler string, mmHg float64) casebook.OrderWritten {
	return order(func(o *casebook.OrderWritten) { o.Filler, o.Stages[0].SuctionMmHg = filler, mmHg })
}

// staged is an order of stages: suction, hold, suction, hold …; a hold of 0 is left out.
func staged(x ...float64) casebook.OrderWritten {
	return order(func(o *casebook.OrderWritten) {
		o.Stages, o.AcceptsRisks = nil, []string{"intermittent_mode"}
		for i := 0; i < len(x); i += 2 {
			s := casebook.Stage{SuctionMmHg: x[i]}
			if x[i+1] > 0 {
				s.HoldMin = num(x[i+1])
			}
			o.Stages = append(o.Stages, s)
		}
	})
}

// accepts is the tidy order in which the prescriber accepts the risks in writing.
func accepts(ids ...string) casebook.OrderWritten {
	return order(func(o *casebook.OrderWritten) { o.AcceptsRisks = ids })
}

func foam(n int) []casebook.Pieces { return []casebook.Pieces{{Filler: "foam", Count: n}} }

// change is a tidy dressing change of wound A: one piece out, one in, everything looked at.
func change(mod func(*casebook.DressingChanged)) casebook.DressingChanged {
	b := casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "A", Out: foam(1), In: foam(1), ContactLayer: no, Periwound: []string{"intact"}, Bed: []string{"granulation"}, Exudate: "moderate"}},
		Seal: "holds", SuctionMmHg: num(125), Seen: casebook.Seen{Signs: []string{"none"}, Pain: num(2), TemperatureC: num(36.8)},
		Canister: &casebook.CanisterRead{VolumeML: num(90), Colour: "straw"}, Power: &casebook.PowerNoted{BatteryPct: num(80), PluggedIn: yes, Therapy: "on"}, NextVisit: when(30)}
	if mod != nil {
		mod(&b)
	}
	return b
}

// taken is the change that takes the dressing off and leaves none.
func taken(pieces int) casebook.DressingChanged {
	return casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "A", Out: foam(pieces), NoneIn: true, Periwound: []string{"intact"}}}, SuctionMmHg: num(0), Seen: casebook.Seen{Signs: []string{"none"}, Pain: num(2)}}
}

func measured(length, width, depth float64, mod func(*casebook.WoundMeasured)) casebook.WoundMeasured {
	b := casebook.WoundMeasured{Wound: "A", LengthCm: num(length), WidthCm: num(width), DepthCm: num(depth), Method: "ruler", Convention: "head to toe",
		Tissue: &casebook.Tissue{GranulationPct: 80, SloughPct: 20}, BedLevel: no, NoneUnder: true}
	if mod != nil {
		mod(&b)
	}
	return b
}

func signed() casebook.ReviewSigned {
	return casebook.ReviewSigned{Hash: strings.Repeat("0", 64), AsOf: noon, Rules: "invented", Program: "invented", Purpose: "visit"}
}

// note is a note with what was looked for.
func note(seen casebook.Seen) casebook.NoteWritten {
	return casebook.NoteWritten{Text: "Called in.", Seen: seen}
}

// saw is a note of signs; dealt is one that settles them with what was done.
func saw(signs ...string) casebook.NoteWritten { return note(casebook.Seen{Signs: signs}) }

func dealt(signs ...string) casebook.NoteWritten {
	return note(casebook.Seen{Signs: []string{"none"}, Settles: signs, Done: "Seen with Dr I. Vance, who was told of everything."})
}

// read is a look at the canister; fresh one at which a new canister went in.
func read(mL float64, colour string) casebook.CanisterRead {
	return casebook.CanisterRead{VolumeML: num(mL), Colour: colour}
}

func fresh(mL float64, colour string) casebook.CanisterRead {
	return casebook.CanisterRead{VolumeML: num(mL), Colour: colour, Changed: yes}
}

// settled is an alarm that somebody dealt with; the pump shows what is ordered.
func settled(alarm string) casebook.AlarmReported {
	return casebook.AlarmReported{Alarm: alarm, Settled: yes, SuctionMmHg: num(125), ReportedBy: "M. Thorne"}
}

func ended(why string) casebook.TherapyEnded {
	return casebook.TherapyEnded{Why: why, By: "Dr I. Vance", Next: "moist dressing"}
}
