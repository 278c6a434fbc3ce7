package suction

import (
	"fmt"
	"math"

	"lowtide/unit"
)

// Verdict says whether one thing accounts for another.
type Verdict string

// Verdicts; VerdictUnknown when the question does not arise or cannot be answered.
const (
	VerdictYes     Verdict = "explains"
	VerdictMaybe   Verdict = "may explain"
	VerdictNo      Verdict = "does not explain"
	VerdictUnknown Verdict = "cannot tell"
)

// Explanation tells whether a leak accounts for a stage that is not reached.
type Explanation struct {
	Verdict Verdict `json:"verdict"`
	// Reached tells what the model says with no leak and with the two ends of the estimate.
	ReachedNoLeak bool   `json:"reached_no_leak"`
	ReachedLow    bool   `json:"reached_low"`
	ReachedHigh   bool   `json:"reached_high"`
	Sentence      string `json:"sentence"`
}

// explainSteps is the work after which one of the runs of [Explain] is given up, about a second.
const explainSteps = 1_000_000

// Explain runs the program with a perfect seal and with both ends of an estimated leak, and says whether the leak
// explains that stage (an index) is not reached: yes when it is reached with a perfect seal and with neither end,
// perhaps when with only one. An estimate without upper limit is tried at the model's largest leak. It cannot tell when the model gives a run up.
func Explain(s Setup, e SealEstimate, stage int) Explanation {
	out := Explanation{Verdict: VerdictUnknown}
	if !e.OK || stage < 0 || stage >= len(s.Stages) {
		out.Sentence = "Cannot tell: there is no estimate of the leak, or no such stage."
		return out
	}
	if s.Hours > effectHours {
		s.Hours = effectHours
	}
	s.Hours = math.Max(s.Hours, 2*s.Stages.CycleS()/3600) // every stage must come up
	given := true                                         // no run was given up
	reached := func(leak float64) bool {
		if !given {
			return false
		}
		t := s
		t.LeakMLMin, t.LeakAtMmHg = math.Min(leak, mostLeakMLMin), e.LeakAtMmHg
		r := Simulate(t, Options{MostSteps: explainSteps})
		given = r.Status != CannotTell
		return len(r.Stages) > stage && r.Stages[stage].Reached
	}
	high := mostLeakMLMin * 1.0
	if e.HighMLMin != nil {
		high = *e.HighMLMin
	}
	out.ReachedNoLeak, out.ReachedLow, out.ReachedHigh = reached(0), reached(e.LowMLMin), reached(high)
	name := fmt.Sprintf("stage %d", stage+1)
	switch {
	case !given:
		out = Explanation{Verdict: VerdictUnknown, Sentence: "Cannot tell whether the leak explains " + name + ": the model gave up before it had an answer."}
	case out.ReachedLow && out.ReachedHigh:
		out.Verdict, out.Sentence = VerdictNo, "With a leak in this range "+name+" should be reached; look for another cause."
	case !out.ReachedNoLeak && !out.ReachedLow && !out.ReachedHigh:
		out.Verdict, out.Sentence = VerdictNo, "By the model "+name+" is not reached with a perfect seal either; the leak is not the cause."
	case out.ReachedNoLeak && !out.ReachedLow && !out.ReachedHigh:
		out.Verdict, out.Sentence = VerdictYes, "With a perfect seal "+name+" would be reached, with this leak it is not: the leak explains it."
	default:
		out.Verdict, out.Sentence = VerdictMaybe, "The leak may explain "+name+": within its range the model answers both ways."
	}
	return out
}

// SealChange compares two estimates at the same reference suction. "worse" and "better" are said only when the
// two ranges do not meet; otherwise the difference cannot be told from the uncertainty.
func SealChange(before, now SealEstimate) (word, sentence string) {
	switch {
	case !before.OK || !now.OK:
		return "cannot tell", "Cannot tell whether the seal has changed: an estimate is missing."
	case before.LeakAtMmHg != now.LeakAtMmHg:
		return "cannot tell", "Cannot tell whether the seal has changed: the two leaks are given at different suctions."
	case before.HighMLMin != nil && now.LowMLMin > *before.HighMLMin:
		return "worse", fmt.Sprintf("The seal is worse than last time: at least %s mL/min now, at most %s then.", unit.Rough(now.LowMLMin, 1), unit.Rough(*before.HighMLMin, 1))
	case now.HighMLMin != nil && *now.HighMLMin < before.LowMLMin:
		return "better", fmt.Sprintf("The seal is better than last time: at most %.1f mL/min now, at least %.1f then.", *now.HighMLMin, before.LowMLMin)
	}
	return "no difference shown", "No difference to last time can be shown: the ranges of the two estimates meet."
}
