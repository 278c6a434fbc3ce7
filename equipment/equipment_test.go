package equipment

import (
	"strings"
	"testing"
)

func TestBuiltIn(t *testing.T) {
	s := BuiltIn()
	p, ok := s.Pump("portable")
	if !ok || p.DeepestMmHg != 200 || len(s.Hash) != 64 {
		t.Errorf("portable pump: %+v", p)
	}
	if _, ok := s.Canister(800); !ok {
		t.Error("no 800 mL canister")
	}
}

func TestParseNamesEveryProblem(t *testing.T) {
	_, err := Parse([]byte(`
name = "ours"
colour = "blue"
[[pump]]
id = "p"
shallowest_mmHg = 200
deepest_mmHg = 25
run_least_h = 5
run_most_h = 4
charge_h = 1
canisters_mL = [123]
source = "x"
[[canister]]
size_mL = 5
usable_share = 1.2
source = "x"
`))
	if err == nil {
		t.Fatal("a list with five problems was taken")
	}
	for _, want := range []string{"colour", "suction from 200 to 25", "run time from 5 to 4", "123 mL is not listed", "canister of 5 mL"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%q is not among the problems:\n%v", want, err)
		}
	}
}

// FuzzParse: no text makes the reader of an equipment list fall over.
func FuzzParse(f *testing.F) {
	f.Add(builtIn)
	f.Add([]byte("name = 3\n[[pump]]"))
	f.Fuzz(func(t *testing.T, raw []byte) { Parse(raw) })
}
