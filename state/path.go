package state

import (
	"fmt"
	"math"
	"strings"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/suction"
	"lowtide/unit"
)

// Path is what the pressure path gives for the order in force with the pump, the canister and the seal that the
// case knows. It is a model of a class of equipment, not a reading.
type Path struct {
	// Why says what is missing; then nothing else is set.
	Why []string
	// Setup is what was computed in the middle case, Leak what the hold test on the dressing now on tells. TestAt
	// names the visit of that test; an empty one means that the leak is not known and a usual range was taken.
	Setup  suction.Setup
	Leak   suction.SealEstimate
	TestBy string
	Run    PathRun
	// Entries are those that the inputs came from.
	Entries []string
}

// What is not recorded of a dressing is taken from these ranges: own choices, no published source. voidML is the
// gas in the dressing, leakMLMin the leak at 125 mmHg when no hold test was made.
var (
	voidML    = [3]float64{20, 60, 150}
	leakMLMin = [3]float64{1, 10, 50}
)

// PathOf gathers the inputs and computes. k is the canister as [CanisterOf] tells it.
func PathOf(c *casebook.Case, k Canister, eq *equipment.Set) Path {
	var p Path
	miss := func(missing bool, words string) bool {
		if missing {
			p.Why = append(p.Why, words)
		}
		return missing
	}
	o := c.Order()
	if !miss(o == nil, "an order in force") {
		stages, ok := Program(o.Body)
		miss(!ok || !stages.Check().OK, "a suction and a hold for every stage")
		p.Setup.Stages = stages
		p.Entries = append(p.Entries, o.ID)
	}
	open := OpenPumps(c)
	if !miss(len(open) == 0, "a pump") {
		u := open[len(open)-1].Assigned
		class, ok := suction.Class(u.Body.Class)
		if _, listed := eq.Pump(u.Body.Class); !miss(!ok || !listed, "a class of pump that the model knows") {
			class.Stages = p.Setup.Stages
			p.Setup = class
			p.Entries = append(p.Entries, u.ID)
		}
	}
	miss(k.SizeML == nil, "the canister's size")
	miss(k.VolumeML == nil, "a canister reading")
	if len(p.Why) > 0 {
		return p
	}
	p.Entries = append(p.Entries, entriesOf(k.SizeBy, k.ReadBy)...)
	// The fill is rounded up to twentieths: the figures then are those of a canister at most that much fuller, and
	// cases that differ by a few millilitres share one computation.
	size := *k.SizeML
	p.Setup.CanisterML, p.Setup.FluidML = size, math.Min(size, math.Ceil(*k.VolumeML/size*20-1e-9)/20*size)
	if *k.VolumeML < size {
		p.Setup.FluidML = math.Min(p.Setup.FluidML, 0.99*size) // nearly full is not full
	}
	if c.Person != nil && c.Person.Body.AltitudeM != nil {
		p.Setup.AltitudeM = math.Round(*c.Person.Body.AltitudeM/100) * 100
		p.Entries = append(p.Entries, c.Person.ID)
	}
	if h := HeadOf(c); h.MMHg != nil {
		p.Setup.HeightM, p.Setup.LiquidShare = h.AboveCm/100, 1
		if *h.MMHg == 0 {
			p.Setup.LiquidShare = 0
		}
		p.Entries = append(p.Entries, h.Entry)
	}
	leak := leaks(leakMLMin)
	if t := SealTests(c, eq); len(t) > 0 && t[len(t)-1].Current && t[len(t)-1].Estimate.OK {
		last := t[len(t)-1]
		p.Leak, p.TestBy = last.Estimate, last.Entry
		high := math.Max(5*last.Estimate.LeakMLMin, 1000)
		if last.Estimate.HighMLMin != nil {
			high = *last.Estimate.HighMLMin
		}
		leak = leaks{digits(last.Estimate.LowMLMin), digits(last.Estimate.LeakMLMin), digits(high)}
		p.Entries = append(p.Entries, last.Entry)
	}
	p.Entries = entriesOf(p.Entries...)
	p.Setup.LeakMLMin, p.Setup.VoidML = leak[1], voidML[1]
	p.Run = runs.Of(ran{p.Setup, leak, p.TestBy != ""})
	return p
}

