package outline

import "math"

// A wound may run out of the picture, and then its loop does too. Where a loop is cut off says nothing about where the
// wound ends, so the plot goes on beyond the border: place is known there, colour is not.

// offPicture makes a loop that is cut off at the picture's border go on beyond it. One that lies mostly outside is cut
// off there first: nobody draws like that around what she sees.
func offPicture(loop []Point, w, h float64) []Point {
	cut := make([]Point, len(loop))
	out := false
	for i, p := range loop {
		cut[i] = Point{math.Min(math.Max(p.X, 0), w), math.Min(math.Max(p.Y, 0), h)}
		out = out || cut[i] != p
	}
	if !out {
		return bulged(loop, w, h)
	}
	if math.Abs(shoelace(cut)) < 0.6*math.Abs(shoelace(loop)) {
		return bulged(cut, w, h)
	}
	return loop
}

// onBorder is how near a stretch lies to the border when it runs along it, px: the last pixel's centre counts too.
const onBorder = 1.5

// sideOf names the side of the picture along which a stretch runs; 0 when along none.
func sideOf(a, b Point, w, h float64) int {
	switch {
	case a.X <= onBorder && b.X <= onBorder:
		return 1
	case a.X >= w-onBorder && b.X >= w-onBorder:
		return 2
	case a.Y <= onBorder && b.Y <= onBorder:
		return 3
	case a.Y >= h-onBorder && b.Y >= h-onBorder:
		return 4
	}
	return 0
}

// bulged replaces every stretch that runs along the border by a bow outside of it, half as high as that of the circle of
// the loop's area over the same chord: loops are round, and how far the wound goes on is not known.
func bulged(loop []Point, w, h float64) []Point {
	n := len(loop)
	side := make([]int, n) // of the stretch from point i to the next
	start := -1
	for i := range loop {
		side[i] = sideOf(loop[i], loop[(i+1)%n], w, h)
		if start < 0 && side[i] != sideOf(loop[(i+n-1)%n], loop[i], w, h) {
			start = i
		}
	}
	if start < 0 {
		return loop
	}
	radius := math.Sqrt(math.Abs(shoelace(loop)) / math.Pi)
	var out []Point
	for k := 0; k < n; {
		i := (start + k) % n
		run := 1
		for run < n-k && side[(i+run)%n] == side[i] {
			run++
		}
		a, b := loop[i], loop[(i+run)%n]
		chord := math.Hypot(b.X-a.X, b.Y-a.Y)
		if side[i] == 0 || chord < 0.1*radius {
			for j := range run {
				out = append(out, loop[(i+j)%n])
			}
			k += run
			continue
		}
		rise := 0.5 * radius
		if chord < 2*radius {
			rise = 0.5 * (radius - math.Sqrt(radius*radius-chord*chord/4))
		}
		away := [5]Point{{}, {-1, 0}, {1, 0}, {0, -1}, {0, 1}}[side[i]]
		const steps = 12
		for j := range steps {
			t := float64(j) / steps
			r := rise * 4 * t * (1 - t)
			out = append(out, Point{a.X + t*(b.X-a.X) + r*away.X, a.Y + t*(b.Y-a.Y) + r*away.Y})
		}
		k += run
	}
	return out
}

// carry gives what lies beyond the border the value of the nearest pixel on the picture.
func (p *plot) carry(values []float32) {
	for i, from := range p.nearest {
		if p.off[i] {
			values[i] = values[from]
		}
	}
}

// findNearest fills nearest: for a working pixel beyond the border the one on the picture nearest to it.
func (p *plot) findNearest() *Refusal {
	x0, y0, x1, y1 := p.w, p.h, -1, -1
	seen := 0
	for i, off := range p.off {
		if !off {
			x, y := i%p.w, i/p.w
			x0, x1, y0, y1 = min(x0, x), max(x1, x), min(y0, y), max(y1, y)
			if p.loop[i] {
				seen++
			}
		}
	}
	if seen < 60 {
		return refuse(LoopPoor, "Draw once around the wound, a little outside its edge.", "The line lies outside of the photo, or encloses next to nothing of it.")
	}
	p.nearest = make([]int32, p.w*p.h)
	for i := range p.nearest {
		x, y := min(max(i%p.w, x0), x1), min(max(i/p.w, y0), y1)
		p.nearest[i] = int32(y*p.w + x)
	}
	return nil
}
