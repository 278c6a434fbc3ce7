package chart

// Drawing is a picture in user units: one unit is a CSS pixel when it is shown at its own width. X grows to the
// right and Y downward.
type Drawing struct {
	// ID starts the IDs inside the picture; it must be unique on its page and hold only letters, digits and hyphens.
	ID string
	// Title names the picture, Desc says what it shows, for readers who do not see it.
	Title, Desc       string
	WidthPx, HeightPx float64
	Shapes            []Shape
}

// Shape is one of [Line], [Lines], [Polyline], [Area], [Rect], [Hatch], [Marker], [Dots] and [Text].
type Shape interface{ shape() }

// Point is a position.
type Point struct{ X, Y float64 }

// Ink is a colour as #rrggbb. No ink carries a meaning of its own.
type Ink string

// The inks, as in the style sheet of the pages.
const (
	InkText  Ink = "#16242c"
	InkSoft  Ink = "#46565f"
	InkLine  Ink = "#b9c2c6"
	InkWater Ink = "#12506b"
	InkDeep  Ink = "#0b3344"
	InkPale  Ink = "#e3eef2"
	InkPaper Ink = "#ffffff"
)

// Pen is how a line is drawn. Dash gives the lengths of strokes and gaps; empty is a full line.
type Pen struct {
	Ink     Ink
	WidthPx float64
	Dash    []float64
}

// Line joins two points.
type Line struct {
	From, To Point
	Pen      Pen
}

// Lines is many lines with one pen, such as a grid.
type Lines struct {
	Segments [][2]Point
	Pen      Pen
}

// Polyline joins the points of each run in order; runs are not joined.
type Polyline struct {
	Runs [][]Point
	Pen  Pen
}

// Area is filled polygons without an edge.
type Area struct {
	Polygons [][]Point
	Fill     Ink
}

// Rect is a rectangle; an empty Fill leaves it open, an empty Pen.Ink leaves out its edge.
type Rect struct {
	At                Point
	WidthPx, HeightPx float64
	Fill              Ink
	Pen               Pen
}

// Hatch fills a rectangle with slanted lines.
type Hatch struct {
	At                Point
	WidthPx, HeightPx float64
	SpacingPx         float64
	Pen               Pen
}

// Form is the outline of a marker.
type Form string

// The forms of markers.
const (
	Dot    Form = "dot"
	Ring   Form = "ring"
	Square Form = "square"
)

// Marker is a point that can be seen. SizePx is its height.
type Marker struct {
	At     Point
	Form   Form
	SizePx float64
	Ink    Ink
}

// Dots is many round markers of one size.
type Dots struct {
	Points []Point
	SizePx float64
	Ink    Ink
}

// Anchor says which end of a text lies at its point.
type Anchor string

// The anchors.
const (
	Start  Anchor = "start"
	Middle Anchor = "middle"
	End    Anchor = "end"
)

// Text is a line of words; At is on its base line.
type Text struct {
	At     Point
	Words  string
	SizePx float64
	Anchor Anchor
	Ink    Ink
	Bold   bool
}

func (Line) shape()     {}
func (Lines) shape()    {}
func (Polyline) shape() {}
func (Area) shape()     {}
func (Rect) shape()     {}
func (Hatch) shape()    {}
func (Marker) shape()   {}
func (Dots) shape()     {}
func (Text) shape()     {}

// Segments returns the lines of a hatch, from the lower left to the upper right, cut at the edges.
func (h Hatch) Segments() [][2]Point {
	var out [][2]Point
	if !(h.SpacingPx > 0) || !(h.WidthPx > 0) || !(h.HeightPx > 0) {
		return nil
	}
	for d := h.SpacingPx; d < h.WidthPx+h.HeightPx; d += h.SpacingPx {
		// The line x + y = d within the rectangle, y measured from its upper edge.
		x0, x1 := max(0, d-h.HeightPx), min(h.WidthPx, d)
		out = append(out, [2]Point{{h.At.X + x0, h.At.Y + d - x0}, {h.At.X + x1, h.At.Y + d - x1}})
	}
	return out
}

// wide estimates the width of words: 0.56 of the size a letter is on the safe side for Latin text in a plain face.
func wide(words string, sizePx float64) float64 {
	n := 0
	for range words {
		n++
	}
	return float64(n) * sizePx * 0.56
}
