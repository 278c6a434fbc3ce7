package evidence

import (
	"fmt"
	"math"
	"time"

	"lowtide/healing"
	"lowtide/state"
)

// strdModels are the models of the small NIST data sets as NIST prints them.
var strdModels = map[string]func(b []float64, x float64) float64{
	"Misra1a": func(b []float64, x float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) },
	"Misra1d": func(b []float64, x float64) float64 { return b[0] * b[1] * x / (1 + b[1]*x) },
	"BoxBOD":  func(b []float64, x float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) },
	"DanWood": func(b []float64, x float64) float64 { return b[0] * math.Pow(x, b[1]) },
	"Rat42":   func(b []float64, x float64) float64 { return b[0] / (1 + math.Exp(b[1]-b[2]*x)) },
	"MGH10":   func(b []float64, x float64) float64 { return b[0] * math.Exp(b[1]/(x+b[2])) },
}

var errNotComputed = fmt.Errorf("healing: not computed")

func orErr(x float64, ok bool) (float64, error) {
	if !ok {
		return math.NaN(), errNotComputed
	}
	return x, nil
}

func init() {
	register("healing.LeastSquares", func(in In) (float64, error) {
		model, ok := strdModels[in.Text("model")]
		if !ok {
			return math.NaN(), fmt.Errorf("healing: no model %q", in.Text("model"))
		}
		x := in.Nums("x")
		r := healing.LeastSquares(func(b []float64, i int) float64 { return model(b, x[i]) }, in.Nums("y"), in.Nums("start"), healing.LeastSquaresOptions{})
		if r.Status != healing.Converged {
			return math.NaN(), fmt.Errorf("healing: %s", r.Status)
		}
		return r.Params[int(in.Num("param"))-1], nil
	})
	register("healing.Reduction", func(in In) (float64, error) {
		return orErr(healing.Reduction(in.Num("first"), in.Num("last")))
	})
	register("healing.LinearAdvance", func(in In) (float64, error) {
		d, _, ok := healing.LinearAdvance(in.Num("a1"), in.Num("p1"), in.Num("a2"), in.Num("p2"), in.Num("weeks"))
		return orErr(d, ok)
	})
	register("healing.LinearAdvanceRate", func(in In) (float64, error) {
		_, rate, ok := healing.LinearAdvance(in.Num("a1"), in.Num("p1"), in.Num("a2"), in.Num("p2"), in.Num("weeks"))
		return orErr(rate, ok)
	})
	register("healing.VerticalAdvance", func(in In) (float64, error) {
		return orErr(healing.VerticalAdvance(in.Num("v1"), in.Num("a1"), in.Num("v2"), in.Num("a2"), in.Num("weeks")))
	})
	register("healing.DecayConstant", func(in In) (float64, error) {
		return orErr(healing.DecayConstant(in.Num("a1"), in.Num("a2"), in.Num("weeks")))
	})
	register("healing.MethodFactor", func(in In) (float64, error) {
		m, known := healing.MethodOf(in.Text("method"))
		return orErr(m.Factor, known)
	})
	register("healing.MilestoneMet", milestoneMet)
	register("healing.DecayFit", func(in In) (float64, error) {
		f := assess(in.Nums("days"), in.Nums("area")).Figures
		if f.DecayFitPerWk == nil {
			return math.NaN(), errNotComputed
		}
		return *f.DecayFitPerWk, nil
	})
	register("healing.DecayFitSE", func(in In) (float64, error) {
		f := assess(in.Nums("days"), in.Nums("area")).Figures
		if f.DecayFitSEPerWk == nil {
			return math.NaN(), errNotComputed
		}
		return *f.DecayFitSEPerWk, nil
	})
}

// assess looks at traced areas some days after a start.
func assess(days, areas []float64) healing.Assessment {
	start := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	var in healing.Input
	for i := range min(len(days), len(areas)) {
		in.Sizes = append(in.Sizes, healing.Size{At: start.AddDate(0, 0, int(days[i])), AreaCm2: &areas[i], Method: "outline"})
	}
	return assessed(in)
}

// milestoneMet is 1 when a milestone is met by a first and a last area some days apart, 0 when it is not.
func milestoneMet(in In) (float64, error) {
	start := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	first, last := in.Num("first"), in.Num("last")
	a := assessed(healing.Input{WoundType: in.Text("wound_type"), Sizes: []healing.Size{
		{At: start, AreaCm2: &first, Method: "outline"},
		{At: start.AddDate(0, 0, int(in.Num("days"))), AreaCm2: &last, Method: "outline"},
	}})
	for _, m := range a.Milestones {
		if m.ID != in.Text("id") {
			continue
		}
		if m.Met == nil {
			return math.NaN(), fmt.Errorf("healing: %s: %s", m.ID, m.State)
		}
		if *m.Met {
			return 1, nil
		}
		return 0, nil
	}
	return math.NaN(), fmt.Errorf("healing: no milestone %q for %q", in.Text("id"), in.Text("wound_type"))
}

// assessed goes by the built-in limits.
func assessed(in healing.Input) healing.Assessment {
	rules, err := builtin()
	if err != nil {
		panic(err)
	}
	in.Limits = state.HealingLimits(rules.Values(time.Now()))
	return healing.Assess(in)
}
