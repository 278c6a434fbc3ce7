package outline

import (
	"math"
	"sort"
)

// lens is what is known of a lens before the marks speak: standard deviations of k₁, k₂ and of the distortion's
// centre, in half diagonals.
type lens struct{ k1, k2, centre float64 }

var (
	// lensPhone: phones correct their pictures; what is left is a few per cent at the corner.
	lensPhone = lens{k1: 0.03, k2: 0.005, centre: 0.03}
	// lensAny: any camera, also one with a strongly curved picture.
	lensAny = lens{k1: 0.15, k2: 0.05, centre: 0.05}
)

// marksSE is how well the places of typed marks are known, as a share of length: half a millimetre in 30 cm.
const marksSE = 0.0015

// sighting is one mark as the fit takes it.
type sighting struct {
	px     Point
	cm     Point   // in its own strip
	radius float64 // of a round mark, cm; 0 for a point
	second bool    // on the second strip, whose place in the plane is fitted too
	weight float64
}

// fitting holds one fit in normalised units.
type fitting struct {
	marks  []sighting
	centre Point
	half   float64
	origin Point
	unit   float64
	prior  []float64 // standard deviations; 0 means free
	theta  []float64
	sigma  float64 // px
}

// place is where a sighting lies in the plane, normalised.
func (f *fitting) place(theta []float64, s sighting) Point {
	x, y := (s.cm.X-f.origin.X)/f.unit, (s.cm.Y-f.origin.Y)/f.unit
	if s.second {
		c, n := math.Cos(theta[iPose+2]), math.Sin(theta[iPose+2])
		x, y = s.cm.X/f.unit, s.cm.Y/f.unit
		x, y = theta[iPose]+c*x-n*y, theta[iPose+1]+n*x+c*y
	}
	return Point{x, y}
}

// predict is the pixel at which a sighting should be. For a round mark it is the centre of the ellipse that the
// disc becomes, which is not the picture of the disc's centre: the dual conic of the disc, taken through H (eq. 3).
func (f *fitting) predict(theta []float64, s sighting) Point {
	p := f.place(theta, s)
	h := matrix(theta)
	x := h[0]*p.X + h[1]*p.Y + h[2]
	y := h[3]*p.X + h[4]*p.Y + h[5]
	w := h[6]*p.X + h[7]*p.Y + 1
	if s.radius > 0 {
		r := s.radius / f.unit
		q := r * r
		x = x*w - q*(h[0]*h[6]+h[1]*h[7])
		y = y*w - q*(h[3]*h[6]+h[4]*h[7])
		w = w*w - q*(h[6]*h[6]+h[7]*h[7])
	}
	return distort(theta, Point{x / w, y / w}, f.centre, f.half)
}

// residuals fills r with weighted mark errors in sigmas and then with the priors.
func (f *fitting) residuals(theta, r []float64) {
	i := 0
	for _, s := range f.marks {
		p := f.predict(theta, s)
		w := s.weight / f.sigma
		r[i], r[i+1] = (p.X-s.px.X)*w, (p.Y-s.px.Y)*w
		i += 2
	}
	for j, sd := range f.prior {
		if sd > 0 {
			r[i] = theta[j] / sd
			i++
		}
	}
}

func (f *fitting) rows() int {
	n := 2 * len(f.marks)
	for _, sd := range f.prior {
		if sd > 0 {
			n++
		}
	}
	return n
}

// normal is JᵀJ and Jᵀr at theta, by central differences.
func (f *fitting) normal(theta, r []float64) ([][]float64, []float64) {
	n, m := len(theta), len(r)
	jac := make([][]float64, n)
	t := append([]float64(nil), theta...)
	lo := make([]float64, m)
	for j := range jac {
		const h = 1e-6
		jac[j] = make([]float64, m)
		t[j] = theta[j] + h
		f.residuals(t, jac[j])
		t[j] = theta[j] - h
		f.residuals(t, lo)
		t[j] = theta[j]
		for i := range lo {
			jac[j][i] = (jac[j][i] - lo[i]) / (2 * h)
		}
	}
	a, b := square(n), make([]float64, n)
	for j := range n {
		for k := 0; k <= j; k++ {
			s := 0.0
			for i := range r {
				s += jac[j][i] * jac[k][i]
			}
			a[j][k], a[k][j] = s, s
		}
		for i := range r {
			b[j] += jac[j][i] * r[i]
		}
	}
	return a, b
}

