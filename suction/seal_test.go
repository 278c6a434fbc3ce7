package suction

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"lowtide/therapy"
)

// paused runs a hold test through the full model: pump off, both ends at the first reading.
func paused(s Setup, firstMmHg, seconds float64) (first, second float64) {
	s.Stages = therapy.Program{{HoldMin: 600}}
	s.Pump.VentMLMinMmHg, s.LiquidShare = 0, 0
	s.StartMmHg, s.Hours = firstMmHg, seconds/3600
	r := Simulate(s, Options{StepS: seconds})
	return firstMmHg, r.Trace[len(r.Trace)-1].PumpMmHg
}

// TestLawHoldTestFindsTheLeak: what the model leaks, the seal check finds again; with readings rounded to whole mmHg
// and the exponent unknown, the interval holds the truth.
func TestLawHoldTestFindsTheLeak(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := setups(t)
		s.LeakMLMin = rapid.Float64Range(2, 40).Draw(t, "true leak")
		first := rapid.Float64Range(60, 150).Draw(t, "first")
		seconds := rapid.Float64Range(10, 120).Draw(t, "seconds")
		a, b := paused(s, first, seconds)
		if b < 5 {
			t.Skip("the suction is gone: no two readings")
		}
		if s.Tube.BoreMM < 3 {
			s.Tube.BoreMM = 3 // a narrow tube keeps the pump's reading above the wound's, which (15) leaves out
			a, b = paused(s, first, seconds)
		}
		exact := SealFromHold(s, HoldTest{FirstMmHg: a, SecondMmHg: b, Seconds: seconds})
		if !exact.OK || math.Abs(exact.LeakMLMin-s.LeakMLMin) > 0.02*s.LeakMLMin {
			t.Fatalf("%+v, want %g", exact, s.LeakMLMin)
		}
		seen := SealFromHold(s, HoldTest{FirstMmHg: math.Round(a), SecondMmHg: math.Round(b), Seconds: seconds})
		if !seen.OK || seen.LowMLMin > s.LeakMLMin || (seen.HighMLMin != nil && *seen.HighMLMin < s.LeakMLMin) {
			t.Fatalf("%+v does not hold %g", seen, s.LeakMLMin)
		}
	})
}

// TestLawDutyFindsTheLeak: likewise from the pump's duty in a settled hold.
func TestLawDutyFindsTheLeak(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := setups(t)
		s.LiquidShare = 0
		s.Pump.Sensor, s.Pump.BandMmHg, s.Pump.VentMLMinMmHg = "canister", 2, 0
		s.Tube.BoreMM = 4
		s.LeakMLMin = rapid.Float64Range(5, 300).Draw(t, "true leak")
		order := rapid.Float64Range(50, 140).Draw(t, "order")
		s.Stages = therapy.Program{{SuctionMmHg: order, HoldMin: 600}}
		s.Hours, s.StartMmHg = 1, order
		r := Simulate(s, Options{})
		e := SealFromDuty(s, DutySeen{Duty: r.Duty, SuctionMmHg: order})
		if !e.OK || e.LowMLMin > s.LeakMLMin || (e.HighMLMin != nil && *e.HighMLMin < s.LeakMLMin) {
			t.Fatalf("%+v does not hold %g", e, s.LeakMLMin)
		}
		if r.Duty > 0.02 && r.Duty < 1 && math.Abs(e.LeakMLMin-s.LeakMLMin) > 0.1*s.LeakMLMin {
			t.Fatalf("leak %g, want %g within a tenth", e.LeakMLMin, s.LeakMLMin)
		}
	})
}

