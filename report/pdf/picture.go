package pdf

import (
	"codeberg.org/go-pdf/fpdf"

	"lowtide/chart"
	"lowtide/report"
)

// pictureGapPx lies between drawings side by side.
const pictureGapPx = 20.0

// mostMmPerPx is the greatest scale: words of 12 px become 6.8 pt, and 6.1 pt where the text is as small.
func (s *sheet) mostMmPerPx() float64 {
	if s.pt < 0.85*textPt {
		return 0.18
	}
	return 0.2
}

// scale is that of a picture's drawings, and how high they are; 0 when there is nothing to draw.
func (s *sheet) scale(b report.Picture) (mmPerPx, high float64) {
	wide, tall := -pictureGapPx, 0.0
	for _, d := range b.Drawings {
		wide += d.WidthPx + pictureGapPx
		tall = max(tall, d.HeightPx)
	}
	if !(wide > 0) || !(tall > 0) {
		return 0, 0
	}
	k := min(s.mostMmPerPx(), s.width()/wide, (s.bottom()-margin-headMm-10)/tall)
	return k, tall * k
}

// picture draws charts side by side, from the same shapes as on the pages of the program, and says what they show.
func (s *sheet) picture(b report.Picture) {
	k, tall := s.scale(b)
	if k == 0 {
		return
	}
	s.need(tall + 2*smallPt*mmPerPt*s.leading)
	x, y := margin, s.GetY()
	for _, d := range b.Drawings {
		s.drawing(d, x, y, k)
		x += (d.WidthPx + pictureGapPx) * k
	}
	rest := s.beside(b.Beside, x, y, tall)
	s.SetXY(margin, y+tall)
	s.para(b.Caption, smallPt, "")
	s.gap(blockGap)
	if rest != nil {
		s.pairs(report.Pairs{Items: rest, Dense: true})
		s.gap(blockGap)
	}
}

// leastBesideMm is the narrowest column beside a picture.
const leastBesideMm = 45.0

// beside prints labels with what they say in the column from x to the right edge, and returns those that have no room.
func (s *sheet) beside(items []report.Pair, x, y, tall float64) []report.Pair {
	wide, pt := s.right()-x, s.pt-0.5
	if wide < leastBesideMm {
		return items
	}
	high, end := pt*mmPerPt*s.leading, y+tall
	for n, p := range items {
		label, text := s.wrap(p.Label, wide, pt, "B"), s.wrap(p.Text, wide, pt, "")
		if y+float64(len(label)+len(text))*high > end {
			return items[n:]
		}
		for i, line := range append(label, text...) {
			style := "B"
			if i >= len(label) {
				style = ""
			}
			s.font(pt, style)
			s.Text(x, y+high*0.78, line)
			y += high
		}
		y += 0.8
	}
	return nil
}

// drawing draws one chart with its corner at x0, y0.
func (s *sheet) drawing(d chart.Drawing, x0, y0, k float64) {
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
