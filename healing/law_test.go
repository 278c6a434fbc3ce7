package healing

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"lowtide/unit"

	"pgregory.net/rapid"
)

var lawStart = time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)

// drawSizes makes a plausible series: a closing, standing or growing wound with errors, now and then a ruler.
func drawSizes(t *rapid.T) []Size {
	n := rapid.IntRange(2, 12).Draw(t, "visits")
	a := rapid.Float64Range(1, 80).Draw(t, "first area")
	k := rapid.Float64Range(-0.05, 0.3).Draw(t, "fall per week")
	deep := rapid.Bool().Draw(t, "deep")
	day, out := 0, []Size{}
	for range n {
		e := rapid.Float64Range(-0.08, 0.08).Draw(t, "error")
		v := a * math.Exp(-k*float64(day)/7+e)
		z := Size{At: lawStart.AddDate(0, 0, day), AreaCm2: &v, Method: rapid.SampledFrom([]string{"outline", "outline", "photo", "ruler"}).Draw(t, "method")}
		if rapid.Bool().Draw(t, "se stated") {
			se := 0.05 * v
			z.SECm2 = &se
		}
		if deep {
			d, vol := 2*math.Exp(-2*k*float64(day)/7), v*math.Exp(-2*k*float64(day)/7)
			z.DepthCm, z.VolumeCm3 = &d, &vol
		}
		out = append(out, z)
		day += rapid.IntRange(5, 15).Draw(t, "days to the next")
	}
	return out
}

func asJSON(t rapid.TB, a Assessment) string {
	b, err := json.Marshal(a)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func near(t rapid.TB, what string, got, want, rel float64) {
	if math.Abs(got-want) > rel*math.Max(1e-6, math.Abs(want)) {
		t.Fatalf("%s: %v, want %v", what, got, want)
	}
}

func TestLawOrderOfEntries(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		z := drawSizes(t)
		want := asJSON(t, Assess(Input{WoundType: "dfu", Sizes: z}))
		if got := asJSON(t, Assess(Input{WoundType: "dfu", Sizes: rapid.Permutation(z).Draw(t, "order")})); got != want {
			t.Fatalf("order matters:\n%s\n%s", got, want)
		}
	})
}

func TestLawTimeShift(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		z := drawSizes(t)
		shift := rapid.IntRange(-4000, 4000).Draw(t, "days")
		moved := append([]Size(nil), z...)
		for i := range moved {
			moved[i].At = moved[i].At.AddDate(0, 0, shift)
		}
		a, b := Assess(Input{Sizes: z}), Assess(Input{Sizes: moved})
		for i := range a.Ahead {
			near(t, "median", b.Ahead[i].Area.Median, a.Ahead[i].Area.Median, 1e-9)
			near(t, "p90", b.Ahead[i].Area.P90, a.Ahead[i].Area.P90, 1e-9)
		}
		if a.NotImproving != nil {
			near(t, "not improving", *b.NotImproving, *a.NotImproving, 1e-9)
		}
		near(t, "chance of closure", *b.Closure.Chance, *a.Closure.Chance, 1e-9)
	})
}

// Areas written in square millimetres and brought over by package unit give the same answer as those in cm².
func TestLawUnits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		z := drawSizes(t)
		other := append([]Size(nil), z...)
		for i := range other {
			mm2 := *z[i].AreaCm2 * 100
			back, err := unit.Convert(mm2, "mm2", "cm2")
			if err != nil {
				t.Fatal(err)
			}
			other[i].AreaCm2 = &back
		}
		a, b := Assess(Input{Sizes: z}), Assess(Input{Sizes: other})
		for i := range a.Ahead {
			near(t, "median", b.Ahead[i].Area.Median, a.Ahead[i].Area.Median, 1e-6)
		}
	})
}

