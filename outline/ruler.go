// Package outline computes sizes of a wound from a photo with scale strips and an outline, or from a ruler's length
// and width.
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
