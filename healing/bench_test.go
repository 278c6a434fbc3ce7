package healing

import (
	"math"
	"testing"
	"time"
)

// benchSeries is a closing wound of n weekly areas with a little saw-tooth for error.
func benchSeries(n int) Input {
	start := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	in := Input{WoundType: "surgical"}
	for i := range n {
		a := 20 * math.Exp(-0.1*float64(i)) * (1 + 0.03*float64(i%3-1))
		se := 0.04 * a
		in.Sizes = append(in.Sizes, Size{At: start.AddDate(0, 0, 7*i), AreaCm2: &a, SECm2: &se, Method: "outline"})
	}
	return in
}

// BenchmarkFit is the budget of 5 ms for a series of 20 visits.
func BenchmarkFit(b *testing.B) {
	s := clean(benchSeries(20).Sizes, time.Time{})
	r, _, sd := s.readings(Area)
	for b.Loop() {
		fitReadings(Area, r, PublishedPrior(Area), sd, 2)
	}
}

// BenchmarkAssess is everything about one wound of 20 visits; 10,000 of them must take under 60 s on 2 cores, which is
// 12 ms each.
func BenchmarkAssess(b *testing.B) {
	in := benchSeries(20)
	for b.Loop() {
		assess(in)
	}
}

// BenchmarkAssessAllMeasures is the same with depth and volume at every visit.
func BenchmarkAssessAllMeasures(b *testing.B) {
	in := benchSeries(20)
	for i := range in.Sizes {
		d, v := 3*math.Exp(-0.15*float64(i)), 30*math.Exp(-0.22*float64(i))
		in.Sizes[i].DepthCm, in.Sizes[i].VolumeCm3 = &d, &v
	}
	for b.Loop() {
		assess(in)
	}
}

// BenchmarkAssessGrid asks for as many days ahead as a page draws.
func BenchmarkAssessGrid(b *testing.B) {
	in := benchSeries(8)
	for i := range in.Sizes {
		d := 3 * math.Exp(-0.15*float64(i))
		in.Sizes[i].DepthCm = &d
	}
	for d := 0.0; d <= 126; d += 7 {
		in.AheadDays = append(in.AheadDays, d)
	}
	for b.Loop() {
		assess(in)
	}
}