// Plain figures: lengths times c make areas c², advances c, and leave shares and decay constants alone.
func TestLawFiguresScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a1, a2 := rapid.Float64Range(0.1, 100).Draw(t, "a1"), rapid.Float64Range(0.1, 100).Draw(t, "a2")
		c, wk := rapid.Float64Range(0.1, 25.4).Draw(t, "c"), rapid.Float64Range(0.2, 20).Draw(t, "weeks")
		_, d, _ := LinearAdvance(a1, CirclePerimeter(a1), a2, CirclePerimeter(a2), wk)
		_, dc, _ := LinearAdvance(c*c*a1, CirclePerimeter(c*c*a1), c*c*a2, CirclePerimeter(c*c*a2), wk)
		near(t, "advance", dc, c*d, 1e-9)
		near(t, "advance of a circle is the fall in radius", d*wk, math.Sqrt(a1/math.Pi)-math.Sqrt(a2/math.Pi), 1e-6)
		k, _ := DecayConstant(a1, a2, wk)
		kc, _ := DecayConstant(c*c*a1, c*c*a2, wk)
		near(t, "decay", kc, k, 1e-6)
		near(t, "decay carries the size on", a1*math.Exp(-k*wk), a2, 1e-9)
	})
}

// A visit that reads exactly the median that was forecast for its day does not widen the forecast of a later day. In
// one normal belief this is a theorem; in a sum of beliefs it is not, because the weights move too. Where the interval
// does not reach closure one in a hundred is allowed. Where it does, its lower end stands at 0 and the upper one moves
// with the chance of being closed: there it may widen by 0.1 cm², the smallest published standard error of an area
// (Landa 2016).
func TestLawAgreeingVisitNeverWidens(t *testing.T) {
	worst := 0.0
	rapid.Check(t, func(t *rapid.T) {
		z := drawSizes(t)
		last := z[len(z)-1].At
		gap := rapid.Float64Range(3, 14).Draw(t, "days to the agreeing visit")
		day := rapid.Float64Range(gap, 42).Draw(t, "days ahead")
		a := Assess(Input{AsOf: last, Sizes: z, AheadDays: []float64{gap, day}})
		mid, before := a.Ahead[0].Area.Median, a.Ahead[1].Area
		if *a.Ahead[0].Closed > 0.02 {
			// the wound might well have closed by then: to find it open is news, not agreement
			return
		}
		at := last.Add(time.Duration(gap * 24 * float64(time.Hour)))
		b := Assess(Input{AsOf: at, Sizes: append(append([]Size(nil), z...), Size{At: at, AreaCm2: &mid, Method: "outline"}), AheadDays: []float64{day - gap}})
		after := b.Ahead[0].Area
		ratio := (after.P90 - after.P10) / math.Max(before.P90-before.P10, 1e-9)
		worst = math.Max(worst, ratio)
		slack := 0.01 * (before.P90 - before.P10)
		if before.P10 == 0 || after.P10 == 0 {
			slack = 0.1
		}
		if after.P90-after.P10 > before.P90-before.P10+slack {
			t.Fatalf("interval widened by %.4f: %v to %v", ratio, *before, *after)
		}
	})
	t.Logf("widest ratio %.3f", worst)
}

// A wound found closed stays closed on every later day, and the forecast of closing never falls with time.
func TestLawHealedStaysHealed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		z := drawSizes(t)
		zero := 0.0
		last := z[len(z)-1].At.AddDate(0, 0, rapid.IntRange(1, 30).Draw(t, "days"))
		z = append(z, Size{At: last, AreaCm2: &zero, Method: "outline"})
		a := Assess(Input{AsOf: last.AddDate(0, 0, rapid.IntRange(0, 400).Draw(t, "later")), Sizes: z})
		if a.Status != Closed || *a.Closure.Chance != 1 || *a.NotImproving != 0 {
			t.Fatalf("%s: %+v", a.Status, a.Closure)
		}
		for _, x := range a.Ahead {
			if x.Area.P90 != 0 || *x.Closed != 1 {
				t.Fatalf("in %v days: %+v", x.Days, x)
			}
		}
		for d, c := range a.Closure.ChanceByDays {
			if c != 1 {
				t.Fatalf("chance by %s days is %v", d, c)
			}
		}
		// an entry that says otherwise starts a new course
		five := 5.0
		z = append(z, Size{At: last.AddDate(0, 0, 40), AreaCm2: &five, Method: "outline"})
		if b := Assess(Input{Sizes: z}); b.Status == Closed {
			t.Fatal("still closed after a new size")
		}
	})
}

