// Package outline computes sizes of a wound from what was laid over it: today a ruler's length and width.
package outline

import (
	"math"

	"lowtide/unit"
)

// EllipseArea is the area of the ellipse with the given length and width.
//
//	A = π/4 · L · W
//
// length and width: cm, not negative. A wound is rarely an ellipse; still the ellipse is far nearer to a traced
// area than L × W, which over-reads a true ellipse by 27 % (4/π).
//
// Source: geometry. Checked: testdata/ref/ellipse-pairs, testdata/ref/kundin-1989-area.
func EllipseArea(length, width unit.Length) unit.Area {
	return unit.Area(math.Pi / 4 * float64(length) * float64(width))
}

// EllipsePerimeter is the perimeter of the ellipse with the given length and width, by Ramanujan's second
// approximation (relative error below 5·10⁻⁴ for any ellipse, and below 10⁻⁶ for width above a third of length).
//
//	p = π(a+b)(1 + 3h/(10 + √(4−3h))),  h = ((a−b)/(a+b))²,  a = L/2, b = W/2
//
// Source: S. Ramanujan, Modular equations and approximations to π, Quart. J. Math. 45 (1914).
// Checked against the complete elliptic integral: testdata/ref/scipy-ellipse-perimeter.
func EllipsePerimeter(length, width unit.Length) unit.Length {
	a, b := float64(length)/2, float64(width)/2
	if a+b == 0 {
		return 0
	}
	h := (a - b) / (a + b)
	h *= h
	return unit.Length(math.Pi * (a + b) * (1 + 3*h/(10+math.Sqrt(4-3*h))))
}
