package main

import (
	"math"
	"math/rand/v2"
	"slices"

	"lowtide/healing"
)

// sparse kinds were written last, and nothing was tuned on them. Their charts are as poor as charts are: often no method,
// no standard error and no depth, and for some a ruler first and an outline later.
var sparse = []string{"gompertz radius", "logistic area", "steps with infection", "linear radius, plateau", "slow exponential, 15 %", "linear area", "exponential", "flat for good"}

// sparseRates are the kinds of sparse: weekly fall of the logarithm of the area, as in rateOf.
func sparseRates(kind string, k, a0 float64, r *rand.Rand, t *truth) func(wk, a float64) float64 {
	radius := math.Sqrt(a0 / math.Pi)
	switch kind {
	case "gompertz radius":
		quicker := 0.1 + 0.5*r.Float64()
		return func(wk, a float64) float64 { return math.Min(0.5*k*math.Exp(quicker*wk), 12) }
	case "logistic area":
		half, width := 3+8*r.Float64(), 1.5+2*r.Float64()
		return func(wk, a float64) float64 { return 1 / width / (1 + math.Exp((half-wk)/width)) }
	case "steps with infection":
		at, growth := 2+7*r.Float64(), 0.05+0.2*r.Float64()
		var steps [30]float64
		for i := range steps {
			steps[i] = k * []float64{0.3, 1, 1.7}[r.IntN(3)]
		}
		return func(wk, a float64) float64 {
			if wk >= at && wk < at+2 {
				return -growth
			}
			return steps[min(len(steps)-1, int(wk/2))]
		}
	case "linear radius, plateau":
		v, from, stays := radius*k*0.5, 2+7*r.Float64(), r.Float64() < 0.5
		if stays {
			t.stallDay = int(from * 7)
		}
		return func(wk, a float64) float64 {
			if stays && wk >= from {
				return 0
			}
			return math.Min(2*v/math.Sqrt(a/math.Pi), 12)
		}
	case "slow exponential, 15 %":
		k = 0.055 + 0.06*r.Float64()
		return func(wk, a float64) float64 { return k }
	case "linear area":
		return func(wk, a float64) float64 { return math.Min(k*0.6*a0/a, 12) }
	case "exponential":
		return func(wk, a float64) float64 { return k }
	case "flat for good":
		from := 3 + 6*r.Float64()
		t.stallDay = int(from * 7)
		k = 0.08 + 0.15*r.Float64()
		return func(wk, a float64) float64 {
			if wk >= from {
				return 0
			}
			return k
		}
	}
	panic("no such kind: " + kind)
}

func isSparse(kind string) bool { return slices.Contains(sparse, kind) }

// sparseChart visits a wound weekly to fortnightly and leaves out what need not be written.
func sparseChart(t truth, visits int, r *rand.Rand) chart {
	c := chart{wildAt: -1}
	every, cv := []int{7, 10, 14}[r.IntN(3)], 0.04+0.06*r.Float64()
	if t.kind == "slow exponential, 15 %" {
		cv = 0.15
	}
	method := []string{"outline", "", "outline", "photo"}[r.IntN(4)]
	outlineFrom, stated, deep := 0, r.Float64() < 0.6, r.Float64() < 0.5
	if c.mixed = r.Float64() < 0.25; c.mixed {
		outlineFrom, method = 2+r.IntN(5), "outline"
	}
	day := 0
	for v := range visits {
		a, m, e := t.area[day], method, cv
		if v < outlineFrom {
			a, m, e = a*1.38, "ruler", cv+0.04
		}
		seen := a * math.Exp(e*r.NormFloat64())
		z := healing.Size{At: origin.AddDate(0, 0, day), AreaCm2: &seen, Method: m}
		if stated && seen > 0 {
			se := seen * e
			z.SECm2 = &se
		}
		if deep && a > 0 {
			d := math.Max(0, t.depth[day]*math.Exp(0.08*r.NormFloat64()))
			z.DepthCm = &d
		}
		c.sizes, c.days = append(c.sizes, z), append(c.days, day)
		day += max(3, every+r.IntN(3)-1)
	}
	return c
}
