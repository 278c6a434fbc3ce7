package outline

import (
	"image"
	"math"
)

// Refine pulls a rough loop to the edge of the wound that it goes around.
//
// img: the upright photo. loop: a closed line in photo pixels, drawn around one wound; it should enclose the wound
// and be 40 to 100 % too large, which is how people draw around things with a finger, and need not be centred. The
// loop may cross itself and leave the photo; the outline does not.
//
// The outline follows pixel edges, not centres, to a fraction of a pixel. Holes are islands of skin, given only where
// the colour leaves no doubt. Status says in words how far the picture showed an edge; where it shows none, the
// outline is the loop drawn in to the size that such loops have (equation 8 in docs/model/edges.md). EdgeSE is the
// re-tracing spread of the area. It is a suggestion: a person looks at it, moves what is wrong, and confirms.
//
// The error is a *Refusal: fewer than three points, no number, a loop around next to nothing, a photo below 8 x 8.
// One call takes a tenth of a second, about 15 MB, and does not depend on the size of the photo. Deterministic.
//
// Source: own design on published parts (docs/model/edges.md). Checked: painted wounds with exact masks
// (go run ./evidence/cmd/edges), testdata/ref/opencv-shapely-edges.
func Refine(img image.Image, loop []Point) (Traced, error) {
	kept, no := checkLoop(img.Bounds(), loop)
	if no != nil {
		return Traced{}, no
	}
	p, no := newPlot(img, kept)
	if no != nil {
		return Traced{}, no
	}
	r := p.solve()
	outer, holes := p.rings(r.belief)
	status, fell := r.words(), false
	if outer == nil || !r.plausible(shoelace(outer)) {
		outer, holes = p.shrunk(r.prior), nil
		status, fell = "no edge could be told from the colours: this is your line drawn in; move every point that is wrong", true
	}
	if outer == nil {
		return Traced{}, refuse(LoopPoor, "Draw once around the wound, a little outside its edge.", "The line lies on no usable part of the photo.")
	}
	se := r.spread
	if fell {
		se = noEdgeSE
	} else {
		outer = p.snap(outer)
	}
	t := Traced{Outer: p.finish(outer, img.Bounds()), Status: status, EdgeSE: se}
	for _, h := range holes {
		t.Holes = append(t.Holes, p.finish(h, img.Bounds()))
	}
	return t, nil
}

// noEdgeSE is the spread of a wound's size about six tenths of the loop when nothing is seen: as drawn, loops are 1.4
// to 2 times the wound, evenly, whose logarithm has the standard deviation 0.10; off centre and shape double it.
const noEdgeSE = 0.2

// rings are the outer edge and the islands of a belief, in working pixels.
func (p *plot) rings(belief []float32) (outer []Point, holes [][]Point) {
	all := contours(belief, p.w, p.h, 0.5)
	for _, c := range all {
		if a := shoelace(c); a > 0 && (outer == nil || a > shoelace(outer)) {
			outer = c
		}
	}
	for _, c := range all {
		if a := -shoelace(c); a > islandLeast*p.radius*p.radius && p.surelySkin(c) {
			holes = append(holes, c)
		}
	}
	return outer, holes
}

// islandLeast is the least size of an island, in squares of the loop's radius: 2 % of the loop.
const islandLeast = 0.02 * math.Pi

// surelySkin tells whether what a hole encloses looks like the skin around the wound and unlike the bed nearly
// everywhere; slough may well be as pale as skin, so the bar is high.
func (p *plot) surelySkin(hole []Point) bool {
	skin, n := 0, 0
	for i, in := range fillLoops(p.w, p.h, true, hole) {
		if in {
			n++
			if p.odds[i] < -1.5 && p.shine[i] == 0 {
				skin++
			}
		}
	}
	return n > 0 && skin*10 >= n*8
}

// shrunk is the loop drawn in: the level of depth that holds six tenths of it (equation 8).
func (p *plot) shrunk(prior []float32) []Point {
	level := make([]float32, len(prior))
	for i, v := range prior {
		level[i] = logistic(v)
	}
	onePiece(level, level, p.w, p.h, 0.5)
	var outer []Point
	for _, c := range contours(level, p.w, p.h, 0.5) {
		if a := shoelace(c); a > 0 && (outer == nil || a > shoelace(outer)) {
			outer = c
		}
	}
	return outer
}

// finish turns a ring into photo pixels, thinned where that moves the line by less than a tenth of a working pixel,
// to hundredths of a pixel and kept inside of the photo.
func (p *plot) finish(ring []Point, b image.Rectangle) []Point {
	ring = thinned(ring, 0.1)
	out := make([]Point, 0, len(ring))
	for _, q := range ring {
		q = p.toPhoto(q)
		x, y := math.Round(100*q.X)/100, math.Round(100*q.Y)/100
		q = Point{math.Min(math.Max(x, 0), float64(b.Dx())), math.Min(math.Max(y, 0), float64(b.Dy()))}
		if n := len(out); n == 0 || out[n-1] != q {
			out = append(out, q)
		}
	}
	if n := len(out); n > 3 && out[0] == out[n-1] {
		out = out[:n-1]
	}
	return out
}

// thinned drops points of a closed ring that lie within tol of the line without them (Douglas and Peucker).
func thinned(ring []Point, tol float64) []Point {
	if len(ring) < 5 {
		return ring
	}
	keep := make([]bool, len(ring))
	half := len(ring) / 2
	keep[0], keep[half] = true, true
	type span struct{ a, b int }
	for stack := []span{{0, half}, {half, len(ring)}}; len(stack) > 0; {
		s := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		a, b := ring[s.a], ring[s.b%len(ring)]
		far, at := tol, -1
		for i := s.a + 1; i < s.b; i++ {
			if d := fromSegment(ring[i], a, b); d > far {
				far, at = d, i
			}
		}
		if at >= 0 {
			keep[at] = true
			stack = append(stack, span{s.a, at}, span{at, s.b})
		}
	}
	var out []Point
	for i, k := range keep {
		if k {
			out = append(out, ring[i])
		}
	}
	if len(out) < 3 {
		return ring
	}
	return out
}

func fromSegment(q, a, b Point) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = math.Min(1, math.Max(0, ((q.X-a.X)*dx+(q.Y-a.Y)*dy)/l))
	}
	return math.Hypot(q.X-a.X-t*dx, q.Y-a.Y-t*dy)
}
