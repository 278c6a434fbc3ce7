package chart

import (
	"sort"
	"strings"
	"time"

	"lowtide/state"
	"lowtide/unit"
)

// aheadDays is how far past now the forecast is drawn.
const aheadDays = 28

// course is one measure of a wound as the chart draws it.
type course struct {
	title  string
	points []coursePoint
	band   func(state.Ahead) *state.Band
	marks  []mark
}

type coursePoint struct {
	at     time.Time
	v, se  float64
	form   Form
	oddOne bool
}

// mark is a milestone: a size that is to be reached by a day.
type mark struct {
	at    time.Time
	v     float64
	words string
}

// Healing draws area, depth and, where it was measured, volume of a wound with 80 % error bars by method, the fitted
// curve through them, and the forecast as a median and an 80 % band from the last size past now; published milestones
// are marks with words. Areas are on the scale of a traced outline.
func Healing(s *state.State, h *state.Healing, widthPx float64, id string) Drawing {
	d := Drawing{ID: id, WidthPx: max(280, widthPx), Title: "Healing of wound " + h.Wound,
		Desc: "Area, depth and volume at each measurement with their error, the fitted curve through them, and what is forecast for the next four weeks. The tables hold the numbers."}
	first := s.AsOf
	if len(h.Sizes) > 0 {
		first = h.Sizes[0].At
	}
	y0, m0, d0 := s.AsOf.In(s.Zone()).Date()
	end := time.Date(y0, m0, d0+aheadDays+1, 0, 0, 0, 0, s.Zone())
	p := newPlot(&d, s, Range{s.Day(first), end})
	y := 14.0
	y = p.course(h, areaCourse(h), y, y+190)
	y = p.course(h, depthCourse(h), y+6, y+6+130)
	if v := volumeCourse(h); len(v.points) > 0 {
		y = p.course(h, v, y+6, y+6+130)
	}
	p.days(14, y)
	d.HeightPx = y + 44
	p.text(0, y+34, "Round: ruler. Square: tracing. Ring: photo. Bars and band: four times in five.", Start, InkSoft)
	return d
}

func areaCourse(h *state.Healing) course {
	out := course{title: "Area, cm²", band: func(a state.Ahead) *state.Band { return a.Area }}
	start := 0.0
	for _, z := range h.Sizes {
		if z.AreaCm2 == nil {
			continue
		}
		if start == 0 {
			start = *z.AreaCm2
		}
		out.points = append(out.points, coursePoint{z.At, *z.AreaCm2, *z.AreaSECm2 / z.Method.Factor, methodForms[z.Method.ID], isOdd(h, z.At, state.MeasureArea)})
	}
	for _, m := range h.Milestones {
		words := unit.Number(m.Reduction*100, 0) + " % gone"
		if m.Reduction < 0.01 {
			words = "any fall"
		}
		out.marks = append(out.marks, mark{m.Due, start * (1 - m.Reduction), words})
	}
	return out
}

func depthCourse(h *state.Healing) course {
	out := course{title: "Depth, cm", band: func(a state.Ahead) *state.Band { return a.Depth }}
	for _, z := range h.Sizes {
		if z.DepthCm != nil {
			out.points = append(out.points, coursePoint{z.At, *z.DepthCm, *z.DepthSECm, Dot, isOdd(h, z.At, state.MeasureDepth)})
		}
	}
	return out
}

func volumeCourse(h *state.Healing) course {
	out := course{title: "Volume, cm³", band: func(a state.Ahead) *state.Band { return a.Volume }}
	for _, z := range h.Sizes {
		if z.VolumeCm3 != nil {
			out.points = append(out.points, coursePoint{z.At, *z.VolumeCm3, *z.VolumeSECm3, Dot, isOdd(h, z.At, state.MeasureVolume)})
		}
	}
	return out
}

func isOdd(h *state.Healing, at time.Time, m state.Measure) bool {
	for _, o := range h.Odd {
		if o.Measure == m && o.At.Equal(at) {
			return true
		}
	}
	return false
}

// methodForms shows how an area was taken, by healing's names of methods.
var methodForms = map[string]Form{"ellipse": Dot, "ruler": Dot, "outline": Square, "photo": Ring, "unknown": Ring, "estimate": Ring}

