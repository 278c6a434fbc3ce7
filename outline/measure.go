package outline

import (
	"fmt"
	"math"
)

// MeasureOptions say how an outline was drawn and on what. The zero value is a finger-drawn outline on a flat body.
type MeasureOptions struct {
	// Exact: the polygon is the object, so that re-tracing adds nothing to the standard error.
	Exact bool `json:"exact,omitempty"`
	// RetraceSDMm is how far the edge moves when somebody draws it again, one standard deviation; 0 means usualRetrace.
	RetraceSDMm float64 `json:"retrace_sd_mm,omitempty"`
	// Up is the direction in the upright photo that points to the patient's head, any length; nil when not known.
	Up *Point `json:"up,omitempty"`
	// BodyRadiusCm is the radius of the limb that the wound lies around; 0 when nobody said, or when it lies on a flat part.
	BodyRadiusCm float64 `json:"body_radius_cm,omitempty"`
}

// usualRetrace and patchCm: when a wound is drawn again, its edge moves by half a millimetre here and there, and
// places a centimetre apart move on their own. Common practice, no published source; draw twice to learn your own.
const (
	usualRetrace = 0.5
	patchCm      = 1.0
)

// pointingPx is how well a point of an exact polygon is placed: what a corner finder or a careful click reaches.
const pointingPx = 0.25

// Measure gives the sizes of one outlined wound in the plane. It refuses, with a *Refusal, an outline that crosses
// itself, has no area, or reaches beyond the plane's horizon. Holes that lie outside the edge are refused too.
//
//	area   A = |½ Σ (xᵢ yᵢ₊₁ − xᵢ₊₁ yᵢ)|, islands taken off
//	SE²    = gᵀ Σ g + (2 A s_print)² + (2 A h/Z)² + slope² + tilt² + curve² + retrace²   (eq. 8 in docs/model/outline.md)
//
// Vertices are mapped and joined by straight lines in the plane.
func Measure(t Traced, p Plane, opt MeasureOptions) (Measures, error) {
	if r := CheckLoop(t.Outer, "The outline"); r != nil {
		return Measures{}, r
	}
	for i, h := range t.Holes {
		if r := CheckLoop(h, fmt.Sprintf("Island %d", i+1)); r != nil {
			return Measures{}, r
		}
		for _, q := range h {
			if !inside(t.Outer, q) {
				return Measures{}, refuse(LoopPoor, "Draw the island within the wound.", "Island %d reaches outside the wound's edge.", i+1)
			}
		}
	}
	if !p.prepare() {
		return Measures{}, refuse(MarksPoor, "Set the scale again.", "There is no plane to measure in.")
	}
	for _, q := range t.Outer { // a finger may slip over the border, but not far
		if room := 0.05 * p.half(); q.X < -room || q.Y < -room || q.X > p.WidthPx+room || q.Y > p.HeightPx+room {
			return Measures{}, refuse(LoopPoor, "Draw it on the wound.", "The outline reaches outside the photo.")
		}
	}
	m := Measures{Scale: p.Scale, TiltDeg: p.TiltDeg()}
	if err := m.shape(t, &p, opt); err != nil {
		return Measures{}, err
	}
	if b := (limb{opt.BodyRadiusCm, p.distanceCm(m.CentroidPx)}); b.radiusCm > 0 && !b.shows(m.around()) {
		return Measures{}, refuse(LoopPoor, "Check the distance around the limb, or photograph the wound in parts and add them.",
			"The wound looks %.1f cm wide, and a limb %.0f cm around shows less than that from one side.", m.around(), 2*math.Pi*b.radiusCm)
	}
	m.uncertainty(t, &p, opt)
	if share := m.scaleSE() / m.AreaCm2; share > mostStripsSE {
		switch p.Scale {
		case "one strip":
			return Measures{}, refuse(StripMissing, loneRemedy, "One strip alone does not tell this wound's area well enough: it would be sure to only %.0f %%.", 100*share)
		case "two strips":
			return Measures{}, refuse(StripBent, retake, "The strips do not lie in one plane well enough: the area would be sure to only %.0f %%.", 100*share)
		}
	}
	m.caveats(t, &p, opt)
	return m, nil
}

