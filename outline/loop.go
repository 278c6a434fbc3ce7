package outline

import (
	"math"
	"sort"
)

// mostPoints bounds an outline: far more than a finger or a pixel edge of a wound needs.
const mostPoints = 20000

func sortPoints(ps []Point) {
	sort.Slice(ps, func(i, j int) bool {
		if ps[i].X != ps[j].X {
			return ps[i].X < ps[j].X
		}
		return ps[i].Y < ps[j].Y
	})
}

// CheckLoop refuses a loop that has no area of its own: fewer than three points, not finite, too many, no area,
// or crossing itself. name says which loop it is, for the message.
func CheckLoop(loop []Point, name string) *Refusal {
	const redraw = "Draw it again."
	if len(loop) < 3 {
		return refuse(LoopPoor, redraw, "%s has %d points; it needs three or more.", name, len(loop))
	}
	if len(loop) > mostPoints {
		return refuse(LoopPoor, "Thin it out.", "%s has %d points; at most %d are taken.", name, len(loop), mostPoints)
	}
	for i, p := range loop {
		if !(math.Abs(p.X) < 1e6 && math.Abs(p.Y) < 1e6) {
			return refuse(LoopPoor, redraw, "%s: point %d lies nowhere in a photo.", name, i+1)
		}
	}
	if i, j, yes := crossing(loop); yes {
		return refuse(LoopPoor, "Move one of these points so that the line does not cross itself.", "%s crosses itself between points %d and %d.", name, i+1, j+1)
	}
	if Area(loop) == 0 {
		return refuse(LoopPoor, redraw, "%s has no area.", name)
	}
	return nil
}

// crossing finds two sides of a loop that cross. Sides are sorted by x, so that only those that overlap in x meet.
func crossing(loop []Point) (int, int, bool) {
	n := len(loop)
	order := make([]int, n)
	lo := make([]float64, n)
	hi := make([]float64, n)
	for i, p := range loop {
		q := loop[(i+1)%n]
		order[i], lo[i], hi[i] = i, math.Min(p.X, q.X), math.Max(p.X, q.X)
	}
	sort.Slice(order, func(a, b int) bool { return lo[order[a]] < lo[order[b]] })
	for a, i := range order {
		for _, j := range order[a+1:] {
			if lo[j] > hi[i] {
				break
			}
			if (i+1)%n == j || (j+1)%n == i {
				continue
			}
			p, q, r, s := loop[i], loop[(i+1)%n], loop[j], loop[(j+1)%n]
			if cross(p, q, r)*cross(p, q, s) < 0 && cross(r, s, p)*cross(r, s, q) < 0 {
				return min(i, j), max(i, j), true
			}
		}
	}
	return 0, 0, false
}
