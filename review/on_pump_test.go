package review_test

import (
	"strings"
	"testing"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/state"
)

// readOn is a reading that names its pump.
func readOn(pump string, mL float64) casebook.CanisterRead {
	return casebook.CanisterRead{Pump: pump, VolumeML: num(mL), Colour: "straw"}
}

// beside is the tidy case with a second pump on a second wound, 30 h ago.
func beside(more ...step) []step {
	return join(tidy(), []step{at(-31, wound("B", nil)), at(-30.5, casebook.WoundMeasured{Wound: "B", LengthCm: num(10), WidthCm: num(8), Method: "ruler", Convention: "head to toe"}),
		at(-30, casebook.PumpAssigned{Pump: "P-14", Class: "portable", CanisterML: num(300), Wounds: []string{"B"}})}, more)
}

func forecastOn(r *review.Review, id, pump string) (state.Forecast, bool) {
	for _, f := range r.Forecasts() {
		if f.ID == id && f.Pump == pump {
			return f, true
		}
	}
	return state.Forecast{}, false
}

// TestTwoPumps: readings that name their pump make a forecast each, as if each pump were alone with its wound.
func TestTwoPumps(t *testing.T) {
	steps := beside(at(-29, readOn("P-14", 20)), at(-17, readOn("P-14", 110)), at(-12, readOn("P-11", 30)), at(-5, readOn("P-14", 200)), at(-2, readOn(" p-11", 60)))
	c := caseOf(steps...)
	r := review.Of(state.Of(c, builtin(t), equipment.BuiltIn(), nil, noon), builtin(t))
	// By hand: P-11 alone is the tidy case and its own readings, without the visit's reading that came while two were there.
	alone := state.FluidsOf(caseOf(join(tidy(), []step{at(-12, read(30, "straw")), at(-2, read(60, "straw"))})...), equipment.BuiltIn(), inForce(t), noon)[0]
	both := state.FluidsOf(c, equipment.BuiltIn(), inForce(t), noon)
	if len(both) != 2 || both[0].Pump != "P-14" || both[1].Pump != "P-11" {
		t.Fatalf("%d courses", len(both))
	}
	p14, p11 := both[0], both[1]
	if n := len(p14.Course.Readings); n != 3 || p14.AreaCm2 < 60 || len(p14.Wounds) != 1 || p14.Wounds[0] != "B" {
		t.Errorf("P-14: %d readings, wounds %v of %v cm²", n, p14.Wounds, p14.AreaCm2)
	}
	// The visit 24 h ago read a canister without a name while two pumps were there.
	if n, want := len(p11.Course.Readings), len(alone.Course.Readings)-2; n != want || p11.Wounds[0] != "A" {
		t.Errorf("P-11: %d readings, want %d; wounds %v", n, want, p11.Wounds)
	}
	fast, ok := forecastOn(r, "fluid.rate", "P-14")
	slow, ok2 := forecastOn(r, "fluid.rate", "P-11")
	if !ok || !ok2 || fast.CannotForecast != "" || slow.CannotForecast != "" || *fast.Median < 2**slow.Median || !strings.Contains(fast.Name, "pump P-14") {
		t.Errorf("P-14 %+v\nP-11 %+v", fast, slow)
	}
	// P-14 fills in hours: the finding says which pump, and P-11 has none of it.
	var filling []string
	for _, f := range r.Findings {
		if strings.HasPrefix(f.Rule, "CAN-FILL-") || f.Rule == "CAN-NEAR-01" {
			filling = append(filling, f.Pump)
			if !strings.HasPrefix(f.Headline, "Pump "+f.Pump+": ") {
				t.Errorf("headline %q", f.Headline)
			}
		}
	}
	if len(filling) == 0 || filling[0] != "P-14" {
		t.Errorf("about filling: %v; all: %s", filling, keys(r))
	}
	if find(r, "REC-PUMP-03", "") != nil {
		t.Error("an unnamed reading is asked about although every pump has a newer one")
	}
	// Both canisters are brought and counted.
	n := state.NeedsOf(c, equipment.BuiltIn(), inForce(t), both)
	if len(n.Cans) != 2 {
		t.Errorf("%d canisters", len(n.Cans))
	}
	uses, _ := n.Use(noon, noonPlus(24*14))
	for _, pump := range []string{"P-14", "P-11"} {
		found := false
		for _, u := range uses {
			found = found || u.Words == "canister of pump "+pump
		}
		if !found {
			t.Errorf("no canister of %s in %v", pump, uses)
		}
	}
}

