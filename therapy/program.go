package therapy

import (
	"fmt"
	"math"
)

// Stage is one part of a program: ramp to a suction, then hold it.
type Stage struct {
	// SuctionMmHg is the ordered depth below ambient, 0 for a rest.
	SuctionMmHg float64 `json:"suction_mmHg"`
	// HoldMin is the time at that depth in minutes, without the ramp.
	HoldMin float64 `json:"hold_min"`
	// RampMin is the time in minutes of the straight line from the stage before, 0 for a step.
	RampMin float64 `json:"ramp_min,omitempty"`
}

// LengthS is the whole stage, ramp and hold, in seconds.
func (s Stage) LengthS() float64 { return (s.RampMin + s.HoldMin) * 60 }

// Program is a list of stages that repeats from its end.
type Program []Stage

// Status says whether a program can be run; OK is the empty sentence.
type Status struct {
	OK       bool   `json:"ok"`
	Sentence string `json:"sentence"`
}

// Check tells whether the program can be run: at least one stage, every number finite and not negative, no
// suction deeper than a vacuum, and a cycle longer than zero. It names the first stage that is wrong.
func (p Program) Check() Status {
	if len(p) == 0 {
		return Status{Sentence: "The program has no stage; give at least one suction with a hold time."}
	}
	total := 0.0
	for i, s := range p {
		for _, x := range []float64{s.SuctionMmHg, s.HoldMin, s.RampMin} {
			if math.IsNaN(x) || math.IsInf(x, 0) || x < 0 {
				return Status{Sentence: fmt.Sprintf("Stage %d has a number that is negative or not a number; suction is a depth below ambient and times are minutes, all 0 or more.", i+1)}
			}
		}
		if s.SuctionMmHg > 760 {
			return Status{Sentence: fmt.Sprintf("Stage %d asks for %g mmHg below ambient, which is deeper than a vacuum.", i+1, s.SuctionMmHg)}
		}
		total += s.LengthS()
	}
	if total <= 0 || math.IsInf(total, 0) {
		return Status{Sentence: "The stages last no time at all; give at least one hold time above 0."}
	}
	return Status{OK: true, Sentence: "The program can be run."}
}

// CycleS is the length of one run through all stages in seconds.
func (p Program) CycleS() float64 {
	t := 0.0
	for _, s := range p {
		t += s.LengthS()
	}
	return t
}

// CyclesADay is how often the list repeats in 24 h; 0 when it lasts no time.
func (p Program) CyclesADay() float64 {
	if c := p.CycleS(); c > 0 {
		return 86400 / c
	}
	return 0
}

// Kind names the program in the trade's words: continuous (every stage at one depth), intermittent (a stage
// at 0), or variable (several depths, none of them 0).
func (p Program) Kind() string {
	if len(p) == 0 {
		return "empty"
	}
	same := true
	for _, s := range p {
		if s.SuctionMmHg == 0 && len(p) > 1 {
			return "intermittent"
		}
		same = same && s.SuctionMmHg == p[0].SuctionMmHg
	}
	if same {
		return "continuous"
	}
	return "variable"
}

// before is the suction from which stage i ramps; first tells that the run has just begun.
func (p Program) before(i int, first bool) float64 {
	if i > 0 {
		return p[i-1].SuctionMmHg
	}
	if first {
		return 0
	}
	return p[len(p)-1].SuctionMmHg
}

// stageArea is the integral of the ordered suction over stage i up to dt seconds into it, in mmHg·s.
func (p Program) stageArea(i int, first bool, dt float64) float64 {
	s := p[i]
	from, ramp := p.before(i, first), s.RampMin*60
	r := math.Min(dt, ramp)
	area := 0.0
	if ramp > 0 {
		area = from*r + (s.SuctionMmHg-from)*r*r/(2*ramp)
	}
	return area + s.SuctionMmHg*math.Max(0, dt-ramp)
}

// cycleArea is the integral over one settled cycle in mmHg·s.
func (p Program) cycleArea() float64 {
	a := 0.0
	for i, s := range p {
		a += p.stageArea(i, false, s.LengthS())
	}
	return a
}

// MeanMmHg is the time-mean of the ordered suction over a settled cycle; 0 when the program lasts no time.
func (p Program) MeanMmHg() float64 {
	if c := p.CycleS(); c > 0 {
		return p.cycleArea() / c
	}
	return 0
}

// Share is the part of a settled cycle that is held at one depth, or spent in ramps.
type Share struct {
	SuctionMmHg float64 `json:"suction_mmHg"`
	// Ramp marks the time spent between depths; SuctionMmHg is then 0.
	Ramp  bool    `json:"ramp,omitempty"`
	Share float64 `json:"share"`
}

// Shares lists the share of time at each depth in the order in which the depths first occur; stages of equal
// depth are added up, and all ramps come last as one row. The shares add up to 1.
func (p Program) Shares() []Share {
	cycle := p.CycleS()
	if cycle <= 0 {
		return nil
	}
	var out []Share
	ramp := 0.0
next:
	for _, s := range p {
		ramp += s.RampMin * 60
		for i := range out {
			if out[i].SuctionMmHg == s.SuctionMmHg {
				out[i].Share += s.HoldMin * 60 / cycle
				continue next
			}
		}
		out = append(out, Share{SuctionMmHg: s.SuctionMmHg, Share: s.HoldMin * 60 / cycle})
	}
	if ramp > 0 {
		out = append(out, Share{Ramp: true, Share: ramp / cycle})
	}
	return out
}
