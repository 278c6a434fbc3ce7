package cli

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"
)

func runLowtide(t *testing.T, stdin string, args ...string) (code int, stdout, stderr string) {
	t.Helper()
	var out, errs bytes.Buffer
	code = Main(args, strings.NewReader(stdin), &out, &errs)
	return code, out.String(), errs.String()
}

const healingSeries = `{"wound_type":"surgical","as_of":"2026-03-29","sizes":[
 {"at":"2026-03-01","area_cm2":20.7,"method":"outline","se_cm2":0.6,"depth_cm":2.1,"volume_cm3":25},
 {"at":"2026-03-08","area_cm2":19.0,"method":"outline","se_cm2":0.6,"depth_cm":1.8,"volume_cm3":20},
 {"at":"2026-03-15","area_cm2":17.6,"method":"outline","se_cm2":0.6,"depth_cm":1.5,"volume_cm3":16},
 {"at":"2026-03-29","area_cm2":14.4,"method":"outline","se_cm2":0.6,"depth_cm":1.1,"volume_cm3":10}],
 "ahead_days":[7,14,28],"goals":[{"id":"bed","measure":"depth_cm","below":0.3}]}`

// TestHealingContract holds the command to its agreed fields.
func TestHealingContract(t *testing.T) {
	code, out, errs := runLowtide(t, healingSeries, "healing", "-", "--json")
	if code != exitOK || errs != "" {
		t.Fatalf("exit %d, stderr %q", code, errs)
	}
	var a struct {
		Figures struct {
			Reduction *float64 `json:"area_reduction"`
			Advance   *float64 `json:"linear_advance_cm_wk"`
		} `json:"figures"`
		Ahead []struct {
			Days float64             `json:"days"`
			Area *map[string]float64 `json:"area_cm2"`
		} `json:"ahead"`
		Closure struct {
			By     map[string]float64 `json:"chance_by_days"`
			Median *float64           `json:"median_days"`
			P10    *float64           `json:"p10_days"`
			P90    *float64           `json:"p90_days"`
		} `json:"closure"`
		Not        *float64         `json:"chance_not_improving"`
		Milestones []map[string]any `json:"milestones"`
		Odd        []any            `json:"odd_measurements"`
		Status     string           `json:"status"`
		Sentence   string           `json:"sentence"`
		Goals      []map[string]any `json:"goals"`
	}
	if err := json.Unmarshal([]byte(out), &a); err != nil {
		t.Fatal(err)
	}
	// (20.7 - 14.4)/20.7, unrounded
	if a.Figures.Reduction == nil || math.Abs(*a.Figures.Reduction-(20.7-14.4)/20.7) > 1e-12 {
		t.Errorf("area reduction %v", a.Figures.Reduction)
	}
	if len(a.Ahead) != 3 || a.Ahead[1].Days != 14 || a.Ahead[1].Area == nil {
		t.Fatalf("ahead %+v", a.Ahead)
	}
	b := *a.Ahead[1].Area
	if !(b["p10"] < b["median"] && b["median"] < b["p90"] && b["median"] < 14.4 && b["median"] > 9) {
		t.Errorf("in 14 days %v", b)
	}
	if _, ok := a.Closure.By["84"]; !ok || a.Closure.Median == nil || a.Closure.P10 == nil || a.Closure.P90 == nil {
		t.Errorf("closure %+v", a.Closure)
	}
	if a.Not == nil || *a.Not > 0.05 {
		t.Errorf("chance not improving %v", a.Not)
	}
	if len(a.Milestones) == 0 || len(a.Goals) != 1 || a.Odd == nil || a.Status != "ok" || a.Sentence == "" {
		t.Errorf("milestones %d, goals %d, odd %v, status %q %q", len(a.Milestones), len(a.Goals), a.Odd, a.Status, a.Sentence)
	}
	for _, m := range a.Milestones {
		for _, key := range []string{"id", "met", "chance", "source", "right"} {
			if _, ok := m[key]; !ok {
				t.Errorf("milestone %v has no %s", m["id"], key)
			}
		}
	}
}

