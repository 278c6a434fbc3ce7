package healing

import (
	"fmt"
	"math"
	"sort"
	"time"
)

// LeftOut is a value that was not used, with the reason and what to do.
type LeftOut struct {
	At time.Time `json:"at"`
	// Index is the place of the size in the list that was given, from 0.
	Index   int      `json:"index"`
	Measure Measure  `json:"measure,omitempty"`
	Value   *float64 `json:"value,omitempty"`
	Why     string   `json:"why"`
}

// series is what is left of the input after cleaning: sizes in time order, areas on the scale of a traced outline.
type series struct {
	sizes   []Size
	methods []Method
	leftOut []LeftOut
	odd     []Odd
	notes   []string
	// closed is when the wound was found closed and stayed so.
	closed *time.Time
	// looks are visits on which the bed was looked at and no size taken.
	looks []Size
	// doubtful is set when the closing came faster than a wound closes by itself.
	doubtful bool
}

func (s *series) with(m Measure) []Size {
	var out []Size
	for _, z := range s.sizes {
		if m.of(z) != nil {
			out = append(out, z)
		}
	}
	return out
}

// Limits beyond which a value cannot be a wound's: a body has about 2 m² of skin.
const (
	mostAreaCm2   = 20000.0
	mostDepthCm   = 60.0
	mostVolumeCm3 = 50000.0
	// half a square millimetre
	leastAreaCm2 = 0.005
)

// clean sorts, drops what cannot be used and brings areas to one scale (eq. 1).
func clean(sizes []Size, asOf time.Time) *series {
	s := &series{}
	in := append([]Size(nil), sizes...)
	for i := range in {
		in[i].place = i
	}
	sort.SliceStable(in, func(i, j int) bool { return before(in[i], in[j]) })
	for i := range in {
		z := in[i]
		switch {
		case z.At.IsZero():
			s.drop(z, "", nil, "the size has no date")
			continue
		case !asOf.IsZero() && IsAfter(z.At, asOf):
			s.drop(z, "", nil, "it is dated after the day of this review")
			continue
		}
		s.checkValues(&z)
		if z.AreaCm2 == nil && z.DepthCm == nil && z.VolumeCm3 == nil {
			if z.BarePct != nil {
				s.looks = append(s.looks, z)
			}
			continue
		}
		if n := len(s.sizes); n > 0 && sameSize(in[i], in[i-1]) {
			s.drop(z, "", nil, "the same size is written twice")
			continue
		}
		s.sizes = append(s.sizes, z)
	}
	s.oneScale()
	s.closure()
	return s
}

// zeroTime stands for no day of review: no size is left out for its date.
var zeroTime time.Time

// IsAfter tells whether a size is from after asOf. A date without a clock time stands for the whole day, where the
// wound was measured: the calendar there decides, whatever the offset.
func IsAfter(at, asOf time.Time) bool {
	if h, m, sec := asOf.Clock(); h != 0 || m != 0 || sec != 0 {
		return at.After(asOf)
	}
	y, m, d := at.Date()
	return !time.Date(y, m, d, 0, 0, 0, 0, asOf.Location()).Before(asOf.AddDate(0, 0, 1))
}

func (s *series) drop(z Size, m Measure, v *float64, why string) {
	if v != nil && !finite(*v) {
		v = nil
	}
	s.leftOut = append(s.leftOut, LeftOut{At: z.At, Index: z.place, Measure: m, Value: v, Why: why})
}

