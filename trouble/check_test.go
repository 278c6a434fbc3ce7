package trouble

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// TestCheckExactFractions: the posteriors of hand-written calls against exact fractions by a script that shares no code.
func TestCheckExactFractions(t *testing.T) {
	var calls []struct {
		Name          string
		Danger, Signs map[string]string
		Checks        [][2]string
	}
	var want []struct {
		Name   string
		Chance map[string]float64
	}
	read(t, "testdata/ref/exact-fractions/calls.json", &calls)
	read(t, "testdata/ref/exact-fractions/want.json", &want)
	if len(calls) != len(want) || len(calls) < 9 {
		t.Fatalf("%d calls, %d answers", len(calls), len(want))
	}
	m, worst := BuiltIn(), 0.0
	for i, c := range calls {
		s := State{Danger: c.Danger, Signs: c.Signs}
		for _, x := range c.Checks {
			s.Checks = append(s.Checks, Outcome{x[0], x[1]})
		}
		got := m.Posterior(s)
		if len(want[i].Chance) != len(got) || want[i].Name != c.Name {
			t.Fatalf("%s: %d causes, want %d", c.Name, len(got), len(want[i].Chance))
		}
		for k := range got {
			w := want[i].Chance[m.Causes[k].ID]
			off := math.Abs(got[k]-w) / math.Max(w, 1e-300)
			if w == 0 {
				off = got[k]
			}
			worst = math.Max(worst, off)
			if off > 1e-12 {
				t.Errorf("%s: %s %.15g, want %.15g", c.Name, m.Causes[k].ID, got[k], w)
			}
		}
	}
	t.Logf("exact-fractions: %d calls, worst relative error %.1e", len(calls), worst)
}

func read(t *testing.T, name string, into any) {
	t.Helper()
	raw, err := os.ReadFile(name)
	if err == nil {
		err = json.Unmarshal(raw, into)
	}
	if err != nil {
		t.Fatal(err)
	}
}
