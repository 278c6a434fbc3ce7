package review_test

import (
	"strings"
	"testing"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
)

// TestNothingIsCertain: a wound that has grown for weeks is not called so with 100 %, neither in a finding nor on the
// page of the decision; and its figures say in words what a number below zero means.
func TestNothingIsCertain(t *testing.T) {
	c := casebook.Fold("tidy", entries(join(sizesOf(6, 6, 3.5, 2, 1.06), []step{at(-2398, order(nil))})...))
	rules, eq := builtin(t), equipment.BuiltIn()
	h := state.HealingOf(c, c.Wound("A"), inForce(t), noon)
	if *h.NotImproving < 0.995 {
		t.Fatalf("the chance is %g: this wound does not test it", *h.NotImproving)
	}
	said := 0
	for _, f := range review.Of(state.Of(c, rules, eq, nil, noon), rules).Findings {
		if strings.Contains(f.Headline, "100 %") {
			t.Errorf("certain: %s", f.Headline)
		}
		if f.Rule == "STP-STALL-01" {
			said++
		}
	}
	for _, k := range review.Of(state.Of(c, rules, eq, nil, noon), rules).Decision().Criteria {
		if k.Rule == "STP-STALL-01" {
			said++
			if k.Holds != rule.Yes || strings.Contains(k.Why, "100 %") || !strings.Contains(k.Why, "more than ninety-nine in a hundred") {
				t.Errorf("%s: %s", k.Holds, k.Why)
			}
		}
	}
	if said != 2 {
		t.Errorf("said in %d places, want the finding and the decision", said)
	}
	words := map[string]string{}
	for _, f := range h.Plainly() {
		words[f.ID] = f.Text
	}
	for id, want := range map[string]string{"healing.area_reduction": "it grew", "healing.advance": "it moved outwards", "healing.decay": "it grew"} {
		if !strings.HasPrefix(words[id], "none: "+want+" by ") {
			t.Errorf("%s: %q, want none, and %q with how much", id, words[id], want)
		}
	}
}
