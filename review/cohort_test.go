package review_test

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/caseload"
	"lowtide/equipment"
	"lowtide/healing"
	"lowtide/state"
)

// TestCohort: curves come from ended cases of the type only, with enough of them, and say how many.
func TestCohort(t *testing.T) {
	ctx := context.Background()
	book := casebook.Book{Store: memory.New()}
	load := caseload.New(book, builtin(t), equipment.BuiltIn())
	add := func(i int, kind string, over bool) {
		steps := []step{at(-1000, person(nil)), at(-999, wound("A", func(w *casebook.WoundFound) { w.Type = kind })), at(-998, measured(6, 4, 2, nil)), at(-998+168, measured(5, 3.5, 1.8, nil)), at(-998+336, measured(4, 3, 1.5, nil))}
		if over {
			steps = append(steps, at(-500, ended("goal met")))
		}
		list := entries(steps...)
		id := fmt.Sprintf("019cd000-0000-7000-8000-%012d", i)
		for j := range list {
			list[j].Case, list[j].ID = id, fmt.Sprintf("%08d-0000-7000-8000-%012d", i, j)
		}
		if _, err := book.Append(ctx, "", list...); err != nil {
			t.Fatal(err)
		}
	}
	for i := range healing.LeastCohort - 1 {
		add(i, "surgical", true)
	}
	add(100, "surgical", false)
	add(101, "venous", true)
	var rates *state.Rates
	curve := func() healing.Cohort {
		c, found, pending, err := load.Cohort(ctx, "surgical", noon)
		if err != nil || pending != 0 {
			t.Fatal(err, pending)
		}
		rates = found
		return c
	}
	if c := curve(); c.N != healing.LeastCohort-1 || len(c.Points) != 0 || rates != nil {
		t.Errorf("%d cases, %d points: one too few gives no curve", c.N, len(c.Points))
	}
	add(102, "surgical", true)
	c := curve()
	if c.N != healing.LeastCohort || len(c.Points) == 0 {
		t.Fatalf("%d cases, %d points", c.N, len(c.Points))
	}
	// (5 · 3.5) / (6 · 4) of the area is left after a week, in every case.
	if got := c.Points[1].Left.Median; got < 0.7291 || got > 0.7292 {
		t.Errorf("after a week %g is left, want 0.72917", got)
	}
	// ln(24/12)/2 weeks, in every case
	if rates == nil || rates.N != healing.LeastCohort || math.Abs((rates.Slow.Mean+rates.Fast.Mean)/2-math.Ln2/2) > 0.01 {
		t.Fatalf("rates %+v", rates)
	}
	young := casebook.Fold("tidy", entries(at(-400, person(nil)), at(-399, wound("A", nil)), at(-170, measured(6, 4, 2, nil)), at(-2, measured(5.8, 3.9, 2, nil))))
	s := state.Of(young, builtin(t), equipment.BuiltIn(), nil, noon)
	own, published := s.HealingByRates("A", rates), s.Healing("A")
	if a, b := own.Ahead().Ahead[4].Area, published.Ahead().Ahead[4].Area; a.Median >= b.Median {
		t.Errorf("by rates that are faster %+v, by published ones %+v", *a, *b)
	}
	if !strings.Contains(own.Prior, "own ended cases") || strings.Contains(published.Prior, "own ended cases") {
		t.Errorf("priors %q and %q", own.Prior, published.Prior)
	}
}
