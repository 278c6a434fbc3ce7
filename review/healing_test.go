package review_test

import (
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/healing"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
	"lowtide/unit"
)

// sizesOf are weekly sizes by ruler, the last a day before noon; keep is what length, width and depth keep each week.
func sizesOf(n int, length, width, depth, keep float64) []step {
	out := []step{at(-2400, person(nil)), at(-2399, wound("A", nil))}
	for i := range n {
		k := math.Pow(keep, float64(i))
		out = append(out, at(-24-168*float64(n-1-i), measured(length*k, width*k, depth*k, nil)))
	}
	return out
}

func healingOf(t testing.TB, steps []step, now time.Time) *state.Healing {
	c := casebook.FoldAt("tidy", entries(steps...), now)
	return state.HealingOf(c, c.Wound("A"), inForce(t), now)
}

// TestHealingIsTheEngine: what review says is what the engine says of the same sizes, on the same scale.
func TestHealingIsTheEngine(t *testing.T) {
	steps := sizesOf(6, 8, 5, 3, 0.94)
	h := healingOf(t, steps, noon)
	in := healing.Input{WoundType: "surgical", Limits: state.HealingLimits(inForce(t)), AsOf: noonPlus(-24), AheadDays: []float64{15, 29}}
	for _, s := range steps {
		if m, ok := s.body.(casebook.WoundMeasured); ok {
			a := math.Pi / 4 * *m.LengthCm * *m.WidthCm
			in.Sizes = append(in.Sizes, healing.Size{At: noonPlus(s.atH), AreaCm2: &a, Method: "ellipse", LengthCm: m.LengthCm, WidthCm: m.WidthCm, DepthCm: m.DepthCm})
		}
	}
	want := healing.Assess(in)
	if math.Abs(*h.NotImproving-*want.NotImproving) > 1e-9 || math.Abs(*h.Ahead().Closure.MedianDays-*want.Closure.MedianDays) > 1e-9 {
		t.Errorf("not improving %g, closure %g; the engine says %g, %g", *h.NotImproving, *h.Ahead().Closure.MedianDays, *want.NotImproving, *want.Closure.MedianDays)
	}
	// Two and four weeks from noon, which is a day after the last size: between the weeks of the grid by a line. A line
	// on a curve is off by at most an eighth of the step squared times the curvature, here under 1 %.
	for i, days := range []int{14, 28} {
		got, ok := h.At(noon.AddDate(0, 0, days))
		if w := want.Ahead[i]; !ok || math.Abs(got.Area.Median/w.Area.Median-1) > 0.01 || math.Abs(got.Depth.Median/w.Depth.Median-1) > 0.01 || math.Abs(got.Area.P90/w.Area.P90-1) > 0.01 {
			t.Errorf("%d days ahead: area %+v depth %+v; the engine says %+v %+v", days, got.Area, got.Depth, w.Area, w.Depth)
		}
	}
}

// TestChancesInHeadlines: the number in the headline of a stall is the engine's, and the rule answers from 50 % on.
func TestChancesInHeadlines(t *testing.T) {
	c := casebook.Fold("tidy", entries(join(sizesOf(5, 8, 5, 3, 1), []step{at(-2398, order(nil))})...))
	h := state.HealingOf(c, c.Wound("A"), inForce(t), noon)
	f := find(review.Of(state.Of(c, builtin(t), equipment.BuiltIn(), nil, noon), builtin(t)), "STP-STALL-01", "A")
	if f == nil || *h.NotImproving < 0.5 || !strings.Contains(f.Headline, "the chance is "+unit.Chance(*h.NotImproving)) {
		t.Errorf("chance %g; finding %+v", *h.NotImproving, f)
	}
}

