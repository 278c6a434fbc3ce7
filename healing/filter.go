package healing

import "math"

// The states of the filter. Time is in weeks.
const (
	stX     = iota // the size on the family's scale: its logarithm, or its equivalent length in cm
	stRate         // the lasting rate, per week
	stDrift        // the passing part of the rate, per week
	stRef          // the size two weeks ago, kept to compare
	stStart        // the size at the first reading, kept to compare
	stRuler        // log factor of ruler readings in this wound
	stOther        // log factor of other readings that are not traced
	nStates
)

// state is a normal belief about the wound at one time.
type state struct {
	// n is how many states are in use; the factors of methods come last, so that they can be left out
	n    int
	mean [nStates]float64
	cov  [nStates][nStates]float64
}

// decays keeps exp(-dt/T) of the steps that the nodes of a fit share: one in four of a fit's nanoseconds went there.
type decays [64]struct{ dt, relaxWk, phi float64 }

func (d *decays) of(dt, relaxWk float64) float64 {
	if d == nil {
		return math.Exp(-dt / relaxWk)
	}
	e := &d[(math.Float64bits(dt)*0x9E3779B97F4A7C15+math.Float64bits(relaxWk)*0xC2B2AE3D27D4EB4F)>>58]
	if e.dt != dt || e.relaxWk != relaxWk {
		e.dt, e.relaxWk, e.phi = dt, relaxWk, math.Exp(-dt/relaxWk)
	}
	return e.phi
}

// advance moves a state forward by dt weeks (eq. 5): the rate is a lasting part plus a passing part that forgets
// with time constant relaxWk and has standard deviation sigma; phi is exp(-dt/relaxWk).
func (s *state) advance(dt, sigma, relaxWk, phi float64) {
	if dt <= 0 {
		return
	}
	u := dt / relaxWk
	g := relaxWk * (1 - phi)
	s.mean[stX] += dt*s.mean[stRate] + g*s.mean[stDrift]
	s.mean[stDrift] *= phi
	c := &s.cov
	for j := range s.n {
		c[stX][j] += dt*c[stRate][j] + g*c[stDrift][j]
		c[stDrift][j] *= phi
	}
	for i := range s.n {
		c[i][stX] += dt*c[i][stRate] + g*c[i][stDrift]
		c[i][stDrift] *= phi
	}
	qxx, qxd, qdd := driftCov(u, phi, sigma, relaxWk)
	c[stX][stX] += qxx
	c[stX][stDrift] += qxd
	c[stDrift][stX] += qxd
	c[stDrift][stDrift] += qdd
}

// driftCov is the covariance that a drift of stationary deviation sigma adds to size and drift (eq. 6).
func driftCov(u, phi, sigma, relaxWk float64) (qxx, qxd, qdd float64) {
	v := sigma * sigma
	poly := 2*u - 3 + 4*phi - phi*phi
	if u < 1e-2 {
		// the polynomial cancels below this; its series is 2u³/3 - u⁴/2 + ...
		poly = u * u * u * (2.0/3 - u/2)
	}
	return v * relaxWk * relaxWk * poly, v * relaxWk * (1 - phi) * (1 - phi), v * (1 - phi*phi)
}

// keep stores the present size in a slot, to compare with later.
func (s *state) keep(slot int) {
	s.mean[slot] = s.mean[stX]
	for j := range s.n {
		s.cov[slot][j] = s.cov[stX][j]
	}
	for i := range s.n {
		s.cov[i][slot] = s.cov[i][stX]
	}
	s.cov[slot][slot] = s.cov[stX][stX]
}

// newRate replaces the lasting rate by one that owes nothing to the old (a change of course at that time).
func (s *state) newRate(mean, sd float64) {
	s.mean[stRate] = mean
	for j := range s.n {
		s.cov[stRate][j], s.cov[j][stRate] = 0, 0
	}
	s.cov[stRate][stRate] = sd * sd
}

// innovation returns the difference of a reading z from what is expected, its variance, and P·H.
func (s *state) innovation(z, variance float64, bias int, sc scale) (nu, S float64, ph [nStates]float64) {
	hx, hb := 1.0, 0.0
	pred := s.mean[stX]
	if bias > 0 {
		hb = 1
		pred += s.mean[bias]
		if sc != onLog {
			// there a log factor acts as a factor; linear at the mean
			f := math.Exp(s.mean[bias])
			hx, hb = f, s.mean[stX]*f
			pred = s.mean[stX] * f
		}
	}
	for i := range s.n {
		ph[i] = s.cov[i][stX] * hx
		if bias > 0 {
			ph[i] += s.cov[i][bias] * hb
		}
	}
	S = ph[stX]*hx + variance
	if bias > 0 {
		S += ph[bias] * hb
	}
	return z - pred, S, ph
}

// learn takes in an innovation.
func (s *state) learn(nu, S float64, ph *[nStates]float64) {
	inv := 1 / S
	for i := range s.n {
		k := ph[i] * inv
		if k == 0 {
			continue
		}
		s.mean[i] += k * nu
		for j := range s.n {
			s.cov[i][j] -= k * ph[j]
		}
	}
}

const halfLog2Pi = 0.91893853320467274178
