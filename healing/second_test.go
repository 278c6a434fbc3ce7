package healing

import (
	"math"
	"testing"
	"time"
)

// TestAdvanceByRuler: clinical worked example of Gilman's formula (Wounds 1990;2:95, as printed in Kecelj Leskovec 2008) on an
// ellipse of 6 x 4 cm that is 5.1 x 3.2 cm after four weeks: (18.850 - 12.818) / mean perimeter (15.865 and 13.214 by
// Ramanujan) = 0.4149 cm, 0.1037 cm a week. A ruler's sizes give it as the formula does; beside an outline the ruler's edge is
// brought to the outline's scale with the root of the area's factor.
func TestAdvanceByRuler(t *testing.T) {
	p := func(x float64) *float64 { return &x }
	start := time.Date(2026, 1, 7, 9, 0, 0, 0, time.UTC)
	area := func(l, w float64) float64 { return math.Pi / 4 * l * w }
	of := func(method string, weeks float64, l, w, factor float64) Size {
		return Size{At: start.Add(time.Duration(weeks * 168 * float64(time.Hour))), AreaCm2: p(area(l, w) * factor), Method: method, LengthCm: p(l), WidthCm: p(w)}
	}
	for _, x := range []struct {
		name   string
		sizes  []Size
		lo, hi float64
	}{
		{"ruler, ellipse", []Size{of("ellipse", 0, 6, 4, 1), of("ellipse", 4, 5.1, 3.2, 1)}, 0.1037, 0.1038},
		{"ruler, length times width", []Size{of("ruler", 0, 6, 4, 4/math.Pi), of("ruler", 4, 5.1, 3.2, 4/math.Pi)}, 0.1037, 0.1038},
		{"outlines", []Size{of("outline", 0, 6, 4, 1), of("outline", 4, 5.1, 3.2, 1)}, 0.1037, 0.1038},
	} {
		got := assess(Input{Sizes: x.sizes, AsOf: x.sizes[1].At}).Figures.LinearAdvance
		if got == nil || *got < x.lo || *got > x.hi {
			t.Errorf("%s: %v cm a week, want %v", x.name, got, x.lo)
		}
	}
	// A ruler first and an outline of the same wound after: on one scale nothing moved.
	f, _ := MethodOf("ellipse")
	same := []Size{of("ellipse", 0, 6, 4, 1), of("outline", 4, 6/math.Sqrt(f.Factor), 4/math.Sqrt(f.Factor), 1)}
	if got := assess(Input{Sizes: same, AsOf: same[1].At}).Figures.LinearAdvance; got == nil || math.Abs(*got) > 1e-9 {
		t.Errorf("the same wound by ruler and by outline advanced by %v cm a week", got)
	}
}

// TestSecondSizeMayBeWrong: 20 cm2, and 2 cm2 a week later, is more likely a slip than a wound that closes: no chance of 99 %
// and no interval of nothing may rest on it.
func TestSecondSizeMayBeWrong(t *testing.T) {
	p := func(x float64) *float64 { return &x }
	start := time.Date(2026, 1, 7, 9, 0, 0, 0, time.UTC)
	in := Input{Sizes: []Size{{At: start, AreaCm2: p(20), Method: "outline"}, {At: start.AddDate(0, 0, 7), AreaCm2: p(2), Method: "outline"}}, AsOf: start.AddDate(0, 0, 7), AheadDays: []float64{0, 14, 28}}
	a := assess(in)
	if c := a.Closure.Chance; c != nil && *c > 0.97 {
		t.Errorf("closed with a chance of %v", *c)
	}
	for _, x := range a.Ahead {
		if x.Area != nil && x.Days > 0 {
			t.Logf("%.0f d: %.2f (%.2f to %.2f)", x.Days, x.Area.Median, x.Area.P10, x.Area.P90)
			if x.Area.P90 < 1 {
				t.Errorf("after %.0f days at most %.2f cm2, four times in five", x.Days, x.Area.P90)
			}
		}
	}
}
