// Command healing prints how well the forecasts of package healing are calibrated on invented wounds that its curve
// families did not make: coverage of intervals, milestones against two plain forecasts, and stall calls.
package main

import (
	"flag"
	"fmt"
	"os"
)

func main() {
	n := flag.Int("n", 2000, "wounds of each set")
	seed := flag.Uint64("seed", 1, "seed")
	set := flag.String("set", "", "seen, held or sparse: only this set of kinds")
	only := flag.String("only", "", "sizes or stalls: only these, for a quick look")
	half := flag.String("turns", "", "print instead eight families beside an oracle: first, second or both forms of them")
	noise := flag.Float64("noise", 0, "with -turns: the coefficient of variation of a reading; 0 takes 0.05, 0.10 and 0.20 in turn")
	flag.Parse()
	if *half != "" {
		forms := map[string][]form{"first": turnForms[0], "second": turnForms[1], "both": append(append([]form(nil), turnForms[0]...), turnForms[1]...)}[*half]
		turnsTable(forms, *n, *seed, *noise, *only != "sizes")
		return
	}
	fmt.Println("Invented wounds; weekly to fortnightly visits; outline, ruler and mixed methods; 8 % with one wild reading.")
	for i, x := range []struct {
		name, title string
		kinds       []string
	}{{"seen", "kinds seen while tuning", kinds}, {"held", "kinds held out", heldOut}, {"sparse", "kinds held out, sparse charts", sparse}} {
		if *set == "" || *set == x.name {
			simulate(*n, x.kinds, *seed+uint64(i), *only).print(os.Stdout, x.title)
		}
	}
}
