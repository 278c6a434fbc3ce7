package review_test

import (
	"math"
	"testing"

	"lowtide/equipment"
	"lowtide/state"
	engine "lowtide/suction"
)

// TestBenchTolerance: what the Bench computes coarsely for a quick answer agrees with the engine at its own tolerance
// to a hundredth of a millimetre in every figure that is shown to a tenth, and the trace and the band meet in time.
func TestBenchTolerance(t *testing.T) {
	for _, leak := range []float64{0, 3, 10, 60, 400} {
		for _, p := range []state.BenchProgram{{state.BenchStage(125, 60)}, {state.BenchStage(110, 4), state.BenchStage(60, 3)}, {state.BenchStage(80, 1), state.BenchStage(0, 2)}} {
			for _, hours := range []float64{1, 5} {
				in := state.BenchInput{Band: true}
				in.Setup, _ = state.BenchStart("portable")
				in.Setup.LeakMLMin, in.Setup.Hours = leak, hours
				got := in.Bench(p, equipment.BuiltIn())
				exact := in.Setup
				exact.Stages = p
				want := engine.Simulate(exact, engine.Options{})
				if got.Status != want.Status || math.Abs(got.MeanWoundMmHg-want.MeanWoundMmHg) > 0.01 || math.Abs(got.Duty-want.Duty) > 1e-4 || math.Abs(got.StartsPerHour-want.StartsPerHour) > 0.001*want.StartsPerHour+2 {
					t.Errorf("leak %v, %v, %v h: %s %v %v %v, want %s %v %v %v", leak, p, hours, got.Status, got.MeanWoundMmHg, got.Duty, got.StartsPerHour, want.Status, want.MeanWoundMmHg, want.Duty, want.StartsPerHour)
				}
				if len(got.Trace) != len(got.Band.Trace) || got.Trace[len(got.Trace)-1].TS != got.Band.Trace[len(got.Trace)-1].TS || got.Trace[len(got.Trace)-1].TS > 2*3600+1 {
					t.Errorf("trace of %d, band of %d", len(got.Trace), len(got.Band.Trace))
				}
				if got.Band.Mean.Low > got.MeanWoundMmHg+0.5 || got.Band.Mean.High < got.MeanWoundMmHg-0.5 && hours <= 2 {
					t.Errorf("the mean %v lies outside its band %v", got.MeanWoundMmHg, got.Band.Mean)
				}
			}
		}
	}
}
