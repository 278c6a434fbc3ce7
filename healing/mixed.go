package healing

import "math"

// Line is one wound's course: values at times in weeks, of equal length and not empty.
type Line struct{ Weeks, Values []float64 }

// MixedLine is a straight line for a group of wounds, each with its own start and slope around those of the group:
//
//	y = (b0 + u0) + (b1 + u1) t + e,   (u0, u1) ~ N(0, D),   e ~ N(0, s²)                 (21)
type MixedLine struct {
	Start, Slope     float64
	StartSE, SlopeSE float64
	// StartSD, SlopeSD and Corr describe D, Residual is s.
	StartSD, SlopeSD, Corr, Residual float64
	// LogLik is the restricted log likelihood at the solution.
	LogLik float64
}

// FitMixedLine finds the line by restricted maximum likelihood (eq. 22), profiled over b and s; the factor of D/s² is
// searched. ok is false with fewer than three lines, fewer than six values in all, or when the search ends nowhere.
//
// Source: Laird and Ware 1982 (Biometrics 38:963); the form is that of Bates 2015 (J Stat Softw 67:1), eqs. 34 to 42.
// Checked against R's nlme: testdata/ref/r-nlme-lines.
func FitMixedLine(lines []Line) (m MixedLine, ok bool) {
	n := 0
	for _, l := range lines {
		n += len(l.Values)
	}
	if len(lines) < 3 || n < 6 {
		return m, false
	}
	sums := make([]lineSums, len(lines))
	for i, l := range lines {
		sums[i] = l.sums()
	}
	deviance := func(x []float64) float64 { return profile(sums, n, x).deviance }
	best, found := math.Inf(1), []float64{}
	// from two starts, and once more from each end, so that a search which dries up early is noticed
	for _, x := range [][]float64{{1, 0, 1}, {3, -0.3, 0.3}} {
		for range 2 {
			var f float64
			var done bool
			if x, f, done = simplex(deviance, x, 0.2, 1e-11, 5000); done && f < best {
				best, found = f, x
			}
		}
	}
	if math.IsInf(best, 0) || math.IsNaN(best) {
		return m, false
	}
	p := profile(sums, n, found)
	s := math.Sqrt(p.residual)
	t1, t2, t3 := found[0], found[1], found[2]
	m = MixedLine{Start: p.b0, Slope: p.b1, StartSE: s * math.Sqrt(p.v00), SlopeSE: s * math.Sqrt(p.v11),
		StartSD: s * math.Abs(t1), SlopeSD: s * math.Hypot(t2, t3), Residual: s, LogLik: -p.deviance / 2}
	if h := math.Hypot(t2, t3); h > 0 && t1 != 0 {
		m.Corr = math.Copysign(1, t1) * t2 / h
	}
	return m, true
}

// lineSums are n, Σt, Σt², Σy, Σty and Σy² of one line.
type lineSums struct{ n, t, tt, y, ty, yy float64 }

func (l Line) sums() (s lineSums) {
	for i, t := range l.Weeks {
		y := l.Values[i]
		s.n++
		s.t += t
		s.tt += t * t
		s.y += y
		s.ty += t * y
		s.yy += y * y
	}
	return s
}

// profiled is the likelihood's deviance with b and s at their best for a factor of D/s².
type profiled struct{ deviance, b0, b1, v00, v11, residual float64 }

// profile takes the lower triangular factor (x0, 0; x1, x2) of D/s². With A = Z'Z of a wound and M = I + L'AL its
// inverse variance is I - Z L M⁻¹ L' Z' (eq. 22).
func profile(sums []lineSums, n int, x []float64) (p profiled) {
	var a00, a01, a11, c0, c1, yy, logDet float64
	for _, s := range sums {
		// columns of A·L and L'·(Σy, Σty)
		p00, p01 := s.n*x[0]+s.t*x[1], s.t*x[2]
		p10, p11 := s.t*x[0]+s.tt*x[1], s.tt*x[2]
		q0, q1 := x[0]*s.y+x[1]*s.ty, x[2]*s.ty
		m00, m01, m11 := 1+x[0]*p00+x[1]*p10, x[0]*p01+x[1]*p11, 1+x[2]*p11
		det := m00*m11 - m01*m01
		i00, i01, i11 := m11/det, -m01/det, m00/det
		quad := func(u0, u1, w0, w1 float64) float64 { return u0*(i00*w0+i01*w1) + u1*(i01*w0+i11*w1) }
		a00 += s.n - quad(p00, p01, p00, p01)
		a01 += s.t - quad(p00, p01, p10, p11)
		a11 += s.tt - quad(p10, p11, p10, p11)
		c0 += s.y - quad(p00, p01, q0, q1)
		c1 += s.ty - quad(p10, p11, q0, q1)
		yy += s.yy - quad(q0, q1, q0, q1)
		logDet += math.Log(det)
	}
	det := a00*a11 - a01*a01
	p.b0, p.b1 = (a11*c0-a01*c1)/det, (a00*c1-a01*c0)/det
	p.v00, p.v11 = a11/det, a00/det
	df := float64(n - 2)
	p.residual = math.Max((yy-p.b0*c0-p.b1*c1)/df, 1e-12)
	p.deviance = df*(1+math.Log(2*math.Pi*p.residual)) + logDet + math.Log(det)
	if math.IsNaN(p.deviance) {
		p.deviance = math.Inf(1)
	}
	return p
}
