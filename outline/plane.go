package outline

import "math"

// Plane joins the upright photo to the plane of the marks: pixels to centimetres and back.
//
//	n = (p − c)/R                                  photo centre c, half diagonal R
//	u = d + (n − d)/(1 + k₁ρ² + k₂ρ⁴), ρ = |n − d|    the lens undone      (eq. 1 in docs/model/outline.md)
//	x = o + s·H⁻¹u                                 the plane, cm          (eq. 2)
//
// The zero Plane is not usable: it comes from FindStrips, PlaneFromMarks or PlaneFromRuler.
type Plane struct {
	// Scale says what set it: "two strips", "one strip", "marks" or "ruler".
	Scale string `json:"scale"`
	// WidthPx and HeightPx are the upright photo's.
	WidthPx  float64 `json:"width_px"`
	HeightPx float64 `json:"height_px"`
	// Theta is H (eight numbers, the ninth is 1), then k₁, k₂, d, then the place of the second strip if there is one.
	Theta []float64 `json:"theta"`
	// Cov is the covariance of Theta: mark error, and what the marks do not say about the lens.
	Cov [][]float64 `json:"cov,omitempty"`
	// OriginCm and UnitCm are o and s.
	OriginCm Point   `json:"origin_cm"`
	UnitCm   float64 `json:"unit_cm"`
	// SigmaPx is the standard deviation of one mark's coordinate, as the fit shows it.
	SigmaPx float64 `json:"sigma_px"`
	// Marks are the marks used, MarksLeft how many were left out as not fitting.
	Marks     []Mark `json:"marks,omitempty"`
	MarksLeft int    `json:"marks_left_out,omitempty"`
	// PrintSE is the standard error of the printed size, as a share of length.
	PrintSE float64 `json:"print_se"`
	// BendSE is what strips that are not quite flat may do, as a share of length.
	BendSE float64 `json:"bend_se,omitempty"`
	// HeightSDCm is how far the wound's edge may lie above or below the plane of the marks, one standard deviation.
	HeightSDCm float64 `json:"height_sd_cm"`
	// SlopeSDDeg is how far the skin at a single strip may slope against the wound's plane.
	SlopeSDDeg float64 `json:"slope_sd_deg"`
	// TiltSDDeg is the tilt that a scale from one line cannot see.
	TiltSDDeg float64 `json:"tilt_sd_deg"`
	// FocalPx is the lens's focal length, from the photo's own notes or assumed.
	FocalPx float64 `json:"focal_px"`

	inverse [9]float64
}

// Places of the numbers in Theta.
const (
	iK1   = 8
	iK2   = 9
	iDX   = 10
	iDY   = 11
	iPose = 12
)

// usualFocal is the focal length that a phone's main camera has, as a share of the photo's longer side: 24 to
// 28 mm on the 36 mm wide frame that makers state it for. Common practice, no published source.
const usualFocal = 0.72

func (p *Plane) half() float64 { return math.Hypot(p.WidthPx, p.HeightPx) / 2 }

// invert3 inverts a 3 × 3 matrix given row by row.
func invert3(m [9]float64) ([9]float64, bool) {
	c := [9]float64{
		m[4]*m[8] - m[5]*m[7], m[2]*m[7] - m[1]*m[8], m[1]*m[5] - m[2]*m[4],
		m[5]*m[6] - m[3]*m[8], m[0]*m[8] - m[2]*m[6], m[2]*m[3] - m[0]*m[5],
		m[3]*m[7] - m[4]*m[6], m[1]*m[6] - m[0]*m[7], m[0]*m[4] - m[1]*m[3],
	}
	det := m[0]*c[0] + m[1]*c[3] + m[2]*c[6]
	if math.Abs(det) < 1e-12 || math.IsNaN(det) {
		return c, false
	}
	for i := range c {
		c[i] /= det
	}
	return c, true
}

func matrix(theta []float64) [9]float64 {
	var h [9]float64
	copy(h[:8], theta[:8])
	h[8] = 1
	return h
}

// prepare computes what ToCm needs; false when the plane is degenerate.
func (p *Plane) prepare() bool {
	if len(p.Theta) < iPose {
		return false
	}
	inv, ok := invert3(matrix(p.Theta))
	p.inverse = inv
	return ok
}

// undistort takes a pixel to the normalised place where a lens without distortion would have put it.
func (p *Plane) undistort(px Point) Point {
	r := p.half()
	d := Point{p.Theta[iDX], p.Theta[iDY]}
	x, y := (px.X-p.WidthPx/2)/r-d.X, (px.Y-p.HeightPx/2)/r-d.Y
	q := x*x + y*y
	f := 1 / (1 + p.Theta[iK1]*q + p.Theta[iK2]*q*q)
	return Point{d.X + x*f, d.Y + y*f}
}

// distort is the inverse of undistort: normalised ideal place to pixel.
func distort(theta []float64, u, centre Point, half float64) Point {
	dx, dy, k1, k2 := theta[iDX], theta[iDY], theta[iK1], theta[iK2]
	x, y := u.X-dx, u.Y-dy
	ru := math.Hypot(x, y)
	r := ru
	for range 12 { // Newton on r/(1 + k₁r² + k₂r⁴) = ru
		q := r * r
		g := 1 + k1*q + k2*q*q
		f := r/g - ru
		df := (1 - k1*q - 3*k2*q*q) / (g * g)
		if !(df > 0.05) {
			break
		}
		step := f / df
		r -= step
		if math.Abs(step) < 1e-14 {
			break
		}
	}
	f := 1.0
	if ru > 0 {
		f = r / ru
	}
	return Point{centre.X + half*(dx+x*f), centre.Y + half*(dy+y*f)}
}

