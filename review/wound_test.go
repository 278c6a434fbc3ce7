package review_test

import (
	"math"
	"testing"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/state"
)

// TestArea: a traced area comes first, then the ellipse; length alone gives none.
func TestArea(t *testing.T) {
	for _, x := range []struct {
		name string
		m    casebook.WoundMeasured
		want float64
		how  string
	}{
		// π/4 · 7 · 3 = 16.4934
		{"ruler", casebook.WoundMeasured{LengthCm: num(7), WidthCm: num(3), Method: "ruler"}, math.Pi / 4 * 21, "ellipse over ruler length and width"},
		{"traced", casebook.WoundMeasured{LengthCm: num(7), WidthCm: num(3), AreaCm2: num(14.2), Method: "tracing"}, 14.2, "tracing"},
		{"healed", casebook.WoundMeasured{LengthCm: num(0), WidthCm: num(0), Method: "ruler"}, 0, "ellipse over ruler length and width"},
		{"length alone", casebook.WoundMeasured{LengthCm: num(7), Method: "ruler"}, -1, ""},
		{"nothing", casebook.WoundMeasured{Method: "ruler"}, -1, ""},
	} {
		area, how, ok := state.Area(x.m)
		if ok != (x.want >= 0) || how != x.how || (ok && math.Abs(float64(area)-x.want) > 1e-9) {
			t.Errorf("%s: %v by %q, %v; want %v by %q", x.name, area, how, ok, x.want, x.how)
		}
	}
}

// TestComparable: only the same method, convention and kind of area can be compared.
func TestComparable(t *testing.T) {
	a := measured(7, 3, 2, nil)
	for name, x := range map[string]struct {
		mod  func(*casebook.WoundMeasured)
		want bool
	}{
		"the same":           {nil, true},
		"another method":     {func(m *casebook.WoundMeasured) { m.Method = "tracing" }, false},
		"another convention": {func(m *casebook.WoundMeasured) { m.Convention = "longest and widest" }, false},
		"no convention":      {func(m *casebook.WoundMeasured) { m.Convention = "" }, false},
		"traced this time":   {func(m *casebook.WoundMeasured) { m.AreaCm2 = num(12) }, false},
	} {
		b := measured(6, 2, 1, x.mod)
		if state.Comparable(a, b) != x.want || state.Comparable(b, a) != x.want {
			t.Errorf("%s: want %v", name, x.want)
		}
	}
}

