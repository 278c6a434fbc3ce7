package unit

import "math"

// EllipsePerimeter is the perimeter of the ellipse with the given length and width, by Ramanujan's second
// approximation (relative error below 5·10⁻⁴ for any ellipse, and below 10⁻⁶ for width above a third of length).
//
//	p = π(a+b)(1 + 3h/(10 + √(4−3h))),  h = ((a−b)/(a+b))²,  a = L/2, b = W/2
//
// length and width: not negative; 0 when both are.
//
// Source: S. Ramanujan, Modular equations and approximations to π, Quart. J. Math. 45 (1914).
// Checked against the complete elliptic integral: testdata/ref/scipy-ellipse-perimeter.
func EllipsePerimeter(length, width Length) Length {
	a, b := float64(length)/2, float64(width)/2
	if !(a+b > 0) {
		return 0
	}
	h := (a - b) / (a + b)
	h *= h
	return Length(math.Pi * (a + b) * (1 + 3*h/(10+math.Sqrt(4-3*h))))
}
