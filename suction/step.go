package suction

import "math"

// One step of a stiffly stable Rosenbrock method of order 4 with an embedded order 3 (RODAS).
// Source: E. Hairer, G. Wanner, Solving Ordinary Differential Equations II, 2nd ed. (1996), section IV.7 and
// table 7.3 in its transformed form. That the numbers are right is shown by the order of convergence (model_test.go).
const (
	rosGamma = 0.25

	a21 = 1.544000000000000
	a31 = 0.9466785280815826
	a32 = 0.2557011698983284
	a41 = 3.314825187068521
	a42 = 2.896124015972201
	a43 = 0.9986419139977817
	a51 = 1.221224509226641
	a52 = 6.019134481288629
	a53 = 12.53708332932087
	a54 = -0.6878860361058950

	c21 = -5.6688
	c31 = -2.430093356833875
	c32 = -0.2063599157091915
	c41 = -0.1073529058151375
	c42 = -9.594562251023355
	c43 = -20.47028614809616
	c51 = 7.496443313967647
	c52 = -10.24680431464352
	c53 = -33.99990352819905
	c54 = 11.70890893206160
	c61 = 8.083246795921522
	c62 = -7.981132988064893
	c63 = -31.52159432874371
	c64 = 16.31930543123136
	c65 = -6.058818238834054

	d21 = 10.12623508344586
	d22 = -7.487995877610167
	d23 = -34.80091861555747
	d24 = -7.992771707568823
	d25 = 1.025137723295662
	d31 = -0.6762803392806898
	d32 = 6.087714651680015
	d33 = 16.43084320892478
	d34 = 24.76722511418386
	d35 = -6.594389125716872
)

// quadrature are the weights with which the six stages enter a time integral that rides along in the same step. An
// integral does not act back on the suctions, so its six stages need not be solved one after the other: with C the
// matrix of the c's and w' the weights of the new value, K = (1 - γC)^-1 γh (F + F' k), and the sum w'K becomes
// γh Σ q_i (F_i + F'_i k_i) with q = (1 - γC)^-T w'. The balance of gas, linear in the integrals, then holds to
// rounding and not only to the step's error.
var quadrature = func() [6]float64 {
	c := [6][6]float64{1: {c21}, 2: {c31, c32}, 3: {c41, c42, c43}, 4: {c51, c52, c53, c54}, 5: {c61, c62, c63, c64, c65}}
	q := [6]float64{a51, a52, a53, a54, 1, 1}
	for j := 4; j >= 0; j-- { // back substitution: 1 - γC' is upper triangular with a diagonal of 1
		for i := j + 1; i < 6; i++ {
			q[j] += rosGamma * c[i][j] * q[i]
		}
	}
	return q
}()

// step is one accepted or tried step.
type step struct {
	h      float64
	x0, x1 [2]float64
	// dq are the increments of ∫s_c dt, ∫s_w dt and ∫leak dt, pumped that of the pump's flow.
	dq     [3]float64
	pumped float64
	// err is the embedded estimate of the local error of both suctions.
	err [2]float64
	// c3, c4 are the coefficients of the continuous extension of order 3.
	c3, c4 [2]float64
}

// at evaluates the continuous extension at a share θ of the step.
func (s *step) at(theta float64, i int) float64 {
	return s.x0[i]*(1-theta) + theta*(s.x1[i]+(1-theta)*(s.c3[i]+theta*s.c4[i]))
}

