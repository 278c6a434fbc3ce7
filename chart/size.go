package chart

import (
	"time"

	"lowtide/state"
	"lowtide/unit"
)

// Size draws area and depth of one wound over all its measurements.
//
// Points are joined only where both were taken in the same way: a change of method or convention breaks the line.
func Size(s *state.State, w state.WoundSizes, widthPx float64, id string) Drawing {
	d := Drawing{ID: id, WidthPx: max(260, widthPx), Title: "Size of wound " + w.Wound,
		Desc: "Area and depth at each measurement. The table holds the numbers."}
	r := Range{s.Day(s.AsOf), s.NextDay(s.AsOf)}
	if n := len(w.Sizes); n > 0 {
		r = Range{s.Day(w.Sizes[0].At), s.NextDay(w.Sizes[n-1].At)}
		if r.To.Sub(r.From) < 3*24*time.Hour {
			r.To = r.From.Add(3 * 24 * time.Hour)
		}
	}
	p := newPlot(&d, s, r)
	y := p.strip("Area, cm²", w, areaAt, 0, 96, nil)
	y = p.strip("Depth, cm", w, depthAt, y, y+76, []float64{5, 3})
	p.days(0, y-6)
	d.HeightPx = y + 30
	p.text(0, y+24, "Round: ruler. Square: tracing. Ring: outline from a photo.", Start, InkSoft)
	return d
}

func areaAt(m state.WoundSize) (float64, bool) { return m.AreaCm2() }

func depthAt(m state.WoundSize) (float64, bool) {
	if m.DepthCm == nil {
		return 0, false
	}
	return *m.DepthCm, true
}

// forms shows by what method a size was taken.
var forms = map[string]Form{"ruler": Dot, "tracing": Square, "outline": Ring}

// strip draws one quantity of a wound between y and end and returns where the next strip starts.
func (p *plot) strip(title string, w state.WoundSizes, value func(state.WoundSize) (float64, bool), y, end float64, dash []float64) float64 {
	p.title(y+12, title)
	y0, y1 := y+20, end-8
	p.grid(y0, y1)
	p.add(Line{Point{p.a.x0, y1}, Point{p.a.x1, y1}, Pen{InkSoft, 0.75, nil}})
	top := 0.0
	for _, m := range w.Sizes {
		if v, ok := value(m); ok && p.a.Holds(m.At) {
			top = max(top, v)
		}
	}
	if top == 0 {
		p.text(p.a.x0+4, y1-6, "not known: not measured", Start, InkSoft)
		return end
	}
	top = scale(top)
	p.text(p.a.x0-4, y1, "0", End, InkSoft)
	p.text(p.a.x0-4, y0+8, unit.Number(top, 1), End, InkSoft)
	p.curve(w, value, func(v float64) float64 { return y1 - (y1-y0)*v/top }, dash, "")
	return end
}

// curve draws one quantity of a wound and labels its last point; suffix follows the number.
func (p *plot) curve(w state.WoundSizes, value func(state.WoundSize) (float64, bool), at func(float64) float64, dash []float64, suffix string) (last Point, lastValue float64, any bool) {
	var line []Point
	var runs [][]Point
	var before *state.WoundSize
	flush := func() {
		if len(line) > 1 {
			runs = append(runs, line)
		}
		line = nil
	}
	for i := range w.Sizes {
		m := &w.Sizes[i]
		v, ok := value(*m)
		if !ok || !p.a.Holds(m.At) || m.At.After(p.now) {
			continue
		}
		if before != nil && !m.Follows(*before) {
			flush()
		}
		last, lastValue, any = Point{p.a.x(m.At), at(v)}, v, true
		line = append(line, last)
		p.add(Marker{last, forms[m.Method], 6, InkDeep})
		before = m
	}
	flush()
	p.add(Polyline{runs, Pen{InkWater, 1.5, dash}})
	if any && suffix == "" {
		p.beside(Point{last.X, last.Y - 6}, unit.Number(lastValue, 1))
	}
	return last, lastValue, any
}

// wound draws the small strip of one wound in the tide chart: area as a full line, depth as a dashed one, each on
// its own scale, named at its last point and with its number at the first.
func (p *plot) wound(w state.WoundSizes, y float64) float64 {
	p.title(y+12, "Wound "+w.Wound+", size")
	y0, y1 := y+24, y+woundStripPx
	p.grid(y0, y1)
	p.add(Line{Point{p.a.x0, y1}, Point{p.a.x1, y1}, Pen{InkSoft, 0.75, nil}})
	greatest := func(value func(state.WoundSize) (float64, bool)) float64 {
		top := 0.0
		for _, m := range w.Sizes {
			if v, ok := value(m); ok && p.a.Holds(m.At) {
				top = max(top, v)
			}
		}
		return scale(top)
	}
	topArea, topDepth := greatest(areaAt), 1.6*greatest(depthAt) // the dashed line mostly keeps below the full one
	area := func(v float64) float64 { return y1 - (y1-y0)*v/topArea }
	depth := func(v float64) float64 { return y1 - (y1-y0)*v/topDepth }
	a, areaCm2, hasArea := p.curve(w, areaAt, area, nil, "cm²")
	d, depthCm, hasDepth := p.curve(w, depthAt, depth, []float64{5, 3}, "cm")
	if fa, va, ok := p.first(w, areaAt, a, area); ok {
		fd, vd, both := p.first(w, depthAt, d, depth)
		ya, yd := apart(fa.Y, fd.Y, y1, both)
		p.text(fa.X+5, ya, unit.Number(va, 1), Start, InkText)
		if both {
			p.text(fd.X+5, yd, unit.Number(vd, 1), Start, InkText)
		}
	}
	ya, yd := apart(a.Y, d.Y, y1, hasArea && hasDepth)
	if hasArea {
		p.besideAt(a.X, ya, "area "+unit.Area(areaCm2).String())
	}
	if hasDepth {
		p.besideAt(d.X, yd, "depth "+unit.Length(depthCm).String())
	}
	if !hasArea && !hasDepth {
		p.text(p.a.x0+4, y1-6, "not measured in this time", Start, InkSoft)
	}
	return y1 + 8
}

// apart returns base lines for the words at two points: over the upper point and under the lower one, without
// touching each other or the bottom of the strip.
func apart(a, d, bottom float64, both bool) (ya, yd float64) {
	if !both {
		return a - 4, d - 4
	}
	if a > d {
		yd, ya = apart(d, a, bottom, true)
		return ya, yd
	}
	yd = min(d+13, bottom-2)
	return min(a-4, yd-11), yd
}

// besideAt writes words after x, or before it when there is no room.
func (p *plot) besideAt(x, y float64, words string) {
	if x+5+wide(words, axisPx) <= p.a.x1 {
		p.text(x+5, y, words, Start, InkText)
		return
	}
	p.text(x-4, y, words, End, InkText)
}

// first returns the first point in the range, when it is far enough from the last one to be named too.
func (p *plot) first(w state.WoundSizes, value func(state.WoundSize) (float64, bool), last Point, at func(float64) float64) (Point, float64, bool) {
	for _, m := range w.Sizes {
		v, ok := value(m)
		if !ok || !p.a.Holds(m.At) || m.At.After(p.now) {
			continue
		}
		x := p.a.x(m.At)
		return Point{x, at(v)}, v, last.X-x > 130
	}
	return Point{}, 0, false
}
