package suction

import (
	"math"

	"lowtide/therapy"
)

// Sample is one moment of a run. Suctions are depths below ambient in mmHg.
type Sample struct {
	TS          float64 `json:"t_s"`
	OrderedMmHg float64 `json:"ordered_mmHg"`
	PumpMmHg    float64 `json:"pump_mmHg"`
	WoundMmHg   float64 `json:"wound_mmHg"`
}

// sameTime is the share of a trace step below which two times are one.
const sameTime = 1e-6

// sampleStep writes the samples that fall into a step from r.t up to, and without, next.
func (r *runner) sampleStep(s *step, next float64) {
	if r.opt.StepS <= 0 {
		return
	}
	for {
		t := float64(r.sample) * r.opt.StepS
		if t >= next {
			return
		}
		theta := math.Max(0, math.Min(1, (t-r.t)/s.h))
		r.trace = append(r.trace, Sample{t, r.order(t), s.at(theta, 0), s.at(theta, 1)})
		r.sample++
	}
}

// sampleCycle writes the samples of repeated cycles from r.t up to, and without, end.
func (r *runner) sampleCycle(c *cycle, end float64) {
	if r.opt.StepS <= 0 {
		return
	}
	i, lap := 0, 0.0
	for {
		t := float64(r.sample) * r.opt.StepS
		if t >= end {
			return
		}
		n := math.Floor((t - r.t) / c.periodS)
		phase := t - r.t - n*c.periodS
		if n != lap || phase < c.starts[i] {
			i, lap = 0, n
		}
		for i+1 < len(c.starts) && c.starts[i+1] <= phase {
			i++
		}
		s := &c.steps[i]
		theta := math.Max(0, math.Min(1, (phase-c.starts[i])/s.h))
		r.trace = append(r.trace, Sample{t, r.piece.StartMmHg, s.at(theta, 0), s.at(theta, 1)})
		r.sample++
	}
}

// lastSample closes the trace with the end of the run. Should a stage change at that very second, the new one counts,
// as everywhere in the trace. A sample that is at the end but for the rounding of hours to seconds is replaced.
func (r *runner) lastSample(program therapy.Program) {
	if r.opt.StepS > 0 {
		if n := len(r.trace); n > 1 && r.endS-r.trace[n-1].TS < sameTime*r.opt.StepS {
			r.trace = r.trace[:n-1]
		}
		r.trace = append(r.trace, Sample{r.endS, program.At(r.endS).SuctionMmHg, r.x[0], r.x[1]})
	}
}
