package suction

import "math"

// Pump and vent: when they switch, and how the moment is found (eq. 10, rules 10a to 10d).

// order is the ordered suction at time t; upper and lower are the edges of the control band (eq. 10).
func (r *runner) order(t float64) float64 {
	return r.piece.StartMmHg + r.piece.SlopeMmHgS*(t-r.piece.FromS)
}
func (r *runner) upper(t float64) float64 { return r.order(t) + r.p.BandMmHg/2 }
func (r *runner) lower(t float64) float64 { return r.order(t) - r.p.BandMmHg/2 }

// rests tells that nothing is ordered: the pump stays off whatever its sensor reads.
func (r *runner) rests() bool { return r.piece.SlopeMmHgS == 0 && r.piece.StartMmHg == 0 }

// enter decides the state of pump and vent at the start of a piece (rules 10a to 10d).
func (r *runner) enter() {
	s := r.x[r.sensorSide]
	switch {
	case !r.rests() && s <= r.lower(r.t):
		r.start()
		return
	case r.m.pump && (r.rests() || s >= r.upper(r.t)):
		r.m.pump = false
		r.switches++
	}
	if r.m.pump {
		return
	}
	if r.m.vent && s <= r.order(r.t) {
		r.m.vent = false
		r.switches++
	}
	r.ventIfTooDeep()
}

// start switches the pump on, which closes the vent.
func (r *runner) start() {
	if !r.m.pump {
		r.all.starts++
		r.byStage[r.piece.Stage].starts++
		r.switches++
	}
	r.m = mode{pump: true}
}

// ventIfTooDeep opens the vent when the sensor is above the band, or on its edge and rising.
func (r *runner) ventIfTooDeep() {
	if r.p.VentMLSMmHg == 0 || r.m.vent || r.m.pump {
		return
	}
	above := r.x[r.sensorSide] - r.upper(r.t)
	dc, dw, _ := r.p.rates(r.x[0], r.x[1], r.m)
	slope := [2]float64{dc, dw}[r.sensorSide] - r.piece.SlopeMmHgS
	if above > 1e-9 || (above > -1e-9 && slope > 0) {
		r.m.vent = true
		r.switches++
	}
}

// distance is negative until the next switch is due, with the time dt into the current step.
func (r *runner) distance(s, t float64) float64 {
	switch {
	case r.m.pump:
		return s - r.upper(t)
	case r.m.vent:
		return r.order(t) - s
	case r.rests():
		if r.p.VentMLSMmHg > 0 {
			return s - r.upper(t)
		}
		return -1
	}
	if d := r.lower(t) - s; d >= 0 || r.p.VentMLSMmHg == 0 {
		return d
	}
	return math.Max(r.lower(t)-s, s-r.upper(t))
}

// locate shortens a step that runs past a switch so that it ends on it, by trying true steps: the state at the
// switch then has the full order of the method, not that of its continuous extension.
func (r *runner) locate(s step) step {
	side := r.sensorSide
	lo, hi := 0.0, s.h
	dLo, dHi := r.distance(r.x[side], r.t), r.distance(s.x1[side], r.t+s.h)
	// First guess from the continuous extension, which is nearly right.
	a, b := 0.0, 1.0
	for i := 0; i < 40 && b-a > 1e-12; i++ {
		mid := (a + b) / 2
		if r.distance(s.at(mid, side), r.t+mid*s.h) < 0 {
			a = mid
		} else {
			b = mid
		}
	}
	guess := b * s.h
	best := s
	for i := 0; i < 60; i++ {
		if !(guess > lo && guess < hi) {
			guess = (lo + hi) / 2
		}
		if guess <= lo || guess >= hi {
			break
		}
		try := r.p.take(r.x, guess, r.m)
		r.steps++
		d := r.distance(try.x1[side], r.t+guess)
		if math.Abs(d) < 1e-12 {
			return try
		}
		if d < 0 {
			lo, dLo = guess, d
		} else {
			hi, dHi, best = guess, d, try
		}
		if hi-lo < 1e-15*(1+r.t) {
			break
		}
		// Newton with the slope at the trial's end converges at once; the bracket guards it. The distance rises
		// through zero, whichever way the suction goes.
		dc, dw, _ := r.p.rates(try.x1[0], try.x1[1], r.m)
		guess -= d / math.Abs([2]float64{dc, dw}[side]-r.piece.SlopeMmHgS)
		if i > 6 { // a stubborn case: bisect
			guess = lo + (hi-lo)*math.Max(0.05, math.Min(0.95, -dLo/(dHi-dLo)))
			if i%2 == 0 {
				guess = (lo + hi) / 2
			}
		}
	}
	return best
}

// toggle switches pump or vent at a located event. It reports true when a settled cycle took the run to the end
// of the piece.
func (r *runner) toggle() bool {
	switch {
	case r.m.pump:
		r.m.pump = false
		r.switches++
		r.ventIfTooDeep()
	case r.m.vent:
		r.m.vent = false
		r.switches++
	case r.x[r.sensorSide] > r.order(r.t):
		r.m.vent = true
		r.switches++
	default:
		r.start()
		return r.replay()
	}
	return false
}