// ToCm takes a pixel of the upright photo to the plane, in cm. Both numbers are NaN beyond the plane's horizon.
func (p *Plane) ToCm(px Point) Point {
	if p.inverse == ([9]float64{}) && !p.prepare() {
		return Point{math.NaN(), math.NaN()}
	}
	u := p.undistort(px)
	m := &p.inverse
	w := m[6]*u.X + m[7]*u.Y + m[8]
	// H has 1 in its last place, so w has the sign of m[8] where the marks are.
	if !(w*math.Copysign(1, m[8]) > 1e-9) {
		return Point{math.NaN(), math.NaN()}
	}
	return Point{
		p.OriginCm.X + p.UnitCm*(m[0]*u.X+m[1]*u.Y+m[2])/w,
		p.OriginCm.Y + p.UnitCm*(m[3]*u.X+m[4]*u.Y+m[5])/w,
	}
}

// ToPx takes a place in the plane, in cm, to the pixel of the upright photo.
func (p *Plane) ToPx(cm Point) Point {
	x, y := (cm.X-p.OriginCm.X)/p.UnitCm, (cm.Y-p.OriginCm.Y)/p.UnitCm
	t := p.Theta
	w := t[6]*x + t[7]*y + 1
	u := Point{(t[0]*x + t[1]*y + t[2]) / w, (t[3]*x + t[4]*y + t[5]) / w}
	return distort(t, u, Point{p.WidthPx / 2, p.HeightPx / 2}, p.half())
}

// jacobian is d(cm)/d(px) at a pixel, by central differences of half a pixel.
func (p *Plane) jacobian(px Point) (a, b, c, d float64) {
	const h = 0.5
	x1, x0 := p.ToCm(Point{px.X + h, px.Y}), p.ToCm(Point{px.X - h, px.Y})
	y1, y0 := p.ToCm(Point{px.X, px.Y + h}), p.ToCm(Point{px.X, px.Y - h})
	return x1.X - x0.X, y1.X - y0.X, x1.Y - x0.Y, y1.Y - y0.Y
}

// PxPerCm is the scale at a pixel: the root of pixels per square centimetre.
func (p *Plane) PxPerCm(px Point) float64 {
	a, b, c, d := p.jacobian(px)
	return 1 / math.Sqrt(math.Abs(a*d-b*c))
}

// TiltDeg is the angle between the camera's axis and the square view of the plane.
//
// At the photo's centre a tilted plane is foreshortened by cos(tilt) along one direction and by nothing square to
// it, whatever the focal length: the ratio of the singular values of the local map is the cosine (eq. 5). A photo
// that was cropped off its centre gives the angle at which its own centre was seen.
func (p *Plane) TiltDeg() float64 {
	a, b, c, d := p.jacobian(Point{p.WidthPx / 2, p.HeightPx / 2})
	if math.IsNaN(a + b + c + d) {
		return 90
	}
	sum, diff := math.Hypot(a+d, b-c), math.Hypot(a-d, b+c)
	big, small := (sum+diff)/2, math.Abs(sum-diff)/2
	if big == 0 {
		return 90
	}
	return math.Acos(math.Min(1, small/big)) * 180 / math.Pi
}

// distanceCm is how far the camera was from the plane.
func (p *Plane) distanceCm(px Point) float64 {
	f := p.FocalPx
	if f <= 0 {
		f = usualFocal * math.Max(p.WidthPx, p.HeightPx)
	}
	return f / p.PxPerCm(px)
}

// PlaneFromRuler takes its scale from two clicks on a ruler that lies beside the wound, cm apart. It sees no tilt:
// every measure carries that in its standard error and says so.
func PlaneFromRuler(a, b Point, cm float64, widthPx, heightPx int) (Plane, error) {
	const again = "Click two marks of the ruler that are as far apart as the photo shows, and type the distance between them."
	px := math.Hypot(b.X-a.X, b.Y-a.Y)
	if !(cm > 0 && cm <= 100) || widthPx < 1 || heightPx < 1 {
		return Plane{}, refuse(MarksPoor, again, "The ruler's %g cm cannot be used.", cm)
	}
	if !(px >= 20) {
		return Plane{}, refuse(StripSmall, again, "The two clicks are only %.0f pixels apart.", px)
	}
	p := Plane{Scale: "ruler", WidthPx: float64(widthPx), HeightPx: float64(heightPx), TiltSDDeg: 15, HeightSDCm: 0.1,
		OriginCm: Point{}, UnitCm: 1, SigmaPx: 1, Marks: []Mark{{a, Point{}}, {b, Point{cm, 0}}}}
	f := px / cm / p.half() // normalised length of 1 cm; the plane's axes are the photo's
	p.Theta = []float64{f, 0, 0, 0, f, 0, 0, 0, 0, 0, 0, 0}
	// Two clicks of one pixel each: a share of √2/px of the length, on all of the scale at once.
	p.Cov = square(iPose)
	s := math.Sqrt2 / px * f
	p.Cov[0][0], p.Cov[4][4], p.Cov[0][4], p.Cov[4][0] = s*s, s*s, s*s, s*s
	p.Cov[iK1][iK1] = lensPhone.k1 * lensPhone.k1
	p.Marks[0].Cm, p.Marks[1].Cm = p.ToCm(a), p.ToCm(b)
	return p, nil
}
