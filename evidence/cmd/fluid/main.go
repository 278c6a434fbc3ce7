// Command fluid prints the simulation-based calibration of the canister forecast: simulated courses that the
// model did not generate, its 80 % intervals and its pinball loss beside two baselines.
//
//	go run ./evidence/cmd/fluid [-n 2000] [-seed 1]
//	go run ./evidence/cmd/fluid -fresh
//	go run ./evidence/cmd/fluid -changes -n 250
package main

import (
	"flag"
	"fmt"
)

func main() {
	n := flag.Int("n", 2000, "courses of each generator")
	seed := flag.Uint64("seed", 1, "seed of the simulation")
	only := flag.Bool("tuning", false, "show only the generators that the constants were set on")
	changes := flag.Bool("changes", false, "print instead how often sudden changes are reported (n of each kind)")
	late := flag.Bool("fresh", false, "take the generators and habits of reading that were written last, in place of the first seven")
	half := flag.String("turns", "", "print instead the families of courses that turn: first, second or both halves of them")
	flag.Parse()
	if *half != "" {
		list := map[string][]generator{"first": families[0], "second": families[1], "both": append(append([]generator(nil), families[0]...), families[1]...)}[*half]
		turnsTable(list, *n, *seed, *changes)
		return
	}
	if *changes {
		changesTable(*n, *seed)
		return
	}
	list := generators
	if *late {
		list = fresh
	}
	all, each := run(list, *n*len(list), *seed)
	for k, name := range targets {
		fmt.Printf("%s\n%-34s %5s %9s  %8s %8s %8s %8s  %7s %7s %7s  %7s %7s\n", name, "generator", "n", "coverage",
			"pinball", "last", "3 days", "banded", "better", "better", "better", "mid", "mid")
		if !*only {
			line("all", all, k)
		}
		for i, g := range list {
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
	fmt.Println("coverage: share of truths inside the 80 % interval. pinball: mean loss at 10, 50 and 90 % (h for the fill time,")
	fmt.Println("capped at 14 days; mL otherwise). last: 'last rate continues'; 3 days: 'mean of the last three days'; both give one")
	fmt.Println("number, taken for all three points. banded: the three-day mean with the interval that fits these very courses in")
	fmt.Println("hindsight. better: the share by which the loss is below each. mid: the same for the medians alone, against last and")
	fmt.Println("3 days. * held out: the model's constants were set without looking at it.")
}

func line(label string, t tally, k int) {
	n := float64(t.n)
	fmt.Printf("%-34s %5d %8.1f%%  %8.2f %8.2f %8.2f %8.2f  %6.1f%% %6.1f%% %6.1f%%  %6.1f%% %6.1f%%\n", label, t.n, 100*t.coverage(k),
		t.model[k]/n, t.last[k]/n, t.mean[k]/n, t.banded[k]/n, 100*better(t.model[k], t.last[k]), 100*better(t.model[k], t.mean[k]),
		100*better(t.model[k], t.banded[k]), 100*better(t.modelMid[k], t.lastMid[k]), 100*better(t.modelMid[k], t.meanMid[k]))
}
