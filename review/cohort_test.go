package review_test

import (
	"context"
	"fmt"
	"testing"

	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/equipment"
	"lowtide/healing"
	"lowtide/review"
)

// TestCohort: curves come from ended cases of the type only, with enough of them, and say how many.
func TestCohort(t *testing.T) {
	ctx := context.Background()
	book := casebook.Book{Store: memory.New()}
	load := review.NewCaseload(book, builtin(t), equipment.BuiltIn())
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
	curve := func() healing.Cohort {
		c, pending, err := load.Cohort(ctx, "surgical", noon)
		if err != nil || pending != 0 {
			t.Fatal(err, pending)
		}
		return c
	}
	if c := curve(); c.N != healing.LeastCohort-1 || len(c.Points) != 0 {
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
}
