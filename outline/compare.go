package outline

import (
	"math"
)

// CompareOptions say how two outlines are laid over each other.
type CompareOptions struct {
	// Fixed are places that did not move (a scar, a mole), in the plane's cm of the first and the second photo. With
	// two or more of them nothing has to be guessed.
	Fixed [][2]Point `json:"fixed,omitempty"`
}

// Sector is a twelfth of the edge, the hour that it lies at (12 is the head when the photos' up is known).
type Sector struct {
	Hour int `json:"hour"`
	// AdvanceMm is how far the edge came in, on average; negative when the wound grew there. SEMm is its standard error.
	AdvanceMm float64 `json:"advance_mm"`
	SEMm      float64 `json:"se_mm"`
	// Says is "closing", "standing still" or "widening", or "cannot tell".
	Says string `json:"says"`
}

// Change is what became of a wound's edge between two dates.
type Change struct {
	Sectors []Sector `json:"sectors"`
	// AdvanceMm is over the whole edge: area lost over the mean perimeter.
	AdvanceMm float64 `json:"advance_mm"`
	SEMm      float64 `json:"se_mm"`
	// Laid says how: "fixed places", "head", "shape", or "as photographed".
	Laid    string  `json:"laid"`
	TurnDeg float64 `json:"turn_deg"`
	// Still are the hours at which the edge stands still while the whole moves.
	Still []int    `json:"still,omitempty"`
	Notes []string `json:"notes,omitempty"`
}

// rays is how many directions the edge is followed in; 30 of them make an hour.
const rays = 360

// Compare lays two outlines of one wound over each other and says how far the edge came in around the clock.
//
//	advance in a sector = (A₁ − A₂)/((l₁ + l₂)/2)        areas and edge lengths within the sector    (eq. 13)
//
// Both are turned about their centres of area, by the direction of the head when both photos tell it, else by their
// shape when it is not too round. A centre of area moves when one side alone heals: a side that stands still then
// seems to heal by half, and the other by half too little. Fixed places on the skin avoid that.
func Compare(before, after Measures, opt CompareOptions) (Change, error) {
	if Area(before.EdgeCm) == 0 || Area(after.EdgeCm) == 0 {
		return Change{}, refuse(LoopPoor, "Measure both outlines first.", "One of the outlines has no edge.")
	}
	ch := Change{}
	first, second := ch.lay(before, after, opt)
	r1, r2 := profile(first), profile(second)
	if r1 == nil || r2 == nil {
		return Change{}, refuse(LoopPoor, "Compare their areas instead.", "A wound whose centre lies outside its own edge cannot be read around the clock.")
	}
	ch.AdvanceMm, ch.SEMm = 10*2*(Area(first)-Area(second))/(Perimeter(first)+Perimeter(second)), 10*2*math.Hypot(before.SE, after.SE)/(before.PerimeterCm+after.PerimeterCm)
	scale := math.Hypot(before.scaleSE()/before.AreaCm2, after.scaleSE()/after.AreaCm2) / 2
	for hour := 1; hour <= 12; hour++ {
		a1, l1, m1 := slice(r1, hour)
		a2, l2, _ := slice(r2, hour)
		s := Sector{Hour: hour, AdvanceMm: 10 * 2 * (a1 - a2) / (l1 + l2)}
		patches := math.Max(1, (l1+l2)/2/patchCm)
		s.SEMm = math.Hypot(usualRetrace*math.Sqrt2/math.Sqrt(patches), 10*scale*m1)
		switch {
		case s.AdvanceMm > 1.64*s.SEMm:
			s.Says = "closing"
		case s.AdvanceMm < -1.64*s.SEMm:
			s.Says = "widening"
		case ch.AdvanceMm > 1.64*ch.SEMm:
			s.Says = "standing still"
			ch.Still = append(ch.Still, hour)
		default:
			s.Says = "cannot tell"
		}
		ch.Sectors = append(ch.Sectors, s)
	}
	if before.Scale == "ruler" || after.Scale == "ruler" {
		ch.Notes = append(ch.Notes, "One of the scales comes from a ruler's line.")
	}
	return ch, nil
}