// TestHealingHoldsUntilItsTime: between two of the instants that a review names nothing that findings rest on changes.
func TestHealingHoldsUntilItsTime(t *testing.T) {
	rules, eq := builtin(t), equipment.BuiltIn()
	steps := join(sizesOf(4, 8, 5, 3, 1), []step{at(-2398, order(nil))})
	now := noon
	for range 60 {
		r := review.Of(state.Of(casebook.Fold("tidy", entries(steps...)), rules, eq, nil, now), rules)
		if r.Until.IsZero() {
			break
		}
		before := review.Of(state.Of(casebook.Fold("tidy", entries(steps...)), rules, eq, nil, r.Until.Add(-time.Nanosecond)), rules)
		if !reflect.DeepEqual(r.Findings, before.Findings) {
			t.Fatalf("%s to %s: %s, then %s", now, r.Until, keys(r), keys(before))
		}
		now = r.Until
	}
	// The chance is known for three weeks after the last size and not longer.
	for h, want := range map[float64]bool{504 - 24 - 0.1: true, 504 - 24 + 0.1: false} {
		f := review.Facts(state.Of(casebook.Fold("tidy", entries(steps...)), builtin(t), eq, nil, noonPlus(h))).Wound("A").Known("wound.chance_not_improving_pct")
		if (f != nil) != want {
			t.Errorf("%g h after noon: %v", h, f)
		}
	}
}

// TestForecastsOfAWound: sizes ahead, closure and goal have a median within their interval, a model and entries; without
// enough to go by there is the reason.
func TestForecastsOfAWound(t *testing.T) {
	rules, eq := builtin(t), equipment.BuiltIn()
	steps := join(sizesOf(6, 8, 5, 3, 0.92), []step{at(-2398, aimed(1))})
	r := review.Of(state.Of(casebook.Fold("tidy", entries(steps...)), rules, eq, nil, noon), rules)
	seen := map[string]bool{}
	for _, f := range r.Forecasts() {
		if f.Wound != "A" {
			continue
		}
		seen[f.ID] = true
		if f.CannotForecast != "" || !(*f.Low <= *f.Median && *f.Median <= *f.High && *f.Low < *f.High) || f.Model == "" || len(f.Entries) != 6 || f.Unit == "" {
			t.Errorf("%+v", f)
		}
	}
	for _, id := range []string{"wound.area_2wk", "wound.area_4wk", "wound.depth_2wk", "wound.depth_4wk", "wound.closure", "wound.goal"} {
		if !seen[id] {
			t.Errorf("no %s", id)
		}
	}
	for name, x := range map[string]struct {
		steps []step
		at    time.Time
		why   string
	}{
		"nothing measured": {[]step{at(-9, person(nil)), at(-8, wound("A", nil))}, noon, "no size is recorded"},
		"one size":         {sizesOf(1, 8, 5, 3, 1), noon, "sizes from at least two different days are needed"},
		"too old":          {steps, noonPlus(24 * 95), "days old"},
	} {
		r := review.Of(state.Of(casebook.FoldAt("tidy", entries(x.steps...), x.at), rules, eq, nil, x.at), rules)
		found := false
		for _, f := range r.Forecasts() {
			found = found || f.Wound == "A" && strings.Contains(f.CannotForecast, x.why)
		}
		if !found {
			t.Errorf("%s: %+v", name, r.Forecasts())
		}
	}
}

// TestEndedCaseIsNotFitted: once therapy ended no finding, figure or forecast of a review rests on a fit; the wound's own
// page still has one.
func TestEndedCaseIsNotFitted(t *testing.T) {
	steps := join(sizesOf(6, 8, 5, 3, 1), []step{at(-2398, aimed(1)), at(-2, ended("goal met"))})
	c := casebook.Fold("tidy", entries(steps...))
	r := review.Of(state.Of(c, builtin(t), equipment.BuiltIn(), nil, noon), builtin(t))
	for _, f := range r.Forecasts() {
		if f.Wound != "" {
			t.Errorf("forecast %+v", f)
		}
	}
	for _, f := range r.Figures() {
		if strings.HasPrefix(f.ID, "healing.") {
			t.Errorf("figure %+v", f)
		}
	}
	if h := state.HealingOf(c, c.Wound("A"), inForce(t), noon); h.NotImproving == nil || len(h.Forecasts(noon)) < 4 {
		t.Error("the wound's own page has no fit")
	}
}

