package state

import (
	"math"

	"lowtide/state/memo"
	"lowtide/suction"
)

// PathRun is what became of a program over the ranges of what is not known. Spans go over all runs; they are
// limits found, not probabilities.
type PathRun struct {
	Status   suction.Status
	Sentence string
	// Missed is nil when some runs hold every stage and others do not; Words says for the middle run which stage.
	Missed *bool
	Words  string
	Runs   int

	OrderedMmHg, MeanMmHg float64
	Mean, Duty, Starts    suction.Span
	MeanDuty, MeanStarts  float64
	// How far the mean at the wound is off the ordered one, in percent of it: at the least, in the middle run, at
	// the most.
	OffLeast, Off, OffMost float64
	Largest                suction.Largest
	AmbientMmHg            float64
}

// leaks is the low, middle and high leak.
type leaks [3]float64

// ran is everything that a run depends on; its numbers are rounded before they come here. Tested tells that the leak comes
// from a hold test.
type ran struct {
	Setup  suction.Setup
	Leak   leaks
	Tested bool
}

// mostRuns bounds the memory, about 400 bytes a run.
const mostRuns = 8192

var runs = memo.New(mostRuns, func(r ran) PathRun {
	out := runPath(r.Setup, r.Leak)
	if r.Tested && out.Missed != nil && *out.Missed {
		out.Words += explained(r.Setup, r.Leak)
	}
	return out
})

// Forget empties the memory of runs, so that a benchmark can measure the first review of a program.
func Forget() { runs.Forget() }

// runPath computes the middle case and the four corners of leak and void. A run covers at least an hour and three
// times the program, at most a day, and starts in the program's last stage, as a pump that has run for some time.
func runPath(s suction.Setup, leak leaks) PathRun {
	s.Hours = math.Min(24, math.Max(1, 3*s.Stages.CycleS()/3600))
	s.StartMmHg = math.Min(s.Stages[len(s.Stages)-1].SuctionMmHg, s.Pump.DeepestMmHg)
	at := func(leak, void float64) suction.Result {
		t := s
		t.LeakMLMin, t.VoidML = leak, void
		return suction.Simulate(t, suction.Options{})
	}
	mid := at(leak[1], voidML[1])
	out := PathRun{Status: mid.Status, Sentence: mid.Sentence, OrderedMmHg: mid.MeanOrderedMmHg, MeanMmHg: mid.MeanWoundMmHg,
		MeanDuty: mid.Duty, MeanStarts: mid.StartsPerHour, AmbientMmHg: mid.Path.AmbientMmHg, Words: mid.Sentence}
	if mid.Status == suction.CannotTell {
		return out
	}
	all := []suction.Result{mid, at(leak[0], voidML[0]), at(leak[0], voidML[2]), at(leak[2], voidML[0]), at(leak[2], voidML[2])}
	missed, above, below := 0, false, false
	for i, r := range all {
		if r.Status == suction.CannotTell {
			return PathRun{Status: r.Status, Sentence: r.Sentence}
		}
		if r.Status != suction.OK {
			missed++
			if out.Status == suction.OK {
				out.Words = r.Sentence
			}
		}
		off := 100 * (r.MeanWoundMmHg - r.MeanOrderedMmHg) / r.MeanOrderedMmHg
		if r.MeanOrderedMmHg == 0 {
			off = 0
		}
		above, below = above || off > 0, below || off < 0
		off = math.Abs(off)
		if i == 0 {
			out.Off, out.OffLeast, out.OffMost = off, off, off
			out.Mean, out.Duty, out.Starts = span(r.MeanWoundMmHg), span(r.Duty), span(r.StartsPerHour)
		}
		out.OffLeast, out.OffMost = math.Min(out.OffLeast, off), math.Max(out.OffMost, off)
		widen(&out.Mean, r.MeanWoundMmHg)
		widen(&out.Duty, r.Duty)
		widen(&out.Starts, r.StartsPerHour)
	}
	if above && below {
		out.OffLeast = 0
	}
	if out.Runs = len(all); missed == 0 || missed == len(all) {
		is := missed > 0
		out.Missed = &is
	}
	out.Largest = suction.LargestLeak(s)
	return out
}

// explained says whether the leak that a hold test told accounts for the first stage that does not arrive.
func explained(s suction.Setup, leak leaks) string {
	s.Hours = 1
	s.LeakMLMin, s.VoidML = leak[1], voidML[1]
	for i, st := range suction.Simulate(s, suction.Options{}).Stages {
		if !st.Reached {
			e := suction.Explain(s, suction.SealEstimate{OK: true, LeakMLMin: leak[1], LowMLMin: leak[0], HighMLMin: &leak[2], LeakAtMmHg: s.LeakAtMmHg}, i)
			return " " + e.Sentence
		}
	}
	return ""
}

func span(x float64) suction.Span { return suction.Span{Low: x, High: x} }

func widen(s *suction.Span, x float64) { s.Low, s.High = math.Min(s.Low, x), math.Max(s.High, x) }
