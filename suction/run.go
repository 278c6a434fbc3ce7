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
	// MostSteps is the work after which a run is given up with CannotTell; 0 means 12 million steps, some seconds.
	MostSteps int
}

const (
	defaultTolMmHg = 1e-8
	// settledMmHg is how closely the state must return for a pump cycle to count as repeating. The gas that such a
	// cycle seems to win or lose counts as often as the cycle is repeated, so it must also be no more than
	// settledShare of what the pump moves in the cycle.
	settledMmHg  = 1e-10
	settledShare = 1e-10
	// mostSteps bounds the work of one run, to some seconds.
	mostSteps = 12_000_000
)

// totals are integrals over time.
type totals struct {
	s, onS, canister, pumped, canisterVent, wound, leak float64
	starts                                              int
}

func (a *totals) add(b totals, n float64) {
	a.s += n * b.s
	a.onS += n * b.onS
	a.canister += n * b.canister
	a.pumped += n * b.pumped
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
	if opt.MostSteps <= 0 {
		opt.MostSteps = mostSteps
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
		if r.steps > r.opt.MostSteps {
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

// accept moves the run to the end of a step.
func (r *runner) accept(s step, toEnd bool) {
	sum := totals{s: s.h, canister: s.dq[0], wound: s.dq[1], leak: s.dq[2]}
	if r.m.pump {
		sum.onS, sum.pumped = s.h, s.pumped
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
