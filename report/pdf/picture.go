package pdf

import (
	"codeberg.org/go-pdf/fpdf"

	"lowtide/chart"
)

// picture draws a chart as wide as the page, from the same shapes as on the pages of the program.
func (s *sheet) picture(d chart.Drawing) {
	if !(d.WidthPx > 0) || !(d.HeightPx > 0) {
		return
	}
	k := s.width() / d.WidthPx
	room := s.bottom() - margin - headMm
	if d.HeightPx*k > room {
		k = room / d.HeightPx
	}
	s.need(d.HeightPx*k + 2)
	x0, y0 := margin, s.GetY()
	at := func(p chart.Point) (float64, float64) { return x0 + p.X*k, y0 + p.Y*k }
	for _, shape := range d.Shapes {
		switch v := shape.(type) {
		case chart.Line:
			s.pen(v.Pen, k)
			s.stroke(at, v.From, v.To)
		case chart.Lines:
			s.pen(v.Pen, k)
			for _, seg := range v.Segments {
				s.stroke(at, seg[0], seg[1])
			}
		case chart.Hatch:
			s.pen(v.Pen, k)
			for _, seg := range v.Segments() {
				s.stroke(at, seg[0], seg[1])
			}
		case chart.Polyline:
			s.pen(v.Pen, k)
			for _, run := range v.Runs {
				for i, p := range run {
					if x, y := at(p); i == 0 {
						s.MoveTo(x, y)
					} else {
						s.LineTo(x, y)
					}
				}
				if len(run) > 1 {
					s.DrawPath("D")
				}
			}
		case chart.Area:
			s.fill(v.Fill)
			for _, poly := range v.Polygons {
				pts := make([]fpdf.PointType, len(poly))
				for i, p := range poly {
					pts[i].X, pts[i].Y = at(p)
				}
				if len(pts) > 2 {
					s.Polygon(pts, "F")
				}
			}
		case chart.Rect:
			x, y := at(v.At)
			how := ""
			if v.Fill != "" {
				s.fill(v.Fill)
				how += "F"
			}
			if v.Pen.Ink != "" {
				s.pen(v.Pen, k)
				how += "D"
			}
			if how != "" {
				s.Rect(x, y, v.WidthPx*k, v.HeightPx*k, how)
			}
		case chart.Marker:
			s.marker(at, v, k)
		case chart.Dots:
			for _, p := range v.Points {
				s.marker(at, chart.Marker{At: p, Form: chart.Dot, SizePx: v.SizePx, Ink: v.Ink}, k)
			}
		case chart.Text:
			s.label(at, v, k)
		}
	}
	s.SetDashPattern(nil, 0)
	s.ink("#16242c")
	s.SetXY(margin, y0+d.HeightPx*k)
	s.para(d.Title+". "+d.Desc, smallPt, "")
	s.gap(blockGap)
}

func (s *sheet) pen(p chart.Pen, k float64) {
	r, g, b := rgb(string(p.Ink))
	s.SetDrawColor(r, g, b)
	s.SetLineWidth(p.WidthPx * k)
	dash := make([]float64, len(p.Dash))
	for i, v := range p.Dash {
		dash[i] = v * k
	}
	s.SetDashPattern(dash, 0)
}

func (s *sheet) fill(ink chart.Ink) {
	r, g, b := rgb(string(ink))
	s.SetFillColor(r, g, b)
}

func (s *sheet) stroke(at func(chart.Point) (float64, float64), a, b chart.Point) {
	x1, y1 := at(a)
	x2, y2 := at(b)
	s.Line(x1, y1, x2, y2)
}

func (s *sheet) marker(at func(chart.Point) (float64, float64), m chart.Marker, k float64) {
	x, y := at(m.At)
	half := m.SizePx * k / 2
	r, g, b := rgb(string(m.Ink))
	s.SetDashPattern(nil, 0)
	s.SetDrawColor(r, g, b)
	s.SetLineWidth(1.5 * k)
	switch m.Form {
	case chart.Ring:
		s.SetFillColor(255, 255, 255)
		s.Circle(x, y, half, "FD")
	case chart.Square:
		s.fill(m.Ink)
		s.Rect(x-half, y-half, 2*half, 2*half, "F")
	default:
		s.fill(m.Ink)
		s.Circle(x, y, half, "F")
	}
}

func (s *sheet) label(at func(chart.Point) (float64, float64), t chart.Text, k float64) {
	style := ""
	if t.Bold {
		style = "B"
	}
	words := s.words(t.Words)
	s.font(t.SizePx*k/mmPerPt, style)
	s.ink(string(t.Ink))
	x, y := at(t.At)
	switch t.Anchor {
	case chart.Middle:
		x -= s.GetStringWidth(words) / 2
	case chart.End:
		x -= s.GetStringWidth(words)
	}
	s.Text(x, y, words)
}