// TestUnnamedReading: while two pumps are there a reading without a name stops the forecast of each pump that has no newer
// one, is asked about, and never hides a colour that worries; naming the pump mends it.
func TestUnnamedReading(t *testing.T) {
	steps := beside(at(-29, readOn("P-14", 20)), at(-12, readOn("P-11", 30)), at(-3, casebook.CanisterRead{VolumeML: num(280), Colour: "bright red"}).called("unnamed"))
	r := review.Of(state.Of(caseOf(steps...), builtin(t), equipment.BuiltIn(), nil, noon), builtin(t))
	for _, pump := range []string{"P-11", "P-14"} {
		if f, ok := forecastOn(r, "fluid.rate", pump); !ok || !strings.Contains(f.CannotForecast, "does not say which pump") {
			t.Errorf("%s: %+v", pump, f)
		}
	}
	if find(r, "REC-PUMP-03", "") == nil {
		t.Errorf("not asked about: %s", keys(r))
	}
	red := map[string]bool{}
	for _, f := range r.Findings {
		if strings.HasPrefix(f.Rule, "SGN-CANISTER-") {
			red[f.Pump] = true
		}
	}
	if !red["P-11"] || !red["P-14"] {
		t.Errorf("bright red fluid that may be of either pump: %s", keys(r))
	}
	mended := review.Of(state.Of(caseOf(join(steps, []step{replaces(-1, "unnamed", casebook.CanisterRead{Pump: "P-14", VolumeML: num(280), Colour: "bright red"})})...), builtin(t), equipment.BuiltIn(), nil, noon), builtin(t))
	for _, pump := range []string{"P-11", "P-14"} {
		if f, ok := forecastOn(mended, "fluid.rate", pump); !ok || f.CannotForecast != "" {
			t.Errorf("named, %s: %+v", pump, f)
		}
	}
}

// TestPumpSwapped: a pump that took over the wound of another is one course with it once that one is returned, and one
// that was returned after being used beside it takes its readings along, but not the colour that worried.
func TestPumpSwapped(t *testing.T) {
	swap := join(tidy(), []step{at(-20, casebook.PumpAssigned{Pump: "P-14", Class: "portable", CanisterML: num(300), Wounds: []string{"A"}}), at(-10, read(60, "straw")), at(-8, casebook.PumpReturned{Pump: "P-11"}), at(-2, read(90, "straw"))})
	if f := state.FluidOf(caseOf(swap...), equipment.BuiltIn(), inForce(t), noon); f.Pump != "" || f.Why != "" || len(f.Course.Readings) != 6 {
		t.Errorf("%q, %d readings", f.Why, len(f.Course.Readings))
	}
	gone := beside(at(-20, readOn("P-11", 20)), at(-16, casebook.CanisterRead{Pump: "P-14", VolumeML: num(150), Colour: "bright red"}), at(-12, casebook.PumpReturned{Pump: "P-14"}), at(-2, read(60, "")))
	c := caseOf(gone...)
	f := state.FluidOf(c, equipment.BuiltIn(), inForce(t), noon)
	for _, x := range f.Course.Readings {
		if x.Content == 150 {
			t.Error("a reading of the pump that went back is in the course of the other")
		}
	}
	if k := state.CanisterOf(c); k.Colour != "bright red" || *k.VolumeML != 60 {
		t.Errorf("colour %q, %v mL", k.Colour, *k.VolumeML)
	}
}

