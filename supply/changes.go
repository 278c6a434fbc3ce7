package supply

import (
	"math"
	"time"
)

// Plan is when the dressing of a wound is changed.
type Plan struct {
	// Next is the next planned change; one in the past is due at once.
	Next time.Time
	// LeastH and MostH are the planned time between changes in hours: equal when an order says it, else the usual
	// range. Both are positive.
	LeastH, MostH float64
	// Early counts changes that came clearly before their time, over the WatchedD days of this therapy.
	Early    int
	WatchedD float64
}

// The prior of the rate of extra changes: one in 20 days, worth as much as 20 days of watching. An assumption of
// ours, no published source (docs/model/supply.md).
const (
	priorEarly = 1.0
	priorDays  = 20.0
)

// Extra is the law of changes beyond the planned ones over some days: negative binomial (eq. 3).
func (p Plan) Extra(days float64) NegBin {
	b := priorDays + max(0, p.WatchedD)
	return NegBin{R: priorEarly + float64(max(0, p.Early)), P: b / (b + max(0, days))}
}

// Planned counts the changes planned in [from, to) at every hours apart, the first at Next or, if that is past, at
// from (eq. 2). It is 0 when the period or every is not positive.
func (p Plan) Planned(from, to time.Time, everyH float64) int {
	first := p.Next
	if first.Before(from) {
		first = from
	}
	span := to.Sub(first).Hours()
	if !(everyH > 0) || !(span > 0) {
		return 0
	}
	return int(math.Ceil(span/everyH - 1e-9))
}

// Changes is the number of changes in [from, to): planned ones and extra ones, which are taken not to move the
// planned ones. Where no order says the interval, the low end is at MostH and the high end at LeastH.
func Changes(p Plan, from, to time.Time) Spread {
	days := to.Sub(from).Hours() / 24
	if days <= 0 {
		return Spread{}
	}
	few, many := p.Planned(from, to, p.MostH), p.Planned(from, to, p.LeastH)
	middle := p.Planned(from, to, (p.LeastH+p.MostH)/2)
	x := p.Extra(days)
	s := Spread{Low: few + x.Quantile(0.1), Median: middle + x.Quantile(0.5), High: many + x.Quantile(0.9)}
	s.Mean, s.Variance = Expect(p, from, to)
	return s
}

// Expect is the mean and variance of [Changes], which sums over a caseload need, without the quantiles.
func Expect(p Plan, from, to time.Time) (mean, variance float64) {
	days := to.Sub(from).Hours() / 24
	if days <= 0 {
		return 0, 0
	}
	x := p.Extra(days)
	wide := float64(p.Planned(from, to, p.LeastH)-p.Planned(from, to, p.MostH)) / 2
	return float64(p.Planned(from, to, (p.LeastH+p.MostH)/2)) + x.Mean(), x.Variance() + wide*wide/3
}

// Usual counts what a fixed rhythm takes: days / every, as a number that need not be whole, with the fewest and the
// most changes that such a period can hold (eq. 2; which of both depends on the hour of the first change).
func Usual(everyH, days float64) (mean float64, fewest, most int) {
	if !(everyH > 0) || !(days > 0) {
		return 0, 0, 0
	}
	mean = days * 24 / everyH
	return mean, int(math.Floor(mean + 1e-9)), int(math.Ceil(mean - 1e-9))
}
