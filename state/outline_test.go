package state

import (
	"math"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/rule"
	"lowtide/rule/value"
)

// drawnCase is a case with a wound, and photos with a confirmed outline each: area and standard error by days ago.
func drawnCase(sizes map[int][2]float64, more ...casebook.Entry) *casebook.Case {
	list := []casebook.Entry{entryAgo("w", 90*24*time.Hour, casebook.WoundFound{Wound: "A", Site: "heel", Type: "pressure"})}
	for days, v := range sizes {
		ago := time.Duration(days) * 24 * time.Hour
		id := "p" + time.Duration(days).String()
		photo := entryAgo(id, ago, casebook.PhotoTaken{Wound: "A", WidthPx: 800, HeightPx: 600})
		photo.Blobs = []string{"x"}
		list = append(list, photo, entryAgo("o"+id, ago-time.Hour, casebook.OutlineTraced{Wound: "A", Photo: id, AreaCm2: v[0], AreaSECm2: v[1], Scale: casebook.TracedScale{By: "two strips"},
			Parts: []casebook.TracedPart{{Edge: "0,0 10,0 10,10"}}}))
	}
	return casebook.Fold("c", append(list, more...))
}

var outlineNow = time.Date(2026, 3, 10, 12, 0, 0, 0, time.UTC)

func entryAgo(id string, ago time.Duration, b casebook.Body) casebook.Entry {
	at := outlineNow.Add(-ago)
	return casebook.Entry{ID: id, Case: "c", Kind: b.Kind(), Version: 1, At: at, Recorded: at, Author: "n", Body: b}
}

// TestOutlineInTheFit: an outline goes into the fit at the time of its photo, as a traced outline, with the error that it
// states; a larger stated error makes the fit less sure.
func TestOutlineInTheFit(t *testing.T) {
	band := func(se float64) float64 {
		c := drawnCase(map[int][2]float64{28: {20, se}, 21: {17.5, se}, 14: {15, se}, 7: {13, se}, 1: {11.5, se}})
		h := HealingOf(c, c.Wound("A"), inForce(t), outlineNow)
		if len(h.Sizes) != 5 {
			t.Fatalf("%d sizes", len(h.Sizes))
		}
		for _, z := range h.Sizes {
			if z.Method.ID != "outline" || *z.AreaSECm2 != se || !z.At.Equal(c.Photo("p"+time.Duration(int(math.Round(outlineNow.Sub(z.At).Hours()/24))).String()).At) {
				t.Errorf("%+v", z)
			}
		}
		a, ok := h.At(outlineNow.Add(14 * 24 * time.Hour))
		if !ok || a.Area == nil {
			t.Fatal("no forecast")
		}
		return a.Area.P90 - a.Area.P10
	}
	if sure, unsure := band(0.2), band(2.0); !(unsure > sure) {
		t.Errorf("an interval of %.2f cm² with an error of 0.2, %.2f with 2.0", sure, unsure)
	}
}

// TestRulerThenOutline: the change of method is a finding, no trend is told across it by the plain comparison, and the fit
// says in words what it joined.
func TestRulerThenOutline(t *testing.T) {
	l, w := 7.0, 5.0
	ruler := entryAgo("r", 20*24*time.Hour, casebook.WoundMeasured{Wound: "A", LengthCm: &l, WidthCm: &w, Method: "ruler", Convention: "head to toe"})
	c := drawnCase(map[int][2]float64{1: {18, 0.4}}, ruler)
	rules := builtin(t)
	facts := map[string]any{}
	none := func(string) Sink { return func(string, any, ...string) {} }
	Of(c, rules, equipment.BuiltIn(), nil, outlineNow).Facts(Terms{Case: none(""), Pump: none, Canister: none, Wound: func(string) Sink { return func(term string, v any, _ ...string) { facts[term] = v } }})
	if facts["wound.method_mixed"] != true {
		t.Error("the change of method is not seen")
	}
	if v := facts["wound.area_change_pct"]; v != nil {
		t.Errorf("a trend of %v %% across methods", v)
	}
	if h := HealingOf(c, c.Wound("A"), inForce(t), outlineNow); h.Mixed == "" {
		t.Error("it is not said that methods were joined")
	}
}

func builtin(t testing.TB) *rule.Set {
	t.Helper()
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	return rules
}

// inForce are the built-in values.
func inForce(t testing.TB) value.Values { return builtin(t).Values(outlineNow) }