// descend is Levenberg and Marquardt's method from f.theta; it returns the covariance at the end.
func (f *fitting) descend() ([][]float64, bool) {
	r := make([]float64, f.rows())
	try := make([]float64, len(r))
	cost := func(t, r []float64) float64 {
		f.residuals(t, r)
		s := 0.0
		for _, v := range r {
			s += v * v
		}
		if math.IsNaN(s) {
			return math.Inf(1)
		}
		return s
	}
	best := cost(f.theta, r)
	damp := 1e-4
	var a [][]float64
	var b []float64
	fresh := false
	for range 60 {
		if !fresh {
			a, b = f.normal(f.theta, r)
			fresh = true
		}
		damped := square(len(a))
		for i := range a {
			copy(damped[i], a[i])
			damped[i][i] *= 1 + damp
		}
		inv, ok := cholesky(damped)
		if !ok {
			damp *= 10
			if damp > 1e8 {
				return nil, false
			}
			continue
		}
		next := append([]float64(nil), f.theta...)
		for i := range next {
			for j := range b {
				next[i] -= inv[i][j] * b[j]
			}
		}
		c := cost(next, try)
		if c > best {
			damp *= 10
			if damp > 1e8 {
				break
			}
			continue
		}
		done := best-c <= 1e-9*(1+best)
		f.theta, best, fresh = next, c, false
		r, try = try, r
		damp = math.Max(damp/10, 1e-12)
		if done {
			break
		}
	}
	a, _ = f.normal(f.theta, r)
	return cholesky(a)
}

// distances are the marks' distances from where they should be, px.
func (f *fitting) distances() []float64 {
	out := make([]float64, len(f.marks))
	for i, s := range f.marks {
		p := f.predict(f.theta, s)
		out[i] = math.Hypot(p.X-s.px.X, p.Y-s.px.Y)
	}
	return out
}

// robust fits several times: marks far from the others' plane count less (Huber), then not at all. It returns the
// covariance and how many marks were left out; at most one in four is.
func (f *fitting) robust(sigma0, nu0 float64) ([][]float64, int, bool) {
	left := 0
	for round := range 6 {
		if _, ok := f.descend(); !ok {
			return nil, left, false
		}
		d := f.distances()
		sorted := append([]float64(nil), d...)
		sort.Float64s(sorted)
		// The median of a Rayleigh distance is 1.18 sigma.
		scale := math.Max(sorted[len(sorted)/2]/1.18, sigma0/3)
		if round >= 2 && len(f.marks) > 5 {
			worst, at := 0.0, -1
			for i, v := range d {
				if v > worst {
					worst, at = v, i
				}
			}
			if worst > 6*scale && left < (len(f.marks)+left)/4 {
				f.marks = append(f.marks[:at:at], f.marks[at+1:]...)
				left++
				d = f.distances()
			}
		}
		sum := 0.0
		for i, v := range d {
			f.marks[i].weight = 1
			if v > 2.5*scale {
				f.marks[i].weight = math.Sqrt(2.5 * scale / v)
			}
			w := f.marks[i].weight
			sum += w * w * v * v
		}
		free := 8.0
		if len(f.theta) > iPose {
			free += 3
		}
		dof := math.Max(0, 2*float64(len(d))-free)
		f.sigma = math.Sqrt((sum + nu0*sigma0*sigma0) / (dof + nu0))
	}
	cov, ok := f.descend()
	return cov, left, ok
}

// newFitting normalises the plane by the first group's marks. The start is the linear solution over that group.
func newFitting(marks []sighting, widthPx, heightPx int, l lens) (*fitting, bool) {
	w, h := float64(widthPx), float64(heightPx)
	f := &fitting{marks: marks, centre: Point{w / 2, h / 2}, half: math.Hypot(w, h) / 2, sigma: 0.5}
	n := 0.0
	for _, s := range marks {
		if !s.second {
			f.origin.X += s.cm.X
			f.origin.Y += s.cm.Y
			n++
		}
	}
	if n < 4 {
		return nil, false
	}
	f.origin.X /= n
	f.origin.Y /= n
	for _, s := range marks {
		if !s.second {
			f.unit += (math.Pow(s.cm.X-f.origin.X, 2) + math.Pow(s.cm.Y-f.origin.Y, 2)) / n
		}
	}
	f.unit = math.Sqrt(f.unit)
	if !(f.unit > 0) {
		return nil, false
	}
	f.prior = []float64{0, 0, 0, 0, 0, 0, 0, 0, l.k1, l.k2, l.centre, l.centre}
	f.theta = make([]float64, iPose)
	h8, ok := f.linear()
	if !ok {
		return nil, false
	}
	copy(f.theta, h8)
	return f, true
}

