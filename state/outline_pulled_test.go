package state

import (
	"math"
	"testing"
)

// TestOpenEdgeStays: what the colours leave open counts for the part of the line that nobody moved, and not for a line
// that was only drawn.
func TestOpenEdgeStays(t *testing.T) {
	square := [][2]float64{{0, 0}, {100, 0}, {100, 100}, {0, 100}}
	moved := [][2]float64{{0, 0}, {100, 0}, {100, 100}, {0, 130}}
	for name, c := range map[string]struct {
		part DrawnPart
		want float64
	}{
		"drawn":                     {DrawnPart{Edge: square}, 0},
		"pulled":                    {DrawnPart{Edge: square, EdgeSE: 0.2, Pulled: square}, 0.2},
		"a point added on the line": {DrawnPart{Edge: append([][2]float64{{0, 50}}, square...), EdgeSE: 0.2, Pulled: square}, 0.2},
		"one corner moved":          {DrawnPart{Edge: moved, EdgeSE: 0.2, Pulled: square}, 0.2 * 200 / (330 + math.Hypot(100, 30))},
		"drawn again elsewhere":     {DrawnPart{Edge: [][2]float64{{20, 20}, {80, 20}, {80, 80}, {20, 80}}, EdgeSE: 0.2, Pulled: square}, 0},
		"the pulled line is lost":   {DrawnPart{Edge: square, EdgeSE: 0.1}, 0.1},
	} {
		if got := c.part.openSE(); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s: %g, want %g", name, got, c.want)
		}
	}
}
