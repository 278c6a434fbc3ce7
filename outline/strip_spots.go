package outline

import "math"

// patch is a connected patch of dark or light pixels with its moments.
type patch struct {
	n, x, y, xx, xy, yy float64
	dark, border        bool
	first               int // index of its first pixel
}

func (p *patch) add(o *patch) {
	p.n += o.n
	p.x += o.x
	p.y += o.y
	p.xx += o.xx
	p.xy += o.xy
	p.yy += o.yy
	p.border = p.border || o.border
	p.first = min(p.first, o.first)
}

// centre and covariance of the patch's area; a pixel's own extent (1/12 each way) is in it.
func (p *patch) shape() (c Point, xx, xy, yy float64) {
	mx, my := p.x/p.n, p.y/p.n
	return Point{mx + 0.5, my + 0.5}, p.xx/p.n - mx*mx + 1./12, p.xy/p.n - mx*my, p.yy/p.n - my*my + 1./12
}

// fill is the patch's area as a share of the ellipse that has its moments: 1 for any filled ellipse.
func (p *patch) fill() float64 {
	_, xx, xy, yy := p.shape()
	return p.n / (4 * math.Pi * math.Sqrt(math.Max(xx*yy-xy*xy, 1e-9)))
}

// patches labels connected patches: dark ones over corners too, light ones over sides only, so that a ring of dark
// pixels keeps its eye apart. label holds for each pixel the index of its patch.
func patches(dark []bool, w, h int) (all []patch, label []int32) {
	label = make([]int32, w*h)
	parent := make([]int32, 0, 1<<14)
	find := func(a int32) int32 {
		for parent[a] != a {
			parent[a] = parent[parent[a]]
			a = parent[a]
		}
		return a
	}
	join := func(a, b int32) {
		a, b = find(a), find(b)
		if a != b {
			parent[max(a, b)] = min(a, b)
		}
	}
	for y := range h {
		for x := range w {
			i := y*w + x
			d := dark[i]
			id := int32(-1)
			if x > 0 && dark[i-1] == d {
				id = label[i-1]
			}
			if y > 0 && dark[i-w] == d {
				if up := label[i-w]; id < 0 {
					id = up
				} else if up != id {
					join(up, id)
				}
			}
			if d && y > 0 {
				for _, dx := range [2]int{-1, 1} {
					if x+dx >= 0 && x+dx < w && dark[i-w+dx] {
						if o := label[i-w+dx]; id < 0 {
							id = o
						} else if o != id {
							join(o, id)
						}
					}
				}
			}
			if id < 0 {
				id = int32(len(parent))
				parent = append(parent, id)
			}
			label[i] = id
		}
	}
	all = make([]patch, len(parent))
	for i := range all {
		all[i].first = w * h
	}
	for i, id := range label {
		id = find(id)
		label[i] = id
		x, y := float64(i%w), float64(i/w)
		p := &all[id]
		p.n++
		p.x += x
		p.y += y
		p.xx += x * x
		p.xy += x * y
		p.yy += y * y
		p.dark = dark[i]
		p.first = min(p.first, i)
		p.border = p.border || i%w == 0 || i%w == w-1 || i < w || i >= w*(h-1)
	}
	return all, label
}

// spot is something that looks like a round mark: its centre, and the ellipse of its outer edge as the matrix that
// takes the unit circle to it (px).
type spot struct {
	at         Point
	a, b, c, d float64
	// roughPx is how far the edge lies from that ellipse, blurPx the blur's standard deviation; both from refine.
	roughPx, blurPx float64
	white, black    float64
}

// radius is the geometric mean of the half axes.
func (s *spot) radius() float64 { return math.Sqrt(math.Abs(s.a*s.d - s.b*s.c)) }

// mm takes a place in the photo to the mark's own frame: millimetres as they would be if the mark lay in front.
func (s *spot) mm(p Point) Point {
	det := s.a*s.d - s.b*s.c
	x, y := p.X-s.at.X, p.Y-s.at.Y
	return Point{markOuterMm * (s.d*x - s.b*y) / det, markOuterMm * (s.a*y - s.c*x) / det}
}

// spots finds round dark patches with a round light eye in their middle.
func spots(g *grey, window int, share float64) []spot {
	all, label := patches(g.dark(window, share), g.w, g.h)
	longest := float64(max(g.w, g.h))
	var out []spot
	for i := range all {
		eye := &all[i]
		if eye.n < 4 || eye.dark || eye.border || eye.n > longest*longest/1000 {
			continue
		}
		if f := eye.fill(); eye.n > 20 && (f < 0.8 || f > 1.2) {
			continue
		}
		around := &all[label[eye.first-1]] // the pixel before a light patch's first one is dark and encloses it
		if !around.dark || around.border || around.n > 30*eye.n {
			continue
		}
		whole := *around
		whole.add(eye)
		if f := whole.fill(); whole.n < 40 || f < 0.88 || f > 1.1 {
			continue
		}
		// The eye is 0.16 of the whole by area; blur and threshold shift it.
		if s := eye.n / whole.n; s < 0.05 || s > 0.4 {
			continue
		}
		c, xx, xy, yy := whole.shape()
		e, _, _, _ := eye.shape()
		root := math.Sqrt(xx*yy - xy*xy)
		if math.Hypot(c.X-e.X, c.Y-e.Y) > 0.2*2*math.Sqrt(root) {
			continue
		}
		if l := (xx + yy + math.Sqrt((xx-yy)*(xx-yy)+4*xy*xy)) / 2; root*root/(l*l) < 0.12 {
			continue // flatter than a mark seen at 70 degrees
		}
		// The symmetric square root of 4·covariance takes the unit circle to the ellipse.
		t := math.Sqrt(xx + yy + 2*root)
		out = append(out, spot{at: c, a: 2 * (xx + root) / t, b: 2 * xy / t, c: 2 * xy / t, d: 2 * (yy + root) / t})
	}
	return out
}
