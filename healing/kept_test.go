package healing

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"lowtide/evidence/kept"
)

var update = flag.Bool("update", false, "write testdata/kept.tsv anew")

// TestKept holds what is said of invented courses to six digits. What is right is for the closed forms, the tables and the
// outside programs beside it; this shows that a changed number or comparison anywhere in the package changes what a nurse
// reads. When a change is meant: go test ./healing -run TestKept -update.
func TestKept(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 0))
	var out bytes.Buffer
	say := func(row string, parts ...any) {
		out.WriteString(row)
		for _, p := range parts {
			d, err := kept.Digest(p, 6)
			if err != nil {
				t.Fatalf("%s: %v", row, err)
			}
			fmt.Fprintf(&out, "\t%s", d)
		}
		out.WriteByte('\n')
	}
	var ended []ClosedCase
	for i := range 260 {
		in := keptInput(rnd)
		if i%5 == 4 {
			in.Cohort = ended
		}
		a := Assess(in)
		say(fmt.Sprint(i), a.Course, a.Forecasts, MilestonesFor(in.WoundType, in.Limits))
		ended = append(ended, ClosedCase{in.WoundType, in.Sizes})
		if len(ended) > 40 {
			ended = ended[1:]
		}
	}
	for _, kind := range []string{"", "pressure", "venous leg ulcer", "diabetic foot ulcer"} {
		pr, ok := FitCohort(kind, ended)
		say("cohort "+kind, CohortCurve(kind, ended), []any{pr, ok}, MilestonesFor(kind, usual))
	}
	for range 20 {
		a, p, v, wk := rnd.Float64()*40, rnd.Float64()*30, rnd.Float64()*60, rnd.Float64()*6-1
		r, ok1 := Reduction(a, p)
		cm, each, ok2 := LinearAdvance(a, p, a*rnd.Float64(), p*rnd.Float64(), wk)
		down, ok3 := VerticalAdvance(v, a, v*rnd.Float64(), a*rnd.Float64(), wk)
		k, ok4 := DecayConstant(a, a*rnd.Float64(), wk)
		say("figures", []any{r, ok1, cm, each, ok2, down, ok3, k, ok4}, []any{DepthSE(a / 10), VolumeSE(v), CirclePerimeter(a)})
	}
	for _, name := range []string{"", "a", "z", "A", "Z", "ruler", "Ruler", "outline", "tracing", "photo", "estimate", "ellipse", "a tracing by hand", "planimetry"} {
		m, known := MethodOf(name)
		kind, ok := WoundType(name)
		say("words "+name, []any{m, known}, []any{kind, ok})
	}
	wrong, err := kept.Compare("testdata/kept.tsv", out.Bytes(), []string{"course", "said", "forecasts", "milestones"}, *update)
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range wrong {
		t.Error(w)
	}
}

// keptInput is a wound that closes, stalls or grows, measured in all the ways there are, with gaps and slips.
func keptInput(rnd *rand.Rand) Input {
	f := func(lo, hi float64) float64 { return lo + (hi-lo)*rnd.Float64() }
	start := time.Date(2026, 1, 5, 9, 0, 0, 0, time.UTC)
	in := Input{WoundType: []string{"", "pressure", "pressure injury", "venous leg ulcer", "diabetic foot ulcer", "surgical"}[rnd.IntN(6)],
		Limits: Limits{FreshDays: f(14, 30), UsableDays: f(50, 100), WindowDays: f(10, 28), ShortestDays: f(3, 7), MarkerShare: f(0.1, 0.5), MarkerDays: f(14, 42)}, Past: rnd.IntN(2) == 0}
	area, depth, day := f(0.3, 60), f(0.1, 5), 0.0
	rate := f(-0.04, 0.012)
	methods := []string{"ruler", "outline", "tracing", "photo", "", "estimate", "ellipse"}
	method := methods[rnd.IntN(len(methods))]
	for range 1 + rnd.IntN(14) {
		z := Size{At: start.Add(time.Duration(day * 24 * float64(time.Hour))), Method: method}
		a := area * math.Exp(rate*day) * math.Exp(0.08*rnd.NormFloat64())
		switch rnd.IntN(14) {
		case 0:
			a *= f(2, 4) // a slip of the pen
		case 1:
			z.Method = methods[rnd.IntN(len(methods))]
		case 2:
			a = 0
		}
		if rnd.IntN(12) > 0 {
			z.AreaCm2 = &a
			if rnd.IntN(3) == 0 {
				se := a*f(0.01, 0.2) + 0.01
				z.SECm2 = &se
			}
			l := math.Sqrt(a * f(1, 3))
			w := a / max(l, 0.1) * 4 / math.Pi
			if rnd.IntN(2) == 0 {
				z.LengthCm, z.WidthCm = &l, &w
			} else if rnd.IntN(3) == 0 {
				p := 3.5 * math.Sqrt(a)
				z.PerimeterCm = &p
			}
		}
		if rnd.IntN(3) > 0 {
			d := math.Max(0, depth*math.Exp(1.2*rate*day)+0.1*rnd.NormFloat64())
			z.DepthCm = &d
			if rnd.IntN(4) == 0 {
				se := f(0.05, 0.4)
				z.DepthSECm = &se
			}
			if rnd.IntN(3) == 0 {
				v := a * d * f(0.4, 0.7)
				z.VolumeCm3 = &v
			}
		}
		if rnd.IntN(3) == 0 {
			b := math.Round(f(0, 100))
			z.BarePct = &b
		}
		in.Sizes = append(in.Sizes, z)
		day += []float64{0.2, 1, 2, 3, 5, 7, 7, 7, 10, 14, 25}[rnd.IntN(11)]
	}
	if rnd.IntN(4) > 0 {
		in.AsOf = in.Sizes[len(in.Sizes)-1].At.Add(time.Duration(f(-3, 40) * 24 * float64(time.Hour)))
	}
	if rnd.IntN(2) == 0 {
		in.AheadDays = []float64{f(-10, 0), f(0, 10), f(10, 60), f(60, 364)}
	}
	for k, m := range []Measure{Area, Depth, Volume} {
		if rnd.IntN(3) == 0 {
			g := Goal{ID: fmt.Sprint("g", k), Measure: m, Below: f(0, 4)}
			if rnd.IntN(3) == 0 {
				g.And = []Goal{{ID: "and", Measure: Area, Below: f(0, 6)}}
			}
			in.Goals = append(in.Goals, g)
		}
	}
	return in
}