const loneRemedy = "Lay the second strip on the other side of the wound; with one alone, lay it close to the wound and hold the camera straight above, farther away. Take the photo again."

// mostStripsSE is the largest standard error of scale, as a share of the area, with which strips are accepted:
// well under half of the 10 % that would mislead.
const mostStripsSE = 0.04

// scaleSE is the standard error without what the drawing adds.
func (m *Measures) scaleSE() float64 {
	v := 0.0
	for _, p := range m.SEParts {
		if p.Name != partRetrace && p.Name != partPoints {
			v += p.SE * p.SE
		}
	}
	return math.Sqrt(v)
}

// Names of the shares that come from the drawing and not from the scale.
const (
	partRetrace = "re-tracing"
	partPoints  = "points of the outline"
)

// partPrint is the share of the printed size, which is the same on every photo of a sheet's strips.
const partPrint = "print size"

// inside tells whether a point lies within a loop, by counting crossings to its right.
func inside(loop []Point, p Point) bool {
	in := false
	for i, a := range loop {
		b := loop[(i+1)%len(loop)]
		if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(p.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
			in = !in
		}
	}
	return in
}

// toCm maps a loop; ok is false when a point lies beyond the horizon.
func (p *Plane) toCm(loop []Point) (out []Point, ok bool) {
	out = make([]Point, len(loop))
	for i, q := range loop {
		out[i] = p.ToCm(q)
		if !(math.Abs(out[i].X) < 1e4 && math.Abs(out[i].Y) < 1e4) {
			return nil, false
		}
	}
	return out, true
}

// shape fills the sizes.
func (m *Measures) shape(t Traced, p *Plane, opt MeasureOptions) error {
	edge, ok := p.toCm(t.Outer)
	if !ok {
		return refuse(Oblique, "Take the photo from straight above.", "The outline reaches to where the plane of the marks is out of sight.")
	}
	m.AreaCm2, m.PerimeterCm = Area(edge), Perimeter(edge)
	outer := m.AreaCm2
	c := Centroid(edge)
	sum := Point{c.X * outer, c.Y * outer}
	m.EdgeCm = edge
	for _, h := range t.Holes {
		hole, ok := p.toCm(h)
		if !ok {
			return refuse(Oblique, "Take the photo from straight above.", "An island reaches to where the plane of the marks is out of sight.")
		}
		a, c := Area(hole), Centroid(hole)
		m.IslandsCm2 += a
		m.IslandsCm += Perimeter(hole)
		sum.X -= c.X * a
		sum.Y -= c.Y * a
		m.HolesCm = append(m.HolesCm, hole)
	}
	m.AreaCm2 -= m.IslandsCm2
	if !(m.AreaCm2 > 0) {
		return refuse(LoopPoor, "Draw the islands again.", "The islands are as large as the wound.")
	}
	m.CentroidCm = Point{sum.X / m.AreaCm2, sum.Y / m.AreaCm2}
	m.CentroidPx = p.ToPx(m.CentroidCm)
	m.PxPerCm = p.PxPerCm(m.CentroidPx)
	m.Roundness = 4 * math.Pi * outer / (m.PerimeterCm * m.PerimeterCm)
	h := hull(edge)
	length, dir := greatest(h)
	m.LengthCm, m.WidthCm = length, extent(h, Point{-dir.Y, dir.X})
	if opt.Up != nil && math.Hypot(opt.Up.X, opt.Up.Y) > 0 {
		up := p.direction(m.CentroidPx, *opt.Up)
		along, across := extent(h, up), extent(h, Point{-up.Y, up.X})
		m.HeadToToeCm, m.AcrossCm = &along, &across
		m.UpCm = &up
	}
	if p.mirrored() {
		if m.UpCm != nil {
			m.UpCm.Y = -m.UpCm.Y
		}
		for _, loop := range append([][]Point{m.EdgeCm}, m.HolesCm...) {
			for i := range loop {
				loop[i].Y = -loop[i].Y
			}
		}
	}
	return nil
}

// direction takes a direction in the photo to a unit vector in the plane.
func (p *Plane) direction(at, d Point) Point {
	a, b, c, e := p.jacobian(at)
	x, y := a*d.X+b*d.Y, c*d.X+e*d.Y
	n := math.Hypot(x, y)
	return Point{x / n, y / n}
}

