// Command healing prints how well the forecasts of package healing are calibrated on invented wounds that its curve
// families did not make: coverage of intervals, milestones against two plain forecasts, and stall calls.
package main

import (
	"flag"
	"fmt"
	"os"
)

func main() {
	n := flag.Int("n", 2000, "wounds of the kinds used while tuning; as many again are held out")
	seed := flag.Uint64("seed", 1, "seed")
	held := flag.Bool("held", true, "also the held-out kinds")
	only := flag.String("only", "", "sizes or stalls: only these, for a quick look")
	flag.Parse()
	fmt.Println("Invented wounds; weekly to fortnightly visits; outline, ruler and mixed methods; 8 % with one wild reading.")
	simulate(*n, kinds, *seed, *only).print(os.Stdout, "kinds seen while tuning")
	if *held {
		simulate(*n, heldOut, *seed+1, *only).print(os.Stdout, "kinds held out")
	}
}
