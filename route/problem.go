package route

import (
	"fmt"
	"math"
)

// Problem is what has to be planned. Times are in any one unit (the Week uses minutes of the day); a travel time is
// also the cost of the travel.
type Problem struct {
	Places int         // places are 0..Places-1
	Times  [][]float64 // travel time by band, each Places*Places, row: from; not negative
	Stops  []Stop
	Shifts []Shift
	Gaps   []Gap
	Fair   float64 // weight of uneven work; zero: it does not count
	Alike  bool    // shifts may be swapped for one another, and fewer are better than shorter
}

// Window is when the work at a stop may begin; Close < Open means never.
type Window struct{ Open, Close float64 }

// Stop is one piece of work at one place.
type Stop struct {
	Place   int
	Windows []Window  // one by kind of shift
	Service float64   // duration, not negative
	Demand  float64   // what it takes of the shift's capacity
	Cost    []float64 // one by shift; nil: none; +Inf: may not be there
	Miss    float64   // the cost of leaving it out
	Fixed   bool      // it stays in shift In; its order there is free within its window
	In      int       // the shift of a fixed stop
}

// Shift is one person's working time on one day: a tour.
type Shift struct {
	Kind, Day, Person int
	Band              int // which travel times hold
	From, To          int // places
	Open, Close       float64
	Capacity          float64 // +Inf: none
	Wake              float64 // the cost of giving it any stop that is not Home
	Home              []bool  // by stop: belongs here already; nil: all do
}

// Gap holds two stops of one series apart: Day(Then) - Day(First) is in Least..Most when both are placed.
type Gap struct{ First, Then, Least, Most int }

// Plan is an answer: the stops of each shift in order, and those left out.
type Plan struct {
	Tours  [][]int // one by shift
	Absent []int
	Cost   float64 // eq. 1
	Travel float64
	Used   int // shifts with a stop
}

// Check lists what is wrong with a problem; a problem with faults must not be solved.
func (p *Problem) Check() []string {
	var out []string
	bad := func(f string, a ...any) { out = append(out, fmt.Sprintf(f, a...)) }
	for b, t := range p.Times {
		if len(t) != p.Places*p.Places {
			bad("travel times %d: %d values for %d places", b, len(t), p.Places)
		}
		for i, v := range t {
			if !(v >= 0) || math.IsInf(v, 0) {
				bad("travel times %d: %v from place %d to place %d", b, v, i/p.Places, i%p.Places)
				break
			}
		}
	}
	kinds := 0
	people := 0
	for i, s := range p.Shifts {
		kinds, people = max(kinds, s.Kind+1), max(people, s.Person+1)
		if s.Kind < 0 || s.Person < 0 || s.Band < 0 || s.Band >= len(p.Times) {
			bad("shift %d: kind %d, person %d, travel times %d", i, s.Kind, s.Person, s.Band)
		}
		if s.From < 0 || s.From >= p.Places || s.To < 0 || s.To >= p.Places {
			bad("shift %d: from place %d to place %d of %d", i, s.From, s.To, p.Places)
		}
		if !(s.Open <= s.Close) {
			bad("shift %d: from %v to %v", i, s.Open, s.Close)
		}
		if s.Home != nil && len(s.Home) != len(p.Stops) {
			bad("shift %d: %d marks for %d stops", i, len(s.Home), len(p.Stops))
		}
	}
	for i, s := range p.Stops {
		if s.Place < 0 || s.Place >= p.Places {
			bad("stop %d: place %d of %d", i, s.Place, p.Places)
		}
		if len(s.Windows) < kinds {
			bad("stop %d: %d windows for %d kinds of shift", i, len(s.Windows), kinds)
		}
		for _, w := range s.Windows {
			if math.IsNaN(w.Open) || math.IsNaN(w.Close) {
				bad("stop %d: a window that is not a number", i)
			}
		}
		if s.Cost != nil && len(s.Cost) != len(p.Shifts) {
			bad("stop %d: %d costs for %d shifts", i, len(s.Cost), len(p.Shifts))
		}
		if !(s.Service >= 0) || !(s.Demand >= 0) || !(s.Miss >= 0) {
			bad("stop %d: service %v, demand %v, miss %v", i, s.Service, s.Demand, s.Miss)
		}
		if s.Fixed && (s.In < 0 || s.In >= len(p.Shifts)) {
			bad("stop %d: fixed in shift %d of %d", i, s.In, len(p.Shifts))
		}
	}
	for i, g := range p.Gaps {
		if g.First < 0 || g.Then < 0 || g.First >= len(p.Stops) || g.Then >= len(p.Stops) || g.Least > g.Most {
			bad("gap %d: stops %d and %d, %d to %d days", i, g.First, g.Then, g.Least, g.Most)
		}
	}
	return out
}
