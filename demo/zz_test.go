package demo

import (
	"fmt"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
	"testing"
)

func TestZZ(t *testing.T) {
	rules, _ := rule.Builtin()
	all := cases(t, morning)
	seen := map[string]bool{}
	for _, e := range Entries(morning, 1) {
		if seen[e.Case] {
			continue
		}
		seen[e.Case] = true
		r := review.Of(all[e.Case], rules, equipment.BuiltIn(), morning)
		n := map[rule.Level]int{}
		fmt.Printf("\n== %s  until %s\n", r.Person.Name, r.Until.Format("02 15:04"))
		for _, f := range r.Findings {
			n[f.Level]++
			if n[f.Level] <= 6 {
				fmt.Printf("  [%s] %s %s: %s\n", f.Level, f.Rule, f.Wound, f.Headline)
			}
		}
		fmt.Println("  ", n)
	}
}
