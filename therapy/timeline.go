package therapy

import "math"

// Moment is what is ordered at one time.
type Moment struct {
	// Stage is the index of the running stage, Cycle how many cycles were completed before.
	Stage int `json:"stage"`
	Cycle int `json:"cycle"`
	// SuctionMmHg is the ordered depth now; SlopeMmHgS is its change per second (0 in a hold).
	SuctionMmHg float64 `json:"suction_mmHg"`
	SlopeMmHgS  float64 `json:"slope_mmHg_s"`
}

// At returns what is ordered tS seconds after the start. A stage begins at its first moment: at the very
// second of a change the new stage counts. Times before 0, and programs that cannot be run, give a zero Moment.
func (p Program) At(tS float64) Moment {
	c := p.CycleS()
	if !(c > 0) || !(tS >= 0) || math.IsInf(tS, 0) {
		return Moment{}
	}
	n := math.Floor(tS / c)
	dt := tS - n*c
	if dt < 0 || dt >= c {
		dt = 0
	}
	for i, s := range p {
		length := s.LengthS()
		if dt < length || i == len(p)-1 {
			return p.inStage(i, int(n), dt)
		}
		dt -= length
	}
	return Moment{}
}

func (p Program) inStage(i, cycle int, dt float64) Moment {
	s := p[i]
	m := Moment{Stage: i, Cycle: cycle, SuctionMmHg: s.SuctionMmHg}
	if ramp := s.RampMin * 60; dt < ramp {
		from := p.before(i, cycle == 0)
		m.SlopeMmHgS = (s.SuctionMmHg - from) / ramp
		m.SuctionMmHg = from + m.SlopeMmHgS*dt
	}
	return m
}

// Piece is a stretch of the ordered waveform on one straight line.
type Piece struct {
	Stage, Cycle int
	// FromS and ToS are seconds since the start; the ordered suction is StartMmHg + SlopeMmHgS·(t - FromS).
	FromS, ToS            float64
	StartMmHg, SlopeMmHgS float64
	// Opens marks the first piece of a stage.
	Opens bool
}

// shortestRampS is the ramp below which Pieces gives a step: its slope would be lost in the rounding of time.
const shortestRampS = 1e-3

// Pieces cuts the time from 0 to endS into straight pieces in time order. Stages and ramps without length
// give none. It returns nil when the program cannot be run.
func (p Program) Pieces(endS float64) []Piece {
	cycleS := p.CycleS()
	if !p.Check().OK || !(endS > 0) {
		return nil
	}
	var out []Piece
	for cycle := 0; ; cycle++ {
		// Each cycle's origin is a product, not a running sum, so that rounding does not grow with time.
		t := float64(cycle) * cycleS
		for i, s := range p {
			from, ramp, hold := p.before(i, cycle == 0), s.RampMin*60, s.HoldMin*60
			if ramp < shortestRampS {
				ramp, hold = 0, ramp+hold
			}
			opens := true
			if ramp > 0 {
				out = append(out, Piece{i, cycle, t, t + ramp, from, (s.SuctionMmHg - from) / ramp, true})
				opens = false
			}
			if hold > 0 {
				out = append(out, Piece{i, cycle, t + ramp, t + ramp + hold, s.SuctionMmHg, 0, opens})
			}
			t += ramp + hold
			for len(out) > 0 && out[len(out)-1].ToS >= endS {
				last := &out[len(out)-1]
				last.ToS = endS
				if last.FromS < endS {
					return out
				}
				out = out[:len(out)-1]
				// The sum of the parts may fall short of endS by its rounding: the piece before ends there.
				out[len(out)-1].ToS = endS
			}
		}
	}
}

// area is the integral of the ordered suction from 0 to tS in mmHg·s.
func (p Program) area(tS float64) float64 {
	c := p.CycleS()
	if !(c > 0) || tS <= 0 {
		return 0
	}
	n := math.Floor(tS / c)
	a := n * p.cycleArea()
	if n >= 1 { // the first cycle began at ambient
		a += p.stageArea(0, true, p[0].LengthS()) - p.stageArea(0, false, p[0].LengthS())
	}
	dt := tS - n*c
	for i, s := range p {
		if dt <= 0 {
			break
		}
		a += p.stageArea(i, n == 0, math.Min(dt, s.LengthS()))
		dt -= s.LengthS()
	}
	return a
}

// Window is a stretch of time in seconds since the start of the program.
type Window struct {
	FromS float64 `json:"from_s"`
	ToS   float64 `json:"to_s"`
}

// Totals is what was ordered in a window once pauses are taken out.
type Totals struct {
	// WindowS = TherapyS + PausedS, all in seconds.
	WindowS  float64 `json:"window_s"`
	TherapyS float64 `json:"therapy_s"`
	PausedS  float64 `json:"paused_s"`
	// DoseMmHgH is the integral of the ordered suction outside pauses, in mmHg·h.
	DoseMmHgH float64 `json:"dose_mmHg_h"`
	// MeanMmHg is the mean over the whole window with pauses at 0; RunningMeanMmHg over TherapyS only.
	MeanMmHg        float64 `json:"mean_mmHg"`
	RunningMeanMmHg float64 `json:"running_mean_mmHg"`
}

// Total adds up what was ordered in w. A pause blanks the order: the program's clock runs on through it, and
// nothing is ordered meanwhile. Pauses may come in any order, overlap, and reach beyond the window; those that
// end before they start are ignored. An empty or backward window gives zeros.
func (p Program) Total(w Window, pauses []Window) Totals {
	from, to := math.Max(0, w.FromS), w.ToS
	if !(to > from) || math.IsInf(to, 0) {
		return Totals{}
	}
	out := Totals{WindowS: to - from}
	dose := p.area(to) - p.area(from)
	for _, q := range merged(pauses) {
		a, b := math.Max(from, q.FromS), math.Min(to, q.ToS)
		if b > a {
			out.PausedS += b - a
			dose -= p.area(b) - p.area(a)
		}
	}
	out.TherapyS = math.Max(0, out.WindowS-out.PausedS)
	out.DoseMmHgH = math.Max(0, dose) / 3600
	out.MeanMmHg = math.Max(0, dose) / out.WindowS
	if out.TherapyS > 0 {
		out.RunningMeanMmHg = math.Max(0, dose) / out.TherapyS
	}
	return out
}
