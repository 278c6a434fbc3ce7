package quiet

import (
	"testing"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/rule"
)

// most is how many findings of level Today or higher a stable, well recorded patient may bring a day.
const most = 0.3

// TestQuiet: stable patients stay quiet, and the generator is not so tame that the count could not fail. The whole count, of
// 1,000 patients, is printed by go run ./evidence/cmd/quiet.
func TestQuiet(t *testing.T) {
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	r := Count(rules, 60, 2)
	t.Logf("%d patient-days: %.3f of level Today or higher a day, %d of all levels", r.Days, r.PerDay(), r.All)
	if r.PerDay() > most {
		for _, s := range r.Shares {
			t.Logf("%s %s: %d days", s.Rule, s.Level, s.Days)
		}
		t.Errorf("%.3f findings of level Today or higher a patient-day, want at most %.1f", r.PerDay(), most)
	}
	if r.All == 0 {
		t.Error("nothing is said of anybody: the patients are too tame")
	}
}

// TestPatientsAreWellRecorded: what the patients are made of passes the checks of forms and files.
func TestPatientsAreWellRecorded(t *testing.T) {
	for n := range 40 {
		c := Patient(n)
		var list []casebook.Entry
		for _, l := range c.Log {
			list = append(list, l.Entry)
		}
		for _, p := range intake.CheckEntries(nil, list, Now) {
			if !p.Notice {
				t.Errorf("patient %d: %s", n, p)
			}
		}
		if len(c.Changes) < 2 || len(c.Signed) < len(c.Changes)-1 || len(c.Screenings) == 0 {
			t.Errorf("patient %d: %d changes, %d signed", n, len(c.Changes), len(c.Signed))
		}
	}
}
