package suction

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// wideCase is one of those that testdata/ref/scipy-1-10-wide/make.py prints.
type wideCase struct {
	Setup         json.RawMessage `json:"setup"`
	StepS         float64         `json:"step_s"`
	TS            []float64       `json:"t_s"`
	Pump          []float64       `json:"pump_mmHg"`
	Wound         []float64       `json:"wound_mmHg"`
	MeanWoundMmHg float64         `json:"mean_wound_mmHg"`
	Duty          float64         `json:"duty"`
	StartsPerHour float64         `json:"starts_per_hour"`
	Reached       []bool          `json:"reached"`
	TimeToReachS  []*float64      `json:"time_to_reach_s"`
}

// TestCheckSciPyWide compares everything that the command promises, on inputs that go to the edges of what it takes
// and leave fields out. Bounds as in SOURCE.toml.
func TestCheckSciPyWide(t *testing.T) {
	raw, err := os.ReadFile("testdata/ref/scipy-1-10-wide/want.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []wideCase
	if err := json.Unmarshal(raw, &cases); err != nil {
		t.Fatal(err)
	}
	if len(cases) != 10 {
		t.Fatalf("%d cases, want 10", len(cases))
	}
	for k, c := range cases {
		in, problems := Parse(c.Setup)
		if len(problems) > 0 {
			t.Fatalf("case %d: %v", k, problems)
		}
		r := Simulate(in.Setup, Options{StepS: c.StepS})
		off, at := 0.0, 0.0
		for i, ts := range c.TS {
			x := r.Trace[int(math.Round(ts/c.StepS))]
			if math.Abs(x.TS-ts) > 1e-5 {
				t.Fatalf("case %d: sample at %g s, want %g", k, x.TS, ts)
			}
			if d := math.Max(math.Abs(x.PumpMmHg-c.Pump[i]), math.Abs(x.WoundMmHg-c.Wound[i])); d > off {
				off, at = d, ts
			}
		}
		t.Logf("case %2d: %5.2f h, %3d stages, worst %.6f mmHg at %g s", k, in.Setup.Hours, len(in.Setup.Stages), off, at)
		if !(off <= 0.02) {
			t.Errorf("case %d: %.4f mmHg off at %g s", k, off, at)
		}
		if math.Abs(r.MeanWoundMmHg-c.MeanWoundMmHg) > 1e-3 || math.Abs(r.Duty-c.Duty) > 1e-6 || math.Abs(r.StartsPerHour-c.StartsPerHour) > 1e-6*(1+c.StartsPerHour) {
			t.Errorf("case %d: mean %g, duty %g, starts %g; want %g, %g, %g", k, r.MeanWoundMmHg, r.Duty, r.StartsPerHour, c.MeanWoundMmHg, c.Duty, c.StartsPerHour)
		}
		for i, st := range r.Stages {
			want := c.TimeToReachS[i]
			if st.Reached != c.Reached[i] || (st.TimeToReachS == nil) != (want == nil) || want != nil && math.Abs(*st.TimeToReachS-*want) > 1e-3 {
				t.Errorf("case %d, stage %d: reached %v, first %v; want %v, %v", k, i, st.Reached, show(st.TimeToReachS), c.Reached[i], show(want))
			}
		}
	}
}
