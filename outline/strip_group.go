package outline

import (
	"math"
)

// found is one strip: which spot is which mark (−1 where none), and the code under it.
type found struct {
	marks [12]int
	count int
	which string
	// wrong is how many of the code's modules read otherwise than they should.
	wrong int
	// framed says that the code's three corner squares are there: a strip, if perhaps of another kind.
	framed bool
	// h takes mm on the strip to the photo.
	h [9]float64
}

// leastMarksSeen is how many of a strip's twelve marks must be seen.
const leastMarksSeen = 10

// mostTries bounds the search of one photo where ring-like things are everywhere; two strips take a few hundred.
const mostTries = 6000

// group finds the strips among the spots: two neighbours along and one across start a grid, the grid grows mark
// by mark, and the code in its middle decides. partly is the best grid that did not become a strip.
func group(g *grey, spots []spot, tries *int) (strips []found, partly found) {
	used := make([]bool, len(spots))
	near := neighbours(spots)
	for range 8 { // more strips than anybody lays
		var best found
		for i := range spots {
			if used[i] {
				continue
			}
			for _, j := range near[i] {
				for _, k := range near[i] {
					if used[j] || used[k] || !square3(&spots[i], spots[j].at, spots[k].at) {
						continue
					}
					for start := range 4 { // columns −3→−2, −2→−1, 1→2, 2→3
						if *tries++; *tries > mostTries {
							return strips, partly
						}
						f, ok := grow(spots, used, i, j, k, start)
						if !ok || f.count < partly.count && f.count < leastMarksSeen {
							continue
						}
						if f.count >= leastMarksSeen {
							f.read(g, f.around(spots))
						}
						if f.better(&best) {
							best = f
						}
					}
				}
			}
		}
		if best.which == "" {
			if best.count > partly.count {
				partly = best
			}
			return strips, partly
		}
		strips = append(strips, best)
		for _, i := range best.marks {
			if i >= 0 {
				used[i] = true
			}
		}
	}
	return strips, partly
}

// better: a read code first, then more marks, then fewer wrong modules.
func (f *found) better(o *found) bool {
	if (f.which != "") != (o.which != "") {
		return f.which != ""
	}
	if f.count != o.count {
		return f.count > o.count
	}
	if f.framed != o.framed {
		return f.framed
	}
	return f.wrong < o.wrong
}

// neighbours lists for each spot those at about a grid step, by the spot's own size and shape.
func neighbours(spots []spot) [][]int {
	out := make([][]int, len(spots))
	for i := range spots {
		for j := range spots {
			if i == j {
				continue
			}
			p := spots[i].mm(spots[j].at)
			if d := math.Hypot(p.X, p.Y); d > 9 && d < 18 && alike(&spots[i], &spots[j]) {
				out[i] = append(out[i], j)
			}
		}
	}
	return out
}

func alike(a, b *spot) bool {
	r := a.radius() / b.radius()
	return r > 0.7 && r < 1.4
}

// square3 tells whether j lies along and k across from i, seen from i's own frame: at a right angle, clockwise.
func square3(i *spot, j, k Point) bool {
	a, b := i.mm(j), i.mm(k)
	la, lb := math.Hypot(a.X, a.Y), math.Hypot(b.X, b.Y)
	return (a.X*b.Y-a.Y*b.X)/(la*lb) > 0.87
}

// grow lays the strip's grid from a top mark, its neighbour along and the mark below it, and looks for the other
// marks where the grid, fitted anew after each column, expects them.
func grow(spots []spot, used []bool, i, j, k, start int) (found, bool) {
	cols := [4][2]int{{0, 1}, {1, 2}, {3, 4}, {4, 5}}[start] // places in stripColumns
	marks := stripMarks()
	f := found{}
	for m := range f.marks {
		f.marks[m] = -1
	}
	f.marks[2*cols[0]], f.marks[2*cols[1]], f.marks[2*cols[0]+1] = i, j, k
	f.count = 3
	order := []int{cols[1]}
	for c := cols[1] + 1; c < 6; c++ {
		order = append(order, c)
	}
	for c := cols[0] - 1; c >= 0; c-- {
		order = append(order, c)
	}
	for _, c := range order {
		for row := range 2 {
			m := 2*c + row
			if f.marks[m] >= 0 {
				continue
			}
			at, step, ok := f.expect(spots, marks, m)
			if !ok {
				return f, false
			}
			best, near := -1, 0.3*step
			for s := range spots {
				if used[s] || f.has(s) || !alike(&spots[i], &spots[s]) {
					continue
				}
				if d := math.Hypot(spots[s].at.X-at.X, spots[s].at.Y-at.Y); d < near {
					best, near = s, d
				}
			}
			if best >= 0 {
				f.marks[m] = best
				f.count++
			}
		}
		if c == cols[1] && f.count < 4 {
			return f, false // the first square of four is not whole
		}
	}
	if f.count < 4 {
		return f, false
	}
	h, ok := f.homography(spots, marks, f.count)
	f.h = h
	return f, ok
}

