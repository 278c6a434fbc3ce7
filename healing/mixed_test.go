package healing

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A group of wounds that are told apart well has rates, however small the error of one size is: where the likelihood is
// large its values differ by rounding long before they agree to eleven digits.
func TestMixedLineEndsForPreciseGroups(t *testing.T) {
	for seed := range uint64(60) {
		r := rand.New(rand.NewPCG(7, seed))
		var lines []Line
		slope := -0.05 - 0.1*r.Float64()
		residual := math.Exp(-5 + 4*r.Float64())
		for range 20 + r.IntN(60) {
			a, b := 2+0.6*r.NormFloat64(), slope+0.05*r.NormFloat64()
			var l Line
			for wk := range 4 + r.IntN(8) {
				l = l.with(float64(wk), a+b*float64(wk)+residual*r.NormFloat64())
			}
			lines = append(lines, l)
		}
		m, ok := FitMixedLine(lines)
		if !ok || math.Abs(m.Slope-slope) > 5*m.SlopeSE || !(m.SlopeSE < 0.02) || math.Abs(m.Residual/residual-1) > 0.25 {
			t.Errorf("group %d of %d wounds, slope %.3f, residual %.4f: ok %v, %+v", seed, len(lines), slope, residual, ok, m)
		}
	}
}
