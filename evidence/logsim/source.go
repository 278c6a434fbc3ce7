package logsim

import (
	"math"

	"lowtide/suction"
	"lowtide/therapy"
)

// engine takes the levels from the pressure path: a leak of so many times the usual one; a kink as a tube so narrow
// that next to nothing passes; a full canister and a tilted pump as a closed volume without leak.
type engine struct {
	setup suction.Setup
	runs  map[string]run
}

type run struct {
	trace      []float64 // suction at the pump, one a second
	flow, duty float64
}

const usualLeak = 45 // mL/min at 125 mmHg

// FromEngine makes a log whose suction, flow and motor come from package suction.
func FromEngine(s Setup) ([]byte, Truth) {
	setup, _ := suction.Class("portable")
	setup.Stages = therapy.Program{{SuctionMmHg: 125, HoldMin: 60}}
	setup.Hours, setup.StartMmHg = 0.5, 125
	// A small pump, so that the largest leaks pull the suction down as well.
	setup.Pump.FreeFlowMLMin = 450
	return write(s, &engine{setup: setup, runs: map[string]run{}})
}

func (e *engine) ordered() float64 { return 125 }

func (e *engine) at(what string, size float64, sec int) level {
	switch what {
	case Off:
		return level{}
	case Normal, Gap, Noise:
		size = 1
	case Kink, Full, Tilt:
		size = 0
	default:
		size = math.Round(size*2) / 2
	}
	r := e.run(what, size)
	return level{r.trace[sec%len(r.trace)], r.flow, r.duty * 100}
}

func (e *engine) run(what string, size float64) run {
	key := what
	if what == Leak {
		key += string(rune('0' + int(size*2)))
	}
	if r, ok := e.runs[key]; ok {
		return r
	}
	s := e.setup
	s.LeakMLMin = usualLeak * size
	if what == Kink {
		s.LeakMLMin, s.Tube.BoreMM = usualLeak, 0.35
	}
	out := suction.Simulate(s, suction.Options{StepS: 1})
	r := run{flow: out.FlowMLMin, duty: out.Duty}
	for _, x := range out.Trace {
		r.trace = append(r.trace, x.PumpMmHg)
	}
	if len(r.trace) == 0 {
		panic("logsim: " + out.Sentence)
	}
	e.runs[key] = r
	return r
}

// simple knows nothing of a pressure path: levels are numbers, with a slow wave of the day in the flow.
type simple struct{}

// Simple makes a log from a few lines of arithmetic.
func Simple(s Setup) ([]byte, Truth) { return write(s, simple{}) }

func (simple) ordered() float64 { return 110 }

func (simple) at(what string, size float64, sec int) level {
	usual := 30 * (1 + 0.15*math.Sin(2*math.Pi*float64(sec)/86400))
	saw := 1.5 - float64(sec%90)/30
	switch what {
	case Off:
		return level{}
	case Leak:
		l := level{110 + saw, usual * size, 0}
		if size > 4 {
			l.suction = 110 - 12*(size-3)
		}
		l.motor = l.flow / 8
		return l
	case Kink, Full, Tilt:
		return level{110 + saw/3, 1, 1.0 / 8}
	}
	return level{110 + saw, usual, usual / 8}
}
