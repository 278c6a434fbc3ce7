package state

import (
	"fmt"
	"math"
	"time"

	"lowtide/suction"
	"lowtide/unit"
)

// pathFacts sets what the pressure path tells. Where an input is missing, or where the model answers both ways
// within what is not known, the terms stay unknown.
func pathFacts(s *State, set Sink) {
	c, p := s.Counted, s.Path
	if c.Person != nil && c.Person.Body.AltitudeM != nil {
		set("place.altitude_m", *c.Person.Body.AltitudeM, c.Person.ID)
		set("place.ambient_mmHg", suction.AmbientMmHg(*c.Person.Body.AltitudeM), c.Person.ID)
	}
	if r := p.Run; len(p.Why) == 0 && r.Runs > 0 {
		set.setBool("path.missed", r.Missed, p.Entries...)
		set("path.words", r.Words, p.Entries...)
		set("path.ordered_mmHg", r.OrderedMmHg, p.Entries...)
		set("path.mean_mmHg", r.MeanMmHg, p.Entries...)
		set("path.off_least_pct", r.OffLeast, p.Entries...)
		set("path.off_most_pct", r.OffMost, p.Entries...)
		if p.TestBy != "" {
			set("path.off_pct", r.Off, p.Entries...)
		}
		set("path.duty_pct", 100*r.MeanDuty, p.Entries...)
		set.setNum("path.largest_leak_mL_min", r.Largest.LeakMLMin, p.Entries...)
	}
	set("path.why", p.Missing(), p.Entries...)
	headFacts(s.Head, set)
	sealTestFacts(s.Seal, set)
}

func headFacts(h Head, set Sink) {
	if !h.Known {
		return
	}
	set("pump.place", h.Words, h.Entry)
	set("pump.head_most_mmHg", h.MostMmHg, h.Entry)
	if h.MMHg != nil {
		set("pump.head_mmHg", math.Abs(*h.MMHg), h.Entry)
	}
	way := "takes from"
	if h.AboveCm < 0 {
		way = "adds to"
	}
	set("pump.head_words", way, h.Entry)
}

// sealTestFacts compares the last two hold tests, and the last one with what the order can bear.
func sealTestFacts(tests []SealTest, set Sink) {
	n := len(tests)
	if n == 0 {
		return
	}
	last := tests[n-1]
	var before *SealTest // the newest earlier test that tells a leak
	for i := range tests[:n-1] {
		if tests[i].Estimate.OK {
			before = &tests[i]
		}
	}
	count := 1.0
	if before != nil {
		count = 2
	}
	set("seal.tests", count, last.Entry)
	set("seal.test_at", last.Dated.At, last.Entry)
	set("seal.current", last.Current, last.Entry)
	set("seal.words", last.Estimate.Sentence, last.Entry)
	if last.Estimate.OK {
		set("seal.leak_mL_min", last.Estimate.LeakMLMin, last.Entry)
		set("seal.leak_least_mL_min", last.Estimate.LowMLMin, last.Entry)
	}
	if before == nil {
		return
	}
	word, sentence := suction.SealChange(before.Estimate, last.Estimate)
	if word != "cannot tell" {
		set("seal.change", word, before.Entry, last.Entry)
	}
	set("seal.change_words", sentence, before.Entry, last.Entry)
}

// batteryFacts sets when the battery is low and what is left when it is needed no longer.
func batteryFacts(b Battery, set Sink) {
	if b.Why != "" {
		set("power.why", b.Why)
		return
	}
	set("power.low_at", b.after(b.Median), b.Entries...)
	set("power.low_earliest_at", b.after(b.Low), b.Entries...)
	if b.NeededUntil != nil {
		set("power.needed_until", b.NeededUntil.Truncate(time.Minute), b.Entries...)
		set("power.reserve_pct", b.Reserve, b.Entries...)
		set("power.reserve_least_pct", b.ReserveLow, b.Entries...)
	}
}

// sealMethods say how a leak was told, by the method of the estimate.
var sealMethods = map[string]string{
	"hold test": "hold test, eq. 15; limits for the stated uncertainties of readings, gas volume and exponent",
	"pump duty": "motor's share of time, eq. 16; limits for the stated uncertainties of share, the pump's flow and exponent",
}

