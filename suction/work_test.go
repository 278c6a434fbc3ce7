package suction

import (
	"math"
	"strings"
	"testing"

	"lowtide/therapy"
)

// TestGasIsConservedAtTheEdges: long rests near the pump's deepest, where its flow is the small difference of large
// numbers; a canister that liquid pulls beyond that depth; a band so narrow that a cycle moves next to nothing.
func TestGasIsConservedAtTheEdges(t *testing.T) {
	for name, in := range map[string]string{
		"near the deepest": `{"class": "portable", "stages": [{"suction_mmHg": 150, "hold_min": 0.075}], "hours": 18.66, "void_mL": 1.2, "leak_mL_min": 17.11, "leak_at_mmHg": 113, "leak_exponent": 1, "pump": {"free_flow_mL_min": 15642, "deepest_mmHg": 127, "band_mmHg": 0.6, "sensor": "wound", "vent_mL_min_mmHg": 15.777}, "tube": {"length_m": 0.25, "bore_mm": 3.41}, "height_m": 1.22, "liquid_share": 0.85}`,
		"beyond it":        `{"stages": [{"suction_mmHg": 61.53, "hold_min": 2.302, "ramp_min": 0.06}, {"suction_mmHg": 96.51, "hold_min": 0.104}], "hours": 8.42, "canister_mL": 119, "fluid_mL": 114, "void_mL": 1.2, "leak_mL_min": 3.41, "leak_at_mmHg": 52, "leak_exponent": 0.837, "pump": {"free_flow_mL_min": 16413, "deepest_mmHg": 83, "sensor": "canister"}, "height_m": 1.16, "liquid_share": 1, "altitude_m": 3988}`,
		"a narrow band":    `{"class": "bedside", "stages": [{"suction_mmHg": 0, "hold_min": 0.586, "ramp_min": 0.935}, {"suction_mmHg": 64.89, "hold_min": 9.927, "ramp_min": 1.662}], "hours": 0.02, "canister_mL": 105, "fluid_mL": 103, "void_mL": 151.3, "leak_at_mmHg": 189, "leak_exponent": 0.718, "pump": {"free_flow_mL_min": 3799, "band_mmHg": 0.1, "sensor": "canister", "vent_mL_min_mmHg": 0.667}, "tube": {"length_m": 0.4, "bore_mm": 1.46}, "height_m": -1.09, "liquid_share": 0.11, "altitude_m": 2213}`,
	} {
		parsed, problems := Parse([]byte(in))
		if len(problems) > 0 {
			t.Fatal(name, problems)
		}
		b := Simulate(parsed.Setup, Options{}).Balance
		if !(b.ErrorShare <= 1e-9) || b.PumpOutML < 0 {
			t.Errorf("%s: %+v", name, b)
		}
	}
}

// TestTraceEndsOnce: hours that do not come out even in seconds give no second sample at the end.
func TestTraceEndsOnce(t *testing.T) {
	for _, full := range []float64{0, 400} {
		for i := 1; i < 400; i++ {
			s, _ := Class("portable")
			s.Stages, s.Hours, s.FluidML = continuous(0), float64(i)/1000, full
			trace := Simulate(s, Options{StepS: 0.9}).Trace
			if want := i*4 + 1; len(trace) != want || trace[len(trace)-1].TS != s.Hours*3600 {
				t.Fatalf("%g h: %d samples, want %d; the last at %g s", s.Hours, len(trace), want, trace[len(trace)-1].TS)
			}
		}
	}
}

// TestWorkIsBounded: a run that takes too much is given up with a sentence, and what is compared around it is
// shortened instead.
func TestWorkIsBounded(t *testing.T) {
	s, _ := Class("bedside")
	s.Stages, s.Hours = therapy.Program{{SuctionMmHg: 125, HoldMin: 1, RampMin: 4}}, 24
	s.CanisterML, s.FluidML, s.VoidML, s.LeakMLMin, s.Pump.BandMmHg = 300, 299, 5, 2000, 0.1
	r := Simulate(s, Options{MostSteps: 20000})
	if r.Status != CannotTell || !strings.Contains(r.Sentence, "so often") || r.Work.GaveUpAtS <= 0 || r.Work.GaveUpAtS > 600 {
		t.Errorf("%s: %s %+v", r.Status, r.Sentence, r.Work)
	}
	part, base := short(s, 20000)
	if base.Status == CannotTell || math.Abs(part.Hours*3600-0.9*r.Work.GaveUpAtS) > 1e-6 || base.Setup.Hours != part.Hours {
		t.Errorf("%s over %g h after a run that came to %g s", base.Status, part.Hours, r.Work.GaveUpAtS)
	}
	// A run with time enough is as without a bound.
	s.Hours = 0.01
	if a, b := Simulate(s, Options{MostSteps: 2_000_000}), Simulate(s, Options{}); a.MeanWoundMmHg != b.MeanWoundMmHg || b.Status == CannotTell {
		t.Errorf("%g and %g mmHg", a.MeanWoundMmHg, b.MeanWoundMmHg)
	}
}
