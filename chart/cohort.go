package chart

import (
	"fmt"
	"math"

	"lowtide/state"
	"lowtide/unit"
)

const cohortPx = 150.0

// Cohort draws the agency's own ended cases as the share of the first area left, week by week: median and the band
// that holds eight in ten of them, with how many there are, and this wound's own sizes as points over it.
func Cohort(c state.Cohort, h *state.Healing, widthPx float64, id string) Drawing {
	d := Drawing{ID: id, WidthPx: max(260, widthPx), HeightPx: cohortPx + 80, Title: fmt.Sprintf("Share of the first area left, %d ended cases", c.N),
		Desc: "Median and band of the agency's own ended cases over the weeks since the first size, and this wound's sizes as points. The table below holds the numbers."}
	x0, x1, y0, y1 := leftPx, d.WidthPx-rightPx, 24.0, 24.0+cohortPx
	add := func(s ...Shape) { d.Shapes = append(d.Shapes, s...) }
	text := func(x, y float64, words string, a Anchor, ink Ink) {
		add(Text{Point{x, y}, words, axisPx, a, ink, false})
	}
	own := shares(h)
	weeks, top := 1.0, 1.0
	if n := len(c.Points); n > 0 {
		weeks = max(weeks, c.Points[n-1].Weeks)
	}
	for _, p := range c.Points {
		top = max(top, p.Left.P90)
	}
	for _, p := range own {
		weeks, top = max(weeks, p.X), max(top, min(p.Y, 2))
	}
	weeks, top = math.Ceil(weeks), math.Ceil(top*4)/4
	at := func(wk, left float64) Point {
		return Point{x0 + (x1-x0)*wk/weeks, y1 - (y1-y0)*min(max(left, 0), top)/top}
	}
	add(Text{Point{0, 12}, fmt.Sprintf("Share of the first area left, %% (%d ended cases)", c.N), wordsPx, Start, InkText, true})
	for v := 0.0; v <= top+1e-9; v += 0.25 {
		add(Line{at(0, v), at(weeks, v), Pen{InkLine, 0.5, nil}})
		text(x0-4, at(0, v).Y+4, unit.Number(v*100, 0), End, InkSoft)
	}
	each := 1.0
	for weeks/each*wide("000", axisPx) > x1-x0 {
		each *= 2
	}
	for wk := 0.0; wk <= weeks; wk += each {
		p := at(wk, 0)
		add(Line{p, Point{p.X, y1 + 5}, Pen{InkLine, 0.75, nil}})
		text(p.X, y1+17, unit.Number(wk, 0), Middle, InkSoft)
	}
	text(x1, y1+32, "weeks since the first size", End, InkSoft)
	var upper, lower, middle []Point
	for _, p := range c.Points {
		upper, lower, middle = append(upper, at(p.Weeks, p.Left.P90)), append(lower, at(p.Weeks, p.Left.P10)), append(middle, at(p.Weeks, p.Left.Median))
	}
	shape := append([]Point{}, upper...)
	for i := len(lower) - 1; i >= 0; i-- {
		shape = append(shape, lower[i])
	}
	add(Area{[][]Point{shape}, InkPale}, Polyline{[][]Point{upper, lower}, Pen{InkWater, 0.75, nil}}, Polyline{[][]Point{middle}, Pen{InkWater, 1.5, nil}})
	for _, p := range own {
		add(Marker{at(p.X, p.Y), Dot, 6, InkDeep})
	}
	text(0, y1+48, "Line: median. Band: eight in ten. Points: this wound.", Start, InkSoft)
	return d
}

// shares are a wound's areas as shares of its first, X in weeks.
func shares(h *state.Healing) []Point {
	var out []Point
	for i := range h.Sizes {
		z := &h.Sizes[i]
		if z.AreaCm2 == nil || len(out) == 0 && !(*z.AreaCm2 > 0) {
			continue
		}
		out = append(out, Point{z.At.Sub(h.Sizes[0].At).Hours() / 168, *z.AreaCm2})
	}
	for i := len(out) - 1; i >= 0; i-- {
		out[i] = Point{out[i].X - out[0].X, out[i].Y / out[0].Y}
	}
	return out
}