// pathFigures are the numbers of the model that pages show.
func pathFigures(s *State, all func(Figure)) {
	if s.Case.Ended != nil {
		return
	}
	add := figured(all)
	p, r := s.Path, s.Path.Run
	const source = "own model, docs/model/suction.md; parts of the class: common practice, no published source"
	if n := len(s.Seal); n > 0 && s.Seal[n-1].Current && s.Seal[n-1].Estimate.OK {
		e := s.Seal[n-1].Estimate
		at := s.Seal[n-1].Dated.At
		text := fmt.Sprintf("%s mL/min at %s mmHg", unit.Number(e.LeakMLMin, 1), unit.Number(e.LeakAtMmHg, 0))
		if e.HighMLMin != nil {
			text += fmt.Sprintf(" (%s to %s)", unit.Number(e.LowMLMin, 1), unit.Number(*e.HighMLMin, 1))
		} else {
			text = fmt.Sprintf("at least %s mL/min at %s mmHg", unit.Number(e.LowMLMin, 1), unit.Number(e.LeakAtMmHg, 0))
		}
		add(Figure{ID: "seal.leak", Name: "Leak at the dressing", Value: e.LeakMLMin, Unit: "mL/min", Text: text, Method: sealMethods[e.Method], Source: source, At: &at, Entries: []string{s.Seal[n-1].Entry}})
	}
	if h := s.Head; h.Known && h.MMHg != nil {
		add(Figure{ID: "path.head", Name: "Column of liquid in the tube", Value: *h.MMHg, Unit: "mmHg", Text: unit.Number(math.Abs(*h.MMHg), 0) + " mmHg, pump " + h.Words,
			Method: "ρ g h with 1020 kg/m³, eq. 8; positive weakens the suction at the wound", Source: "hydrostatics", Entries: []string{h.Entry}})
	}
	if len(p.Why) > 0 || r.Runs == 0 {
		return
	}
	how := fmt.Sprintf("%s pump, canister %s of %s, leak %s mL/min at 125 mmHg (%s), void %s mL; span over %d runs with %s to %s mL of void",
		p.Setup.Class, unit.Volume(p.Setup.FluidML), unit.Volume(p.Setup.CanisterML), unit.Number(p.Setup.LeakMLMin, 1), p.leakWords(), unit.Number(voidML[1], 0), r.Runs, unit.Number(voidML[0], 0), unit.Number(voidML[2], 0))
	if p.Setup.LiquidShare == 0 {
		how += "; no liquid counted in the tube"
	}
	spanText := func(mid, lo, hi float64, digits int, words string) string {
		a, b := unit.Number(lo, digits), unit.Number(hi, digits)
		if a == b {
			return unit.Number(mid, digits) + words
		}
		return unit.Number(mid, digits) + words + " (" + a + " to " + b + ")"
	}
	add(Figure{ID: "path.mean", Name: "Suction at the wound, time-mean by the model", Value: r.MeanMmHg, Unit: "mmHg",
		Text: spanText(r.MeanMmHg, r.Mean.Low, r.Mean.High, 0, " mmHg") + ", ordered " + unit.Number(r.OrderedMmHg, 0), Method: how, Source: source, Entries: p.Entries})
	add(Figure{ID: "path.duty", Name: "Share of time for which the pump should run", Value: 100 * r.MeanDuty, Unit: "%",
		Text: spanText(100*r.MeanDuty, 100*r.Duty.Low, 100*r.Duty.High, 1, " %"), Method: how, Source: source, Entries: p.Entries})
	add(Figure{ID: "path.starts", Name: "Starts of the pump an hour", Value: r.MeanStarts, Unit: "1/h",
		Text: spanText(r.MeanStarts, r.Starts.Low, r.Starts.High, 0, " an hour"), Method: how, Source: source, Entries: p.Entries})
	if r.Largest.LeakMLMin != nil {
		add(Figure{ID: "path.largest_leak", Name: "Largest leak at which the order holds", Value: *r.Largest.LeakMLMin, Unit: "mL/min",
			Text: unit.Number(*r.Largest.LeakMLMin, 0) + " mL/min at 125 mmHg", Method: "deepest stage, settled, eq. 14", Source: source, Entries: p.Entries})
	}
}

func (p Path) leakWords() string {
	if p.TestBy != "" {
		return "from the seal test"
	}
	return fmt.Sprintf("not known: %s to %s tried", unit.Number(leakMLMin[0], 0), unit.Number(leakMLMin[2], 0))
}
