package healing

import "math"

// leg is a filter on its way: the belief at a time, and the likelihood of the readings so far.
type leg struct {
	state   state
	wk      float64 // the time of the belief
	refWk   float64 // the time whose size is kept in stRef
	haveRef bool
	next    int // the next reading
	wild    wildSet
	logLik  float64 // without the logarithm of det
	det     float64 // product of variances, whose logarithm is taken a few at a time
}

// run filters the readings under one node and returns the log likelihood, in units of the measure's logarithm,
// and the belief at the last reading's time, with the size at refWk in stRef.
func (f *Fit) run(c *config, readings []reading, wild wildSet, refWk float64) (logLik float64, s state) {
	l := f.begin(c, readings, wild)
	l.refWk = refWk
	if !math.IsNaN(c.changeWk) {
		f.follow(&l, c, readings, c.changeWk)
		f.change(&l.state, c)
	}
	f.finish(&l, c, readings)
	return l.logLik, l.state
}

// begin sets a leg at the first reading, which is not taken in yet.
func (f *Fit) begin(c *config, readings []reading, wild wildSet) leg {
	l := leg{wk: readings[0].wk, wild: wild, det: 1}
	l.refWk = f.refWk(readings)
	first := 0
	for first < len(readings)-1 && l.ignores(first) {
		first++
	}
	f.start(&l.state, c, &readings[first])
	l.state.keep(stStart)
	return l
}

// ignores tells whether a reading counts as wild.
func (l *leg) ignores(j int) bool { return l.wild.has(j) }

// finish takes in the readings that are left and ends at the last one's time.
func (f *Fit) finish(l *leg, c *config, readings []reading) {
	f.follow(l, c, readings, math.Inf(1))
	f.move(l, c, readings[len(readings)-1].wk)
	l.logLik -= 0.5 * math.Log(l.det)
	if !l.haveRef {
		l.state.keep(stRef)
	}
}

// follow takes in the readings before a time, and moves to it when it is finite.
func (f *Fit) follow(l *leg, c *config, readings []reading, until float64) {
	for ; l.next < len(readings) && readings[l.next].wk < until; l.next++ {
		r := &readings[l.next]
		if l.ignores(l.next) {
			l.logLik += wildLogDensity
			continue
		}
		f.move(l, c, r.wk)
		z, variance, unit := r.log, r.cv*r.cv*c.noise*c.noise, 1.0
		if c.scale != onLog {
			z = c.scale.of(f.Measure, r.val)
			unit = math.Max(z, 0.03) * c.scale.exponent(f.power)
			variance *= unit * unit
		}
		nu, S, ph := l.state.innovation(z, variance, r.bias, c.scale)
		l.logLik -= 0.5*nu*nu/S + halfLog2Pi
		if l.det *= S / (unit * unit); l.det < 1e-200 || l.det > 1e200 {
			l.logLik -= 0.5 * math.Log(l.det)
			l.det = 1
		}
		l.state.learn(nu, S, &ph)
		if !l.haveRef && l.refWk <= l.wk {
			l.state.keep(stRef)
			l.haveRef = true
		}
	}
	if !math.IsInf(until, 1) {
		f.move(l, c, until)
	}
}

// start sets the belief at the time of the first reading, spread widely around r, the first one that counts.
func (f *Fit) start(s *state, c *config, r *reading) {
	s.n = stRuler
	for k, b := range f.biasSD {
		if b > 0 {
			s.n = stRuler + k + 1
		}
	}
	sd, p := diffuseSDLog, 1.0
	s.mean[stX] = r.log
	if c.scale != onLog {
		p = c.scale.exponent(f.power)
		s.mean[stX] = c.scale.of(f.Measure, r.val)
		sd = math.Max(s.mean[stX], 0.03) * p * diffuseSDLog
	}
	s.cov[stX][stX] = sd * sd
	s.newRate(-c.rate.Mean, c.rate.SD)
	s.cov[stDrift][stDrift] = c.sigma * c.sigma
	if c.early != nil {
		// the rate at the start is lasting plus passing part, and owes nothing to the lasting one
		v := c.rate.SD * c.rate.SD
		s.mean[stDrift] = c.rate.Mean - c.early.Mean
		s.cov[stDrift][stDrift] += c.early.SD*c.early.SD + v
		s.cov[stRate][stDrift], s.cov[stDrift][stRate] = -v, -v
	}
	for k, b := range f.biasSD {
		s.cov[stRuler+k][stRuler+k] = p * b * p * b
	}
}

// change sets a leg's belief onto the course after a change.
func (f *Fit) change(s *state, c *config) {
	if c.family == Jump {
		p := 1.0
		if f.Measure != Area {
			p = 0.5 / f.power
		}
		s.mean[stX] += p * c.then.Mean
		s.cov[stX][stX] += p * p * c.then.SD * c.then.SD
		return
	}
	s.newRate(-c.then.Mean, c.then.SD)
}

// move advances to a time, stopping on the way to keep the reference.
func (f *Fit) move(l *leg, c *config, to float64) {
	for l.wk < to {
		next := to
		if !l.haveRef && l.refWk > l.wk && l.refWk < next {
			next = l.refWk
		}
		l.state.advance(next-l.wk, c.sigma, c.relaxWk, f.decays.of(next-l.wk, c.relaxWk))
		l.wk = next
		if next == l.refWk && !l.haveRef {
			l.state.keep(stRef)
			l.haveRef = true
		}
	}
}