// TestHealingBadInput: every problem with its place on stderr, exit 2, nothing on stdout.
func TestHealingBadInput(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"not JSON", `{"sizes":`, "/: nothing: this is not JSON"},
		{"not an object", `[1]`, "write one object"},
		{"two documents", `{"sizes":[]} {}`, "something follows"},
		{"no sizes", `{}`, "/sizes: nothing"},
		{"text for a number", `{"sizes":[{"at":"2026-03-01","area_cm2":"20"}]}`, `/sizes/0/area_cm2: "20"`},
		{"no date", `{"sizes":[{"area_cm2":20}]}`, "/sizes/0/at: nothing"},
		{"bad date", `{"sizes":[{"at":"1 March","area_cm2":20}]}`, `/sizes/0/at: "1 March"`},
		{"year 12000", `{"sizes":[{"at":"12000-01-01","area_cm2":20}]}`, "/sizes/0/at"},
		{"too large", `{"sizes":[{"at":"2026-03-01","area_cm2":1e999}]}`, "/sizes/0/area_cm2: 1e999: the number is too large"},
		{"size not an object", `{"sizes":[3]}`, "/sizes/0: 3"},
		{"goal", `{"sizes":[],"goals":[{"measure":"girth","below":-1}]}`, "/goals/0/below: -1"},
		{"goal within a goal", `{"sizes":[],"goals":[{"measure":"depth_cm","below":0.3,"and":[{"measure":"bare_pct"}]}]}`, "/goals/0/and/0/below: nothing"},
		{"past", `{"sizes":[],"past":1}`, "/past: 1"},
		{"a slip in a key", `{"wound_typ":"x","sizes":[]}`, `/wound_typ: "x": this key is not known here; write wound_type if that is meant`},
		{"a key of nothing", `{"sizes":[{"at":"2026-03-01","area_cm2":3,"note":"x"}]}`, `/sizes/0/note: "x": this key is not known here; remove it`},
		{"after the review", `{"as_of":"2026-02-01","sizes":[{"at":"2026-02-01T23:00:00Z","area_cm2":10},{"at":"2026-02-02","area_cm2":9}]}`, `/sizes/1/at: "2026-02-02": this is after the day of the review, 2026-02-01`},
		{"after today", `{"sizes":[{"at":"2199-03-01","area_cm2":10}]}`, `/sizes/0/at: "2199-03-01": this is after today`},
		{"no error at all", `{"sizes":[{"at":"2026-03-01","area_cm2":10,"se_cm2":0}]}`, "/sizes/0/se_cm2: 0: no measurement is without error"},
		{"days", `{"sizes":[],"ahead_days":[7,"x"]}`, `/ahead_days/1: "x"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			code, out, errs := runLowtide(t, c.in, "healing", "-", "--json")
			if code != exitUsage || out != "" || !strings.Contains(errs, c.want) {
				t.Errorf("exit %d, stdout %q, stderr %q, want %q", code, out, errs, c.want)
			}
		})
	}
	// all problems at once
	_, _, errs := runLowtide(t, `{"as_of":7,"sizes":[{"area_cm2":"x"},4]}`, "healing", "-")
	for _, place := range []string{"/as_of", "/sizes/0/at", "/sizes/0/area_cm2", "/sizes/1"} {
		if !strings.Contains(errs, place) {
			t.Errorf("%s is not among the problems: %s", place, errs)
		}
	}
	if code, _, _ := runLowtide(t, "", "healing", "no-such-file.json"); code != exitUsage {
		t.Errorf("a missing file exits with %d", code)
	}
}

// TestHealingDegenerate: a status with a sentence, exit 0.
func TestHealingDegenerate(t *testing.T) {
	for _, c := range []struct{ name, in, status string }{
		{"none", `{"sizes":[]}`, "no sizes"},
		{"one", `{"sizes":[{"at":"2026-03-01","area_cm2":10}]}`, "too few sizes"},
		{"the same twice", `{"sizes":[{"at":"2026-03-01","area_cm2":10},{"at":"2026-03-01","area_cm2":10}]}`, "too few sizes"},
		{"negative", `{"sizes":[{"at":"2026-03-01","area_cm2":-10}]}`, "no sizes"},
		{"closed", `{"sizes":[{"at":"2026-03-01","area_cm2":2},{"at":"2026-03-08","area_cm2":1},{"at":"2026-03-15","area_cm2":0}]}`, "closed"},
		{"only zero", `{"sizes":[{"at":"2026-03-15","area_cm2":0}]}`, "closed"},
		{"old", `{"as_of":"2027-03-01","sizes":[{"at":"2026-03-01","area_cm2":2},{"at":"2026-03-08","area_cm2":1}]}`, "sizes too old"},
		{"only depth", `{"sizes":[{"at":"2026-03-01","depth_cm":2},{"at":"2026-03-08","depth_cm":1.8}]}`, "no areas"},
	} {
		t.Run(c.name, func(t *testing.T) {
			code, out, errs := runLowtide(t, c.in, "healing", "-", "--json")
			var a struct{ Status, Sentence string }
			if err := json.Unmarshal([]byte(out), &a); err != nil || code != exitOK || a.Status != c.status || a.Sentence == "" {
				t.Errorf("exit %d, %v, status %q %q, stderr %q; want %q", code, err, a.Status, a.Sentence, errs, c.status)
			}
			if code, out, _ := runLowtide(t, c.in, "healing", "-"); code != exitOK || !strings.Contains(out, a.Sentence) {
				t.Errorf("as text: exit %d, %q", code, out)
			}
		})
	}
}

// FuzzParseHealing: any bytes give problems, or a trajectory that is JSON.
// Slow: to each series that is taken curves are fitted, and forecasts are made.
func FuzzParseHealing(f *testing.F) {
	f.Add([]byte(healingSeries))
	f.Add([]byte(`{"sizes":[{"at":"2026-03-01","area_cm2":1e-300},{"at":"2026-03-01T00:00:00.000001Z","area_cm2":1e300}]}`))
	f.Add([]byte(`{"sizes":[{"at":"2026-03-01","length_cm":3,"width_cm":2}],"cohort":[{"sizes":[]}]}`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		var out, errs bytes.Buffer
		code := Main([]string{"healing", "-", "--json"}, bytes.NewReader(raw), &out, &errs)
		switch {
		case code == exitOK && !json.Valid(out.Bytes()):
			t.Fatalf("not JSON: %s", out.String())
		case code == exitUsage && errs.Len() == 0:
			t.Fatal("refused without a reason")
		case code != exitOK && code != exitUsage:
			t.Fatalf("exit %d: %s", code, errs.String())
		}
	})
}

// TestHealingAsked: what a file asks or holds beyond the usual is answered or named.
func TestHealingAsked(t *testing.T) {
	sizes := `"sizes":[{"at":"2026-03-01T23:00:00-08:00","area_cm2":20},{"at":"2026-03-08T23:00:00-08:00","area_cm2":18}]`
	for _, c := range []struct{ name, in, want string }{
		{"too far ahead", `{"ahead_days":[3650],` + sizes + `}`, "No forecast for 3650 days ahead: at most 364 days are forecast."},
		{"a late evening in the west is still that day", `{"as_of":"2026-03-08",` + sizes + `}`, "Fitted to 2 areas"},
		{"no method", `{` + sizes + `}`, "Some areas have no method"},
	} {
		t.Run(c.name, func(t *testing.T) {
			code, out, errs := runLowtide(t, c.in, "healing", "-", "--json")
			if code != exitOK || errs != "" || !strings.Contains(out, c.want) {
				t.Errorf("exit %d, stderr %q, want %q in %s", code, errs, c.want, out)
			}
			if code, out, _ := runLowtide(t, c.in, "healing", "-"); code != exitOK || !strings.Contains(out, c.want) {
				t.Errorf("as text: exit %d, want %q in %s", code, c.want, out)
			}
		})
	}
	many := strings.Repeat("7,", mostAheadDays) + "7"
	if code, _, errs := runLowtide(t, `{"sizes":[],"ahead_days":[`+many+`]}`, "healing", "-"); code != exitUsage || !strings.Contains(errs, "/ahead_days: 1001: ask for at most 1000 days") {
		t.Errorf("exit %d, %q", code, errs)
	}
}
