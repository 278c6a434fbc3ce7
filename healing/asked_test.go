package healing

import (
	"math"
	"strings"
	"testing"
	"time"
)

func areasEvery(days int, values ...float64) []Size {
	var out []Size
	for i := range values {
		out = append(out, Size{At: lawStart.AddDate(0, 0, i*days), AreaCm2: &values[i], Method: "outline"})
	}
	return out
}

// Every day that was asked for is answered, in the order of the questions, whatever the status.
func TestEveryDayAskedIsAnswered(t *testing.T) {
	good := areasEvery(7, 20.7, 19, 17.6, 16.1)
	for _, c := range []struct {
		name  string
		in    Input
		known []bool // an area is given
		note  string
	}{
		{"days gone by, today, ahead and too far", Input{Sizes: good, AheadDays: []float64{28, -14, 0, 3650, 7, -400}}, []bool{true, true, true, false, true, false}, "No forecast for 3650 days"},
		{"between the last size and the review", Input{Sizes: good, AsOf: good[3].At.AddDate(0, 0, 10), AheadDays: []float64{-5}}, []bool{true}, ""},
		{"one size", Input{Sizes: good[:1], AheadDays: []float64{7, 14}}, []bool{false, false}, ""},
		{"no size", Input{AheadDays: []float64{7}}, []bool{false}, ""},
		{"sizes too old", Input{Sizes: good, AsOf: good[3].At.AddDate(1, 0, 0)}, []bool{false, false, false}, ""},
		{"a day beyond the calendar", Input{Sizes: good, AheadDays: []float64{1e12, -1e12}}, []bool{false, false}, "1e+12"},
		{"closed", Input{Sizes: areasEvery(7, 2, 1, 0), AheadDays: []float64{7, 1000}}, []bool{true, false}, "1000"},
		{"no number", Input{Sizes: good, AheadDays: []float64{math.NaN(), 7}}, []bool{true}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := assess(c.in)
			if len(a.Ahead) != len(c.known) {
				t.Fatalf("%d answers, want %d: %+v", len(a.Ahead), len(c.known), a.Ahead)
			}
			asked := c.in.askedDays()
			if math.IsNaN(asked[0]) {
				asked = asked[1:]
			}
			for i, x := range a.Ahead {
				if x.Days != asked[i] || (x.Area != nil) != c.known[i] {
					t.Errorf("answer %d: %v days, area %v; asked for %v, want an area: %v", i, x.Days, x.Area, asked[i], c.known[i])
				}
			}
			if !strings.Contains(strings.Join(a.Notes, "\n"), c.note) {
				t.Errorf("no note with %q: %q", c.note, a.Notes)
			}
			asJSON(t, a)
		})
	}
	// a day gone by lies on the fitted curve, near what was measured then
	if b := assess(Input{Sizes: good, AheadDays: []float64{-14}}).Ahead[0].Area; !(b.P10 < 19 && b.P90 > 19 && math.Abs(b.Median-19) < 1) {
		t.Errorf("two weeks ago: %+v, measured 19", *b)
	}
}

// A bare date stands for the whole day where the wound was measured, also when that is the next day by UTC.
func TestDayOfReviewIsLocal(t *testing.T) {
	west := time.FixedZone("", -8*3600)
	z := areasEvery(7, 20, 18)
	z[1].At = time.Date(2026, 3, 8, 22, 0, 0, 0, west) // 9 March, 06:00 by UTC
	for _, c := range []struct {
		name string
		asOf time.Time
		left int
	}{
		{"the same day", time.Date(2026, 3, 8, 0, 0, 0, 0, time.UTC), 0},
		{"the day before", time.Date(2026, 3, 7, 0, 0, 0, 0, time.UTC), 1},
		{"an hour earlier, by the clock", time.Date(2026, 3, 9, 5, 0, 0, 0, time.UTC), 1},
		{"an hour later, by the clock", time.Date(2026, 3, 9, 7, 0, 0, 0, time.UTC), 0},
	} {
		if a := assess(Input{Sizes: z, AsOf: c.asOf}); len(a.LeftOut) != c.left {
			t.Errorf("%s: %d left out, want %d: %+v", c.name, len(a.LeftOut), c.left, a.LeftOut)
		}
	}
}

// An odd size is named by its place in the list that was given, also when the list is out of order, and among more
// sizes than are screened one by one.
func TestOddOneIsNamedByPlace(t *testing.T) {
	z := areasEvery(7, 20, 18.5, 1.7, 15.6, 14.5)
	z[0], z[2] = z[2], z[0]
	if a := assess(Input{Sizes: z}); len(a.Odd) != 1 || a.Odd[0].Index != 0 || a.Odd[0].Value != 1.7 {
		t.Errorf("%+v, want the first of the list", a.Odd)
	}
	for _, n := range []int{64, 65, 120, 500} {
		var many []float64
		for i := range n {
			// a daily series with an error of 3 % that repeats itself every seven days
			many = append(many, 40*math.Exp(-0.012*float64(i))*(1+0.03*[]float64{0, 1, -1, 0.5, -0.5, 0.8, -0.8}[i%7]))
		}
		many[n/2] *= 10
		a := assess(Input{Sizes: areasEvery(1, many...)})
		if len(a.Odd) != 1 || a.Odd[0].Index != n/2 {
			t.Errorf("of %d sizes: %+v, want number %d", n, a.Odd, n/2)
		}
	}
}

// Sizes that nobody can measure are left out with a remedy, and a type without markers of its own is said.
func TestTooSmallAndUnknownType(t *testing.T) {
	a := assess(Input{WoundType: "zorp", Sizes: areasEvery(7, 4, 0.004, 1e-300)})
	if len(a.LeftOut) != 2 || !strings.Contains(a.LeftOut[0].Why, "write 0") || a.LeftOut[1].Index != 2 || a.Status != OneSize {
		t.Errorf("status %q, left out %+v", a.Status, a.LeftOut)
	}
	if !strings.Contains(strings.Join(a.Notes, "\n"), `"zorp"`) {
		t.Errorf("nothing said of the type: %q", a.Notes)
	}
	if a := assess(Input{WoundType: "surgical", Sizes: areasEvery(7, 4, 3)}); strings.Contains(strings.Join(a.Notes, "\n"), "surgical") {
		t.Errorf("a known type is called unknown: %q", a.Notes)
	}
}