// checkValues takes out values that cannot be, one by one.
func (s *series) checkValues(z *Size) {
	if z.AreaCm2 == nil && z.LengthCm != nil && z.WidthCm != nil && *z.LengthCm >= 0 && *z.WidthCm >= 0 {
		a := *z.LengthCm * *z.WidthCm
		z.AreaCm2 = &a
		if m, known := MethodOf(z.Method); !known || m.ID == "unknown" {
			z.Method = "ruler"
		}
	}
	for _, c := range []struct {
		m    Measure
		v    **float64
		se   **float64
		most float64
	}{{Area, &z.AreaCm2, &z.SECm2, mostAreaCm2}, {Depth, &z.DepthCm, &z.DepthSECm, mostDepthCm}, {Volume, &z.VolumeCm3, &z.VolumeSECm3, mostVolumeCm3}} {
		v := *c.v
		switch {
		case v == nil:
		case !finite(*v):
			s.drop(*z, c.m, v, "the value is not a number")
			*c.v = nil
		case *v < 0:
			s.drop(*z, c.m, v, "a size cannot be negative")
			*c.v = nil
		case *v > 0 && c.m == Area && *v < leastAreaCm2:
			s.drop(*z, c.m, v, "the value is smaller than anybody can measure; write 0 for a closed wound")
			*c.v = nil
		case *v > c.most:
			s.drop(*z, c.m, v, "the value is larger than a wound can be")
			*c.v = nil
		}
		if se := *c.se; se != nil && (!finite(*se) || *se < 0) {
			s.drop(*z, c.m, se, "the standard error is not a positive number; the method's own is used")
			*c.se = nil
		} else if se != nil && *se == 0 {
			*c.se = nil
		}
	}
	if v := z.BarePct; v != nil && !(*v >= 0 && *v <= 100) {
		s.drop(*z, Bare, v, "a share of the bed lies between 0 and 100 %")
		z.BarePct = nil
	}
	for _, v := range []**float64{&z.LengthCm, &z.WidthCm, &z.PerimeterCm} {
		if *v != nil && (!finite(**v) || **v < 0) {
			*v = nil
		}
	}
}

// oneScale divides areas by their method's factor.
func (s *series) oneScale() {
	seen := map[string]bool{}
	for i := range s.sizes {
		z := &s.sizes[i]
		m, known := MethodOf(z.Method)
		s.methods = append(s.methods, m)
		if z.AreaCm2 == nil {
			continue
		}
		if !known {
			s.note(fmt.Sprintf("The method %q is not known here; its areas are used as they are, with a wider error.", z.Method))
		}
		if m.ID == "unknown" && known {
			s.note("Some areas have no method; they are used as they are, with a wider error.")
		}
		seen[m.ID] = true
		if m.Factor != 1 {
			a := *z.AreaCm2 / m.Factor
			z.AreaCm2 = &a
			if z.SECm2 != nil {
				se := *z.SECm2 / m.Factor
				z.SECm2 = &se
			}
			s.note(fmt.Sprintf("Areas by %s are divided by %.2f to match a traced outline (%s).", m.Name, m.Factor, m.Source))
		}
	}
	if len(seen) > 1 {
		s.note("Areas were taken by more than one method; the difference between methods is uncertain and is counted in.")
	}
}

func (s *series) note(text string) {
	for _, n := range s.notes {
		if n == text {
			return
		}
	}
	s.notes = append(s.notes, text)
}

// Above these a wound does not close by itself between two visits: the fastest published edge advance is about
// 0.2 cm a week (Edsberg 2011, with twice its spread); six times that is left for error.
const fastestCmPerWk, doubtFromRadiusCm = 1.2, 1.5

// closure looks at areas of zero. A last area of zero is a closed wound; one that is followed by about the old size is
// odd; one that is followed by a new wound starts a new course.
func (s *series) closure() {
	for {
		i := s.firstZero()
		if i < 0 {
			return
		}
		prev, next := s.neighbour(i, -1), s.neighbour(i, 1)
		z := s.sizes[i]
		before := 0.0
		if prev >= 0 {
			before = *s.sizes[prev].AreaCm2
		}
		radius := math.Sqrt(before / math.Pi)
		switch {
		case next < 0:
			s.closed = &s.sizes[i].At
			if radius > doubtFromRadiusCm && radius > fastestCmPerWk*weeksBetween(s.sizes[prev].At, z.At) {
				s.doubtful = true
				s.odd = append(s.odd, Odd{At: z.At, Index: z.place, Measure: Area, Value: 0, Chance: 0.5, Expected: &before,
					Why: "the wound was too large one visit earlier to have closed by itself; it may have been closed by a surgeon"})
			}
			return
		case before > 0 && s.alone(prev, i) && *s.sizes[next].AreaCm2 >= before/2 && *s.sizes[next].AreaCm2 <= before*1.3:
			s.odd = append(s.odd, Odd{At: z.At, Index: z.place, Measure: Area, Value: 0, Chance: 1, Expected: &before,
				Why: "the next size is close to the one before it"})
			s.sizes[i].AreaCm2 = nil
		default:
			s.note(fmt.Sprintf("The wound was closed on %s and opened again; only sizes since then are used.", z.At.Format("2 January 2006")))
			s.sizes, s.methods = s.sizes[i+1:], s.methods[i+1:]
		}
	}
}

// alone tells whether no other zero lies between two indices.
func (s *series) alone(from, to int) bool {
	for _, z := range s.sizes[from+1 : to] {
		if z.AreaCm2 != nil && *z.AreaCm2 == 0 {
			return false
		}
	}
	return true
}