// TestLawLargestLeak: in the full model the order holds a little below the largest leak, and does not above it.
func TestLawLargestLeak(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := setups(t)
		s.LiquidShare, s.Pump.VentMLMinMmHg = 0, 0
		s.Tube, s.Pump.BandMmHg = Tube{LengthM: 0.5, BoreMM: 8}, 4 // so that the pump is the limit and not the tube
		order := rapid.Float64Range(30, 150).Draw(t, "order")
		s.Stages = therapy.Program{{SuctionMmHg: order, HoldMin: 600}}
		s.Hours, s.StartMmHg = 0.05, order
		l := LargestLeak(s)
		if l.LeakMLMin == nil {
			t.Fatalf("no limit for %+v", s)
		}
		if *l.LeakMLMin > 0.95*mostLeakMLMin {
			t.Skip("beyond the model")
		}
		at := func(share float64) float64 {
			s.LeakMLMin = *l.LeakMLMin * share
			trace := Simulate(s, Options{StepS: s.Hours * 3600}).Trace
			return trace[len(trace)-1].WoundMmHg
		}
		edge := order - s.Pump.BandMmHg/2
		if above := at(1.05); above >= edge {
			t.Fatalf("with 1.05 of %g mL/min the wound is at %g, edge %g", *l.LeakMLMin, above, edge)
		}
		// Below it the sensor may still swing through its band; the wound follows no lower than the band's width.
		if below := at(0.95); below < edge-s.Pump.BandMmHg/2-0.1 {
			t.Fatalf("with 0.95 of %g mL/min the wound is at %g, edge %g", *l.LeakMLMin, below, edge)
		}
	})
}

func TestSealRefuses(t *testing.T) {
	s := twoStages()
	for name, e := range map[string]SealEstimate{
		"rose":         SealFromHold(s, HoldTest{FirstMmHg: 100, SecondMmHg: 110, Seconds: 30}),
		"no time":      SealFromHold(s, HoldTest{FirstMmHg: 100, SecondMmHg: 90}),
		"nothing":      SealFromHold(s, HoldTest{FirstMmHg: 1, SecondMmHg: 0, Seconds: 30}),
		"not a number": SealFromHold(s, HoldTest{FirstMmHg: math.NaN(), SecondMmHg: 0, Seconds: 30}),
		"duty":         SealFromDuty(s, DutySeen{Duty: 1.2, SuctionMmHg: 100}),
		"too deep":     SealFromDuty(s, DutySeen{Duty: 0.2, SuctionMmHg: 300}),
		"NaN duty":     SealFromDuty(s, DutySeen{Duty: math.NaN(), SuctionMmHg: 100}),
	} {
		if e.OK || e.Sentence == "" || e.LeakMLMin != 0 {
			t.Errorf("%s: %+v", name, e)
		}
	}
	gone := SealFromHold(s, HoldTest{FirstMmHg: 100, SecondMmHg: 0, Seconds: 30})
	if !gone.OK || gone.HighMLMin != nil || gone.LowMLMin <= 0 {
		t.Errorf("suction gone before the second reading: %+v, want a lower limit only", gone)
	}
	always := SealFromDuty(s, DutySeen{Duty: 1, SuctionMmHg: 100})
	if !always.OK || always.HighMLMin != nil {
		t.Errorf("pump running all the time: %+v, want a lower limit only", always)
	}
}

func TestExplain(t *testing.T) {
	s := twoStages()
	s.Stages = therapy.Program{{SuctionMmHg: 125, HoldMin: 5}}
	between := func(lo, hi float64) SealEstimate {
		return SealEstimate{OK: true, LowMLMin: lo, HighMLMin: &hi, LeakAtMmHg: 125}
	}
	for _, c := range []struct {
		name  string
		e     SealEstimate
		stage int
		want  Verdict
	}{
		{"small leak", between(5, 50), 0, VerdictNo},
		{"huge leak", between(2000, 3000), 0, VerdictYes},
		{"wide", between(100, 3000), 0, VerdictMaybe},
		{"no upper limit", SealEstimate{OK: true, LowMLMin: 2000, LeakAtMmHg: 125}, 0, VerdictYes},
		{"no estimate", SealEstimate{}, 0, VerdictUnknown},
		{"no such stage", between(5, 50), 3, VerdictUnknown},
	} {
		if got := Explain(s, c.e, c.stage); got.Verdict != c.want || got.Sentence == "" {
			t.Errorf("%s: %+v, want %s", c.name, got, c.want)
		}
	}
	// A shallow stage that a tight seal keeps out of reach is not the leak's doing.
	if got := Explain(twoStages(), between(2, 10), 1); got.Verdict != VerdictNo || got.ReachedNoLeak {
		t.Errorf("shallow stage: %+v", got)
	}
	if w, _ := SealChange(between(5, 10), between(12, 20)); w != "worse" {
		t.Errorf("worse: %s", w)
	}
	if w, _ := SealChange(between(5, 10), between(9, 20)); w != "no difference shown" {
		t.Errorf("overlap: %s", w)
	}
	if w, _ := SealChange(SealEstimate{}, between(9, 20)); w != "cannot tell" {
		t.Errorf("missing: %s", w)
	}
}
