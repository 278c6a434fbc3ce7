package review_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/fluid"
	"lowtide/review"
	"lowtide/state"
	"lowtide/unit"
)

func fluidOf(t testing.TB, at time.Time, steps ...step) (*state.Fluid, *review.Review) {
	t.Helper()
	c := caseOf(steps...)
	return state.FluidOf(c, equipment.BuiltIn(), inForce(t), at), review.Of(state.Of(c, builtin(t), equipment.BuiltIn(), nil, at), builtin(t))
}

// TestFluidCourse: entries come to the model as what was read, by hand: the old canister's reading before the new one,
// the size that each reading had, pauses, the areas of both wounds on the pump.
func TestFluidCourse(t *testing.T) {
	f, _ := fluidOf(t, noon, join(tidy(), []step{
		at(-121.5, wound("B", nil)), at(-120.8, casebook.WoundMeasured{Wound: "B", LengthCm: num(2), WidthCm: num(2), Method: "ruler", Convention: "head to toe"}),
		at(-20, casebook.PumpAssigned{Pump: "P-11", Class: "portable", Wounds: []string{"A", "B"}}),
		at(-12, casebook.CanisterRead{VolumeML: num(30), Changed: yes, SizeML: num(400)}),
		at(-10, casebook.PowerNoted{Therapy: "off"}), at(-7, casebook.PowerNoted{Therapy: "on"}), at(-2, read(20, "straw")), at(-1, casebook.CanisterRead{Colour: "straw"}),
		at(-0.5, casebook.PowerNoted{Therapy: "off"}),
	})...)
	want := []fluid.Reading{
		{At: noonPlus(-121), Content: 0, Size: 300}, {At: noonPlus(-73), Content: 100, Size: 300}, {At: noonPlus(-24), Content: 190, Size: 300}, {At: noonPlus(-24), NewCanister: true, Size: 300},
		{At: noonPlus(-12), Content: 30, Size: 300}, {At: noonPlus(-12), NewCanister: true, Size: 400}, {At: noonPlus(-2), Content: 20, Size: 400},
	}
	if got, w := fmt.Sprint(f.Course.Readings), fmt.Sprint(want); got != w {
		t.Errorf("readings\n%s, want\n%s", got, w)
	}
	if len(f.Course.Pauses) != 1 || !f.Course.Pauses[0].From.Equal(noonPlus(-10)) || !f.Course.Pauses[0].To.Equal(noonPlus(-7)) {
		t.Errorf("pauses %v; one that has not ended after the newest reading is left out", f.Course.Pauses)
	}
	if f.OffSince == nil || !f.OffSince.Equal(noonPlus(-0.5)) {
		t.Errorf("off since %v", f.OffSince)
	}
	// When reading began wound A was 7 × 3, wound B not yet measured and taken as 2 × 2; now A is 6.8 × 2.9.
	if began := math.Pi / 4 * (21 + 4); math.Abs(float64(f.Course.Area)-began) > 1e-9 {
		t.Errorf("area given %v, want %v", f.Course.Area, began)
	}
	if now := math.Pi / 4 * (6.8*2.9 + 4); math.Abs(f.AreaCm2-now) > 1e-9 || len(f.AreaBy) != 2 {
		t.Errorf("area now %v of %v, want %v", f.AreaCm2, f.AreaBy, now)
	}
	if f.SizeML != 400 || f.Course.UsableShare != 0.9 || !f.LastAt.Equal(noonPlus(-2)) {
		t.Errorf("size %v, share %v, last %v", f.SizeML, f.Course.UsableShare, f.LastAt)
	}
}

