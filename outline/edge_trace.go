package outline

import (
	"math"
	"sort"
)

// contours traces the level of a field as closed loops, inside on the right hand of travel in a picture (y down).
// Values belong to pixel centres; a cell lies between four of them, and crossings are interpolated. The field is
// taken as outside beyond its border. The loops follow the sub-pixel edge, so their area is that of the pixels.
func contours(u []float32, w, h int, level float32) [][]Point {
	at := func(x, y int) float32 {
		if x < 0 || y < 0 || x >= w || y >= h {
			return min(level-1e-3, 0)
		}
		return u[y*w+x]
	}
	// a cell's edges are named by the grid edge they lie on: 2*(corner)+0 to the right of it, +1 below it
	stride := w + 2
	name := func(x, y, down int) int { return 2*((y+1)*stride+x+1) + down }
	next := map[int]int{}
	spot := map[int]Point{}
	cross := func(x, y, down int) int {
		id := name(x, y, down)
		if _, ok := spot[id]; !ok {
			a := at(x, y)
			p := Point{float64(x) + 0.5, float64(y) + 0.5}
			if down == 1 {
				p.Y += share(a, at(x, y+1), level)
			} else {
				p.X += share(a, at(x+1, y), level)
			}
			spot[id] = p
		}
		return id
	}
	for y := -1; y < h; y++ {
		for x := -1; x < w; x++ {
			a, b, c, d := at(x, y) >= level, at(x+1, y) >= level, at(x+1, y+1) >= level, at(x, y+1) >= level
			if a == b && b == c && c == d {
				continue
			}
			top, bottom := func() int { return cross(x, y, 0) }, func() int { return cross(x, y+1, 0) }
			left, right := func() int { return cross(x, y, 1) }, func() int { return cross(x+1, y, 1) }
			join := func(from, to int) { next[from] = to }
			// a link leads from the side where a clockwise walk around the cell leaves the inside to the side where it
			// enters; in the two ambiguous cells the mean tells whether the corners hang together
			apart := (at(x, y)+at(x+1, y)+at(x+1, y+1)+at(x, y+1))/4 < level
			switch {
			case a && c && !b && !d && apart:
				join(top(), left())
				join(bottom(), right())
				continue
			case a && c && !b && !d:
				join(top(), right())
				join(bottom(), left())
				continue
			case b && d && !a && !c && apart:
				join(right(), top())
				join(left(), bottom())
				continue
			case b && d && !a && !c:
				join(right(), bottom())
				join(left(), top())
				continue
			}
			var from, to int
			switch {
			case !a && b:
				from = top()
			case !b && c:
				from = right()
			case !c && d:
				from = bottom()
			case !d && a:
				from = left()
			}
			switch {
			case a && !b:
				to = top()
			case b && !c:
				to = right()
			case c && !d:
				to = bottom()
			case d && !a:
				to = left()
			}
			join(to, from)
		}
	}
	var starts []int
	for id := range next {
		starts = append(starts, id)
	}
	sort.Ints(starts)
	var loops [][]Point
	for _, s := range starts {
		var loop []Point
		for id := s; ; {
			to, ok := next[id]
			if !ok {
				break
			}
			loop = append(loop, spot[id])
			delete(next, id)
			id = to
		}
		if len(loop) > 2 {
			loops = append(loops, loop)
		}
	}
	return loops
}

func share(a, b, level float32) float64 {
	if a == b {
		return 0.5
	}
	return math.Min(1, math.Max(0, float64((level-a)/(b-a))))
}

// shoelace is the signed area of a loop: positive when clockwise in a picture with y down.
func shoelace(loop []Point) float64 {
	s := 0.0
	for i, a := range loop {
		b := loop[(i+1)%len(loop)]
		s += a.X*b.Y - b.X*a.Y
	}
	return s / 2
}

// onePiece keeps the part of u >= level that holds most of the belief and clears the rest.
func onePiece(u []float32, belief []float32, w, h int, level float32) {
	label := make([]int32, w*h)
	best, bestMass, n := int32(0), -1.0, int32(0)
	var stack []int
	for s := range u {
		if u[s] < level || label[s] != 0 {
			continue
		}
		n++
		label[s] = n
		stack = append(stack[:0], s)
		mass := 0.0
		for len(stack) > 0 {
			i := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			mass += float64(belief[i])
			x, y := i%w, i/w
			for _, d := range [4][2]int{{-1, 0}, {1, 0}, {0, -1}, {0, 1}} {
				xx, yy := x+d[0], y+d[1]
				if xx < 0 || yy < 0 || xx >= w || yy >= h {
					continue
				}
				if j := yy*w + xx; u[j] >= level && label[j] == 0 {
					label[j] = n
					stack = append(stack, j)
				}
			}
		}
		if mass > bestMass {
			best, bestMass = n, mass
		}
	}
	for i := range u {
		if label[i] != 0 && label[i] != best {
			u[i] = min(u[i], level/2)
		}
	}
}
