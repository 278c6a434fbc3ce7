// Command quiet counts what is said about patients of whom there is nothing to say, and prints each rule's share:
//
//	go run ./evidence/cmd/quiet -patients 1000 -days 3
package main

import (
	"flag"
	"fmt"
	"os"

	"lowtide/evidence/quiet"
	"lowtide/rule"
)

func main() {
	patients := flag.Int("patients", 1000, "how many patients")
	days := flag.Int("days", 3, "how many days of each")
	flag.Parse()
	rules, err := rule.Builtin()
	if err != nil {
		fmt.Fprintln(os.Stderr, "quiet:", err)
		os.Exit(1)
	}
	r := quiet.Count(rules, *patients, *days)
	fmt.Printf("%d patients, %d patient-days. Findings of level Today or higher: %d, %.3f a patient-day; on %.1f %% of the days there is none. All levels: %.2f a patient-day.\n\n",
		r.Patients, r.Days, r.Pressing, r.PerDay(), 100*float64(r.Quiet)/float64(r.Days), float64(r.All)/float64(r.Days))
	fmt.Println("| rule | level | share of patient-days |\n|---|---|---|")
	for _, s := range r.Shares {
		fmt.Printf("| %s | %s | %.1f %% |\n", s.Rule, s.Level, 100*float64(s.Days)/float64(r.Days))
	}
}
