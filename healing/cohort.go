package healing

import (
	"fmt"
	"math"
	"sort"
)

// ClosedCase is one of an agency's own ended cases.
type ClosedCase struct {
	WoundType string
	Sizes     []Size
}

// LeastCohort is the fewest closed cases of one wound type from which curves or a prior are made. Chosen: with fewer
// than twenty, the outer tenths of a band would rest on fewer than two wounds.
const LeastCohort = 20

// CohortPoint is the share of the first area that is left, over the cohort, some weeks after the first size.
type CohortPoint struct {
	Weeks float64 `json:"weeks"`
	Left  Band    `json:"left"`
	// N is how many cases were still followed, or closed, by then.
	N int `json:"n"`
}

// Cohort is the agency's own reference: median and band of the area left, week by week.
type Cohort struct {
	WoundType string `json:"wound_type"`
	// N is how many cases were used; below LeastCohort there are no points.
	N        int           `json:"n"`
	Points   []CohortPoint `json:"points"`
	Sentence string        `json:"sentence"`
}

// CohortCurve makes the reference curve of one wound type (empty: all) from ended cases. A case counts at a week while
// it is followed; one that closed counts as 0 from then on. Weeks with fewer than LeastCohort cases are left out, so
// that the band is not carried by the few slowest.
func CohortCurve(woundType string, cases []ClosedCase) Cohort {
	all := cohortSeries(woundType, cases)
	out := Cohort{WoundType: woundType, N: len(all), Points: []CohortPoint{}}
	if len(all) < LeastCohort {
		out.Sentence = fmt.Sprintf("No local curve: %d ended cases with at least two areas, %d are needed.", len(all), LeastCohort)
		return out
	}
	for wk := 0.0; wk <= 52; wk++ {
		var left []float64
		for _, s := range all {
			if x, ok := leftAt(s, wk); ok {
				left = append(left, x)
			}
		}
		if len(left) < LeastCohort {
			break
		}
		sort.Float64s(left)
		out.Points = append(out.Points, CohortPoint{Weeks: wk, N: len(left),
			Left: Band{Median: sampleQuantile(left, 0.5), P10: sampleQuantile(left, 0.1), P90: sampleQuantile(left, 0.9)}})
	}
	out.Sentence = fmt.Sprintf("From %d of the agency's own ended cases.", out.N)
	return out
}

// FitCohort makes a prior of area from ended cases: the rates of a mixed line (eq. 21) through the logarithms of their
// areas, and through the radius and the share left for the other families; what is not a rate stays published. ok is
// false with fewer than LeastCohort cases.
func FitCohort(woundType string, cases []ClosedCase) (pr Prior, ok bool) {
	var logs, edges, shares []Line
	for _, s := range cohortSeries(woundType, cases) {
		var l, e, z Line
		a := s.with(Area)
		first, before := *a[0].AreaCm2, *a[0].AreaCm2
		r0 := math.Sqrt(first / math.Pi)
		for _, x := range a {
			v, wk := *x.AreaCm2, weeksBetween(a[0].At, x.At)
			closed := v <= 0
			if closed {
				// a closed wound was last seen just above the smallest detectable area
				v = math.Min(0.25, before/2)
			}
			l = l.with(wk, math.Log(v))
			e = e.with(wk, math.Sqrt(v/math.Pi)/((1+r0/2.5)/2))
			z = z.with(wk, v/first)
			if before = v; closed {
				break
			}
		}
		logs, edges, shares = append(logs, l), append(edges, e), append(shares, z)
	}
	pr = PublishedPrior(Area)
	if len(logs) < LeastCohort {
		return pr, false
	}
	onLog, ok1 := FitMixedLine(logs)
	onEdge, ok2 := FitMixedLine(edges)
	onShare, ok3 := FitMixedLine(shares)
	if !ok1 || !ok2 || !ok3 {
		return pr, false
	}
	pr.Slow, pr.Fast = onLog.rates()
	pr.EdgeSlow, pr.EdgeFast = onEdge.rates()
	pr.Steady = Rate{-onShare.Slope, math.Max(onShare.slopeSD(), leastRateSD)}
	pr.N = len(logs)
	pr.Source = fmt.Sprintf("rates of %d of the agency's own ended cases", pr.N)
	return pr, pr.sound()
}

// leastRateSD keeps a cohort of wounds that are alike from ruling out the next one. Chosen.
const leastRateSD = 0.02

func (l Line) with(wk, v float64) Line {
	return Line{append(l.Weeks, wk), append(l.Values, v)}
}

// slopeSD is the spread of slopes from wound to wound, with what is not known of their mean.
func (m MixedLine) slopeSD() float64 { return math.Hypot(m.SlopeSD, m.SlopeSE) }

// rates splits a group's weekly falls into a slow and a fast component that together have its mean and spread.
func (m MixedLine) rates() (slow, fast Rate) {
	sd := math.Max(m.slopeSD(), leastRateSD)
	return Rate{-m.Slope - 0.6*sd, 0.8 * sd}, Rate{-m.Slope + 0.6*sd, 0.8 * sd}
}

// cohortSeries cleans the cases of a type and keeps those with a positive first area and two areas on different days.
func cohortSeries(woundType string, cases []ClosedCase) []*series {
	want, _ := WoundType(woundType)
	var out []*series
	for _, c := range cases {
		if has, _ := WoundType(c.WoundType); woundType != "" && c.WoundType != "" && has != want {
			continue
		}
		s := clean(c.Sizes, zeroTime)
		a := s.with(Area)
		if len(a) >= 2 && *a[0].AreaCm2 > 0 && a[len(a)-1].At.After(a[0].At) {
			out = append(out, s)
		}
	}
	return out
}

// leftAt is the share of the first area left, on a straight line between sizes.
func leftAt(s *series, wk float64) (float64, bool) {
	a := s.with(Area)
	first := *a[0].AreaCm2
	for i := 1; i < len(a); i++ {
		t0, t1 := weeksBetween(a[0].At, a[i-1].At), weeksBetween(a[0].At, a[i].At)
		if wk >= t0 && wk <= t1 && t1 > t0 {
			w := (wk - t0) / (t1 - t0)
			return ((1-w)**a[i-1].AreaCm2 + w**a[i].AreaCm2) / first, true
		}
	}
	return 0, s.closed != nil
}

// sampleQuantile is the usual linear one between order statistics (type 7 of Hyndman and Fan 1996).
func sampleQuantile(sorted []float64, q float64) float64 {
	h := q * float64(len(sorted)-1)
	i := int(h)
	if i >= len(sorted)-1 {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (h-float64(i))*(sorted[i+1]-sorted[i])
}
