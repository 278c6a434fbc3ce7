package review_test

import (
	"fmt"
	"runtime"
	"sync"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/state"
	"lowtide/tests/processor"
)

// courseOf is a case of a fortnight with a reading every twelve hours and a new canister every fourth day; no two numbers
// have the same readings.
func courseOf(number int) *casebook.Case {
	steps := []step{at(-340, wound("A", nil)), at(-339, measured(7, 3, 2.4, nil)), at(-338, order(nil)), at(-337, casebook.PumpAssigned{Pump: "P-1", Class: "portable", CanisterML: num(500), Wounds: []string{"A"}})}
	mL := 0.0
	for k := range 28 {
		mL += float64(25 + (k*7+number)%3*10 + number>>uint(k%14)&1*5)
		r := read(mL, "straw")
		if k%8 == 0 {
			r.Changed, mL = yes, 0
		}
		steps = append(steps, at(-336+float64(k)*12+float64(number%97)/97, r))
	}
	return caseOf(steps...)
}

// BenchmarkFluidReading: budget 1 ms from a new reading to the forecasts that rest on it.
func BenchmarkFluidReading(b *testing.B) {
	eq := equipment.BuiltIn()
	cases := make([]*casebook.Case, 4096) // more than are remembered, so that each is fitted anew
	for i := range cases {
		cases[i] = courseOf(i)
	}
	i := 0
	for b.Loop() {
		state.FluidOf(cases[i%len(cases)], eq, inForce(b), noon).Forecasts(noon)
		i++
	}
}

// BenchmarkFluid10k: budget 2 s on 2 cores for the forecasts of 10,000 cases, from folded entries to sentences, by as many
// workers as the reviews of a caseload have. Processor time is told beside the wall's, which others on the machine move.
func BenchmarkFluid10k(b *testing.B) {
	const n = 10_000
	eq := equipment.BuiltIn()
	cases := make([]*casebook.Case, n)
	for i := range cases {
		cases[i] = courseOf(i)
	}
	workers := runtime.GOMAXPROCS(0)
	var used time.Duration
	b.ResetTimer()
	for b.Loop() {
		start := processor.Time(b)
		var wg sync.WaitGroup
		for w := range workers {
			wg.Add(1)
			go func() {
				defer wg.Done()
				for i := w; i < n; i += workers {
					state.FluidOf(cases[i], eq, inForce(b), noon).Forecasts(noon)
				}
			}()
		}
		wg.Wait()
		used += processor.Time(b) - start
	}
	b.ReportMetric(used.Seconds()/float64(b.N)/float64(workers), "processor-s/core")
}

// TestCoursesDiffer: the courses of the benchmarks are all of their own, or the memory would answer for the model.
func TestCoursesDiffer(t *testing.T) {
	seen := map[string]bool{}
	for i := range 400 {
		seen[fmt.Sprint(state.FluidOf(courseOf(i*23), equipment.BuiltIn(), inForce(t), noon).Course.Readings)] = true
	}
	if len(seen) != 400 {
		t.Errorf("%d courses of 400", len(seen))
	}
}
