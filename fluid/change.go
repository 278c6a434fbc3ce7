package fluid

import (
	"math"
	"time"

	"lowtide/unit"
)

// Change is a sudden rise or drop of output between two readings. A rise calls for a look for bleeding or a fistula; a
// drop for a blockage or a leak before anybody calls it healing. How large a rise is dangerous has no published
// figure.
type Change struct {
	// From and To bound the interval in which the output changed.
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
	// Probability is the posterior probability of a sudden change in this interval or one next to it.
	Probability float64 `json:"probability"`
	// Before and After are the outputs read in the stretches on both sides.
	Before unit.Rate `json:"before_mL_d"`
	After  unit.Rate `json:"after_mL_d"`
	// Factor is After over Before; above 1 is a rise. Before is taken as at least 1 mL/d.
	Factor float64 `json:"factor"`
}

// Rise tells a rise from a drop.
func (c Change) Rise() bool { return c.Factor > 1 }

const (
	// changeProbability is the least posterior probability that is reported.
	changeProbability = 0.5
	// mostChanges bounds how many are looked for, and changeIntervals how far back.
	mostChanges     = 3
	changeIntervals = 16
)

// Changes finds sudden changes of output up to asOf, earliest first; nil when there is none that is more likely than
// not. It compares, for every interval, the evidence of the readings with a sudden change there against none
// (eq. 14); a slow walk, a drift and the swings from day to day are weighed in both, so they raise no false alarm.
// Cost: one fit for each interval looked at.
func Changes(c Course, asOf time.Time) []Change {
	return changes(c, asOf, historyReadings, changeIntervals)
}

func changes(c Course, asOf time.Time, history, look int) []Change {
	laid := lay(c, asOf, history, datedLeapVar)
	leaps := map[int]bool{}
	var out []Change
	for range mostChanges {
		odds, spans := laid.changeOdds(look, leaps)
		best, sum := -1, 1.0
		for k, o := range odds {
			sum += o
			if o > 0 && (best < 0 || o > odds[best]) {
				best = k
			}
		}
		if best < 0 {
			break
		}
		p := 0.0
		for k := max(0, best-1); k <= min(len(odds)-1, best+1); k++ {
			p += odds[k] / sum
		}
		if p < changeProbability {
			break
		}
		leaps[best] = true
		out = append(out, Change{From: spans[best].from, To: spans[best].to, Probability: clip(p)})
	}
	if len(out) == 0 {
		return nil
	}
	return measure(out, laid.fold(datingLaws, leaps).spans)
}

// changeOdds, of a laid track, are the odds of one more sudden change at the start of each span, against none, with those in leaps taken
// as known. It leaves leaps as it was.
func (t Track) changeOdds(look int, leaps map[int]bool) ([]float64, []span) {
	calm := t.start(datingLaws, leaps)
	// Up to its span a change changes nothing: what was believed there is kept, and only the rest is read again.
	var before []Track
	var from []int
	for i, r := range t.readings {
		was, n := calm.clone(), len(calm.spans)
		calm.take(i, r)
		if len(calm.spans) > n {
			before, from = append(before, was), append(from, i)
		}
	}
	n := len(calm.spans)
	odds := make([]float64, n)
	// Before the first span there is nothing that could change.
	for k := max(1, n-look); k < n; k++ {
		if leaps[k] {
			continue
		}
		leaps[k] = true
		with := before[k]
		for i := from[k]; i < len(t.readings); i++ {
			with.take(i, t.readings[i])
		}
		delete(leaps, k)
		pi := 1 - math.Exp(-leapPerD*calm.spans[k].days)
		odds[k] = pi / (1 - pi) * math.Exp(math.Min(600, with.lnEvidence-calm.lnEvidence))
	}
	return odds, calm.spans
}

// measure orders the changes in time and reads the outputs on both sides: from the change before (or the start) to
// this one, and from this one to the next (or the end).
func measure(cs []Change, spans []span) []Change {
	for i := range cs {
		for j := i; j > 0 && cs[j].From.Before(cs[j-1].From); j-- {
			cs[j], cs[j-1] = cs[j-1], cs[j]
		}
	}
	for i := range cs {
		var before, after span
		for _, s := range spans {
			switch {
			case s.to.After(cs[i].From) && (i+1 == len(cs) || !s.from.After(cs[i+1].From) && s.from.Before(cs[i+1].From)):
				after.ml += s.ml
				after.days += s.days
			case !s.to.After(cs[i].From) && (i == 0 || !s.from.Before(cs[i-1].From)):
				before.ml += s.ml
				before.days += s.days
			}
		}
		b, a := math.Max(1, before.ml/math.Max(before.days, 1e-3)), math.Max(0, after.ml/math.Max(after.days, 1e-3))
		cs[i].Before, cs[i].After, cs[i].Factor = unit.Rate(b), unit.Rate(a), a/b
	}
	return cs
}