// firstZero returns the first zero area that starts a run of zeros up to the end, or is followed by a positive one.
func (s *series) firstZero() int {
	for i, z := range s.sizes {
		if z.AreaCm2 == nil || *z.AreaCm2 > 0 {
			continue
		}
		// of several zeros in a row before a positive area the last one decides
		if n := s.neighbour(i, 1); n >= 0 {
			for j := n - 1; j > i; j-- {
				if v := s.sizes[j].AreaCm2; v != nil && *v == 0 {
					return j
				}
			}
		}
		return i
	}
	return -1
}

// neighbour returns the nearest index with a positive area in a direction, -1 when there is none.
func (s *series) neighbour(i, dir int) int {
	for j := i + dir; j >= 0 && j < len(s.sizes); j += dir {
		if v := s.sizes[j].AreaCm2; v != nil && *v > 0 {
			return j
		}
	}
	return -1
}

// before orders sizes by time and then by value, so that the order of writing does not matter.
func before(a, b Size) bool {
	if !a.At.Equal(b.At) {
		return a.At.Before(b.At)
	}
	for _, m := range fitted {
		x, y := m.of(a), m.of(b)
		switch {
		case x == nil && y == nil:
		case x == nil || y == nil:
			return x == nil
		case *x != *y:
			return *x < *y
		}
	}
	return a.Method < b.Method
}

func sameSize(a, b Size) bool {
	if !a.At.Equal(b.At) || a.Method != b.Method {
		return false
	}
	for _, m := range fitted {
		x, y := m.of(a), m.of(b)
		if (x == nil) != (y == nil) || (x != nil && *x != *y) {
			return false
		}
	}
	return true
}

// readings turns one measure into readings for the filter.
func (s *series) readings(m Measure) (out []reading, times []time.Time, biasSD [2]float64) {
	for i, z := range s.sizes {
		v := m.of(z)
		if v == nil || (m == Area && *v <= 0) {
			continue
		}
		if len(times) == 0 {
			times = append(times, z.At)
		}
		r := reading{wk: weeksBetween(times[0], z.At), size: i}
		value, se := *v, m.se(z)
		method := s.methods[i]
		switch {
		case m == Area:
			r.cv = method.CV
			if se != nil {
				r.cv = *se / value
			}
			r.cv = math.Max(r.cv, 0.01) + AreaFloorCm2/value*0.5
			if method.group > 0 {
				r.bias = stRuler + method.group - 1
				biasSD[method.group-1] = math.Max(biasSD[method.group-1], method.FactorSDLog)
			}
		case m == Depth:
			value = math.Max(value, depthFloorCm/2)
			r.cv = DepthSE(value) / value
			if se != nil {
				r.cv = math.Max(*se/value, 0.02)
			}
		default:
			value = math.Max(value, volumeFloorCm3/2)
			r.cv = VolumeSE(value) / value
			if se != nil {
				r.cv = math.Max(*se/value, 0.02)
			}
		}
		r.cv = math.Min(r.cv, 1.5)
		r.log, r.val = math.Log(value), value
		out = append(out, r)
		if z.At.After(times[len(times)-1]) {
			times = append(times, z.At)
		}
	}
	return out, times, biasSD
}

// The error of a share of the bed judged by eye, and the smallest share that is told apart from none, percent. Common
// practice, no published source.
const bareSEPct, bareFloorPct = 8.0, 2.5

// bareFit fits the share of the bed that is not granulated; nil with looks on fewer than two days.
func (s *series) bareFit(windowWk float64) *Fit {
	all := append(s.with(Bare), s.looks...)
	sort.SliceStable(all, func(i, j int) bool { return before(all[i], all[j]) })
	var r []reading
	var times []time.Time
	for i, z := range all {
		if z.BarePct == nil || i > 0 && sameSize(z, all[i-1]) {
			continue
		}
		v := math.Max(*z.BarePct, bareFloorPct)
		if len(times) == 0 || z.At.After(times[len(times)-1]) {
			times = append(times, z.At)
		}
		r = append(r, reading{wk: weeksBetween(times[0], z.At), log: math.Log(v), val: v, cv: math.Min(bareSEPct/v, 1.5), size: i})
	}
	if len(times) < 2 {
		return nil
	}
	f := fitReadings(Bare, r, PublishedPrior(Bare), [2]float64{}, windowWk)
	f.First, f.Last = times[0], times[len(times)-1]
	return f
}
