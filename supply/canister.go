package supply

import (
	"math"
)

// Output is the mean output a day over the period in mL/d, as quantiles of a forecast. It is continued as two halves
// of log-normal laws through the three points.
type Output struct{ P10, Median, P90 float64 }

// At is the p-quantile of the output.
func (o Output) At(p float64) float64 {
	if !(o.Median > 0) {
		return 0
	}
	low := max(o.P10, 1e-6)
	sd := math.Log(o.Median/low) / Z(0.9)
	if p > 0.5 {
		sd = math.Log(max(o.P90, o.Median)/o.Median) / Z(0.9)
	}
	return o.Median * math.Exp(sd*Z(p))
}

// Canister is the one in use and when it is changed.
type Canister struct {
	// UsableML is what it takes before it counts as full, ContentML what is in it.
	UsableML, ContentML float64
	// AgeH is for how long it has been in.
	AgeH float64
	// StayH is the longest time with one canister, above 0.
	StayH float64
	// VisitEveryH is the time between visits: a canister that would fill before the next visit is changed at this one.
	// 0 changes it when it is full.
	VisitEveryH float64
}

// Count is how many new canisters the days take at a steady rate of output in mL/d (eq. 4).
func (c Canister) Count(rateMLD, days float64) int {
	if !(c.UsableML > 0) || !(days > 0) {
		return 0
	}
	life := func(roomML, leftD float64) float64 {
		if rateMLD > 0 {
			leftD = min(leftD, max(0, roomML)/rateMLD)
		}
		if v := c.VisitEveryH / 24; v > 0 && leftD >= v {
			leftD = v * math.Floor(leftD/v+1e-9)
		}
		return max(0, leftD)
	}
	first := life(c.UsableML-c.ContentML, (c.StayH-c.AgeH)/24)
	if first >= days {
		return 0
	}
	each := life(c.UsableML, c.StayH/24)
	if !(each > 1e-3) {
		each = 1e-3 // more than a thousand a day is no forecast
	}
	return min(maxCount, int(math.Ceil((days-first)/each-1e-9)))
}

// quadrature points of a Spread's moments: midpoints of equal shares of probability.
const shares = 25

// Canisters is the number of new canisters over the days. The count rises with the output, so its quantiles are the
// counts at the quantiles of the output (eq. 5).
func Canisters(c Canister, o Output, days float64) (Spread, Status) {
	switch {
	case !(c.UsableML > 0):
		return Spread{}, NoSizeML
	case !(o.Median > 0):
		return Spread{}, NoOutput
	}
	s := Spread{Low: c.Count(o.At(0.1), days), Median: c.Count(o.At(0.5), days), High: c.Count(o.At(0.9), days)}
	for i := range shares {
		n := float64(c.Count(o.At((float64(i)+0.5)/shares), days))
		s.Mean += n / shares
		s.Variance += n * n / shares
	}
	s.Variance = max(0, s.Variance-s.Mean*s.Mean)
	return s, OK
}