// course draws one measure between y and end.
func (p *plot) course(h *state.Healing, k course, y, end float64) float64 {
	p.title(y+12, k.title)
	y0, y1 := y+22, end-8
	p.grid(y0, y1)
	p.add(Line{Point{p.a.x0, y1}, Point{p.a.x1, y1}, Pen{InkSoft, 0.75, nil}})
	if len(k.points) == 0 {
		p.text(p.a.x0+4, y1-6, "not known: not measured, or not used", Start, InkSoft)
		return end
	}
	ahead := p.ahead(h, k)
	top := 0.0
	for _, q := range k.points {
		top = max(top, q.v+unit.Z80*q.se)
	}
	for _, b := range ahead {
		// A very wide band is cut at twice the greatest size, so that the sizes can be read.
		top = max(top, min(b.band.P90, 2*top))
	}
	top = scale(top)
	at := func(v float64) float64 { return y1 - (y1-y0)*min(max(v, 0), top)/top }
	p.text(p.a.x0-4, y1, "0", End, InkSoft)
	p.text(p.a.x0-4, y0+8, unit.Number(top, 1), End, InkSoft)
	p.band(p.past(h, k), at, nil)
	p.band(ahead, at, []float64{5, 3})
	words := p.labels(y0, y1)
	for _, q := range k.points {
		words.keep(Point{p.a.x(q.at), at(q.v)}, 5, 5)
	}
	p.marks(k.marks, at, top, words)
	var bars [][2]Point
	for _, q := range k.points {
		x := p.a.x(q.at)
		lo, hi := at(q.v-unit.Z80*q.se), at(q.v+unit.Z80*q.se)
		bars = append(bars, [2]Point{{x, lo}, {x, hi}}, [2]Point{{x - 3, lo}, {x + 3, lo}}, [2]Point{{x - 3, hi}, {x + 3, hi}})
	}
	p.add(Lines{bars, Pen{InkDeep, 1, nil}})
	for _, q := range k.points {
		pt := Point{p.a.x(q.at), at(q.v)}
		p.add(Marker{pt, q.form, 6, InkDeep})
		if q.oddOne {
			words.beside(pt, 7, "does not fit")
		}
	}
	return end
}

// bandAt is the forecast at one instant.
type bandAt struct {
	at   time.Time
	band *state.Band
}

// ahead is the forecast from the assessment's anchor to the end of the axis, in steps of the grid.
func (p *plot) ahead(h *state.Healing, k course) []bandAt {
	var out []bandAt
	for _, a := range h.Ahead().Ahead {
		if b := k.band(a); b != nil && !a.Date.After(p.a.To) {
			out = append(out, bandAt{a.Date, b})
		}
	}
	if a, ok := h.At(p.a.To); ok && len(out) > 0 {
		if b := k.band(a); b != nil {
			out = append(out, bandAt{p.a.To, b})
		}
	}
	return out
}

// past is the fitted curve up to the last size.
func (p *plot) past(h *state.Healing, k course) []bandAt {
	var out []bandAt
	for _, a := range h.Past {
		if b := k.band(a); b != nil && !a.Date.Before(p.a.From) {
			out = append(out, bandAt{a.Date, b})
		}
	}
	return out
}

// band draws a median, full or dashed, in its band.
func (p *plot) band(list []bandAt, at func(float64) float64, dash []float64) {
	if len(list) < 2 {
		return
	}
	var upper, lower, middle []Point
	for _, b := range list {
		x := p.a.x(b.at)
		upper = append(upper, Point{x, at(b.band.P90)})
		lower = append(lower, Point{x, at(b.band.P10)})
		middle = append(middle, Point{x, at(b.band.Median)})
	}
	shape := append([]Point{}, upper...)
	for i := len(lower) - 1; i >= 0; i-- {
		shape = append(shape, lower[i])
	}
	p.add(Area{[][]Point{shape}, InkPale}, Polyline{[][]Point{upper, lower}, Pen{InkWater, 0.75, nil}}, Polyline{[][]Point{middle}, Pen{InkWater, 1.5, dash}})
}