// TestOnePump: with one pump a reading may name it or not.
func TestOnePump(t *testing.T) {
	a := review.Of(state.Of(caseOf(join(tidy(), []step{at(-2, read(60, "straw"))})...), builtin(t), equipment.BuiltIn(), nil, noon), builtin(t))
	b := review.Of(state.Of(caseOf(join(tidy(), []step{at(-2, readOn("P-11", 60))})...), builtin(t), equipment.BuiltIn(), nil, noon), builtin(t))
	fa, _ := a.Forecast("fluid.full", "")
	fb, _ := b.Forecast("fluid.full", "")
	if fa.Text != fb.Text || fa.CannotForecast != "" || fb.Pump != "" {
		t.Errorf("%+v\n%+v", fa, fb)
	}
}

// TestRowsOfTwoPumps: the list shows the canister that may be full first, and says of which nothing can be told.
func TestRowsOfTwoPumps(t *testing.T) {
	r := review.Of(state.Of(caseOf(beside(at(-29, readOn("P-14", 20)), at(-5, readOn("P-14", 200)), at(-2, readOn("P-11", 60)))...), builtin(t), equipment.BuiltIn(), nil, noon), builtin(t))
	full, _ := forecastOn(r, "fluid.full", "P-14")
	row := review.FullOf(r)
	if row.Pump != "P-14" || !row.Told() || row.Cannot != "" || full.CannotForecast != "" {
		t.Errorf("%+v", row)
	}
}

// TestFullAnswers: "read as full", "not within a year" and "cannot tell" are told apart; of two canisters the full one comes
// first, also where nobody can tell of the other.
func TestFullAnswers(t *testing.T) {
	full := func(steps ...step) (review.CanisterFull, *review.Review) {
		r := review.Of(state.Of(caseOf(steps...), builtin(t), equipment.BuiltIn(), nil, noon), builtin(t))
		return review.FullOf(r), r
	}
	x, r := full(beside(at(-29, readOn("P-14", 20)), at(-12, readOn("P-14", 290)))...)
	f, _ := forecastOn(r, "fluid.full", "P-14")
	if x.Status != state.FullRead || x.Pump != "P-14" || !x.MayBeFullBy(noon) || x.Lasts(noon) || !strings.Contains(x.Cannot, "P-11") || f.Median != nil || f.Full == nil || f.Full.Status != state.FullRead || !strings.HasPrefix(f.Text, "it was read as full") {
		t.Errorf("read as full: %+v, %+v", x, f)
	}
	// No fluid for a fortnight: it does not fill within a year, and that is no missing answer.
	var dry []step
	for d := range 14 {
		dry = append(dry, at(float64(-24*(14-d)), read(0, "straw")))
	}
	x, r = full(join([]step{at(-400, wound("A", nil)), at(-400, casebook.PumpAssigned{Pump: "P-1", Class: "portable", CanisterML: num(1000)})}, dry)...)
	f, _ = forecastOn(r, "fluid.full", "")
	if x.Status != state.FullBeyond || x.Cannot != "" || !x.Lasts(noon) || x.MayBeFullBy(noon) || f.CannotForecast != "" || f.High != nil {
		t.Errorf("not within a year: %+v, %+v", x, f)
	}
	if x, _ = full(tidy()...); x.Told() && x.Cannot != "" || x.Lasts(noon) && !x.Told() {
		t.Errorf("%+v", x)
	}
	if x, _ = full(join([]step{at(-60, wound("A", nil)), at(-50, casebook.PumpAssigned{Pump: "P-1"}), at(-2, read(100, "straw"))})...); x.Told() || x.Lasts(noon) || x.MayBeFullBy(noon) || x.Cannot != "the size of the canister is not recorded" {
		t.Errorf("no size: %+v", x)
	}
}
