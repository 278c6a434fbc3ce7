package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"lowtide/fluid"
)

const day = 24 * time.Hour

// planted is a sudden change put into a course from which it is to be found: the log of the output moves by shift at one
// moment of the history's second half.
type planted struct {
	name  string
	shift float64
}

// plants are steady courses with a change in them, as large as each says.
var plants = []planted{{"none", 0}, {"stop (a fiftieth)", math.Log(0.02)}, {"a third", math.Log(1.0 / 3)}, {"half", math.Log(0.5)}, {"twice", math.Log(2)}, {"three times", math.Log(3)}, {"ten times", math.Log(10)}}

// changesTable prints how often a sudden change is reported: on the courses of the calibration, where most have none, and
// on steady courses with one that was put in.
func changesTable(n int, seed uint64) {
	r := newRand(seed)
	fmt.Printf("%-24s %5s  %s\n", "generator", "n", "courses in which a sudden change was reported")
	for _, g := range generators {
		fmt.Printf("%-24s %5d  %6.1f%%\n", g.name, n, 100*reported(g, n, r, func([]fluid.Change, fluid.Course) bool { return true }))
	}
	fmt.Printf("\n%-24s %5s  %s\n", "change put in", "n", "found, in the right direction and within a day of its interval")
	for _, p := range plants {
		fmt.Printf("%-24s %5d  %6.1f%%\n", p.name, n, 100*found(p, n, r))
	}
}

func reported(g generator, n int, r *rand.Rand, count func([]fluid.Change, fluid.Course) bool) float64 {
	hits := 0
	for k := 0; k < n; {
		s, ok := simulate(g, r)
		if !ok {
			continue
		}
		k++
		if c := fluid.Changes(s.course, s.asOf); len(c) > 0 && count(c, s.course) {
			hits++
		}
	}
	return float64(hits) / float64(n)
}

// found simulates steady courses with the change, and counts those in which it is reported.
func found(p planted, n int, r *rand.Rand) float64 {
	var moment float64 // of the change, in hours from the start
	g := generator{name: p.name, logRate: func(r *rand.Rand, base float64, steps int) []float64 {
		x := walk(r, base, steps)
		end := float64(steps)/stepsPerH - 24*(3+aheadD) // of the history
		moment = end * uniform(r, 0.5, 0.9)
		for i := int(moment * stepsPerH); i < len(x); i++ {
			x[i] += p.shift
		}
		return x
	}}
	share := reported(g, n, r, func(cs []fluid.Change, c fluid.Course) bool {
		at := wall(moment)
		for _, k := range cs {
			if p.shift == 0 || k.Rise() == (p.shift > 0) && !k.From.Add(-day).After(at) && !k.To.Add(day).Before(at) {
				return true
			}
		}
		return false
	})
	return share
}
