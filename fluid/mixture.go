package fluid

import "math"

// Normal is a normal distribution with a weight.
type Normal struct{ Weight, Mean, SD float64 }

// Mixture is a sum of normals whose weights sum to one.
type Mixture []Normal

// Below is the probability of being below y.
func (m Mixture) Below(y float64) float64 {
	p := 0.0
	for _, n := range m {
		p += n.Weight * phi((y-n.Mean)/n.SD)
	}
	return p
}

// phi is the standard normal distribution function.
func phi(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// Quantile finds y with Below(y) = p.
func (m Mixture) Quantile(p float64) float64 {
	mean, v := 0.0, 0.0
	for _, n := range m {
		mean += n.Weight * n.Mean
	}
	for _, n := range m {
		v += n.Weight * (n.SD*n.SD + (n.Mean-mean)*(n.Mean-mean))
	}
	sd := math.Sqrt(v)
	return solve(m.Below, p, mean-8*sd, mean+8*sd, mean+sd*probit(p))
}

// probit is the standard normal quantile.
func probit(p float64) float64 { return -math.Sqrt2 * math.Erfcinv(2*p) }

// solve finds y in [lo, hi] with f(y) = p for a rising f, by secant steps on the probit scale, where such
// functions are nearly straight, kept inside a shrinking bracket.
func solve(f func(float64) float64, p, lo, hi, start float64) float64 {
	target := probit(p)
	y := max(lo, min(hi, start))
	var lastY, lastZ float64
	have := false
	tol := 1e-4 * (hi - lo) / 16
	for i := range 60 {
		fy := f(y)
		if fy < p {
			lo = y
		} else {
			hi = y
		}
		z := probit(max(1e-12, min(1-1e-12, fy)))
		if math.Abs(z-target) < 5e-4 || hi-lo < tol {
			return y
		}
		next := (lo + hi) / 2
		if have && z != lastZ && i < 30 {
			if s := y + (target-z)*(y-lastY)/(z-lastZ); s > lo && s < hi {
				next = s
			}
		} else if !have {
			if s := y + (target-z)*0.5; s > lo && s < hi {
				next = s
			}
		}
		lastY, lastZ, have = y, z, true
		y = next
	}
	return y
}