// linear is the homography of the first group by linear least squares, the lens left aside.
func (f *fitting) linear() ([]float64, bool) {
	a, b := square(8), make([]float64, 8)
	add := func(row [8]float64, v float64) {
		for i := range 8 {
			for j := range 8 {
				a[i][j] += row[i] * row[j]
			}
			b[i] += row[i] * v
		}
	}
	for _, s := range f.marks {
		if s.second {
			continue
		}
		x, y := (s.cm.X-f.origin.X)/f.unit, (s.cm.Y-f.origin.Y)/f.unit
		u, v := (s.px.X-f.centre.X)/f.half, (s.px.Y-f.centre.Y)/f.half
		add([8]float64{x, y, 1, 0, 0, 0, -u * x, -u * y}, u)
		add([8]float64{0, 0, 0, x, y, 1, -v * x, -v * y}, v)
	}
	inv, ok := cholesky(a)
	if !ok {
		return nil, false
	}
	out := make([]float64, 8)
	for i := range out {
		for j := range b {
			out[i] += inv[i][j] * b[j]
		}
	}
	return out, true
}

// PlaneFromMarks fits a plane over marks whose places in it are known: at least four, not on one line. The lens
// term is fitted with them; the fewer they are, the more it is held near zero, and the more its doubt weighs in
// every standard error.
func PlaneFromMarks(marks []Mark, widthPx, heightPx int) (Plane, error) {
	const more = "Mark at least four places that do not lie on one line, better more, on two sides of the wound."
	if len(marks) < 4 {
		return Plane{}, refuse(MarksPoor, more, "There are %d marks; four or more are needed.", len(marks))
	}
	if widthPx < 1 || heightPx < 1 {
		return Plane{}, refuse(TooTiny, "Use another photo.", "The photo has no size.")
	}
	seen := make([]sighting, len(marks))
	for i, m := range marks {
		for _, v := range []float64{m.Px.X, m.Px.Y, m.Cm.X, m.Cm.Y} {
			if !(math.Abs(v) < 1e6) {
				return Plane{}, refuse(MarksPoor, "Give it again.", "Mark %d lies nowhere.", i+1)
			}
		}
		seen[i] = sighting{px: m.Px, cm: m.Cm, weight: 1}
	}
	if onOneLine(seen) {
		return Plane{}, refuse(MarksPoor, more, "The marks lie on one line.")
	}
	f, ok := newFitting(seen, widthPx, heightPx, lensAny)
	if !ok {
		return Plane{}, refuse(MarksPoor, more, "The marks do not set a plane.")
	}
	cov, left, ok := f.robust(0.3, 2)
	if !ok {
		return Plane{}, refuse(MarksPoor, more, "The marks do not set a plane.")
	}
	p := f.plane("marks", cov, left)
	p.PrintSE = marksSE
	if !p.prepare() {
		return Plane{}, refuse(MarksPoor, more, "The marks do not set a plane.")
	}
	// A typing error moves a mark by a large part of the marks' own spread; clicks and lenses do not.
	if spread := f.half * math.Sqrt(math.Abs(f.theta[0]*f.theta[4]-f.theta[1]*f.theta[3])); p.SigmaPx > 0.05*spread {
		return Plane{}, refuse(MarksPoor, "Check the marks' centimetres and pixels.", "The marks lie %.1f pixels from any one plane.", p.SigmaPx)
	}
	return p, nil
}

// onOneLine says that the marks of the first group lie on one line in the plane.
func onOneLine(marks []sighting) bool {
	var n, mx, my, xx, xy, yy float64
	for _, s := range marks {
		n++
		mx += s.cm.X
		my += s.cm.Y
	}
	mx /= n
	my /= n
	for _, s := range marks {
		x, y := s.cm.X-mx, s.cm.Y-my
		xx += x * x
		xy += x * y
		yy += y * y
	}
	return xx*yy-xy*xy < 1e-6*(xx+yy)*(xx+yy)
}

func (f *fitting) plane(scale string, cov [][]float64, left int) Plane {
	p := Plane{Scale: scale, WidthPx: 2 * f.centre.X, HeightPx: 2 * f.centre.Y, Theta: f.theta, Cov: cov,
		OriginCm: f.origin, UnitCm: f.unit, SigmaPx: f.sigma, MarksLeft: left}
	for _, s := range f.marks {
		at := f.place(f.theta, s)
		p.Marks = append(p.Marks, Mark{s.px, Point{f.origin.X + f.unit*at.X, f.origin.Y + f.unit*at.Y}})
	}
	p.prepare()
	return p
}

// mirrored says that marks were given with y upward: sizes do not mind, outlines laid over each other do.
func (p *Plane) mirrored() bool {
	a, b, c, d := p.jacobian(p.Marks[0].Px)
	return a*d-b*c < 0
}