// lay returns both edges about a common origin, turned alike.
func (ch *Change) lay(before, after Measures, opt CompareOptions) (first, second []Point) {
	c1, c2 := Centroid(before.EdgeCm), Centroid(after.EdgeCm)
	turn := 0.0
	switch {
	case len(opt.Fixed) >= 2:
		ch.Laid = "fixed places"
		var a, b Point
		n := float64(len(opt.Fixed))
		for _, f := range opt.Fixed {
			a.X, a.Y, b.X, b.Y = a.X+f[0].X/n, a.Y+f[0].Y/n, b.X+f[1].X/n, b.Y+f[1].Y/n
		}
		var cos, sin float64
		for _, f := range opt.Fixed {
			x, y, u, v := f[1].X-b.X, f[1].Y-b.Y, f[0].X-a.X, f[0].Y-a.Y
			cos += x*u + y*v
			sin += x*v - y*u
		}
		turn = math.Atan2(sin, cos)
		// The place of the second photo that falls on the first one's centre of area.
		c, s := math.Cos(-turn), math.Sin(-turn)
		x, y := c1.X-a.X, c1.Y-a.Y
		c2 = Point{b.X + c*x - s*y, b.Y + s*x + c*y}
	case before.UpCm != nil && after.UpCm != nil:
		ch.Laid = "head"
		turn = math.Atan2(before.UpCm.Y, before.UpCm.X) - math.Atan2(after.UpCm.Y, after.UpCm.X)
	default:
		ch.Laid, turn = byShape(move(before.EdgeCm, c1, 0), move(after.EdgeCm, c2, 0))
	}
	if ch.Laid != "fixed places" {
		ch.Notes = append(ch.Notes, "Laid over each other by their centres: a side that stands still may seem to close by half. Two fixed places on the skin, marked in both photos, would tell.")
	}
	ch.TurnDeg = math.Mod(turn*180/math.Pi+540, 360) - 180
	clock := 0.0 // turns the head to twelve o'clock
	if before.UpCm != nil {
		clock = -math.Pi/2 - math.Atan2(before.UpCm.Y, before.UpCm.X)
	} else {
		ch.Notes = append(ch.Notes, "Where the head lies is not known: twelve o'clock is the top of the first photo's plane.")
	}
	return move(before.EdgeCm, c1, clock), move(after.EdgeCm, c2, clock+turn)
}

func move(loop []Point, o Point, turn float64) []Point {
	c, s := math.Cos(turn), math.Sin(turn)
	out := make([]Point, len(loop))
	for i, p := range loop {
		x, y := p.X-o.X, p.Y-o.Y
		out[i] = Point{c*x - s*y, s*x + c*y}
	}
	return out
}

// profile is the edge's outermost distance from the origin in each direction, clockwise from twelve o'clock; nil
// when the origin lies outside.
func profile(loop []Point) []float64 {
	if !inside(loop, Point{}) {
		return nil
	}
	out := make([]float64, rays)
	for k := range out {
		t := 2 * math.Pi * (float64(k) + 0.5) / rays
		dx, dy := math.Sin(t), -math.Cos(t)
		for i, p := range loop {
			q := loop[(i+1)%len(loop)]
			a, b := dx*p.Y-dy*p.X, dx*q.Y-dy*q.X
			if (a > 0) == (b > 0) {
				continue
			}
			f := a / (a - b)
			if d := dx*(p.X+f*(q.X-p.X)) + dy*(p.Y+f*(q.Y-p.Y)); d > out[k] {
				out[k] = d
			}
		}
	}
	return out
}

// slice is area, edge length and mean distance within the hour's 30 degrees; the hour is in its middle.
func slice(r []float64, hour int) (area, length, mean float64) {
	const per = rays / 12
	for j := range per {
		k := (hour*per - per/2 + j + rays) % rays
		next := (k + 1) % rays
		const w = 2 * math.Pi / rays
		area += r[k] * r[k] * w / 2
		length += math.Hypot(r[k]*w, r[next]-r[k])
		mean += r[k] / per
	}
	return area, length, mean
}

// byShape finds the turn of the second outline that fits the first best, both scaled to the same size. A wound that
// is too round, or that fits as well in two ways, stays as photographed.
func byShape(first, second []Point) (string, float64) {
	r1, r2 := profile(first), profile(second)
	if r1 == nil || r2 == nil {
		return "as photographed", 0
	}
	norm := func(r []float64) float64 { // to mean 1; returns the spread
		m, v := 0.0, 0.0
		for _, x := range r {
			m += x / rays
		}
		for i := range r {
			r[i] /= m
			v += (r[i] - 1) * (r[i] - 1) / rays
		}
		return math.Sqrt(v)
	}
	if math.Min(norm(r1), norm(r2)) < 0.1 {
		return "as photographed", 0
	}
	cost := make([]float64, rays)
	best := 0
	for t := range cost {
		for k := range r1 {
			d := r1[(k+t)%rays] - r2[k]
			cost[t] += d * d
		}
		if cost[t] < cost[best] {
			best = t
		}
	}
	for t, c := range cost {
		if apart := (t - best + rays) % rays; apart > 45 && apart < rays-45 && c < 1.5*cost[best]+1e-3*rays {
			return "as photographed", 0
		}
	}
	return "shape", 2 * math.Pi * float64(best) / rays
}
