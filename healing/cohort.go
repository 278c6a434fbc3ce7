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

// FitCohort makes a prior of area from ended cases: slow and fast thirds of their decay constants, with the rates'
// spread; the other parts stay published. ok is false with fewer than LeastCohort cases.
func FitCohort(woundType string, cases []ClosedCase) (pr Prior, ok bool) {
	var ks, edges, steady []float64
	for _, s := range cohortSeries(woundType, cases) {
		a := s.with(Area)
		first, last := a[0], a[len(a)-1]
		end := *last.AreaCm2
		if end <= 0 {
			// a closed wound was last seen just above the smallest detectable area
			end = math.Min(0.25, *first.AreaCm2/2)
		}
		wk := weeksBetween(first.At, last.At)
		if k, ok := DecayConstant(*first.AreaCm2, end, wk); ok {
			r0 := math.Sqrt(*first.AreaCm2 / math.Pi)
			ks = append(ks, k)
			steady = append(steady, (1 - *last.AreaCm2 / *first.AreaCm2)/wk)
			edges = append(edges, (r0-math.Sqrt(*last.AreaCm2/math.Pi))/wk/((1+r0/2.5)/2))
		}
	}
	pr = PublishedPrior(Area)
	if len(ks) < LeastCohort {
		return pr, false
	}
	pr.Slow, pr.Fast = halves(ks)
	pr.EdgeSlow, pr.EdgeFast = halves(edges)
	m, sd := meanSD(steady)
	pr.Steady = Rate{m, math.Max(sd, 0.02)}
	pr.N = len(ks)
	pr.Source = fmt.Sprintf("rates of %d of the agency's own ended cases", pr.N)
	return pr, true
}

// halves describes the lower and the upper half of rates, each with at least half the whole's spread.
func halves(x []float64) (slow, fast Rate) {
	s := append([]float64(nil), x...)
	sort.Float64s(s)
	_, all := meanSD(s)
	h := len(s) / 2
	m1, s1 := meanSD(s[:h])
	m2, s2 := meanSD(s[h:])
	least := math.Max(all/2, 0.02)
	return Rate{m1, math.Max(s1, least)}, Rate{m2, math.Max(s2, least)}
}

func meanSD(x []float64) (mean, sd float64) {
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for _, v := range x {
		sd += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(sd / math.Max(1, float64(len(x)-1)))
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
