package cli

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lowtide/suction"
)

// bench runs the command and returns exit code, output and errors.
func runBench(t *testing.T, stdin string, args ...string) (int, string, string) {
	t.Helper()
	var out, errs bytes.Buffer
	code := Main(append([]string{"bench"}, args...), strings.NewReader(stdin), &out, &errs)
	return code, out.String(), errs.String()
}

const benchExample = `{"stages":[{"suction_mmHg":110,"hold_min":4},{"suction_mmHg":60,"hold_min":3}],"hours":2,"class":"portable","canister_mL":400,"fluid_mL":100,"void_mL":60,"leak_mL_min":10,"leak_at_mmHg":125,"leak_exponent":1,"pump":{"free_flow_mL_min":2000,"deepest_mmHg":220,"band_mmHg":3,"sensor":"canister","vent_mL_min_mmHg":0},"tube":{"length_m":1.5,"bore_mm":4},"height_m":0,"liquid_share":0,"altitude_m":0}`

// contract is the part of the output whose names and units are fixed.
type contract struct {
	Trace []struct {
		T       *float64 `json:"t_s"`
		Ordered *float64 `json:"ordered_mmHg"`
		Pump    *float64 `json:"pump_mmHg"`
		Wound   *float64 `json:"wound_mmHg"`
	} `json:"trace"`
	MeanOrdered *float64 `json:"mean_ordered_mmHg"`
	MeanWound   *float64 `json:"mean_wound_mmHg"`
	Duty        *float64 `json:"duty"`
	Stages      []struct {
		Reached *bool    `json:"reached"`
		Time    *float64 `json:"time_to_reach_s"`
	} `json:"stages"`
	Status string `json:"status"`
}

func TestBenchContract(t *testing.T) {
	file := filepath.Join(t.TempDir(), "program.json")
	if err := os.WriteFile(file, []byte(benchExample), 0o600); err != nil {
		t.Fatal(err)
	}
	code, out, errs := runBench(t, "", file, "--json", "--step", "0.25s")
	var c contract
	if err := json.Unmarshal([]byte(out), &c); err != nil || code != 0 || errs != "" {
		t.Fatalf("code %d, %v, %s", code, err, errs)
	}
	if len(c.Trace) != 2*3600*4+1 {
		t.Fatalf("%d samples, want one each 0.25 s from 0 to 2 h", len(c.Trace))
	}
	for i, x := range c.Trace {
		if x.T == nil || x.Ordered == nil || x.Pump == nil || x.Wound == nil || math.Abs(*x.T-0.25*float64(i)) > 1e-9 {
			t.Fatalf("sample %d is incomplete or misplaced: %+v", i, x)
		}
		want := 110.0
		if math.Mod(*x.T, 420) >= 240 {
			want = 60
		}
		if *x.Ordered != want {
			t.Fatalf("ordered %g at %g s, want %g", *x.Ordered, *x.T, want)
		}
	}
	if *c.Trace[0].Wound != 0 || *c.Trace[0].Pump != 0 {
		t.Error("the run does not start at ambient")
	}
	if *c.MeanOrdered != 88.75 || *c.MeanWound <= *c.MeanOrdered || *c.Duty <= 0 || *c.Duty > 0.05 {
		t.Errorf("means %g %g duty %g", *c.MeanOrdered, *c.MeanWound, *c.Duty)
	}
	// The seal is tight and nothing vents: the shallow stage cannot be reached in 3 minutes.
	if len(c.Stages) != 2 || !*c.Stages[0].Reached || c.Stages[0].Time == nil || *c.Stages[1].Reached || c.Stages[1].Time != nil || c.Status == "ok" {
		t.Errorf("%+v %s", c.Stages, c.Status)
	}
}

func TestBenchReadsStdinAndPrintsText(t *testing.T) {
	code, out, errs := runBench(t, `{"stages":[{"suction_mmHg":125,"hold_min":60}],"ranges":{"leak_mL_min":[5,50]}}`, "-")
	if code != 0 || errs != "" {
		t.Fatalf("%d %s", code, errs)
	}
	for _, want := range []string{"Every stage is reached", "at the wound", "holds at the wound up to a leak", "Spread over 2 h (ranges of the file): mean at the wound", "not readings", "prescriber"} {
		if !strings.Contains(out, want) {
			t.Errorf("%q is missing in:\n%s", want, out)
		}
	}
}