// gradient is the standard error of area and length from the covariance of the plane: each number of Theta is
// moved by its own standard deviation to both sides.
func (p *Plane) gradient(t Traced) (area, length float64) {
	if len(p.Cov) == 0 {
		return 0, 0
	}
	n := len(p.Cov)
	ga, gl := make([]float64, n), make([]float64, n)
	size := func(theta []float64) (float64, float64, bool) {
		q := *p
		q.Theta = theta
		if !q.prepare() {
			return 0, 0, false
		}
		edge, ok := q.toCm(t.Outer)
		if !ok {
			return 0, 0, false
		}
		a := Area(edge)
		for _, h := range t.Holes {
			hole, ok := q.toCm(h)
			if !ok {
				return 0, 0, false
			}
			a -= Area(hole)
		}
		l, _ := greatest(hull(edge))
		return a, l, true
	}
	for j := range min(n, iPose) { // the second strip's place does not move the plane
		sd := math.Sqrt(p.Cov[j][j])
		if sd == 0 {
			continue
		}
		// A small step: the derivative is wanted, not the effect of a whole deviation in one number alone, which
		// strong correlations with the others would make unlikely.
		h := sd / 100
		theta := append([]float64(nil), p.Theta...)
		theta[j] += h
		a1, l1, ok1 := size(theta)
		theta[j] -= 2 * h
		a0, l0, ok0 := size(theta)
		if !ok1 || !ok0 {
			return math.Inf(1), math.Inf(1)
		}
		ga[j], gl[j] = (a1-a0)/(2*h), (l1-l0)/(2*h)
	}
	var va, vl float64
	for i := range n {
		for j := range n {
			va += ga[i] * p.Cov[i][j] * ga[j]
			vl += gl[i] * p.Cov[i][j] * gl[j]
		}
	}
	return math.Sqrt(math.Max(0, va)), math.Sqrt(math.Max(0, vl))
}

// uncertainty fills the standard errors.
func (m *Measures) uncertainty(t Traced, p *Plane, opt MeasureOptions) {
	var area, length float64
	add := func(name string, a, l float64) {
		if a > 0 {
			m.SEParts = append(m.SEParts, Part{name, a})
		}
		area += a * a
		length += l * l
	}
	ga, gl := p.gradient(t)
	add("marks and lens", ga, gl)
	add(partPrint, 2*m.AreaCm2*p.PrintSE, m.LengthCm*p.PrintSE)
	add("strips not quite flat", 2*m.AreaCm2*p.BendSE, m.LengthCm*p.BendSE)
	z := p.distanceCm(m.CentroidPx)
	add("height of the strips", 2*m.AreaCm2*p.HeightSDCm/z, m.LengthCm*p.HeightSDCm/z)
	if p.SlopeSDDeg > 0 {
		// Skin that slopes by α at the strip: at a distance d the wound lies d·α higher, and is seen at another tilt.
		alpha := p.SlopeSDDeg * math.Pi / 180
		d := p.fromMarks(m.CentroidCm)
		share := math.Hypot(2*d*alpha/z, alpha*math.Tan(m.TiltDeg*math.Pi/180))
		add("slope of the skin", m.AreaCm2*share, m.LengthCm*share/2)
	}
	if p.TiltSDDeg > 0 {
		// A ruler at angle φ to the tilt's axis: the area is off by −½θ²·cos 2φ, of which E[θ⁴] = 3σ⁴ and E[cos²] = ½.
		s := math.Pow(p.TiltSDDeg*math.Pi/180, 2)
		share := s * math.Sqrt(1.5) / 2
		add("tilt that one line cannot see", m.AreaCm2*share, m.LengthCm*share)
	}
	if opt.BodyRadiusCm > 0 {
		share := limb{opt.BodyRadiusCm, z}.lost(m.around())
		add("curve of the body", m.AreaCm2*share, m.LengthCm*share)
	}
	if opt.Exact {
		add(partPoints, p.pointing(t), pointingPx*math.Sqrt2/m.PxPerCm)
	} else {
		sd := opt.RetraceSDMm
		if sd <= 0 {
			sd = usualRetrace
		}
		edge := m.PerimeterCm + m.IslandsCm
		// an edge that the colours leave open (EdgeSE of an assisted outline) spreads further than a steady hand
		add(partRetrace, math.Max(sd/10*math.Sqrt(edge*math.Min(patchCm, edge)), t.EdgeSE*m.AreaCm2),
			math.Max(sd/10*math.Sqrt2, t.EdgeSE/2*m.LengthCm))
	}
	m.SE, m.LengthSE = math.Sqrt(area), math.Sqrt(length)
}