// marks draws milestones as short level strokes at their day, with their words beside them.
func (p *plot) marks(list []mark, at func(float64) float64, top float64, words *labels) {
	sorted := append([]mark(nil), list...)
	sort.SliceStable(sorted, func(i, j int) bool { return sorted[i].v > sorted[j].v })
	inside := sorted[:0]
	for _, m := range sorted {
		if p.a.Holds(m.at) && m.v <= top {
			inside = append(inside, m)
		}
	}
	for _, m := range inside {
		at := Point{p.a.x(m.at), at(m.v)}
		p.add(Line{Point{at.X - 7, at.Y}, Point{at.X + 7, at.Y}, Pen{InkText, 2, nil}})
		words.keep(at, 7, 1)
	}
	for i := 0; i < len(inside); i++ {
		m := inside[i]
		// strokes that all but touch share their words: "50, 53 % gone"
		for i+1 < len(inside) && inside[i+1].at.Equal(m.at) && at(inside[i+1].v)-at(inside[i].v) < 5 {
			i++
			m.words = strings.TrimSuffix(m.words, " % gone") + ", " + inside[i].words
		}
		words.beside(Point{p.a.x(m.at), at(m.v)}, 9, m.words)
	}
}

// HealingTable holds the numbers of the measured points: as read, and as they are drawn.
func HealingTable(s *state.State, h *state.Healing) Table {
	out := Table{Caption: "Sizes of wound " + h.Wound + ", oldest first; between the numbers in brackets " + unit.HowSure, Header: []string{"When", "Method", "Area as read", "Area on the scale of a tracing", "Fitted area", "Depth", "Volume", "Remark"}}
	for _, z := range h.Sizes {
		read, area, depth, volume, remark := "not measured", "not measured", "not measured", "not measured", ""
		fitted := "none"
		for _, x := range h.Past {
			if x.Area != nil && x.Date.Equal(z.At) {
				fitted = bandWords(x.Area) + " cm²"
			}
		}
		if z.AreaCm2 != nil {
			read = unit.Area(*z.AreaReadCm2).String()
			area = span(*z.AreaCm2, *z.AreaSECm2/z.Method.Factor, "cm²")
		}
		if z.DepthCm != nil {
			depth = span(*z.DepthCm, *z.DepthSECm, "cm")
		}
		if z.VolumeCm3 != nil {
			volume = span(*z.VolumeCm3, *z.VolumeSECm3, "cm³") + ", " + z.VolumeMethod
		}
		if z.LeftOut != "" {
			read, area, remark = "not used", "not used", "left out: "+z.LeftOut
		}
		for _, o := range h.Odd {
			if o.At.Equal(z.At) {
				name, _ := state.MeasureWords(o.Measure)
				remark = name + " does not fit the others"
			}
		}
		out.Rows = append(out.Rows, TableRow{z.At, []string{state.Clock(s.Zone(), z.At), z.Method.Name, read, area, fitted, depth, volume, remark}, z.Entry})
	}
	return out
}

// HealingAheadTable holds the numbers of the band: the last size's day, today and each week to the end of the chart.
func HealingAheadTable(s *state.State, h *state.Healing) Table {
	out := Table{Caption: "Forecast for wound " + h.Wound + "; between the two last numbers " + unit.HowSure, Header: []string{"Day", "Area, cm²", "Depth, cm", "Volume, cm³"}}
	for d := 0; d <= aheadDays; d += 7 {
		at := s.AsOf.In(s.Zone()).AddDate(0, 0, d)
		if a, ok := h.At(at); ok {
			out.Rows = append(out.Rows, TableRow{At: at, Cells: []string{at.Format("Mon 2 Jan 2006"), bandWords(a.Area), bandWords(a.Depth), bandWords(a.Volume)}})
		}
	}
	return out
}

func bandWords(b *state.Band) string {
	if b == nil {
		return "cannot forecast"
	}
	return unit.Number(b.Median, 1) + ", from " + unit.Number(b.P10, 1) + " to " + unit.Number(b.P90, 1)
}

func span(v, se float64, u string) string {
	return unit.Number(v, 1) + " " + u + " (" + unit.Number(max(0, v-unit.Z80*se), 1) + " to " + unit.Number(v+unit.Z80*se, 1) + ")"
}
