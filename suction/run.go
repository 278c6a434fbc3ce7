package suction

import (
	"math"

	"lowtide/therapy"
)

// Options steer the computation, not the physics. The zero value is good for a page.
type Options struct {
	// StepS is the distance of trace samples in seconds; 0 makes no trace.
	StepS float64
	// Tol is the local error that a step may add to the gas content, in mmHg; 0 means 1e-8.
	Tol float64
	// EveryCycle integrates every pump cycle instead of repeating one that has settled: for checks.
	EveryCycle bool
}

const (
	defaultTolMmHg = 1e-8
	// settledMmHg is how closely the state must return for a pump cycle to count as repeating.
	settledMmHg = 1e-10
	// mostSteps bounds the work of one run, to a few seconds.
	mostSteps = 20_000_000
)

// totals are integrals over time.
type totals struct {
	s, onS, canister, canisterOn, canisterVent, wound, leak float64
	starts                                                  int
}

func (a *totals) add(b totals, n float64) {
	a.s += n * b.s
	a.onS += n * b.onS
	a.canister += n * b.canister
	a.canisterOn += n * b.canisterOn
	a.canisterVent += n * b.canisterVent
	a.wound += n * b.wound
	a.leak += n * b.leak
	a.starts += int(n) * b.starts
}

// cycle is one settled pump cycle, from switching on to switching on.
type cycle struct {
	ok      bool
	x0      [2]float64
	periodS float64
	sum     totals
	steps   []step
	starts  []float64 // time of each step since the cycle's start
	modes   []mode
	// switches is how often pump or vent switch in one cycle (while recording: the count at its start).
	switches int
}

// runner walks along the ordered pieces, from event to event.
type runner struct {
	p     Path
	opt   Options
	t     float64
	x     [2]float64
	m     mode
	piece therapy.Piece
	// held holds the settled cycle of each stage, now the cycle being recorded since the last switch-on.
	held       []cycle
	now        cycle
	recording  bool
	all        totals
	byStage    []totals
	reach      []reach
	occ        occurrence
	trace      []Sample
	sample     int
	steps      int
	switches   int
	replayed   int
	gaveUp     bool
	endS       float64
	sensorSide int
}

func newRunner(p Path, program therapy.Program, endS float64, startMmHg float64, opt Options) *runner {
	if opt.Tol <= 0 {
		opt.Tol = defaultTolMmHg
	}
	r := &runner{p: p, opt: opt, x: [2]float64{startMmHg, startMmHg}, endS: endS,
		held: make([]cycle, len(program)), byStage: make([]totals, len(program)), reach: make([]reach, len(program))}
	if p.SensorAtWound {
		r.sensorSide = 1
	}
	if opt.StepS > 0 {
		r.trace = make([]Sample, 0, int(endS/opt.StepS)+2)
	}
	return r
}

// run integrates to the end (eqs. 2 to 10).
func (r *runner) run(program therapy.Program) {
	for _, piece := range program.Pieces(r.endS) {
		r.piece = piece
		if piece.Opens {
			r.open(piece, program[piece.Stage].SuctionMmHg)
		}
		r.recording = false
		r.enter()
		r.through()
		if r.gaveUp {
			return
		}
	}
	r.close(r.endS, program)
	r.lastSample(program)
}

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

// through integrates one piece from r.t to its end.
func (r *runner) through() {
	end := r.piece.ToS
	h := r.firstStep()
	for r.t < end {
		left := end - r.t
		last := h >= left*(1-1e-12)
		try := h
		if last {
			try = left
		}
		s := r.p.take(r.x, try, r.m)
		r.steps++
		if r.steps > mostSteps {
			r.gaveUp = true
			return
		}
		size := r.p.size(s.err, r.opt.Tol)
		if !(size <= 1) && try > 1e-12 {
			h = try * math.Max(0.1, math.Min(0.9, 0.9/root4(size)))
			if math.IsNaN(size) {
				h = try / 10
			}
			continue
		}
		due := r.distance(s.x1[r.sensorSide], r.t+try) >= 0
		if due {
			s = r.locate(s)
			last = false
		}
		r.accept(s, last)
		if due {
			if r.toggle() {
				return
			}
			h = r.firstStep()
			continue
		}
		if !last {
			h = try * math.Min(8, math.Max(0.3, 0.9/root4(math.Max(size, 1e-12))))
		}
	}
}

func root4(x float64) float64 { return math.Sqrt(math.Sqrt(x)) }

// firstStep is a share of the fastest time constant of the current mode.
func (r *runner) firstStep() float64 {
	j, _ := r.p.slopes(r.x, r.m)
	return 0.2 / (math.Abs(j[0]) + math.Abs(j[3]) + 1e-9)
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

// accept moves the run to the end of a step.
func (r *runner) accept(s step, toEnd bool) {
	sum := totals{s: s.h, canister: s.dq[0], wound: s.dq[1], leak: s.dq[2]}
	if r.m.pump {
		sum.onS, sum.canisterOn = s.h, s.dq[0]
	}
	if r.m.vent {
		sum.canisterVent = s.dq[0]
	}
	r.all.add(sum, 1)
	r.byStage[r.piece.Stage].add(sum, 1)
	if r.recording {
		r.now.starts = append(r.now.starts, r.now.sum.s)
		r.now.steps = append(r.now.steps, s)
		r.now.modes = append(r.now.modes, r.m)
		r.now.sum.add(sum, 1)
	}
	next := r.t + s.h
	if toEnd {
		next = r.piece.ToS
	}
	r.look(&s, r.t)
	r.sampleStep(&s, next)
	r.t, r.x = next, s.x1
}
