package supply

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Spread is the distribution of a whole number that is used over a period: quantiles and the two moments that sums
// need.
type Spread struct {
	// Low, Median and High are the 10 %, 50 % and 90 % points: Low to High is the interval of at least 80 %.
	Low, Median, High int
	Mean, Variance    float64
}

// NegBin is the negative binomial law of extra changes: Poisson counts whose rate has a gamma law. R > 0 and
// 0 < P <= 1; its mean is R(1-P)/P.
//
// Source: Gelman et al., Bayesian Data Analysis, 3rd ed., §2.6 (from memory).
type NegBin struct{ R, P float64 }

// CDF is the probability of n or fewer: the regularized incomplete beta function I_P(R, n+1).
func (b NegBin) CDF(n int) float64 {
	switch {
	case n < 0:
		return 0
	case b.P >= 1:
		return 1
	}
	return mathext.RegIncBeta(b.R, float64(n)+1, b.P)
}

// Quantile is the smallest n whose CDF is at least p, for 0 <= p < 1.
func (b NegBin) Quantile(p float64) int {
	n := 0
	for b.CDF(n) < p && n < maxCount {
		n++
	}
	return n
}

// maxCount bounds what one patient can use over a period that anybody plans for.
const maxCount = 100_000

// Mean returns the mean.
func (b NegBin) Mean() float64 { return b.R * (1 - b.P) / b.P }

// Variance returns the variance.
func (b NegBin) Variance() float64 { return b.R * (1 - b.P) / (b.P * b.P) }

// Times is the use when each change takes n.
func (s Spread) Times(n int) Spread {
	return Spread{s.Low * n, s.Median * n, s.High * n, s.Mean * float64(n), s.Variance * float64(n) * float64(n)}
}

// Add sums the use of several patients, whose changes are taken to be independent. One patient keeps its own
// quantiles; of more than one the sum is taken as normal, its interval rounded outwards (eq. 6). No Spread sums to the
// zero Spread.
func Add(list ...Spread) Spread {
	if len(list) == 1 {
		return list[0]
	}
	var out Spread
	for _, s := range list {
		out.Mean += s.Mean
		out.Variance += s.Variance
	}
	z := Z(0.9) * math.Sqrt(out.Variance)
	out.Low = int(math.Floor(max(0, out.Mean-z)))
	out.Median = int(math.Round(out.Mean))
	out.High = int(math.Ceil(out.Mean + z))
	return out
}

// Z is the standard normal quantile of p, 0 < p < 1.
func Z(p float64) float64 { return mathext.NormalQuantile(p) }
