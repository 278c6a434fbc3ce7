package suction

import "testing"

// The budget is 20 ms for 24 h of a two-stage program with a 10 mL/min leak, trace included.

func BenchmarkDay(b *testing.B) {
	s := twoStages()
	s.Hours = 24
	for b.Loop() {
		Simulate(s, Options{StepS: 1})
	}
}

func BenchmarkDayWithoutTrace(b *testing.B) {
	s := twoStages()
	s.Hours = 24
	for b.Loop() {
		Simulate(s, Options{})
	}
}

// BenchmarkBench is what a page asks for when a control moves: two hours, the trace, and the effects.
func BenchmarkBench(b *testing.B) {
	s := twoStages()
	for b.Loop() {
		Simulate(s, Options{StepS: 1})
		Effects(s)
		LargestLeak(s)
	}
}

// BenchmarkBand is two hours over three ranges.
func BenchmarkBand(b *testing.B) {
	s := twoStages()
	ranges := []Range{{"leak_mL_min", 5, 20}, {"void_mL", 30, 90}, {"leak_exponent", 0.5, 1}}
	for b.Loop() {
		Band(s, ranges, 16, Options{StepS: 4})
	}
}

// BenchmarkStep is one step of the solver.
func BenchmarkStep(b *testing.B) {
	s := twoStages()
	p := PathOf(s)
	x := [2]float64{100, 99}
	for b.Loop() {
		p.take(x, 0.01, mode{pump: true})
	}
}