func TestBenchRefusesWithEveryProblem(t *testing.T) {
	code, out, errs := runBench(t, `{"stages":[{"suction_mmHg":"x","hold_min":4}],"hours":-1,"colour":1}`, "-", "--json")
	if code != 2 || out != "" {
		t.Errorf("code %d, output %q", code, out)
	}
	for _, want := range []string{"/stages/0/suction_mmHg", "/hours is -1", "/colour"} {
		if !strings.Contains(errs, want) {
			t.Errorf("%q is missing in:\n%s", want, errs)
		}
	}
	for _, bad := range [][]string{{"-", "--step", "0s"}, {"-", "--step", "1ns"}, {"-", "--step", "soon"}, {"no-such-file"}, {}} {
		if code, _, errs := runBench(t, benchExample, bad...); code != 2 || errs == "" {
			t.Errorf("%v: code %d, %q", bad, code, errs)
		}
	}
	// A refused call says how to write it right.
	for says, bad := range map[string][]string{
		"such as 0.25s": {"-", "--step", "0.25"}, "for 2 h the shortest is 3ms": {"-", "--step", "0s"}, "type: lowtide bench FILE": {},
	} {
		if _, _, errs := runBench(t, benchExample, bad...); !strings.Contains(errs, says) {
			t.Errorf("%v: %q does not say %q", bad, errs, says)
		}
	}
	for _, bad := range []string{"", "{", "null", "[]", `"x"`, `{"stages":[]}`, "{}{}", "\xff\xfe"} {
		if code, _, errs := runBench(t, bad, "-", "--json"); code != 2 || errs == "" {
			t.Errorf("%q: code %d, %q", bad, code, errs)
		}
	}
}

// TestBenchDegenerate: a status with a sentence, valid JSON, code 0.
func TestBenchDegenerate(t *testing.T) {
	for want, in := range map[string]string{
		"no void":         `{"stages":[{"suction_mmHg":125,"hold_min":60}],"void_mL":0}`,
		"canister full":   `{"stages":[{"suction_mmHg":125,"hold_min":60}],"canister_mL":300,"fluid_mL":300}`,
		"leak above pump": `{"stages":[{"suction_mmHg":125,"hold_min":60}],"leak_mL_min":5000}`,
	} {
		code, out, errs := runBench(t, in, "-", "--json", "--step", "60s")
		var got struct{ Status, Sentence string }
		if err := json.Unmarshal([]byte(out), &got); err != nil || code != 0 || got.Status != want || got.Sentence == "" {
			t.Errorf("%s: code %d %v %+v %s", want, code, err, got, errs)
		}
	}
}

// TestBenchBand: the spread is always given, over the usual ranges when the file has none, and says which.
func TestBenchBand(t *testing.T) {
	_, out, errs := runBench(t, benchExample, "-", "--json", "--step", "60s")
	var got struct {
		MeanWound float64 `json:"mean_wound_mmHg"`
		Band      struct {
			OK     bool
			From   string `json:"ranges_from"`
			Ranges []struct{ Field string }
			Mean   struct{ Low, High float64 } `json:"mean_wound_mmHg"`
			Runs   int
		}
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil || errs != "" {
		t.Fatal(err, errs)
	}
	b := got.Band
	if !b.OK || !strings.HasPrefix(b.From, "usual") || len(b.Ranges) != 3 || b.Runs < 7 || !(b.Mean.Low < got.MeanWound && got.MeanWound < b.Mean.High) {
		t.Errorf("%+v around %g", b, got.MeanWound)
	}
}

// TestBenchLongestRun: every run that is accepted can be written with the step that nobody chose, one second.
func TestBenchLongestRun(t *testing.T) {
	hours, ok := suction.FieldNamed("hours")
	if !ok || hours.Max*3600 > mostSamples {
		t.Errorf("%g h give more than %d samples", hours.Max, mostSamples)
	}
}
