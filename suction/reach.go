package suction

import (
	"math"

	"lowtide/therapy"
)

// reach sums up how often a stage was reached.
type reach struct {
	occurrences, reached int
	// first and longest are times from the stage's start in seconds; cutShort counts runs that ended before the
	// stage did, without reaching it.
	first, longest    float64
	cutShort          int
	lowMmHg, highMmHg float64
	seen              bool
}

// occurrence is the stage that is running now.
type occurrence struct {
	stage   int
	fromS   float64
	open    bool
	reached bool
	// goal is the suction that must be crossed, from below (up) or from above.
	goal float64
	up   bool
}

// open begins an occurrence of a stage: it is reached once the wound is within half a band of the order (eq. 11).
func (r *runner) open(piece therapy.Piece, orderMmHg float64) {
	r.close(piece.FromS, nil)
	half := r.p.BandMmHg / 2
	o := occurrence{stage: piece.Stage, fromS: piece.FromS, open: true}
	switch w := r.x[1]; {
	case w < orderMmHg-half:
		o.goal, o.up = orderMmHg-half, true
	case w > orderMmHg+half:
		o.goal = orderMmHg + half
	default:
		r.occ = o
		r.reachedAt(piece.FromS)
		return
	}
	r.occ = o
}

// reachedAt notes that the wound is there.
func (r *runner) reachedAt(t float64) {
	o, s := &r.occ, &r.reach[r.occ.stage]
	o.reached = true
	took := math.Max(0, t-o.fromS)
	if s.reached == 0 {
		s.first = took
	}
	s.reached++
	s.longest = math.Max(s.longest, took)
}

// look searches a step for the moment at which the goal is crossed, and keeps the extremes seen after it.
func (r *runner) look(s *step, t float64) {
	o := &r.occ
	if !o.reached {
		sign := 1.0
		if !o.up {
			sign = -1
		}
		if sign*(s.x1[1]-o.goal) < 0 {
			return
		}
		a, b := 0.0, 1.0
		for i := 0; i < 40; i++ {
			if mid := (a + b) / 2; sign*(s.at(mid, 1)-o.goal) < 0 {
				a = mid
			} else {
				b = mid
			}
		}
		r.reachedAt(t + b*s.h)
	}
	e := &r.reach[o.stage]
	if w := s.x1[1]; !e.seen {
		e.lowMmHg, e.highMmHg, e.seen = w, w, true
	} else {
		e.lowMmHg, e.highMmHg = math.Min(e.lowMmHg, w), math.Max(e.highMmHg, w)
	}
}

// close ends the running occurrence at time t. At the end of the run program tells whether it was cut short.
func (r *runner) close(t float64, program therapy.Program) {
	o := &r.occ
	if !o.open {
		return
	}
	o.open = false
	s := &r.reach[o.stage]
	if !o.reached && program != nil && t-o.fromS < program[o.stage].LengthS()*(1-1e-9) {
		s.cutShort++
		return
	}
	s.occurrences++
}