// digits rounds to two significant digits: no seal test is better, and equal keys share one computation.
func digits(x float64) float64 {
	if x <= 0 {
		return 0
	}
	step := math.Pow(10, math.Floor(math.Log10(x))-1)
	return math.Round(x/step) * step
}

// Missing says in a sentence why nothing can be told, or what the model answers both ways.
func (p Path) Missing() string {
	if len(p.Why) > 0 {
		return "missing: " + strings.Join(p.Why, ", ")
	}
	if p.Run.Status == suction.CannotTell {
		return "the model cannot run it: " + p.Run.Sentence
	}
	if p.TestBy == "" {
		return "it depends on the seal, and no seal test was made on this dressing"
	}
	return "within what the seal test leaves open the model answers both ways"
}

// pathFacts sets what the pressure path tells. Where an input is missing, or where the model answers both ways
// within what is not known, the terms stay unknown.
func pathFacts(with *Pump, set Sink) {
	p := with.Path
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
	headFacts(with.Head, set)
	sealTestFacts(with.Seal, set)
}

// placeFacts tell the altitude of the place of care.
func placeFacts(c *casebook.Case, set Sink) {
	if c.Person != nil && c.Person.Body.AltitudeM != nil {
		set("place.altitude_m", *c.Person.Body.AltitudeM, c.Person.ID)
		set("place.ambient_mmHg", suction.AmbientMmHg(*c.Person.Body.AltitudeM), c.Person.ID)
	}
}

// pathFigures are the numbers of the model that pages show.
func pathFigures(c *casebook.Case, s *Pump, all func(Figure)) {
	if c.Ended != nil {
		return
	}
	add := figured(all)
	p, r := s.Path, s.Path.Run
	const source = "own model, docs/model/suction.md; parts of the class: common practice, no published source"
	if n := len(s.Seal); n > 0 && s.Seal[n-1].Current && s.Seal[n-1].Estimate.OK {
		e := s.Seal[n-1].Estimate
		at := s.Seal[n-1].Dated.At
		text := fmt.Sprintf("%s mL/min at %s mmHg", unit.Rough(e.LeakMLMin, 1), unit.Number(e.LeakAtMmHg, 0))
		if e.HighMLMin != nil {
			text += fmt.Sprintf(" (%s to %s)", unit.Rough(e.LowMLMin, 1), unit.Rough(*e.HighMLMin, 1))
		} else {
			text = fmt.Sprintf("at least %s mL/min at %s mmHg", unit.Rough(e.LowMLMin, 1), unit.Number(e.LeakAtMmHg, 0))
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
		Text: spanText(100*r.MeanDuty, 100*r.Duty.Low, 100*r.Duty.High, 0, " %"), Method: how, Source: source, Entries: p.Entries})
	add(Figure{ID: "path.starts", Name: "Starts of the pump an hour", Value: r.MeanStarts, Unit: "1/h",
		Text: spanText(r.MeanStarts, r.Starts.Low, r.Starts.High, 0, " an hour"), Method: how, Source: source, Entries: p.Entries})
	if r.Largest.LeakMLMin != nil {
		add(Figure{ID: "path.largest_leak", Name: "Largest leak at which the order holds", Value: *r.Largest.LeakMLMin, Unit: "mL/min",
			Text: unit.Rough(*r.Largest.LeakMLMin, 0) + " mL/min at 125 mmHg", Method: "deepest stage, settled, eq. 14", Source: source, Entries: p.Entries})
	}
}

func (p Path) leakWords() string {
	if p.TestBy != "" {
		return "from the seal test"
	}
	return fmt.Sprintf("not known: %s to %s tried", unit.Number(leakMLMin[0], 0), unit.Number(leakMLMin[2], 0))
}