// TestPlainWords: what a patient reads never reassures beyond what the sizes tell.
func TestPlainWords(t *testing.T) {
	for _, x := range []struct {
		name      string
		steps     []step
		h         float64
		says, not []string
	}{
		{"not measured", []step{at(-9, wound("A", nil))}, 0, []string{"has not been measured"}, []string{"smaller"}},
		{"one size", sizesOf(1, 8, 5, 3, 1), 0, []string{"on one day only"}, []string{"smaller"}},
		{"closing", sizesOf(7, 8, 5, 3, 0.9), 0, []string{"a quarter of its size", "very likely getting smaller", "within a year", "no promise"}, []string{"not become smaller"}},
		{"standing still", sizesOf(6, 8, 5, 3, 1), 0, []string{"the same size", "probably not become smaller"}, []string{"very likely", "may be closed around"}},
		{"closed", join(sizesOf(5, 4, 2, 1, 0.8), []step{at(-1, measured(0, 0, 0, nil))}), 0, []string{"measured as closed"}, []string{"cannot"}},
		{"growing", sizesOf(6, 5, 3, 2, 1.06), 0, []string{"twice as large", "may have become larger", "Nobody can say"}, []string{"very likely", "may be closed around"}},
		{"closing, not measured since", sizesOf(7, 8, 5, 3, 0.9), 24 * 22, []string{"too long ago", "Nobody can say"}, []string{"very likely", "may be closed around"}},
	} {
		words := healingOf(t, x.steps, noonPlus(x.h)).Plain(noonPlus(x.h))
		for _, s := range x.says {
			if !strings.Contains(words, s) {
				t.Errorf("%s: %q does not say %q", x.name, words, s)
			}
		}
		for _, s := range x.not {
			if strings.Contains(words, s) {
				t.Errorf("%s: %q says %q", x.name, words, s)
			}
		}
	}
}

// TestDecisionNeverReassures: without answers nothing is called "no"; what bars therapy shows also when the screening
// says otherwise.
func TestDecisionNeverReassures(t *testing.T) {
	rules, eq := builtin(t), equipment.BuiltIn()
	of := func(steps ...step) map[string]rule.State {
		out := map[string]rule.State{}
		for _, k := range review.Of(state.Of(casebook.Fold("tidy", entries(steps...)), rules, eq, nil, noon), rules).Decision().Criteria {
			out[k.Words] = k.Holds
			if k.Why == "" || k.Source == "" {
				t.Errorf("no reason or source: %+v", k)
			}
		}
		return out
	}
	for words, holds := range of(at(-50, person(nil)), at(-49, wound("A", func(w *casebook.WoundFound) { w.PoorPerfusion = nil })), at(-48, casebook.OrderWritten{})) {
		if holds != rule.CannotTell {
			t.Errorf("with nothing answered, %q: %s", words, holds)
		}
	}
	tidyCase := of(tidy()...)
	for words, want := range map[string]rule.State{"Contraindication": rule.No, "Output low": rule.No, "Seal cannot be kept": rule.No, "Pain": rule.No, "The patient's wish": rule.CannotTell, "The payer ends": rule.CannotTell, "Goal met": rule.CannotTell} {
		if tidyCase[words] != want {
			t.Errorf("tidy, %q: %s, want %s", words, tidyCase[words], want)
		}
	}
	worse := of(join(tidy(), []step{at(-2, wound("A", func(w *casebook.WoundFound) { w.PoorPerfusion = yes }))})...)
	if worse["Contraindication"] != rule.Yes {
		t.Errorf("poor blood supply seen since the screening: contraindication %s", worse["Contraindication"])
	}
	met := of(join(tidy(), []step{at(-4, aimed(3))})...)
	if met["Goal met"] != rule.Yes {
		t.Errorf("a depth of 2.2 cm under a goal of 3 cm: %s", met["Goal met"])
	}
}

// BenchmarkHealingWarm: what a warm review pays for the sizes of one wound of 20 visits: a small part of its 2 ms.
func BenchmarkHealingWarm(b *testing.B) {
	c := casebook.FoldAt("tidy", entries(sizesOf(13, 8, 5, 3, 0.94)...), noon)
	w, v := c.Wound("A"), inForce(b)
	b.ReportAllocs()
	for b.Loop() {
		state.HealingOf(c, w, v, noon)
	}
}
