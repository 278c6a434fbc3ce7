package healing

import "math"

// The normal distribution function is asked for a million times in a review, so that it is read from a table.
const (
	cdfNodes = 64  // nodes a deviation
	cdfEnd   = 8.0 // beyond it a chance is 0 or 1: 6·10⁻¹⁶
)

// cdfTable holds Φ at its nodes and its slope there, a node.
var cdfTable = func() (t [2*cdfEnd*cdfNodes + 1][2]float64) {
	for i := range t {
		z := float64(i)/cdfNodes - cdfEnd
		t[i] = [2]float64{0.5 * math.Erfc(-z/math.Sqrt2), math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) / cdfNodes}
	}
	return t
}()

// normalCDF is Φ(z), to 2·10⁻¹⁰: a cubic between nodes with the right values and slopes at both (Hermite). The error
// of such a cubic is h⁴/384 times the fourth derivative, which is at most 1.4.
func normalCDF(z float64) float64 {
	switch {
	case z <= -cdfEnd:
		return 0
	case z >= cdfEnd:
		return 1
	case z != z:
		return z
	}
	x := (z + cdfEnd) * cdfNodes
	i := int(x)
	u := x - float64(i)
	a, b := &cdfTable[i], &cdfTable[i+1]
	d := b[0] - a[0]
	return a[0] + u*(a[1]+u*(3*d-2*a[1]-b[1]+u*(a[1]+b[1]-2*d)))
}

// normalQuantile is the inverse of normalCDF, held within eight deviations.
func normalQuantile(p float64) float64 {
	switch {
	case !(p > 1e-15):
		return -cdfEnd
	case p >= 1-1e-15:
		return cdfEnd
	}
	return -math.Sqrt2 * math.Erfcinv(2*p)
}
