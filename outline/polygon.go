package outline

import "math"

// signedArea is the area inside a closed loop by the surveyor's formula; its sign is the loop's direction.
func signedArea(loop []Point) float64 {
	if len(loop) < 3 {
		return 0
	}
	var sum float64
	o := loop[0] // differences from one vertex keep the digits of small loops far from the origin
	for i := 1; i+1 < len(loop); i++ {
		sum += (loop[i].X-o.X)*(loop[i+1].Y-o.Y) - (loop[i+1].X-o.X)*(loop[i].Y-o.Y)
	}
	return sum / 2
}

// Area is the area inside a closed loop that does not cross itself, in the square of its unit.
func Area(loop []Point) float64 { return math.Abs(signedArea(loop)) }

// Perimeter is the length of a closed loop.
func Perimeter(loop []Point) float64 {
	var sum float64
	for i, p := range loop {
		q := loop[(i+1)%len(loop)]
		sum += math.Hypot(q.X-p.X, q.Y-p.Y)
	}
	return sum
}

// Centroid is the centre of area of a closed loop; the mean of its points when it has no area.
func Centroid(loop []Point) Point {
	var a, x, y, mx, my float64
	if len(loop) == 0 {
		return Point{}
	}
	o := loop[0]
	for i, p := range loop {
		q := loop[(i+1)%len(loop)]
		px, py, qx, qy := p.X-o.X, p.Y-o.Y, q.X-o.X, q.Y-o.Y
		c := px*qy - qx*py
		a += c
		x += (px + qx) * c
		y += (py + qy) * c
		mx += px
		my += py
	}
	if a == 0 {
		n := float64(len(loop))
		return Point{o.X + mx/n, o.Y + my/n}
	}
	return Point{o.X + x/(3*a), o.Y + y/(3*a)}
}

// hull is the convex hull of points, in order around it (Andrew's monotone chain).
func hull(points []Point) []Point {
	ps := append([]Point(nil), points...)
	sortPoints(ps)
	if len(ps) < 3 {
		return ps
	}
	var out []Point
	half := func() {
		base := len(out)
		for _, p := range ps {
			for len(out) >= base+2 && cross(out[len(out)-2], out[len(out)-1], p) <= 0 {
				out = out[:len(out)-1]
			}
			out = append(out, p)
		}
		out = out[:len(out)-1] // the last is the first of the other half
	}
	half()
	for i, j := 0, len(ps)-1; i < j; i, j = i+1, j-1 {
		ps[i], ps[j] = ps[j], ps[i]
	}
	half()
	return out
}

// cross is twice the signed area of the triangle a, b, c.
func cross(a, b, c Point) float64 { return (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X) }

// extent is how far points reach along the direction d (a unit vector).
func extent(points []Point, d Point) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range points {
		t := p.X*d.X + p.Y*d.Y
		lo, hi = math.Min(lo, t), math.Max(hi, t)
	}
	if hi < lo {
		return 0
	}
	return hi - lo
}

// greatest is the greatest distance between two points of a hull and its direction.
func greatest(hull []Point) (float64, Point) {
	best, dir := 0.0, Point{1, 0}
	for i, p := range hull {
		for _, q := range hull[i+1:] {
			if d := math.Hypot(q.X-p.X, q.Y-p.Y); d > best {
				best, dir = d, Point{(q.X - p.X) / d, (q.Y - p.Y) / d}
			}
		}
	}
	return best, dir
}
