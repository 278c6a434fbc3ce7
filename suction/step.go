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

// vec is the state of the integration: suction in the canister, at the wound, and their time integrals, and the
// integral of the leak's flow. The integrals ride along in the same step, so that the balance of gas, which is
// linear in them, holds to rounding and not only to the step's error.
type vec [5]float64

// step is one accepted or tried step.
type step struct {
	h      float64
	x0, x1 [2]float64
	// dq are the increments of ∫s_c dt, ∫s_w dt and ∫leak dt.
	dq [3]float64
	// err is the embedded estimate of the local error of both suctions.
	err [2]float64
	// c3, c4 are the coefficients of the continuous extension of order 3.
	c3, c4 [2]float64
}

// at evaluates the continuous extension at a share θ of the step.
func (s *step) at(theta float64, i int) float64 {
	return s.x0[i]*(1-theta) + theta*(s.x1[i]+(1-theta)*(s.c3[i]+theta*s.c4[i]))
}

// take tries a step of h seconds from x in mode m. It is long because every stage of the method is spelled out.
func (p *Path) take(x [2]float64, h float64, m mode) step {
	jac, leakSlope := p.slopes(x, m)
	gh := rosGamma * h
	g := 1 / gh
	m00, m01, m10, m11 := g-jac[0], -jac[1], -jac[2], g-jac[3]
	det := 1 / (m00*m11 - m01*m10)
	hi := 1 / h
	y := x
	stage := func(k *vec, r *vec) {
		dc, dw, leak := p.rates(y, m)
		r0, r1 := dc+r[0]*hi, dw+r[1]*hi
		k[0] = (m11*r0 - m01*r1) * det
		k[1] = (m00*r1 - m10*r0) * det
		k[2] = (y[0] + r[2]*hi + k[0]) * gh
		k[3] = (y[1] + r[3]*hi + k[1]) * gh
		k[4] = (leak + r[4]*hi + leakSlope*k[1]) * gh
	}
	var k1, k2, k3, k4, k5, k6, r vec
	stage(&k1, &r)

	y[0], y[1] = x[0]+a21*k1[0], x[1]+a21*k1[1]
	for i := range r {
		r[i] = c21 * k1[i]
	}
	stage(&k2, &r)

	for i := range y {
		y[i] = x[i] + a31*k1[i] + a32*k2[i]
	}
	for i := range r {
		r[i] = c31*k1[i] + c32*k2[i]
	}
	stage(&k3, &r)

	for i := range y {
		y[i] = x[i] + a41*k1[i] + a42*k2[i] + a43*k3[i]
	}
	for i := range r {
		r[i] = c41*k1[i] + c42*k2[i] + c43*k3[i]
	}
	stage(&k4, &r)

	var sum vec
	for i := range sum {
		sum[i] = a51*k1[i] + a52*k2[i] + a53*k3[i] + a54*k4[i]
		r[i] = c51*k1[i] + c52*k2[i] + c53*k3[i] + c54*k4[i]
	}
	y[0], y[1] = x[0]+sum[0], x[1]+sum[1]
	stage(&k5, &r)

	for i := range sum {
		sum[i] += k5[i]
		r[i] = c61*k1[i] + c62*k2[i] + c63*k3[i] + c64*k4[i] + c65*k5[i]
	}
	y[0], y[1] = x[0]+sum[0], x[1]+sum[1]
	stage(&k6, &r)

	s := step{h: h, x0: x}
	for i := range s.x1 {
		s.x1[i] = x[i] + sum[i] + k6[i]
		s.err[i] = k6[i]
		s.c3[i] = d21*k1[i] + d22*k2[i] + d23*k3[i] + d24*k4[i] + d25*k5[i]
		s.c4[i] = d31*k1[i] + d32*k2[i] + d33*k3[i] + d34*k4[i] + d35*k5[i]
	}
	for i := range s.dq {
		s.dq[i] = sum[i+2] + k6[i+2]
	}
	return s
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