func TestLawChancesNeverFall(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		z := drawSizes(t)
		var days []float64
		for d := 0.0; d <= 364; d += 13 {
			days = append(days, d)
		}
		a := Assess(Input{Sizes: z, AheadDays: days, Goals: []Goal{{ID: "bed", Measure: Depth, Below: 0.3}}})
		for _, r := range append(a.Goals, a.Closure) {
			before := 0.0
			for _, d := range days {
				c, ok := r.ChanceByDays[dayKey(d)]
				if r.Chance == nil {
					continue
				}
				if !ok || c < before-1e-12 || c > 1 {
					t.Fatalf("%s: chance by day %v is %v after %v", r.ID, d, c, before)
				}
				before = c
			}
			if r.MedianDays != nil && !(*r.P10Days <= *r.MedianDays && *r.MedianDays <= *r.P90Days) {
				t.Fatalf("%s: days out of order %v %v %v", r.ID, *r.P10Days, *r.MedianDays, *r.P90Days)
			}
		}
		for _, x := range a.Ahead {
			if !(x.Area.P10 <= x.Area.Median && x.Area.Median <= x.Area.P90) {
				t.Fatalf("in %v days: %+v", x.Days, *x.Area)
			}
		}
	})
}

// Whatever is given, every number is finite (JSON refuses the others) and there is a status with a sentence.
func TestLawAnythingGivesAStatus(t *testing.T) {
	odd := []float64{0, -1, 1e-300, 1e-9, 0.01, 1, 20, 1e4, 1e9, 1e300, math.NaN(), math.Inf(1), math.Inf(-1)}
	rapid.Check(t, func(t *rapid.T) {
		var z []Size
		for range rapid.IntRange(0, 9).Draw(t, "sizes") {
			s := Size{At: lawStart.Add(time.Duration(rapid.IntRange(-20, 60).Draw(t, "half days")) * 12 * time.Hour), Method: rapid.SampledFrom([]string{"", "outline", "ruler", "guess"}).Draw(t, "method")}
			for _, v := range []**float64{&s.AreaCm2, &s.SECm2, &s.DepthCm, &s.DepthSECm, &s.VolumeCm3, &s.VolumeSECm3, &s.PerimeterCm, &s.LengthCm, &s.WidthCm} {
				if rapid.IntRange(0, 2).Draw(t, "given") > 0 {
					x := rapid.SampledFrom(odd).Draw(t, "value")
					if rapid.Bool().Draw(t, "tame") {
						x = rapid.Float64Range(0, 30).Draw(t, "tame value")
					}
					*v = &x
				}
			}
			z = append(z, s)
		}
		in := Input{WoundType: "dfu", Sizes: z, AheadDays: []float64{-1, 0, 14, 1e9, math.NaN()}, Goals: []Goal{{ID: "g", Measure: Depth, Below: rapid.SampledFrom(odd).Draw(t, "goal")}}}
		if rapid.Bool().Draw(t, "as of") {
			in.AsOf = lawStart.AddDate(0, 0, rapid.IntRange(-20, 400).Draw(t, "as of day"))
		}
		a := Assess(in)
		if a.Status == "" || a.Sentence == "" {
			t.Fatalf("no status: %+v", a)
		}
		asJSON(t, a)
	})
}