// pointing is the standard error of the area from the places of the polygon's own points, each off by pointingPx
// in both directions: a point moves the area by half the distance between its neighbours.
func (p *Plane) pointing(t Traced) float64 {
	var v float64
	for _, loop := range append([][]Point{t.Outer}, t.Holes...) {
		for i, at := range loop {
			a, b := p.ToCm(loop[(i+len(loop)-1)%len(loop)]), p.ToCm(loop[(i+1)%len(loop)])
			s := pointingPx / p.PxPerCm(at)
			v += s * s * ((b.X-a.X)*(b.X-a.X) + (b.Y-a.Y)*(b.Y-a.Y)) / 4
		}
	}
	return math.Sqrt(v)
}

// slopeMost is the share by which the area is off at most when the skin under the one strip slopes by alpha degrees
// against the wound, whichever way (eq. 14 in docs/model/outline.md).
func (m *Measures) slopeMost(p *Plane, alpha float64) float64 {
	sin, cos := math.Sincos(alpha * math.Pi / 180)
	far := p.fromMarks(m.CentroidCm) / p.distanceCm(m.CentroidPx) * sin / cos
	lean := math.Tan(m.TiltDeg*math.Pi/180) * sin
	return math.Max((cos+lean)*(1+far)*(1+far)-1, 1-(cos-lean)*math.Pow(math.Max(0, 1-far), 2))
}

// fromMarks is how far a place in the plane lies from the middle of the marks, cm.
func (p *Plane) fromMarks(at Point) float64 {
	var c Point
	for _, m := range p.Marks {
		c.X += m.Cm.X / float64(len(p.Marks))
		c.Y += m.Cm.Y / float64(len(p.Marks))
	}
	return math.Hypot(at.X-c.X, at.Y-c.Y)
}

// caveats fills the notes: what the figure leaves out, in the words of the page.
func (m *Measures) caveats(t Traced, p *Plane, opt MeasureOptions) {
	note := func(format string, args ...any) { m.Notes = append(m.Notes, fmt.Sprintf(format, args...)) }
	if p.Scale == "ruler" {
		m.CannotTell = "The scale comes from one line, which cannot see a tilted camera. Tilt makes the area too small: by 6 % at 20 degrees, by 13 % at 30 degrees."
	} else if m.TiltDeg > 30 {
		note("The camera was tilted by %.0f degrees. The figure allows for it, but take the next photo from straight above.", m.TiltDeg)
	}
	if p.Scale == "one strip" {
		m.CannotTell = "One strip cannot tell whether the skin under it slopes against the wound, and no photo shows it: that it lies level is your word."
		note("The stated error holds for a strip that lies level with the wound, give or take %.0f degrees. On skin that slopes by 10 degrees the area could be off by up to %.0f %%, by 20 degrees up to %.0f %%. A second strip on the other side of the wound would show it.",
			p.SlopeSDDeg, 100*m.slopeMost(p, 10), 100*m.slopeMost(p, 20))
	}
	if p.Scale != "ruler" && len(p.Marks) > 2 {
		var at []Point
		for _, k := range p.Marks {
			at = append(at, k.Px)
		}
		h := hull(at)
		out := 0
		for _, q := range t.Outer {
			if !inside(h, q) {
				out++
			}
		}
		if 4*out > len(t.Outer) {
			note("The wound lies outside the marks. The scale is surest between them.")
		}
	}
	m.curveNote(p.distanceCm(m.CentroidPx), opt, note)
	if p.MarksLeft > 0 {
		note("%d of the marks did not fit and were left out.", p.MarksLeft)
	}
}
