package healing

import (
	"math"
	"testing"
)

// The table against the function of the standard library, at and between nodes.
func TestNormalCDF(t *testing.T) {
	worst := 0.0
	for z := -9.0; z <= 9; z += 0.00137 {
		worst = math.Max(worst, math.Abs(normalCDF(z)-0.5*math.Erfc(-z/math.Sqrt2)))
	}
	if worst > 2.5e-10 {
		t.Errorf("off by %g", worst)
	}
	if !math.IsNaN(normalCDF(math.NaN())) {
		t.Error("what is not a number has a chance")
	}
	for _, p := range []float64{0.1, 0.5, 0.9, 0.01} {
		if d := normalCDF(normalQuantile(p)) - p; math.Abs(d) > 2.5e-10 {
			t.Errorf("%v comes back %g off", p, d)
		}
	}
}
