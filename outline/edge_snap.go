package outline

import "math"

// snap moves a ring in working pixels to the half-way point between bed and skin along its normal, at the photo's own
// scale (equation 9): the share of a short profile that looks like the bed tells where the edge cuts it, which a
// symmetric blur does not move. Shifts are smoothed along the ring, weighed by contrast, and kept short.
func (p *plot) snap(ring []Point) []Point {
	ring = evenly(ring, 1)
	n := len(ring)
	if n < 12 {
		return ring
	}
	reach := math.Max(2, 1.6*p.scale) // working pixels to either side
	const per = 8
	step := reach / per
	normal := make([]Point, n)
	for i := range ring {
		a, b := ring[(i+n-2)%n], ring[(i+2)%n]
		l := math.Hypot(b.X-a.X, b.Y-a.Y)
		if l == 0 {
			l = 1
		}
		// inside is on the right of travel, so outward is on the left: (dy, -dx) with y down
		normal[i] = Point{(b.Y - a.Y) / l, -(b.X - a.X) / l}
	}
	profile := make([][2*per + 1][3]float64, n)
	known := make([]float64, n)
	for i, q := range ring {
		known[i] = 1
		for k := range profile[i] {
			t := float64(k-per) * step
			at := Point{q.X + t*normal[i].X, q.Y + t*normal[i].Y}
			c, shine, ok := p.colourAt(at)
			profile[i][k] = c
			if !ok {
				known[i] = 0
			}
			known[i] *= 1 - shine
		}
	}
	const along = 4
	shift, weight := make([]float64, n), make([]float64, n)
	for i := range ring {
		var in, out [3]float64
		for d := -along; d <= along; d++ {
			pr := &profile[(i+d+n)%n]
			for k := range 3 {
				for m := range 3 {
					in[k] += pr[m][k] / (3 * (2*along + 1))
					out[k] += pr[2*per-m][k] / (3 * (2*along + 1))
				}
			}
		}
		var dir [3]float64
		sq := 0.0
		for k := range dir {
			dir[k] = in[k] - out[k]
			sq += dir[k] * dir[k]
		}
		if sq < 9 {
			continue // less than 3 units of colour: nothing to hold on to
		}
		mean := 0.0
		for m := range profile[i] {
			s := 0.0
			for k := range dir {
				s += (profile[i][m][k] - out[k]) * dir[k]
			}
			wt := 1.0
			if m == 0 || m == 2*per {
				wt = 0.5
			}
			mean += wt * math.Min(1.2, math.Max(-0.2, s/sq)) / (2 * per)
		}
		shift[i] = (mean - 0.5) * 2 * reach
		weight[i] = known[i] * math.Min(1, sq/400)
	}
	out := make([]Point, n)
	const wide = 6
	for i, q := range ring {
		s, w := 0.0, 0.15 // a little weight on staying
		for d := -wide; d <= wide; d++ {
			j := (i + d + n) % n
			k := math.Exp(-float64(d*d)/(2*2.0*2.0)) * weight[j]
			s, w = s+k*shift[j], w+k
		}
		m := math.Min(reach*0.75, math.Max(-reach*0.75, s/w))
		out[i] = Point{q.X + m*normal[i].X, q.Y + m*normal[i].Y}
	}
	return out
}

// colourAt is the colour at a place in working pixels, read at the photo's own scale.
func (p *plot) colourAt(q Point) (c [3]float64, shine float64, ok bool) {
	x, y := int(q.X), int(q.Y)
	if q.X < 0 || q.Y < 0 || x >= p.w || y >= p.h || p.blank[y*p.w+x] {
		return c, 0, false
	}
	shine = float64(p.shine[y*p.w+x])
	f := p.toPhoto(q)
	if f.X < 0 || f.Y < 0 || f.X >= float64(p.bounds.Dx()) || f.Y >= float64(p.bounds.Dy()) {
		return c, shine, false
	}
	v := bilinear(p.at, p.bounds, f.X, f.Y)
	c[0], c[1], c[2] = cielab(v[0], v[1], v[2])
	return c, shine, true
}

// evenly resamples a closed ring at about the given spacing.
func evenly(ring []Point, spacing float64) []Point {
	total := 0.0
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		total += math.Hypot(b.X-a.X, b.Y-a.Y)
	}
	n := int(total/spacing + 0.5)
	if n < 3 {
		return ring
	}
	out := make([]Point, 0, n)
	each, want, run := total/float64(n), 0.0, 0.0
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		l := math.Hypot(b.X-a.X, b.Y-a.Y)
		for want <= run+l && len(out) < n {
			t := 0.0
			if l > 0 {
				t = (want - run) / l
			}
			out = append(out, Point{a.X + t*(b.X-a.X), a.Y + t*(b.Y-a.Y)})
			want += each
		}
		run += l
	}
	return out
}
