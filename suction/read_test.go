package suction

import (
	"encoding/json"
	"strings"
	"testing"
)

const contractExample = `{"stages":[{"suction_mmHg":110,"hold_min":4},{"suction_mmHg":60,"hold_min":3}],"hours":2,"class":"portable","canister_mL":400,"fluid_mL":100,"void_mL":60,"leak_mL_min":10,"leak_at_mmHg":125,"leak_exponent":1,"pump":{"free_flow_mL_min":2000,"deepest_mmHg":220,"band_mmHg":3,"sensor":"canister","vent_mL_min_mmHg":0},"tube":{"length_m":1.5,"bore_mm":4},"height_m":0,"liquid_share":0,"altitude_m":0}`

func TestParseContractExample(t *testing.T) {
	in, problems := Parse([]byte(contractExample))
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	got, _ := json.Marshal(in.Setup)
	want, _ := json.Marshal(twoStages())
	if string(got) != string(want) {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	// Everything but stages may be missing.
	in, problems = Parse([]byte(`{"stages":[{"suction_mmHg":125,"hold_min":60}],"class":"bedside"}`))
	if len(problems) > 0 || in.Setup.CanisterML != 800 || in.Setup.Pump.Sensor != "canister" {
		t.Errorf("%v %+v", problems, in.Setup)
	}
	in, problems = Parse([]byte(`{"stages":[{"suction_mmHg":125,"hold_min":60}],"filler":{"volume_mL":100,"porosity":0.97,"compression":0.5}}`))
	if len(problems) > 0 || in.Setup.VoidML < 46.9 || in.Setup.VoidML > 47.1 {
		t.Errorf("%v %+v: a void of 100 (0.97 - 0.5) = 47 mL", problems, in.Setup.VoidML)
	}
}

// TestParseListsEveryProblem: each with its place.
func TestParseListsEveryProblem(t *testing.T) {
	_, problems := Parse([]byte(`{"stages":[{"suction_mmHg":-5,"hold_min":"4"},7,{"hold_min":1}],"hours":0,"class":"pocket","pump":{"sensor":"nose","deepest_mmHg":1e999},
		"tube":3,"leak":5,"leak_exponent":2,"void_mL":null,"ranges":{"void_mL":[9,1],"x":[1,2],"leak_mL_min":[1]}}`))
	var places []string
	for _, p := range problems {
		places = append(places, p.Place)
		if p.Remedy == "" || p.Value == "" {
			t.Errorf("%+v lacks value or remedy", p)
		}
	}
	got := strings.Join(places, " ")
	for _, want := range []string{"/stages/0/suction_mmHg", "/stages/0/hold_min", "/stages/1", "/stages/2/suction_mmHg", "/hours", "/class", "/pump/sensor",
		"/pump/deepest_mmHg", "/tube", "/leak", "/leak_exponent", "/void_mL", "/ranges/void_mL", "/ranges/x", "/ranges/leak_mL_min"} {
		if !strings.Contains(" "+got+" ", " "+want+" ") {
			t.Errorf("no problem at %s; got %s", want, got)
		}
	}
}

// TestParseSaysWhatStandsThere: the value as it was written, or what is wrong with it, and where.
func TestParseSaysWhatStandsThere(t *testing.T) {
	many := `{"stages":[` + strings.Repeat(`{"suction_mmHg":125,"hold_min":1},`, 9999) + `{"suction_mmHg":-1,"hold_min":1}]}`
	for in, want := range map[string]Problem{
		`{}`:              {"/stages", "missing", "500 stages"},
		`{"stages":null}`: {"/stages", "null", "500 stages"},
		`{"stages":[{"suction_mmHg":125,"hold_min":1}],"leak_mL_min":null}`:               {"/leak_mL_min", "null", "leave the name out"},
		`{"stages":[{"suction_mmHg":125,"hold_min":1}],"liquid_share":2}`:                 {"/liquid_share", "2", "from 0 to 1, without"},
		`{"stages":[{"suction_mmHg":125,"hold_min":0}]}`:                                  {"/stages", "a cycle of 0 min", "hold_min above 0"},
		`{"stages":[{"suction_mmHg":125,"hold_min":1e-4}],"hours":24}`:                    {"/hours", "24", "shorten the run"},
		`{"stages":[{"suction_mmHg":125,"hold_min":1}],"start_mmHg":755,"altitude_m":90}`: {"/start_mmHg", "755", "752 mmHg"},
		`{"stages":[{"suction_mmHg":125,"hold_min":1,"hold_min":2}]}`:                     {"/stages/0/hold_min", "there more than once", "keep one"},
		`{"stages":[{"suction_mmHg":125,"hold_min":1}],"hours":1,"hours":2}`:              {"/hours", "there more than once", "keep one"},
		many: {"/stages", "a list of 10000 stages", "500 stages"},
	} {
		_, problems := Parse([]byte(in))
		found := false
		for _, p := range problems {
			found = found || p.Place == want.Place && p.Value == want.Value && strings.Contains(p.Remedy, want.Remedy)
		}
		if !found {
			t.Errorf("%.80s: %v; want %v", in, problems, want)
		}
	}
	// What is wrong in a list that is too long is said as well, and beyond a thousand their number.
	if _, problems := Parse([]byte(many)); len(problems) != 2 || problems[1].Place != "/stages/9999/suction_mmHg" {
		t.Errorf("%v", problems)
	}
	_, problems := Parse([]byte(`{"stages":[` + strings.Repeat(`{"suction_mmHg":"x","hold_min":-1},`, 999) + `{}]}`))
	if last := problems[len(problems)-1]; len(problems) != mostProblems+1 || last.Value != "1001 more problems" {
		t.Errorf("%d problems, the last %v", len(problems), last)
	}
}

// FuzzParse: any bytes give problems, or a set-up that is simulated to a status in words.
func FuzzParse(f *testing.F) {
	f.Add([]byte(contractExample))
	f.Add([]byte(`{"stages":[{"suction_mmHg":125,"hold_min":1,"ramp_min":0.5}],"hours":0.05,"ranges":{"pump/band_mmHg":[1,4]},"filler":{"volume_mL":10,"porosity":1,"compression":1}}`))
	f.Add([]byte(`{"stages":[]}`))
	f.Add([]byte(`[1,2`))
	f.Add([]byte(`{"stages":[{"suction_mmHg":0,"hold_min":0}]} {}`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		in, problems := Parse(raw)
		if len(problems) > 0 {
			return
		}
		in.Setup.Hours = min(in.Setup.Hours, 0.01)
		r := Simulate(in.Setup, Options{StepS: 1})
		if r.Status == "" || r.Sentence == "" {
			t.Fatalf("no status for %s", raw)
		}
		if _, err := json.Marshal(r); err != nil {
			t.Fatalf("%v for %s", err, raw)
		}
	})
}
