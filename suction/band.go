package suction

import (
	"fmt"
	"math"
)

// Range is what is known of one number of a setup: it lies somewhere from Low to High.
type Range struct {
	// Field is a name from Fields.
	Field string  `json:"field"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

// Span is the least and the greatest of a figure over the runs of a band.
type Span struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

func (s *Span) take(x float64, first bool) {
	if first {
		*s = Span{x, x}
		return
	}
	s.Low, s.High = math.Min(s.Low, x), math.Max(s.High, x)
}

// BandSample is the span of the wound's suction at one time.
type BandSample struct {
	TS          float64 `json:"t_s"`
	OrderedMmHg float64 `json:"ordered_mmHg"`
	LowMmHg     float64 `json:"low_mmHg"`
	HighMmHg    float64 `json:"high_mmHg"`
}

// BandResult is the spread of a run's figures over parameter ranges. It is the span over the runs that were made,
// not an interval with a probability: nothing is known about how often a parameter takes which value.
type BandResult struct {
	OK       bool         `json:"ok"`
	Sentence string       `json:"sentence"`
	Runs     int          `json:"runs"`
	Ranges   []Range      `json:"ranges"`
	Trace    []BandSample `json:"trace"`
	Mean     Span         `json:"mean_wound_mmHg"`
	Duty     Span         `json:"duty"`
	Starts   Span         `json:"starts_per_hour"`
	// ReachedIn counts, for each stage, the runs in which it is reached.
	ReachedIn []int `json:"reached_in_runs"`
}

// UsualRanges are the ranges of a setup of which no more is known than one number each: half to twice the leak and
// the void, a fifth of the pump's flow each way, all within the limits of [Fields]. Own choices, no published source.
func UsualRanges(s Setup) []Range {
	leak := Range{"leak_mL_min", s.LeakMLMin / 2, min(2*s.LeakMLMin, mostLeakMLMin)}
	if s.LeakMLMin == 0 {
		leak.High = 5
	}
	void, _ := FieldNamed("void_mL")
	return []Range{leak, {"void_mL", s.VoidML / 2, min(2*s.VoidML, void.Max)},
		{"pump/free_flow_mL_min", 0.8 * s.Pump.FreeFlowMLMin, min(1.2*s.Pump.FreeFlowMLMin, mostLeakMLMin)}}
}

// Band runs the program at the setup itself, at each end of each range with the others as set, and at n points
// that fill the ranges evenly (a Halton sequence, always the same), and returns the spans over all of them.
// n: 0..1000; 16 is enough for a page. Ranges of unknown fields, or backwards, give OK false.
func Band(s Setup, ranges []Range, n int, opt Options) BandResult {
	out := BandResult{Ranges: ranges, Trace: []BandSample{}, ReachedIn: make([]int, len(s.Stages))}
	fields := make([]Field, len(ranges))
	for i, g := range ranges {
		f, ok := FieldNamed(g.Field)
		if !ok || !(g.Low <= g.High) || g.Field == "hours" {
			out.Sentence = fmt.Sprintf("The range of %s cannot be used.", g.Field)
			return out
		}
		fields[i] = f
	}
	setups := []Setup{s}
	for i, f := range fields {
		for _, x := range []float64{ranges[i].Low, ranges[i].High} {
			t := s
			f.Set(&t, x)
			setups = append(setups, t)
		}
	}
	if len(fields) > 1 {
		for k := 1; k <= min(max(n, 0), 1000); k++ {
			t := s
			for i, f := range fields {
				f.Set(&t, ranges[i].Low+(ranges[i].High-ranges[i].Low)*halton(k, primes[i%len(primes)]))
			}
			setups = append(setups, t)
		}
	}
	for k, t := range setups {
		r := Simulate(t, opt)
		if r.Status == CannotTell {
			out.Sentence = "One of the runs cannot be made: " + r.Sentence
			out.Trace = []BandSample{}
			return out
		}
		out.add(r, k == 0)
	}
	out.OK, out.Runs = true, len(setups)
	out.Sentence = fmt.Sprintf("Spans over %d runs inside the stated ranges; they are limits found, not probabilities.", out.Runs)
	return out
}

func (out *BandResult) add(r Result, first bool) {
	for i, x := range r.Trace {
		if first {
			out.Trace = append(out.Trace, BandSample{x.TS, x.OrderedMmHg, x.WoundMmHg, x.WoundMmHg})
			continue
		}
		b := &out.Trace[i]
		b.LowMmHg, b.HighMmHg = math.Min(b.LowMmHg, x.WoundMmHg), math.Max(b.HighMmHg, x.WoundMmHg)
	}
	out.Mean.take(r.MeanWoundMmHg, first)
	out.Duty.take(r.Duty, first)
	out.Starts.take(r.StartsPerHour, first)
	for i, st := range r.Stages {
		if st.Reached {
			out.ReachedIn[i]++
		}
	}
}

var primes = []int{2, 3, 5, 7, 11, 13, 17, 19, 23}

// halton is the k-th number of van der Corput's sequence in a base, in (0, 1).
// Source: J. H. Halton, Numerische Mathematik 2 (1960) 84-90.
func halton(k, base int) float64 {
	x, f := 0.0, 1.0
	for k > 0 {
		f /= float64(base)
		x += f * float64(k%base)
		k /= base
	}
	return x
}
