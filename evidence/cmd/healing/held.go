package main

import (
	"math"
	"math/rand/v2"
)

// heldRates are the kinds that were held out: weekly fall of the logarithm of the area, as in rateOf.
func heldRates(kind string, k, a0 float64, r *rand.Rand, edge func(f, a float64) float64, t *truth) func(wk, a float64) float64 {
	switch kind {
	case "two edges":
		// an ellipse whose long and short half both lose the same every week
		aspect := 1.2 + 3.8*r.Float64()
		y0 := math.Sqrt(a0 / math.Pi / aspect)
		v := k * y0 * 0.5
		return func(wk, a float64) float64 {
			x, y := math.Max(y0*aspect-v*wk, 0.02), math.Max(y0-v*wk, 0.02)
			return math.Min(v/x+v/y, 12)
		}
	case "plateau, then edge":
		from, long, v := 1+6*r.Float64(), 2+6*r.Float64(), 0.05+0.2*r.Float64()
		if long >= 6 {
			t.stallDay, t.stallEnd = int(from*7), int((from+long)*7)
		}
		return func(wk, a float64) float64 {
			switch {
			case wk < from:
				return edge(k, a)
			case wk < from+long:
				return 0
			}
			return math.Min(2*v/math.Sqrt(a/math.Pi), 12)
		}
	case "gradual spurt":
		at := 2 + 8*r.Float64()
		return func(wk, a float64) float64 { return edge(k*(0.3+1.7/(1+math.Exp((at-wk)/0.8))), a) }
	case "edge and remainder":
		// a part closes by its edge, the rest exponentially and slower
		share, radius := 0.3+0.5*r.Float64(), math.Sqrt(a0/math.Pi)
		v, slow := k*radius*0.5, k*(0.3+0.4*r.Float64())
		return func(wk, a float64) float64 {
			left := math.Max(1-v*wk/radius, 0)
			f, s := share*left*left, (1-share)*math.Exp(-slow*wk)
			fall := 2*share*left*v/radius + slow*s
			return edge(fall/(f+s), a)
		}
	case "new rate at times":
		until, now := 0.0, 0.0
		return func(wk, a float64) float64 {
			if wk >= until {
				until = wk + 1 + 4*r.ExpFloat64()
				now = k * math.Exp(0.6*r.NormFloat64())
				if r.Float64() < 0.2 {
					now = 0
				}
			}
			return edge(now, a)
		}
	case "gives up slowly":
		long := 3 + 7*r.Float64()
		t.stallDay = max(0, int(7*long*math.Log(k/0.01)))
		return func(wk, a float64) float64 { return k * math.Exp(-wk/long) }
	case "infected for a while":
		at, long, growth := 1+8*r.Float64(), 1.5+1.5*r.Float64(), 0.1+0.15*r.Float64()
		return func(wk, a float64) float64 {
			if wk >= at && wk < at+long {
				return k - (k+growth)*math.Sin(math.Pi*(wk-at)/long)
			}
			return edge(k, a)
		}
	}
	return sparseRates(kind, k, a0, r, t)
}
