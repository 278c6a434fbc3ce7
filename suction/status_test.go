package suction

import (
	"math"
	"strings"
	"testing"

	"lowtide/therapy"
)

// TestStatus goes through the outcomes with the setup that brings each about.
func TestStatus(t *testing.T) {
	edit := func(f func(*Setup)) Setup {
		s := twoStages()
		s.Stages = therapy.Program{{SuctionMmHg: 110, HoldMin: 10}}
		f(&s)
		return s
	}
	for _, c := range []struct {
		name string
		s    Setup
		want Status
		says string
	}{
		{"as it should be", edit(func(s *Setup) {}), OK, "Every stage"},
		{"tight seal, no vent", twoStages(), NotReached, "no vent"},
		{"zero void", edit(func(s *Setup) { s.VoidML = 0 }), NoVoid, "void"},
		{"full canister", edit(func(s *Setup) { s.FluidML = s.CanisterML }), CanisterFull, "Change the canister"},
		{"more than full", edit(func(s *Setup) { s.FluidML = s.CanisterML + 50 }), CanisterFull, "full"},
		{"no canister", edit(func(s *Setup) { s.CanisterML, s.FluidML = 0, 0 }), CanisterFull, "full"},
		{"leak above the pump", edit(func(s *Setup) { s.LeakMLMin = 3000 }), LeakAbovePump, "running all the time"},
		{"order too deep", edit(func(s *Setup) { s.Stages[0].SuctionMmHg = 300 }), OrderTooDeep, "at the most"},
		{"pump above", edit(func(s *Setup) { s.HeightM, s.LiquidShare = 0.5, 1 }), NotReached, "above the wound"},
		{"pump below", edit(func(s *Setup) { s.HeightM, s.LiquidShare = -0.5, 1 }), OffOrder, "below the wound"},
		{"no pump", edit(func(s *Setup) { s.Pump.FreeFlowMLMin, s.LeakMLMin = 0, 0 }), NotReached, "moves no air"},
		{"a column too high for the pump", edit(func(s *Setup) {
			s.Stages[0].SuctionMmHg, s.HeightM, s.LiquidShare, s.Pump.Sensor = 200, 0.5, 1, "wound"
		}), OrderTooDeep, "even with a perfect seal"},
		{"no stages", edit(func(s *Setup) { s.Stages = nil }), CannotTell, "no stage"},
		{"not a number", edit(func(s *Setup) { s.VoidML = math.NaN() }), CannotTell, "void_mL"},
		{"negative", edit(func(s *Setup) { s.LeakMLMin = -1 }), CannotTell, "leak_mL_min"},
		{"too many stages", edit(func(s *Setup) { s.Hours, s.Stages[0].HoldMin = 744, 0.01 }), CannotTell, "stages"},
	} {
		r := Simulate(c.s, Options{StepS: 10})
		if r.Status != c.want || !strings.Contains(r.Sentence, c.says) {
			t.Errorf("%s: %s: %s; want %s with %q", c.name, r.Status, r.Sentence, c.want, c.says)
		}
	}
}

// TestFullCanisterGivesNothing: no figure may reassure.
func TestFullCanisterGivesNothing(t *testing.T) {
	s := twoStages()
	s.FluidML = s.CanisterML
	r := Simulate(s, Options{StepS: 60})
	if r.MeanWoundMmHg != 0 || r.Stages[0].Reached || r.Stages[1].Reached || r.Stages[0].TimeToReachS != nil {
		t.Errorf("%+v", r)
	}
	if r.MeanOrderedMmHg != 88.75 {
		t.Errorf("mean ordered %g, want (440 + 180)/7 over 17 cycles and one minute", r.MeanOrderedMmHg)
	}
	for _, x := range r.Trace {
		if x.WoundMmHg != 0 {
			t.Fatalf("%+v", x)
		}
	}
}

// TestPassingIsNotHolding: with the pump on the floor the wound runs through the order to a greater depth.
func TestPassingIsNotHolding(t *testing.T) {
	s := twoStages()
	s.Stages = therapy.Program{{SuctionMmHg: 110, HoldMin: 10}}
	s.HeightM, s.LiquidShare, s.Hours = -0.7, 1, 0.1
	x := Simulate(s, Options{}).Stages[0]
	if !x.Reached || x.Held || x.Steady.OffsetMmHg < 50 {
		t.Errorf("%+v", x)
	}
	if !strings.Contains(x.Sentence, "not held") {
		t.Error(x.Sentence)
	}
}

// TestVentReachesTheShallowStage: what a tight seal keeps out of reach, a vent gives.
func TestVentReachesTheShallowStage(t *testing.T) {
	s := twoStages()
	if Simulate(s, Options{}).Stages[1].Reached {
		t.Error("reached without a vent")
	}
	s.Pump.VentMLMinMmHg = 5
	r := Simulate(s, Options{})
	if !r.Stages[1].Reached || r.Status != OK {
		t.Errorf("%+v", r.Stages[1])
	}
	if r.Balance.VentInML <= 0 {
		t.Errorf("nothing came through the vent: %+v", r.Balance)
	}
}

// TestRampIsFollowed: with a ramp the pump keeps within its band of the moving order.
func TestRampIsFollowed(t *testing.T) {
	s := twoStages()
	s.Stages = therapy.Program{{SuctionMmHg: 110, HoldMin: 2, RampMin: 2}}
	s.LeakMLMin, s.Hours = 50, 0.1
	for _, x := range Simulate(s, Options{StepS: 0.5}).Trace {
		if d := math.Abs(x.PumpMmHg - x.OrderedMmHg); x.TS < 240 && d > s.Pump.BandMmHg/2+0.01 {
			t.Fatalf("%+v: %g off", x, d)
		}
	}
}

func TestBand(t *testing.T) {
	s := twoStages()
	ranges := []Range{{"leak_mL_min", 5, 40}, {"void_mL", 30, 90}}
	b := Band(s, ranges, 16, Options{StepS: 30})
	if !b.OK || b.Runs != 21 {
		t.Fatalf("%+v", b.Sentence)
	}
	r := Simulate(s, Options{StepS: 30})
	for i, x := range b.Trace {
		if x.LowMmHg > r.Trace[i].WoundMmHg || x.HighMmHg < r.Trace[i].WoundMmHg {
			t.Fatalf("sample %d: %+v does not hold %g", i, x, r.Trace[i].WoundMmHg)
		}
	}
	if !(b.Mean.Low < r.MeanWoundMmHg && r.MeanWoundMmHg < b.Mean.High && b.Duty.High > b.Duty.Low) {
		t.Errorf("%+v", b)
	}
	if b.ReachedIn[0] != 21 || b.ReachedIn[1] == 0 || b.ReachedIn[1] == 21 {
		t.Errorf("reached in %v of 21: the shallow stage should be reached with the larger leaks only", b.ReachedIn)
	}
	if Band(s, []Range{{"nonsense", 0, 1}}, 4, Options{}).OK || Band(s, []Range{{"void_mL", 9, 1}}, 4, Options{}).OK {
		t.Error("bad ranges accepted")
	}
}
