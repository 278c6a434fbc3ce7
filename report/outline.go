package report

import (
	"math"

	"lowtide/casebook"
	"lowtide/chart"
	"lowtide/unit"
)

// outlinePx is how large an outline is drawn, and the room for its words.
const (
	outlinePx     = 300.0
	outlineBarPx  = 30.0
	outlineWordPx = 13.0
)

// outlinePicture draws the newest outline of a wound over the one before, in centimetres, each by the middle of its
// points; ok is false when no outline has a line in centimetres. It shows shape and size, and measures nothing.
func (in Input) outlinePicture(w *casebook.Wound, id string) (d chart.Drawing, caption string, ok bool) {
	var lines [][][2]float64
	var dates []string
	var last *casebook.Outline
	for i := len(w.Outlines) - 1; i >= 0 && len(lines) < 2; i-- {
		o := &w.Outlines[i]
		if len(o.Body.Parts) == 0 {
			continue
		}
		pts, err := casebook.ReadPoints(o.Body.Parts[0].EdgeCm)
		if err != nil || len(pts) < 3 {
			continue
		}
		lines, dates = append(lines, centred(pts)), append(dates, in.date(o.At))
		if last == nil {
			last = o
		}
	}
	if last == nil {
		return d, "", false
	}
	most := 0.0
	for _, l := range lines {
		for _, p := range l {
			most = math.Max(most, math.Max(math.Abs(p[0]), math.Abs(p[1])))
		}
	}
	most *= 1.1
	if !(most > 0) || math.IsInf(most, 0) {
		return d, "", false
	}
	caption = "Outline of wound " + w.Name + ": full line " + dates[0] + ", " + unit.Span(last.Body.AreaCm2, last.Body.AreaSECm2, "cm²") + "."
	if len(dates) > 1 {
		caption += " Dashed: " + dates[1] + ". Laid over each other by their middle."
	}
	d = chart.Drawing{ID: id, Title: "Outline of wound " + w.Name, Desc: caption, WidthPx: outlinePx, HeightPx: outlinePx + outlineBarPx}
	k := outlinePx / 2 / most
	for i, l := range lines {
		pen := chart.Pen{Ink: chart.InkDeep, WidthPx: 2}
		if i == 1 {
			pen = chart.Pen{Ink: chart.InkSoft, WidthPx: 1.2, Dash: []float64{5, 3}}
		}
		run := make([]chart.Point, 0, len(l)+1)
		for _, p := range append(l, l[0]) {
			run = append(run, chart.Point{X: outlinePx/2 + p[0]*k, Y: outlinePx/2 + p[1]*k})
		}
		d.Shapes = append(d.Shapes, chart.Polyline{Runs: [][]chart.Point{run}, Pen: pen})
	}
	// a bar of one centimetre
	y := outlinePx + outlineBarPx/2
	d.Shapes = append(d.Shapes, chart.Line{From: chart.Point{X: 10, Y: y}, To: chart.Point{X: 10 + k, Y: y}, Pen: chart.Pen{Ink: chart.InkText, WidthPx: 2}},
		chart.Text{At: chart.Point{X: 18 + k, Y: y + 4}, Words: "1 cm", SizePx: outlineWordPx, Anchor: chart.Start, Ink: chart.InkText})
	return d, caption, true
}

// centred moves points so that the middle of their box is the origin.
func centred(pts [][2]float64) [][2]float64 {
	lo, hi := pts[0], pts[0]
	for _, p := range pts {
		for k := range 2 {
			lo[k], hi[k] = math.Min(lo[k], p[k]), math.Max(hi[k], p[k])
		}
	}
	out := make([][2]float64, len(pts))
	for i, p := range pts {
		out[i] = [2]float64{p[0] - (lo[0]+hi[0])/2, p[1] - (lo[1]+hi[1])/2}
	}
	return out
}
