// Command trouble prints simulated calls: how often the true cause stands first or second, and how many minutes a call
// takes beside a fixed checklist.
//
//	go run ./evidence/cmd/trouble [-n 500] [-seed 1]
package main

import (
	"flag"
	"fmt"
	"math/rand/v2"

	"lowtide/trouble"
)

// generators are the callers: a bench that shares no number with the model, and tables stirred by more and more.
var generators = []struct {
	name string
	make func(r *rand.Rand, m *trouble.Model, seed uint64) caller
}{
	{"bench of pump and person", func(r *rand.Rand, _ *trouble.Model, _ uint64) caller { return newBench(r) }},
	{"the model's tables", func(r *rand.Rand, m *trouble.Model, seed uint64) caller { return newDrawn(r, m, 0, seed) }},
	{"tables stirred by 0.5", func(r *rand.Rand, m *trouble.Model, seed uint64) caller { return newDrawn(r, m, 0.5, seed) }},
	{"tables stirred by 0.8", func(r *rand.Rand, m *trouble.Model, seed uint64) caller { return newDrawn(r, m, 0.8, seed) }},
}

func main() {
	n := flag.Int("n", 500, "calls of each generator")
	seed := flag.Uint64("seed", 1, "seed of the simulation")
	flag.Parse()
	fmt.Printf("%-26s %6s %7s %7s %7s %7s  %8s %8s %8s %7s %7s  %6s\n", "callers", "calls", "first", "1 or 2", "asked", "questns", "minutes", "taught", "ordered", "saved", "saved", "stop")
	for i, g := range generators {
		t := run(trouble.BuiltIn(), g.make, *n, *seed+uint64(i)*1000)
		c := float64(t.calls)
		fmt.Printf("%-26s %6d %6.1f%% %6.1f%% %6.1f%% %7.1f  %8.1f %8.1f %8.1f %6.1f%% %6.1f%%  %6d\n", g.name, t.calls, 100*float64(t.first)/c, 100*float64(t.second)/c,
			100*float64(t.asked)/c, float64(t.questions)/c, t.minutes/c, t.taught/c, t.ordered/c, 100*(1-t.minutes/t.taught), 100*(1-t.minutes/t.ordered), t.stopped)
	}
	fmt.Println()
	fmt.Println("first, 1 or 2: share of calls whose true cause stands first, first or second, with every fact given. asked: first or")
	fmt.Println("second when the first check is advised, after the questions that the program chose (questns in the mean). minutes: mean")
	fmt.Println("from the first question to resolution; danger questions and the wait of 90 min for a visit are counted everywhere.")
	fmt.Println("taught: every check in a usual order (power, pump, tube, canister, film, rest), then a visit. ordered: the best fixed order of the same")
	fmt.Println("checks by the model's chances. stop: calls that a danger answer ended; they are left out of all shares and minutes.")
	fmt.Println("stirred: every chance times exp(sigma z), rows normed again, another stirring every 20 calls.")
}
