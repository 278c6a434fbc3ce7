package suction

import "math"

// replay is called at a switch-on. When the state has come back to where the last cycle of this stage began,
// every further cycle is the same, and as many whole ones as fit are counted without integrating them. It
// reports true when the piece is done.
//
// This is exact up to settledMmHg: the equations have no memory besides the two suctions and the pump's state,
// and within a hold nothing depends on time.
func (r *runner) replay() bool {
	if r.opt.EveryCycle || r.piece.SlopeMmHgS != 0 {
		return false
	}
	known := &r.held[r.piece.Stage]
	if r.recording && r.near(&r.now) && !(known.ok && r.near(known)) {
		r.now.periodS = r.now.sum.s
		r.now.sum.starts = 1
		r.now.switches = r.switches - r.now.switches
		r.now.ok = true
		*known, r.now = r.now, cycle{}
	}
	if known.ok && r.near(known) && known.periodS > 0 {
		// The start of the first repeated cycle has been counted by start already, so the last one ends with the
		// start of the cycle that follows: the number of starts is right as it stands.
		if n := math.Floor((r.piece.ToS - r.t) / known.periodS); n >= 1 {
			for i := range known.steps { // the first one may be where the wound reaches its order
				r.look(&known.steps[i], r.t+known.starts[i])
			}
			r.all.add(known.sum, n)
			r.byStage[r.piece.Stage].add(known.sum, n)
			r.replayed += int(n)
			r.switches += known.switches * int(n)
			end := math.Min(r.piece.ToS, r.t+n*known.periodS)
			r.sampleCycle(known, end)
			r.t = end
		}
		r.recording = false
		r.rest(known)
		return true
	}
	r.now.x0, r.now.ok, r.now.sum, r.now.switches = r.x, false, totals{}, r.switches
	r.now.steps, r.now.starts, r.now.modes = r.now.steps[:0], r.now.starts[:0], r.now.modes[:0]
	r.recording = true
	return false
}

// rest walks the part of a cycle that is left before the piece ends, along the recorded steps.
func (r *runner) rest(c *cycle) {
	for i := range c.steps {
		left := r.piece.ToS - r.t
		if left <= 0 {
			return
		}
		if c.modes[i] != r.m {
			r.m = c.modes[i]
			r.switches++
		}
		if left > c.steps[i].h {
			r.accept(c.steps[i], false)
			continue
		}
		r.steps++
		r.accept(r.p.take(c.steps[i].x0, left, r.m), true)
	}
}

// near tells that the state is that at the start of a cycle: each suction, and closer the gas in both volumes,
// measured by what the pump moves in the cycle.
func (r *runner) near(c *cycle) bool {
	dc, dw := r.x[0]-c.x0[0], r.x[1]-c.x0[1]
	gas := (r.p.CanisterNodeML*dc + r.p.WoundNodeML*dw) / r.p.AmbientMmHg
	return math.Abs(dc) <= settledMmHg && math.Abs(dw) <= settledMmHg && math.Abs(gas) <= settledShare*c.sum.pumped
}
