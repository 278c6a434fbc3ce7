package healing

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"reflect"
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
		assess := func(z []Size) string {
			a := assess(Input{WoundType: "dfu", Sizes: z})
			// the place in the list is the one thing that follows the order
			for i := range a.Odd {
				a.Odd[i].Index = 0
			}
			for i := range a.LeftOut {
				a.LeftOut[i].Index = 0
			}
			return asJSON(t, a)
		}
		want := assess(z)
		if got := assess(rapid.Permutation(z).Draw(t, "order")); got != want {
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
		a, b := assess(Input{Sizes: z}), assess(Input{Sizes: moved})
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
		a, b := assess(Input{Sizes: z}), assess(Input{Sizes: other})
		for i := range a.Ahead {
			near(t, "median", b.Ahead[i].Area.Median, a.Ahead[i].Area.Median, 1e-8)
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
// one normal belief this is a theorem; in a sum of beliefs it is not: a median between two likely courses is news for
// both. So the law is held to what can be promised: of drawn series at most one in a hundred widens at all by more than
// a hundredth, and none by more than a twentieth, or 0.1 cm² where the interval reaches closure (the smallest published
// standard error of an area: Landa 2016).
func TestLawAgreeingVisitNeverWidens(t *testing.T) {
	draws := 300
	if os.Getenv("LOWTIDE_DEEP") == "1" {
		draws = 3000
	}
	widened, asked, worst := 0, 0, 0.0
	for i := range draws {
		r := rand.New(rand.NewPCG(11, uint64(i)))
		z := agreeingSeries(r)
		last := z[len(z)-1].At
		gap := 3 + 11*r.Float64()
		day := gap + (42-gap)*r.Float64()
		a := assess(Input{AsOf: last, Sizes: z, AheadDays: []float64{gap, day}})
		if *a.Ahead[0].Closed > 0.02 {
			// the wound might well have closed by then: to find it open is news, not agreement
			continue
		}
		mid, before := a.Ahead[0].Area.Median, a.Ahead[1].Area
		at := last.Add(time.Duration(gap * 24 * float64(time.Hour)))
		b := assess(Input{AsOf: at, Sizes: append(z, Size{At: at, AreaCm2: &mid, Method: "outline"}), AheadDays: []float64{day - gap}})
		after := b.Ahead[0].Area
		was, is := before.P90-before.P10, after.P90-after.P10
		asked++
		if was > 0 {
			worst = math.Max(worst, is/was)
		}
		if is > 1.01*was {
			widened++
			t.Logf("draw %d: %+v to %+v", i, *before, *after)
		}
		if slack := 0.05 * was; is > was+slack && !(before.P10 == 0 && is <= was+0.1) {
			t.Errorf("draw %d: the interval widened %.3f times: %+v to %+v", i, is/was, *before, *after)
		}
	}
	t.Logf("%d of %d widened by more than 1 %%; the widest by a factor of %.3f", widened, asked, worst)
	if widened*100 > asked {
		t.Errorf("%d of %d intervals widened", widened, asked)
	}
}

// agreeingSeries makes a series like drawSizes from a fixed stream.
func agreeingSeries(r *rand.Rand) []Size {
	a, k, day := 1+79*r.Float64(), -0.05+0.35*r.Float64(), 0
	var out []Size
	for range 2 + r.IntN(11) {
		v := a * math.Exp(-k*float64(day)/7+0.16*(r.Float64()-0.5))
		z := Size{At: lawStart.AddDate(0, 0, day), AreaCm2: &v, Method: []string{"outline", "outline", "photo", "ruler"}[r.IntN(4)]}
		if r.IntN(2) == 0 {
			se := 0.05 * v
			z.SECm2 = &se
		}
		out = append(out, z)
		day += 5 + r.IntN(11)
	}
	return out
}

// A wound found closed stays closed on every later day, and the forecast of closing never falls with time.
func TestLawHealedStaysHealed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		z := drawSizes(t)
		zero := 0.0
		last := z[len(z)-1].At.AddDate(0, 0, rapid.IntRange(1, 30).Draw(t, "days"))
		z = append(z, Size{At: last, AreaCm2: &zero, Method: "outline"})
		a := assess(Input{AsOf: last.AddDate(0, 0, rapid.IntRange(0, 400).Draw(t, "later")), Sizes: z})
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
		if b := assess(Input{Sizes: z}); b.Status == Closed {
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
		a := assess(Input{Sizes: z, AheadDays: days, Goals: []Goal{{ID: "bed", Measure: Depth, Below: 0.3}}})
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
		a := assess(in)
		if a.Status == "" || a.Sentence == "" {
			t.Fatalf("no status: %+v", a)
		}
		asJSON(t, a)
	})
}

// TestLawParts: the parts that are made one by one are those of the whole.
func TestLawParts(t *testing.T) {
	at := lawStart
	cases := []Input{{}, {Sizes: weekly(10)}, {Sizes: weekly(20, 18, 16.3, 14.6)}, {Sizes: weekly(20, 18, 0)}, {AsOf: at.AddDate(0, 0, 300), Sizes: weekly(20, 18, 16.3)},
		{WoundType: "dfu", Sizes: weekly(9, 8.4, 8.1, 7.2, 6), Past: true, AheadDays: []float64{-10, 0, 14, 900}}}
	for i, in := range cases {
		for _, goals := range [][]Goal{nil, {{ID: "half", Measure: Area, Below: 5}}, {{ID: "deep", Measure: Depth, Below: 0.3}, {ID: "half", Measure: Area, Below: 5}}} {
			in.Goals = goals
			whole := assess(in)
			course, ahead := courseOf(in), forecastsOf(in)
			if got := (Assessment{course, ahead}); !reflect.DeepEqual(got.Forecasts, whole.Forecasts) || got.Sentence != whole.Sentence || !reflect.DeepEqual(got.Milestones, whole.Milestones) ||
				!reflect.DeepEqual(got.NotImproving, whole.NotImproving) || !reflect.DeepEqual(got.Past, whole.Past) || len(got.Notes)+len(ahead.notes) != len(whole.Notes) {
				t.Errorf("case %d: the parts are not the whole\n%+v\n%+v", i, got, whole)
			}
			want := whole.Closure
			if len(whole.Goals) > 0 {
				want = whole.Goals[0]
			}
			if got := goalOf(in); !reflect.DeepEqual(got, want) {
				t.Errorf("case %d: the goal alone %+v, in the whole %+v", i, got, want)
			}
		}
	}
}
