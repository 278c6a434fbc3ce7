// Command fluid prints the simulation-based calibration of the canister forecast: simulated courses that the
// model did not generate, its 80 % intervals and its pinball loss beside two baselines.
//
//	go run ./evidence/cmd/fluid [-n 2000] [-seed 1]
package main

import (
	"flag"
	"fmt"
)

func main() {
	n := flag.Int("n", 2000, "courses")
	seed := flag.Uint64("seed", 1, "seed of the simulation")
	only := flag.Bool("tuning", false, "show only the generators that the constants were set on")
	flag.Parse()
	all, each := run(*n, *seed)
	for k, name := range targets {
		fmt.Printf("%s\n%-22s %6s %9s  %8s %8s %8s  %7s %7s  %7s %7s\n", name, "generator", "n", "coverage", "pinball", "last", "3 days", "better", "better", "mid", "mid")
		if !*only {
			line("all", all, k)
		}
		for i, g := range generators {
			if *only && g.heldOut {
				continue
			}
			label := g.name
			if g.heldOut {
				label += " *"
			}
			line(label, each[i], k)
		}
		fmt.Println()
	}
	fmt.Println("coverage: share of truths inside the 80 % interval. pinball: mean loss at 10, 50, 90 % (h for the fill")
	fmt.Println("time, capped at 14 days; mL otherwise). better: share below 'last rate continues' and 'mean of the last")
	fmt.Println("three days'; mid: the same for the medians alone. * held out: the constants were set without it.")
}

func line(label string, t tally, k int) {
	n := float64(t.n)
	fmt.Printf("%-22s %6d %8.1f%%  %8.2f %8.2f %8.2f  %6.1f%% %6.1f%%  %6.1f%% %6.1f%%\n", label, t.n, 100*t.coverage(k),
		t.model[k]/n, t.last[k]/n, t.mean[k]/n, 100*better(t.model[k], t.last[k]), 100*better(t.model[k], t.mean[k]),
		100*better(t.modelMid[k], t.lastMid[k]), 100*better(t.modelMid[k], t.meanMid[k]))
}
