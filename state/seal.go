package state

import (
	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/suction"
)

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

// sealMethods say how a leak was told, by the method of the estimate.
var sealMethods = map[string]string{
	"hold test": "hold test, eq. 15; limits for the stated uncertainties of readings, gas volume and exponent",
	"pump duty": "motor's share of time, eq. 16; limits for the stated uncertainties of share, the pump's flow and exponent",
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

// sealFacts tells how the seal of the dressing now on is. A new dressing has a new seal, so what was said of
// the one before does not count for it; a leak alarm recorded as settled says that the seal holds again.
func sealFacts(c *casebook.Case, set Sink) {
	n := len(c.Changes)
	if n == 0 {
		return
	}
	d := c.Changes[n-1]
	seal, at, by := d.Body.Seal, d.At, d.ID
	for _, a := range c.Alarms {
		if a.Body.Alarm == "leak" && a.Body.Settled != nil && *a.Body.Settled && a.At.After(at) {
			seal, at, by = "holds", a.At, a.ID
		}
	}
	if seal != "" {
		set("visit.seal", seal, by)
		set("visit.seal_at", at, by)
	}
}