func (f *found) has(s int) bool {
	for _, m := range f.marks {
		if m == s {
			return true
		}
	}
	return false
}

// around is the map of the code's own surroundings: the four marks beside it. On a bent strip it still reads, so
// that the strip can be refused as bent and not as unreadable.
func (f *found) around(spots []spot) [9]float64 {
	all := stripMarks()
	var from, to []Point
	for m := 4; m < 8; m++ {
		s := f.marks[m]
		if s < 0 {
			return f.h
		}
		from, to = append(from, all[m]), append(to, spots[s].at)
	}
	if h, ok := project(from, to, 8); ok {
		return h
	}
	return f.h
}

// expect is where mark m should be, and how many pixels a grid step is there: by the affine map of the nearest
// marks, or by a homography once there are six.
func (f *found) expect(spots []spot, marks [12]Point, m int) (at Point, step float64, ok bool) {
	h, ok := f.homography(spots, marks, f.count)
	if !ok {
		return at, 0, false
	}
	at = apply(h, marks[m])
	along := apply(h, Point{marks[m].X + markStepMm, marks[m].Y})
	return at, math.Hypot(along.X-at.X, along.Y-at.Y), true
}

// homography over the marks so far; an affine map below six of them.
func (f *found) homography(spots []spot, marks [12]Point, n int) ([9]float64, bool) {
	var from, to []Point
	for m, s := range f.marks {
		if s >= 0 {
			from, to = append(from, marks[m]), append(to, spots[s].at)
		}
	}
	size := 8
	if n < 6 {
		size = 6
	}
	return project(from, to, size)
}

// project fits a map from mm to px by linear least squares: affine (6 numbers) or a homography (8).
func project(from, to []Point, size int) ([9]float64, bool) {
	var h [9]float64
	if len(to) == 0 {
		return h, false
	}
	const unit = 40.0 // mm: keeps the numbers near 1
	var o Point
	for _, p := range to {
		o.X += p.X / float64(len(to))
		o.Y += p.Y / float64(len(to))
	}
	scale := 0.0
	for _, p := range to {
		scale = math.Max(scale, math.Hypot(p.X-o.X, p.Y-o.Y))
	}
	if scale == 0 {
		return h, false
	}
	a, b := square(size), make([]float64, size)
	add := func(row [8]float64, v float64) {
		for i := range size {
			for j := range size {
				a[i][j] += row[i] * row[j]
			}
			b[i] += row[i] * v
		}
	}
	for i, p := range from {
		x, y := p.X/unit, p.Y/unit
		u, v := (to[i].X-o.X)/scale, (to[i].Y-o.Y)/scale
		add([8]float64{x, y, 1, 0, 0, 0, -u * x, -u * y}, u)
		add([8]float64{0, 0, 0, x, y, 1, -v * x, -v * y}, v)
	}
	inv, ok := cholesky(a)
	if !ok {
		return h, false
	}
	for i := range size {
		for j := range size {
			h[i] += inv[i][j] * b[j]
		}
	}
	h[8] = 1
	for r := range 3 { // undo the units: first mm, then px
		h[3*r] /= unit
		h[3*r+1] /= unit
	}
	for c := range 3 {
		h[c] = scale*h[c] + o.X*h[6+c]
		h[3+c] = scale*h[3+c] + o.Y*h[6+c]
	}
	return h, true
}

func apply(h [9]float64, p Point) Point {
	w := h[6]*p.X + h[7]*p.Y + h[8]
	return Point{(h[0]*p.X + h[1]*p.Y + h[2]) / w, (h[3]*p.X + h[4]*p.Y + h[5]) / w}
}
