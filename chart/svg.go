package chart

import (
	"html"
	"math"
	"strconv"
	"strings"
)

// NotDrawn is what stands in place of a picture with a coordinate that is no number.
const NotDrawn = "This picture cannot be drawn. The table has the numbers."

// errCoordinate is a coordinate that is no number: what drew it is wrong, and a browser would drop the whole picture.
const errCoordinate = "chart: a coordinate is not a number"

// SVG writes the drawing as an svg element for use inside a page. It holds no style attribute and no script, so
// that a strict content policy can stand; text stays text. A drawing that is wrong leaves its page whole and says
// [NotDrawn].
func (d Drawing) SVG() (out string) {
	defer func() {
		switch p := recover(); p {
		case nil:
		case errCoordinate:
			out = Drawing{ID: d.ID, Title: d.Title, Desc: NotDrawn, WidthPx: 280, HeightPx: 40, Shapes: []Shape{Text{Point{0, 24}, NotDrawn, axisPx, Start, InkText, false}}}.SVG()
		default:
			panic(p)
		}
	}()
	w := svg{}
	w.put(`<svg class="chart" role="img" viewBox="0 0 `, num(d.WidthPx), ` `, num(d.HeightPx), `" width="`, num(d.WidthPx), `" height="`, num(d.HeightPx),
		`" aria-labelledby="`, html.EscapeString(d.ID), `-t `, html.EscapeString(d.ID), `-d"><title id="`, html.EscapeString(d.ID), `-t">`, clean(d.Title),
		`</title><desc id="`, html.EscapeString(d.ID), `-d">`, clean(d.Desc), `</desc>`)
	// Words come last, with a rim of paper, so that no line crosses them.
	for _, words := range []bool{false, true} {
		for _, s := range d.Shapes {
			if _, is := s.(Text); is == words {
				w.shape(s)
			}
		}
		if !words {
			w.put(`<g font-size="`, num(axisPx), `" fill="`, string(InkText), `" stroke="`, string(InkPaper), `" stroke-width="3" stroke-linejoin="round" paint-order="stroke">`)
		}
	}
	w.put(`</g>`)
	w.put(`</svg>`)
	return w.b.String()
}

type svg struct{ b strings.Builder }

func (w *svg) put(parts ...string) {
	for _, p := range parts {
		w.b.WriteString(p)
	}
}

func (w *svg) shape(s Shape) {
	switch s := s.(type) {
	case Line:
		w.put(`<path d="`)
		w.points([]Point{s.From, s.To})
		w.put(`"`)
		w.pen(s.Pen)
		w.put(`/>`)
	case Lines:
		w.segments(s.Segments, s.Pen)
	case Polyline:
		if len(s.Runs) == 0 {
			return
		}
		w.put(`<path fill="none" d="`)
		for _, run := range s.Runs {
			w.points(run)
		}
		w.put(`"`)
		w.pen(s.Pen)
		w.put(`/>`)
	case Area:
		if len(s.Polygons) == 0 {
			return
		}
		w.put(`<path fill="`, string(s.Fill), `" d="`)
		for _, polygon := range s.Polygons {
			w.points(polygon)
			w.put(`Z`)
		}
		w.put(`"/>`)
	case Rect:
		fill := string(s.Fill)
		if fill == "" {
			fill = "none"
		}
		w.put(`<rect x="`, num(s.At.X), `" y="`, num(s.At.Y), `" width="`, num(s.WidthPx), `" height="`, num(s.HeightPx), `" fill="`, fill, `"`)
		w.pen(s.Pen)
		w.put(`/>`)
	case Hatch:
		w.segments(s.Segments(), s.Pen)
	case Dots:
		// A line without length and with round ends is a dot; one path holds them all.
		if len(s.Points) == 0 {
			return
		}
		w.put(`<path stroke-linecap="round" d="`)
		for _, p := range s.Points {
			w.put("M", num(p.X), " ", num(p.Y), "h0")
		}
		w.put(`"`)
		w.pen(Pen{Ink: s.Ink, WidthPx: s.SizePx})
		w.put(`/>`)
	case Marker:
		w.marker(s)
	case Text:
		w.put(`<text x="`, num(s.At.X), `" y="`, num(s.At.Y), `"`)
		if s.SizePx != axisPx {
			w.put(` font-size="`, num(s.SizePx), `"`)
		}
		if s.Ink != InkText {
			w.put(` fill="`, string(s.Ink), `"`)
		}
		if s.Anchor != Start && s.Anchor != "" {
			w.put(` text-anchor="`, string(s.Anchor), `"`)
		}
		if s.Bold {
			w.put(` font-weight="600"`)
		}
		w.put(`>`, clean(s.Words), `</text>`)
	}
}

func (w *svg) marker(m Marker) {
	r := m.SizePx / 2
	switch m.Form {
	case Ring:
		w.put(`<circle cx="`, num(m.At.X), `" cy="`, num(m.At.Y), `" r="`, num(r-0.75), `" fill="`, string(InkPaper), `" stroke="`, string(m.Ink), `" stroke-width="1.5"/>`)
	case Square:
		w.put(`<rect x="`, num(m.At.X-r), `" y="`, num(m.At.Y-r), `" width="`, num(m.SizePx), `" height="`, num(m.SizePx), `" fill="`, string(m.Ink), `"/>`)
	default:
		w.put(`<circle cx="`, num(m.At.X), `" cy="`, num(m.At.Y), `" r="`, num(r), `" fill="`, string(m.Ink), `"/>`)
	}
}

func (w *svg) points(list []Point) {
	for i, p := range list {
		if i == 0 {
			w.put("M")
		} else {
			w.put("L")
		}
		w.put(num(p.X), " ", num(p.Y))
	}
}

// segments writes lines as one path; upright ones in the short form.
func (w *svg) segments(list [][2]Point, pen Pen) {
	if len(list) == 0 {
		return
	}
	w.put(`<path d="`)
	for _, g := range list {
		if g[0].X == g[1].X {
			w.put("M", num(g[0].X), " ", num(g[0].Y), "V", num(g[1].Y))
			continue
		}
		w.points(g[:])
	}
	w.put(`"`)
	w.pen(pen)
	w.put(`/>`)
}

func (w *svg) pen(p Pen) {
	if p.Ink == "" {
		return
	}
	w.put(` stroke="`, string(p.Ink), `" stroke-width="`, num(p.WidthPx), `"`)
	if len(p.Dash) > 0 {
		dash := make([]string, len(p.Dash))
		for i, x := range p.Dash {
			dash[i] = num(x)
		}
		w.put(` stroke-dasharray="`, strings.Join(dash, " "), `"`)
	}
}

// num prints a coordinate to a tenth; what is not a number would make the whole picture invalid.
func num(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		panic(errCoordinate)
	}
	s := strconv.FormatFloat(x, 'f', 1, 64)
	s = strings.TrimSuffix(s, ".0")
	if s == "-0" {
		return "0"
	}
	return s
}

// clean escapes words and takes out control characters, which are not allowed in XML.
func clean(s string) string {
	return html.EscapeString(strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return ' '
		}
		return r
	}, s))
}