// take tries a step of h seconds from x in mode m. Every stage is spelled out with scalars, which the compiler keeps
// in registers; loops over small arrays take twice the time, and this is where all the time goes.
func (p *Path) take(x [2]float64, h float64, m mode) step {
	jac, leakSlope := p.slopes(x, m)
	gh := rosGamma * h
	g, hi := 1/gh, 1/h
	m00, m01, m10, m11 := g-jac[0], -jac[1], -jac[2], g-jac[3]
	det := 1 / (m00*m11 - m01*m10)
	m00, m01, m10, m11 = m00*det, m01*det, m10*det, m11*det
	solve := func(yc, yw, rc, rw float64) (kc, kw, leak float64) {
		dc, dw, leak := p.rates(yc, yw, m)
		rc, rw = dc+rc*hi, dw+rw*hi
		return m11*rc - m01*rw, m00*rw - m10*rc, leak
	}
	xc, xw := x[0], x[1]
	k1c, k1w, l1 := solve(xc, xw, 0, 0)

	y2c, y2w := xc+a21*k1c, xw+a21*k1w
	k2c, k2w, l2 := solve(y2c, y2w, c21*k1c, c21*k1w)

	y3c, y3w := xc+a31*k1c+a32*k2c, xw+a31*k1w+a32*k2w
	k3c, k3w, l3 := solve(y3c, y3w, c31*k1c+c32*k2c, c31*k1w+c32*k2w)

	y4c, y4w := xc+a41*k1c+a42*k2c+a43*k3c, xw+a41*k1w+a42*k2w+a43*k3w
	k4c, k4w, l4 := solve(y4c, y4w, c41*k1c+c42*k2c+c43*k3c, c41*k1w+c42*k2w+c43*k3w)

	y5c, y5w := xc+a51*k1c+a52*k2c+a53*k3c+a54*k4c, xw+a51*k1w+a52*k2w+a53*k3w+a54*k4w
	k5c, k5w, l5 := solve(y5c, y5w, c51*k1c+c52*k2c+c53*k3c+c54*k4c, c51*k1w+c52*k2w+c53*k3w+c54*k4w)

	y6c, y6w := y5c+k5c, y5w+k5w
	k6c, k6w, l6 := solve(y6c, y6w, c61*k1c+c62*k2c+c63*k3c+c64*k4c+c65*k5c, c61*k1w+c62*k2w+c63*k3w+c64*k4w+c65*k5w)

	q := &quadrature
	canister := gh * (q[0]*(xc+k1c) + q[1]*(y2c+k2c) + q[2]*(y3c+k3c) + q[3]*(y4c+k4c) + q[4]*(y5c+k5c) + q[5]*(y6c+k6c))
	var pumped float64
	switch {
	case !m.pump:
	case math.Max(math.Max(xc, math.Max(y2c, y3c)), math.Max(y4c, math.Max(y5c, y6c))) < p.DeepestMmHg:
		pumped = p.FreeFlowMLS*h - p.pumpSlope*canister
	default: // beyond its deepest the pump moves nothing
		slope := 0.0
		if xc < p.DeepestMmHg {
			slope = p.pumpSlope
		}
		for i, y := range [6][2]float64{{xc, k1c}, {y2c, k2c}, {y3c, k3c}, {y4c, k4c}, {y5c, k5c}, {y6c, k6c}} {
			pumped += gh * q[i] * (p.pump(y[0]) - slope*y[1])
		}
	}
	return step{h: h, x0: x, x1: [2]float64{y6c + k6c, y6w + k6w}, err: [2]float64{k6c, k6w},
		pumped: pumped,
		dq: [3]float64{
			canister,
			gh * (q[0]*(xw+k1w) + q[1]*(y2w+k2w) + q[2]*(y3w+k3w) + q[3]*(y4w+k4w) + q[4]*(y5w+k5w) + q[5]*(y6w+k6w)),
			gh * (q[0]*(l1+leakSlope*k1w) + q[1]*(l2+leakSlope*k2w) + q[2]*(l3+leakSlope*k3w) + q[3]*(l4+leakSlope*k4w) +
				q[4]*(l5+leakSlope*k5w) + q[5]*(l6+leakSlope*k6w)),
		},
		c3: [2]float64{d21*k1c + d22*k2c + d23*k3c + d24*k4c + d25*k5c, d21*k1w + d22*k2w + d23*k3w + d24*k4w + d25*k5w},
		c4: [2]float64{d31*k1c + d32*k2c + d33*k3c + d34*k4c + d35*k5c, d31*k1w + d32*k2w + d33*k3w + d34*k4w + d35*k5w},
	}
}

// size measures a step's error against the tolerance: 1 is just acceptable. The content of gas, which decides
// when the pump switches hours later, is held to tol; the difference between canister and wound, which dies
// within the tube's lag, to a hundred times that.
func (p *Path) size(e [2]float64, tol float64) float64 {
	vc, vw := p.CanisterNodeML, p.WoundNodeML
	content := math.Abs(vc*e[0]+vw*e[1]) / (vc + vw)
	apart := math.Max(math.Abs(e[0]), math.Abs(e[1]))
	return math.Max(content, apart/100) / tol
}