// TestFactsOfWounds: the skin, the filler, and what a size is compared with.
func TestFactsOfWounds(t *testing.T) {
	const fortnight = 14 * 24
	found := at(-999, wound("A", nil))
	size := func(h, l, w, d float64) step { return at(h, measured(l, w, d, nil)) }
	for _, x := range []struct {
		name  string
		steps []step
		want  known
	}{
		{"skin in words", []step{at(-5, skin("red", "macerated"))}, known{"wound.periwound": "red, macerated"}},
		{"skin not noted", []step{at(-5, skin())}, known{"wound.periwound": nil}},
		{"intact before, not noted now", []step{at(-9, skin("intact")), at(-5, skin())}, known{"wound.periwound": nil}},
		{"blistered before, not noted now", []step{at(-9, skin("blistered")), at(-5, skin())}, known{"wound.periwound": "blistered"}},
		{"blistered before, intact now", []step{at(-9, skin("blistered")), at(-5, skin("intact"))}, known{"wound.periwound": "intact"}},

		{"never filled", nil, known{"wound.pieces": 0.0, "wound.filler": nil, "wound.under_therapy": false, "therapy.dressing_in_place": false}},
		{"filled with two kinds", []step{at(-5, counted(nil, []casebook.Pieces{{Filler: "gauze", Count: 1}, {Filler: "foam", Count: 2}}))}, known{"wound.pieces": 3.0, "wound.filler": "foam, gauze", "wound.under_therapy": true, "therapy.dressing_in_place": true}},
		{"not counted in", []step{at(-5, counted(foam(1), nil))}, known{"wound.pieces": nil, "wound.filler": nil, "wound.count_unsure": true, "therapy.dressing_in_place": nil}},
		{"an order for other wounds", []step{at(-5, order(func(o *casebook.OrderWritten) { o.Wounds = []string{"B"} }))}, known{"wound.under_therapy": false}},
		{"an order for all wounds", []step{at(-5, order(func(o *casebook.OrderWritten) { o.Wounds = nil }))}, known{"wound.under_therapy": true}},

		{"one size", []step{size(-5, 7, 3, 2)}, known{"wound.area_cm2": math.Pi / 4 * 21, "wound.area_change_pct": nil, "wound.compared_from": nil, "wound.method_mixed": nil, "wound.undermined": false, "wound.measured_count": 1.0}},
		// (5 · 2 − 7 · 3) / (7 · 3) = −11/21; (1.5 − 2) / 2 = −25 %
		{"two weeks to the hour", []step{size(-2-fortnight, 7, 3, 2), size(-2, 5, 2, 1.5)}, known{"wound.area_change_pct": -1100.0 / 21, "wound.depth_change_pct": -25.0, "wound.compared_from": noonPlus(-2 - fortnight), "wound.method_mixed": false}},
		{"an hour less than two weeks", []step{size(-1-fortnight, 7, 3, 2), size(-2, 5, 2, 1.5)}, known{"wound.area_change_pct": nil, "wound.depth_change_pct": nil}},
		{"the newest that is old enough", []step{size(-9-2*fortnight, 9, 9, 9), size(-2-fortnight, 7, 3, 2), size(-9, 5.2, 2.2, 1.6), size(-2, 5, 2, 1.5)}, known{"wound.compared_from": noonPlus(-2 - fortnight)}},
		{"another convention between", []step{size(-9-2*fortnight, 7, 3, 2), at(-2-fortnight, measured(6, 2, 2, func(m *casebook.WoundMeasured) { m.Convention = "longest and widest" })), size(-2, 5, 2, 1.5)},
			known{"wound.area_change_pct": -1100.0 / 21, "wound.compared_from": noonPlus(-9 - 2*fortnight), "wound.method_mixed": true}},
		{"from nothing there is no percentage", []step{size(-2-fortnight, 0, 0, 0), size(-2, 1, 1, 1)}, known{"wound.area_change_pct": nil, "wound.depth_change_pct": nil}},
		{"undermining looked for earlier", []step{at(-9, measured(7, 3, 2, func(m *casebook.WoundMeasured) {
			m.NoneUnder, m.Tunnels = false, []casebook.Under{{FromClock: 2, DepthCm: 3}}
		})), at(-5, measured(7, 3, 2, func(m *casebook.WoundMeasured) { m.NoneUnder = false }))}, known{"wound.undermined": true}},
		{"undermining never looked for", []step{at(-5, measured(7, 3, 2, func(m *casebook.WoundMeasured) { m.NoneUnder = false }))}, known{"wound.undermined": nil}},
	} {
		x.want.check(t, x.name, factsOf(join([]step{found}, x.steps)...).Wound("A"))
	}
}