// TestFluidForecasts: what a review says is what the model says of the course at that instant.
func TestFluidForecasts(t *testing.T) {
	steps := join(tidy(), []step{at(-12, read(60, "straw")), at(-2, read(110, "straw"))})
	f, r := fluidOf(t, noon, steps...)
	want := fluid.Predict(f.Course, noon, noonPlus(30))
	see := func(id string, median, low, high float64) {
		t.Helper()
		g, ok := r.Forecast(id, "")
		if !ok || g.CannotForecast != "" || math.Abs(*g.Median-median) > 1e-9 || math.Abs(*g.Low-low) > 1e-9 || math.Abs(*g.High-high) > 1e-9 || len(g.Entries) == 0 || g.Text == "" {
			t.Errorf("%s: %+v, want %v (%v to %v)", id, g, median, low, high)
		}
	}
	see("fluid.rate", want.Rate.Median, want.Rate.P10, want.Rate.P90)
	for _, h := range []string{"24", "48", "72"} {
		q := want.CollectedAfterH[h]
		see("fluid.collected_"+h+"h", q.Median, q.P10, q.P90)
	}
	after := func(w fluid.When) float64 { return w.At.Sub(noonPlus(-2)).Hours() }
	see("fluid.full", after(want.FullAt.Even), after(want.FullAt.Early), after(want.FullAt.Late))
	p := *want.ChanceFullBefore * 100
	see("fluid.before_visit", p, p, p)
	if q, ok := f.Collected(noonPlus(24), noonPlus(48)); !ok || !(q.P10 < q.Median && q.Median < q.P90) || q.Median < 0.8*want.CollectedAfterH["24"].Median {
		t.Errorf("the second day: %+v, %v", q, ok)
	}
	protein, _ := r.Figure("fluid.protein", "")
	if grams := 2.9 * want.Rate.Median / 100; math.Abs(protein.Value-grams) > 1e-9 || !strings.Contains(protein.Method, "dietitian") || !strings.Contains(protein.Source, "Hourigan") {
		t.Errorf("protein: %+v, want %v", protein, grams)
	}
	per, _ := r.Figure("fluid.per_area", "")
	if ratio := want.Rate.Median / (math.Pi / 4 * 6.8 * 2.9); math.Abs(per.Value-ratio) > 1e-9 || !strings.Contains(per.Source, "Dealey") {
		t.Errorf("per area: %+v, want %v", per, ratio)
	}
}

// TestFluidCannot: where too little is recorded the forecast says what is missing.
func TestFluidCannot(t *testing.T) {
	pump := at(-50, casebook.PumpAssigned{Pump: "P-1", Class: "portable", CanisterML: num(300)})
	sized := []step{at(-60, wound("A", nil)), at(-59, measured(5, 3, 1, nil))}
	for _, x := range []struct {
		name, id, why string
		steps         []step
	}{
		{"no pump", "fluid.rate", "no pump is recorded", []step{at(-90, order(nil)), at(-2, read(100, "straw"))}},
		{"two pumps", "fluid.rate", "the canister reading of Wed 4 Mar 10:00 does not say which pump it is of; correct that entry, or read this pump's canister again", []step{pump, at(-40, casebook.PumpAssigned{Pump: "P-2"}), at(-2, read(100, "straw"))}},
		{"nothing at all", "fluid.rate", "no canister reading and no area of the wounds is recorded", []step{pump}},
		{"area only", "fluid.full", "no canister reading is recorded", join(sized, []step{pump})},
		{"no size", "fluid.full", "the size of the canister is not recorded", []step{at(-50, casebook.PumpAssigned{Pump: "P-1"}), at(-2, read(100, "straw"))}},
		{"no visit", "fluid.before_visit", "no next visit is planned, and neither an order nor the visits so far tell the interval", []step{pump, at(-2, read(100, "straw"))}},
		{"no interval", "fluid.canister", "neither an order nor the visits so far tell the time between visits", []step{pump, at(-2, read(100, "straw"))}},
	} {
		_, r := fluidOf(t, noon, x.steps...)
		f, ok := r.Forecast(x.id, "")
		if !ok || f.CannotForecast != x.why || f.Median != nil || f.Low != nil || f.High != nil {
			t.Errorf("%s: %s %+v, want %q", x.name, x.id, f, x.why)
		}
	}
	// With an area and no reading the output is a guess from published figures, and says so.
	_, r := fluidOf(t, noon, join(sized, []step{pump})...)
	if f, _ := r.Forecast("fluid.rate", ""); f.CannotForecast != "" || !strings.Contains(f.Text, "no reading yet") || math.Abs(*f.Median/(fluid.OutputPerArea*math.Pi/4*15)-1) > 0.1 {
		t.Errorf("from the area: %+v", f)
	}
	_, r = fluidOf(t, noon, join(tidy(), []step{at(-1, ended("goal met"))})...)
	for _, f := range r.Forecasts() {
		if strings.HasPrefix(f.ID, "fluid.") {
			t.Errorf("therapy has ended: %+v", f)
		}
	}
}

