package state

import (
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

// Head is what liquid in the tube does at the pump's place, for the dressing now on.
type Head struct {
	// Known tells that the place was noted at the last visit.
	Known   bool
	AboveCm float64
	Words   string
	// MMHg is what the column takes (positive) or adds (negative); nil when it cannot be told. MostMmHg is the
	// amount, without sign, if the whole run is filled.
	MMHg     *float64
	MostMmHg float64
	Entry    string
}

// reach is how far from the wound a pump can be when only its place was written: own choices.
var reach = map[string]float64{"bed": 10, "floor": -100, "shoulder": 60}

// HeadOf takes the pump's place from the last visit: an older one is not the place of today.
func HeadOf(c *casebook.Case) Head {
	n := len(c.Changes)
	if n == 0 || c.Changes[n-1].Body.PumpPlace == nil {
		return Head{}
	}
	b := *c.Changes[n-1].Body.PumpPlace
	h := Head{Entry: c.Changes[n-1].ID}
	switch far, listed := reach[b.Place]; {
	case b.AboveCm != nil:
		h.Known, h.AboveCm = true, *b.AboveCm
		h.Words = place(*b.AboveCm)
	case listed:
		h.Known, h.AboveCm = true, far
		h.Words = map[string]string{"bed": "on the bed", "floor": "on the floor", "shoulder": "at the shoulder"}[b.Place]
	default:
		return h
	}
	full := suction.HeadMmHg(h.AboveCm / 100)
	h.MostMmHg = math.Abs(full)
	zero := 0.0
	switch {
	case b.Liquid == "none":
		h.MMHg = &zero
	case b.Liquid == "full" && b.AboveCm != nil:
		h.MMHg = &full
	}
	return h
}

func place(cm float64) string {
	switch n := unit.Number(math.Abs(cm), 0) + " cm "; {
	case cm > 0:
		return n + "above the wound"
	case cm < 0:
		return n + "below the wound"
	}
	return "at the height of the wound"
}

// SealTest is a test of the seal, a hold test or the motor's share of time, with the leak that it tells.
type SealTest struct {
	Dated    casebook.Dated[casebook.DressingChanged]
	Estimate suction.SealEstimate
	Entry    string
	// Current tells that it was made on the dressing now on.
	Current bool
}

// SealTests estimates the leak at every visit with a hold test or with the motor's share of time at a suction that
// was read, oldest first, each with the pump and the canister of its time. A hold test is preferred: it does not rest on
// how strong the pump is.
func SealTests(c *casebook.Case, eq *equipment.Set) []SealTest {
	var out []SealTest
	for i, d := range c.Changes {
		h, motor, shown := d.Body.HoldTest, d.Body.MotorPct, d.Body.SuctionMmHg
		if h == nil && (motor == nil || shown == nil || *shown <= 0) {
			continue
		}
		t := SealTest{Dated: d, Entry: d.ID, Current: i == len(c.Changes)-1}
		s, why := setupThen(c, d)
		switch {
		case why != "":
			method := "hold test"
			if h == nil {
				method = "pump duty"
			}
			t.Estimate = suction.SealEstimate{Method: method, Sentence: "Cannot tell the leak: " + why + " at the time of the test."}
		case h != nil:
			t.Estimate = suction.SealFromHold(s, suction.HoldTest{FirstMmHg: h.FirstMmHg, SecondMmHg: h.SecondMmHg, Seconds: h.Seconds})
		default:
			t.Estimate = suction.SealFromDuty(s, suction.DutySeen{Duty: *motor / 100, SuctionMmHg: *shown})
		}
		out = append(out, t)
	}
	return out
}

// setupThen is the pump and the canister at a visit: the canister as it was when the visit ended.
func setupThen(c *casebook.Case, d casebook.Dated[casebook.DressingChanged]) (s suction.Setup, why string) {
	known := false
	for _, u := range c.Pumps {
		if u.Assigned.At.After(d.At) || u.Returned != nil && !u.Returned.At.After(d.At) {
			continue
		}
		class, ok := suction.Class(u.Assigned.Body.Class)
		if known = ok; ok {
			s = class
			s.CanisterML = 0
			if u.Assigned.Body.CanisterML != nil {
				s.CanisterML = *u.Assigned.Body.CanisterML
			}
		}
	}
	if !known {
		return s, "no pump of a class that the model knows"
	}
	filled := false
	for _, r := range c.Canister {
		if r.At.After(d.At) {
			break
		}
		if r.Body.SizeML != nil {
			s.CanisterML = *r.Body.SizeML
		}
		// The test belongs to a dressing just put on, so only a reading of that visit tells the gas that was there.
		switch now := r.At.Equal(d.At); {
		case now && r.Body.Changed != nil && *r.Body.Changed:
			s.FluidML, filled = 0, true
		case now && r.Body.VolumeML != nil:
			s.FluidML, filled = *r.Body.VolumeML, true
		}
	}
	switch {
	case s.CanisterML == 0:
		return s, "no canister size"
	case !filled:
		return s, "no canister reading"
	}
	if c.Person != nil && c.Person.Body.AltitudeM != nil {
		s.AltitudeM = *c.Person.Body.AltitudeM
	}
	return s, ""
}