// TestFigures: the numbers beside the findings, each by hand.
func TestFigures(t *testing.T) {
	// The wound shrank faster than wounds do, and somebody said that both sizes are right.
	n := len(tidy())
	both := casebook.ContradictionSettled{About: state.AskedSize, Entries: []string{storyID(n - 2), storyID(n)}, Right: casebook.Both, How: "closed in part by the surgeon"}
	c := caseOf(join(tidy(), []step{at(-3, measured(2, 2, 1, nil)), at(-2, read(60, "straw")), at(-1, both)})...)
	r := review.Of(state.Of(c, builtin(t), equipment.BuiltIn(), nil, noon), builtin(t))
	for _, x := range []struct {
		id, wound string
		value     float64
		text      string
	}{
		{"therapy.day", "", 6, "day 6"}, // order on Friday 27 February at 9, noon on Wednesday 4 March
		{"therapy.off_day", "", 0, "none"},
		{"therapy.off_change", "", 0, "none"},
		{"order.mean", "", 125, "125 mmHg"},
		{"canister.full", "", 20, "60 mL of 300 mL (20 %)"},
		// 190 mL at the change of 22 h before, 190 + 60 now.
		{"canister.output", "", 60.0 / 22 * 24, "65 mL a day"},
		{"wound.pieces", "A", 1, "1 foam"},
		{"wound.area", "A", math.Pi, "3.1 cm²"},
		{"wound.perimeter", "A", 2 * math.Pi, "6.3 cm"},
		{"wound.rectangle", "A", 4, "4 cm²"},
		{"wound.depth", "A", 1, "1 cm"},
		// (7 · 3 − 2 · 2) / (7 · 3) = 81.0 %
		{"wound.reduction", "A", 1700.0 / 21, "81 % smaller"},
		// By ruler, so length × width / 1.40 on the scale of a tracing: 15 and 2.857 cm², 117.9 h apart.
		{"healing.area_reduction", "A", 1700.0 / 21, "81 %"},
		{"healing.depth_reduction", "A", 140.0 / 2.4, "58 %"},
		// Both by ruler: the areas of the ellipses as read.
		{"healing.advance", "A", math.Pi / 4 * (21 - 4) / ((ramanujan(7, 3) + 2*math.Pi) / 2) / (117.9 / 168), "1.7 cm a week"},
		{"healing.bed_rise", "A", 2.0 / 3 * (15*2.4 - 4/1.4) / ((15 + 4/1.4) / 2) / (117.9 / 168), "3.5 cm a week"},
		{"healing.decay", "A", math.Log(21.0/4) / (117.9 / 168), "2.36 per week"},
		{"healing.halving", "A", 7 * math.Ln2 / (math.Log(21.0/4) / (117.9 / 168)), "2 d"},
	} {
		f, ok := r.Figure(x.id, x.wound)
		if !ok || math.Abs(f.Value-x.value) > 1e-6 || f.Text != x.text {
			t.Errorf("%s: %v %q, %v; want %v %q", x.id, f.Value, f.Text, ok, x.value, x.text)
		}
		if ok && (f.Method == "" || f.Source == "" || f.Unit == "") {
			t.Errorf("%s: no method, source or unit: %+v", x.id, f)
		}
	}
	if len(r.Figures()) != 24 {
		t.Errorf("%d figures, of which eighteen were looked at here, four in path_test.go and two in fluid_test.go", len(r.Figures()))
	}
	// Off for an hour and a half, on, off for one hour, then an alarm that nobody settled an hour ago.
	off := review.Of(state.Of(caseOf(join(tidy(), []step{therapy(-23.5, "off"), therapy(-22, "on"), therapy(-4, "off"), therapy(-3, "on"), at(-1, casebook.AlarmReported{Alarm: "leak", ReportedBy: "the carer"})})...), builtin(t), equipment.BuiltIn(), nil, noon), builtin(t))
	for _, id := range []string{"therapy.off_day", "therapy.off_change"} {
		if f, _ := off.Figure(id, ""); f.Value != 2.5 || f.Text != "2 h 30 min; not known for 1 h" {
			t.Errorf("%s: %+v", id, f)
		}
	}
	// What is not known has no figure.
	bare := review.Of(state.Of(caseOf(at(-5, person(nil)), at(-4, wound("A", func(w *casebook.WoundFound) { w.InPlaceUnknown = true }))), builtin(t), equipment.BuiltIn(), nil, noon), builtin(t))
	for _, f := range bare.Figures() {
		if f.ID != "therapy.day" {
			t.Errorf("a figure from nothing: %+v", f)
		}
	}
}

// ramanujan is the perimeter of an ellipse by its second approximation.
func ramanujan(length, width float64) float64 {
	h := math.Pow((length-width)/(length+width), 2)
	return math.Pi * (length + width) / 2 * (1 + 3*h/(10+math.Sqrt(4-3*h)))
}

// TestFigureOfDays: the day of therapy counts calendar days, also when one of them has 23 hours.
func TestFigureOfDays(t *testing.T) {
	// In London the clocks go forward on Sunday 29 March 2026.
	start := at(24*24+11, order(nil)) // Saturday 28 March 23:00
	for h, want := range map[float64]string{24*24 + 11.5: "day 1", 24*24 + 12.5: "day 2", 25*24 + 10.9: "day 2", 25*24 + 11.1: "day 3"} {
		c := caseOf(at(-5, person(nil)), start)
		f, _ := review.Of(state.Of(c, builtin(t), equipment.BuiltIn(), nil, noonPlus(h)), builtin(t)).Figure("therapy.day", "")
		if f.Text != want {
			t.Errorf("at %s: %q, want %q", state.Clock(c.Zone, noonPlus(h)), f.Text, want)
		}
	}
}