// TestFluidOfOtherPump: another pump has another canister, and the wound goes on: earlier readings still tell the rate.
func TestFluidOfOtherPump(t *testing.T) {
	f, _ := fluidOf(t, noon, at(-90, casebook.PumpAssigned{Pump: "P-1", CanisterML: num(300)}), at(-80, read(20, "straw")), at(-56, read(120, "straw")), at(-55, casebook.PumpReturned{Pump: "P-1"}),
		at(-54, casebook.PumpAssigned{Pump: "P-2", CanisterML: num(500)}), at(-30, read(90, "straw")))
	last := f.Course.Readings[len(f.Course.Readings)-1]
	if !last.NewCanister || last.Size != unit.Volume(500) {
		t.Errorf("the first reading of the other pump: %+v", last)
	}
	if q, ok := f.Rate(noon); !ok || q.Median < 60 || q.Median > 140 {
		t.Errorf("rate %+v; 100 mL came in the one day that was read", q)
	}
}

// TestFluidWeekend: the weekend that has begun or comes next, by a calendar: 6 March 2026 is a Friday, 29 March 2026 the
// Sunday on which clocks go forward in London, so that weekend is an hour shorter.
func TestFluidWeekend(t *testing.T) {
	steps := join(tidy(), []step{at(-2, read(60, "straw"))})
	local := func(day, hour int) string {
		return time.Date(2026, 3, day, hour, 0, 0, 0, time.UTC).Format("Mon 2 Jan 15:04")
	}
	for _, x := range []struct {
		atH      float64
		from, to string
	}{
		{0, local(6, 18), local(9, 8)},            // Wednesday
		{54, local(6, 18), local(9, 8)},           // Friday 18:00
		{4 * 24, local(6, 18), local(9, 8)},       // Sunday noon
		{4*24 + 19.9, local(6, 18), local(9, 8)},  // Monday 07:54
		{4*24 + 20, local(13, 18), local(16, 8)},  // Monday 08:00
		{25 * 24, local(27, 18), local(30, 8)},    // Sunday 29 March, the clocks have gone forward
		{20 * 24, local(27, 18), local(30, 8)},    // the Tuesday before it
		{26*24 + 7, local(3, 0), local(3, 0)[:0]}, // Monday 30 March 19:00 UTC: April's first weekend
	} {
		f, r := fluidOf(t, noonPlus(x.atH), steps...)
		g, _ := r.Forecast("fluid.weekend", "")
		if x.to == "" {
			x.from, x.to = "Fri 3 Apr 18:00", "Mon 6 Apr 08:00"
		}
		if !strings.Contains(g.Text, "between "+x.from+" and "+x.to) {
			t.Errorf("%s: %q, want %s to %s", state.Clock(f.Zone, noonPlus(x.atH)), g.Text, x.from, x.to)
		}
	}
}

// TestFluidVisit: a plan comes before the order's interval, that before the rhythm of visits; a visit that has passed is
// no next visit.
func TestFluidVisit(t *testing.T) {
	bare := []step{at(-300, person(nil)), at(-299, wound("A", nil)), at(-298, casebook.PumpAssigned{Pump: "P-1", Class: "portable", CanisterML: num(300)})}
	visit := func(h, mL float64) step {
		return at(h, change(func(d *casebook.DressingChanged) { d.Canister.VolumeML, d.NextVisit = num(mL), nil }))
	}
	rhythm := join(bare, []step{visit(-200, 10), visit(-152, 60), visit(-104, 110), visit(-50, 160), visit(-2, 200)})
	ordered := join(rhythm, []step{at(-1.5, order(nil))})
	for _, x := range []struct {
		name  string
		steps []step
		visit float64
		words string
	}{
		{"rhythm: gaps of 48, 48, 54 and 48 h", rhythm, 46, "by the rhythm of the last visits"},
		{"the order's 60 h", ordered, 58, "by the order's interval"},
		{"a plan", join(ordered, []step{at(-1, casebook.NoteWritten{Text: "planned", NextVisit: when(20)})}), 20, "planned"},
	} {
		f, r := fluidOf(t, noon, x.steps...)
		g, _ := r.Forecast("fluid.before_visit", "")
		if !f.Visit.Equal(noonPlus(x.visit)) || !strings.Contains(g.Text, "("+x.words+")") {
			t.Errorf("%s: %s, %q", x.name, state.Clock(f.Zone, f.Visit), g.Text)
		}
	}
	_, r := fluidOf(t, noonPlus(50), rhythm...)
	if g, _ := r.Forecast("fluid.before_visit", ""); !strings.Contains(g.CannotForecast, "has passed and no later one is planned; the chance that the canister is full by now is ") {
		t.Errorf("passed: %+v", g)
	}
}
