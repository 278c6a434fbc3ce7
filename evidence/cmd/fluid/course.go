package main

import (
	"math"
	"math/rand/v2"
	"sort"
	"time"

	"lowtide/fluid"
	"lowtide/unit"
)

// stepsPerH is the resolution of the simulated truth.
const stepsPerH = 4

// aheadD is how long the truth goes on after asOf.
const aheadD = 60

// generator makes the log of an hourly course of output over n steps, with values around base (mL/d). None of them
// is the model of package fluid.
type generator struct {
	name string
	// heldOut says that the model's constants were set without looking at this generator's results.
	heldOut bool
	logRate func(r *rand.Rand, base float64, n int) []float64
	// habit is how the course is read; its zero value is the habit of the first seven generators.
	habit habit
}

var generators = []generator{
	{name: "log-normal walk", logRate: walk},
	{name: "step changes", logRate: steps},
	{name: "declining", logRate: declining},
	{name: "weekly rhythm", heldOut: true, logRate: weekly},
	{name: "gamma days, bursts", heldOut: true, logRate: bursts},
	{name: "rise and fall", heldOut: true, logRate: riseFall},
	{name: "reverting, heavy tails", heldOut: true, logRate: reverting}, // added after the constants were fixed
}

func uniform(r *rand.Rand, a, b float64) float64 { return a + (b-a)*r.Float64() }

// days adds one normal effect of sd to every calendar day.
func days(r *rand.Rand, x []float64, sd float64) {
	e := 0.0
	for i := range x {
		if i%(24*stepsPerH) == 0 {
			e = sd * r.NormFloat64()
		}
		x[i] += e
	}
}

func walk(r *rand.Rand, base float64, n int) []float64 {
	x := make([]float64, n)
	sd := uniform(r, 0.03, 0.25) / math.Sqrt(24*stepsPerH)
	level := math.Log(base)
	for i := range x {
		level += sd * r.NormFloat64()
		x[i] = level
	}
	days(r, x, uniform(r, 0, 0.3))
	return x
}

func steps(r *rand.Rand, base float64, n int) []float64 {
	x := make([]float64, n)
	level := math.Log(base)
	mean := uniform(r, 4, 14) * 24 * stepsPerH
	next := int(mean * r.ExpFloat64())
	for i := range x {
		if i == next {
			level += uniform(r, 0.3, 1) * math.Copysign(1, r.Float64()-0.55)
			next = i + 1 + int(mean*r.ExpFloat64())
		}
		level = math.Max(math.Log(3), math.Min(math.Log(1500), level))
		x[i] = level
	}
	days(r, x, uniform(r, 0.05, 0.35))
	return x
}

func declining(r *rand.Rand, base float64, n int) []float64 {
	x := make([]float64, n)
	perD := uniform(r, 0.02, 0.14)
	floor := uniform(r, 0.08, 0.4)
	for i := range x {
		d := float64(i) / (24 * stepsPerH)
		x[i] = math.Log(1.4 * base * (floor + (1-floor)*math.Exp(-perD*d)))
	}
	days(r, x, uniform(r, 0.05, 0.4))
	return x
}

func weekly(r *rand.Rand, base float64, n int) []float64 {
	x := make([]float64, n)
	amp, phase, day := uniform(r, 0.1, 0.5), uniform(r, 0, 2*math.Pi), uniform(r, 0, 0.3)
	slope := uniform(r, -0.04, 0.01)
	for i := range x {
		d := float64(i) / (24 * stepsPerH)
		x[i] = math.Log(base) + slope*math.Min(d, 20) + amp*math.Sin(2*math.Pi*d/7+phase) + day*math.Sin(2*math.Pi*d)
	}
	days(r, x, uniform(r, 0.05, 0.3))
	return x
}

// gamma draws from a gamma distribution of mean 1 by Marsaglia and Tsang's method (shape at least 1).
func gamma(r *rand.Rand, shape float64) float64 {
	d := shape - 1.0/3
	c := 1 / math.Sqrt(9*d)
	for {
		z := r.NormFloat64()
		v := 1 + c*z
		if v <= 0 {
			continue
		}
		v = v * v * v
		if math.Log(r.Float64()) < 0.5*z*z+d-d*v+d*math.Log(v) {
			return d * v / shape
		}
	}
}

func bursts(r *rand.Rand, base float64, n int) []float64 {
	x := make([]float64, n)
	shape, burst := uniform(r, 3, 20), uniform(r, 0, 0.08)
	e := 0.0
	for i := range x {
		if i%(24*stepsPerH) == 0 {
			e = math.Log(gamma(r, shape))
			if r.Float64() < burst {
				e += math.Log(uniform(r, 1.7, 3))
			}
		}
		x[i] = math.Log(base) + e
	}
	return x
}

func riseFall(r *rand.Rand, base float64, n int) []float64 {
	x := make([]float64, n)
	peak, width, amp := uniform(r, 3, 20), uniform(r, 3, 9), uniform(r, 0.3, 1.2)
	for i := range x {
		d := float64(i)/(24*stepsPerH) - peak
		x[i] = math.Log(base) + amp*math.Exp(-d*d/(2*width*width)) - amp/2
	}
	days(r, x, uniform(r, 0.05, 0.3))
	return x
}

func reverting(r *rand.Rand, base float64, n int) []float64 {
	x := make([]float64, n)
	tau := uniform(r, 2, 6) * 24 * stepsPerH
	sd := uniform(r, 0.15, 0.5)
	scale := uniform(r, 0.08, 0.22)
	e, shock := sd*r.NormFloat64(), 0.0
	for i := range x {
		e += -e/tau + sd*math.Sqrt(2/tau)*r.NormFloat64()
		if i%(24*stepsPerH) == 0 {
			// Student's t with three degrees of freedom.
			a, b, c := r.NormFloat64(), r.NormFloat64(), r.NormFloat64()
			shock = scale * r.NormFloat64() / math.Sqrt((a*a+b*b+c*c)/3)
			shock = math.Max(-2, math.Min(2, shock))
		}
		x[i] = math.Log(base) + e + shock
	}
	return x
}

// simulated is one course as a nurse would have written it down, with the truth that followed.
type simulated struct {
	generator string
	course    fluid.Course
	asOf      time.Time
	// fillH is when the canister truly reached its usable volume, in hours after asOf; capped at aheadD.
	fillH float64
	// collected is what truly came in the first 24, 48 and 72 h after asOf.
	collected [3]float64
}

var origin = time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)

var horizonsH = [3]float64{24, 48, 72}

// simulate makes one course. It returns false when the canister was truly full before asOf.
func simulate(g generator, r *rand.Rand) (simulated, bool) {
	area := math.Exp(uniform(r, math.Log(6), math.Log(160)))
	base := math.Max(8, math.Min(900, fluid.OutputPerArea*area*math.Exp(0.6*r.NormFloat64())))
	if g.habit.baseMLD[1] > 0 {
		base = math.Exp(uniform(r, math.Log(g.habit.baseMLD[0]), math.Log(g.habit.baseMLD[1])))
	}
	historyD := uniform(r, 1, 16)
	n := int((historyD + 3 + aheadD) * 24 * stepsPerH)
	x := g.logRate(r, base, n)
	s := simulated{generator: g.name}
	if g.habit.pauses {
		for _, p := range pauseSpans(r, 24*historyD) {
			// Whole steps of the truth, so that what was not collected is left out of it exactly.
			from, to := int(math.Ceil(p[0]*stepsPerH)), int(p[1]*stepsPerH)
			s.course.Pauses = append(s.course.Pauses, fluid.Pause{From: wall(float64(from) / stepsPerH), To: wall(float64(to) / stepsPerH)})
			for i := from; i < to; i++ {
				x[i] = math.Inf(-1)
			}
		}
	}
	cum := make([]float64, n+1)
	for i := range x {
		cum[i+1] = cum[i] + math.Exp(x[i])/(24*stepsPerH)
	}
	at := func(h float64) float64 { // total truly given by the wound after h hours
		p := h * stepsPerH
		i := int(p)
		if i >= n {
			return cum[n]
		}
		return cum[i] + (cum[i+1]-cum[i])*(p-float64(i))
	}
	sizes := []float64{300, 400, 500, 800}
	size := sizes[r.IntN(len(sizes))]
	if base > 200 {
		size = sizes[2+r.IntN(2)]
	}
	if n := len(g.habit.sizesML); n > 0 {
		size = g.habit.sizesML[r.IntN(n)]
	}
	s.course.Canister, s.course.UsableShare, s.course.Area = unit.Volume(size), 0.9, unit.Area(math.Round(area))
	times := g.habit.times(r, historyD)
	content := write(r, &s, g.habit, times, at, size)
	last := times[len(times)-1]
	asOf := last
	if r.Float64() < 0.5 {
		asOf += uniform(r, 0, 12)
	}
	s.asOf = wall(asOf)
	usable := 0.9 * size
	content += at(asOf) - at(last)
	if content >= usable {
		return s, false
	}
	s.fillH = 24 * aheadD
	lo, hi := asOf, asOf+24*aheadD
	if content+at(hi)-at(asOf) >= usable {
		for hi-lo > 0.01 {
			m := (lo + hi) / 2
			if content+at(m)-at(asOf) >= usable {
				hi = m
			} else {
				lo = m
			}
		}
		s.fillH = hi - asOf
	}
	for k, h := range horizonsH {
		s.collected[k] = at(asOf+h) - at(asOf)
	}
	return s, true
}

func wall(h float64) time.Time {
	return origin.Add(time.Duration(math.Round(h*60)) * time.Minute)
}

// times are the hours at which the canister is looked at.
func (h habit) times(r *rand.Rand, historyD float64) []float64 {
	times := readingTimes(r, historyD)
	if len(h.everyH) > 0 {
		times = rhythm(r, historyD, h.everyH[r.IntN(len(h.everyH))])
	}
	if h.holidays {
		times = holidays(r, times)
	}
	if h.first {
		times = times[:1]
	}
	return times
}

// readingTimes are odd: once or twice a day or at visits, jittered, with gaps. At least two.
func readingTimes(r *rand.Rand, historyD float64) []float64 {
	return rhythm(r, historyD, []float64{8, 12, 24, 24, 48, 72}[r.IntN(6)])
}

func rhythm(r *rand.Rand, historyD, every float64) []float64 {
	jitter := math.Min(every/2, uniform(r, 0.5, 4))
	gap := uniform(r, 0, 0.2)
	start := uniform(r, 6, 12)
	times := []float64{start}
	for h := start + every; h < start+historyD*24; h += every {
		if r.Float64() < gap {
			continue
		}
		times = append(times, h+uniform(r, -jitter, jitter))
	}
	if len(times) < 2 {
		times = append(times, start+uniform(r, 10, 30))
	}
	sort.Float64s(times)
	return times
}

// write turns truth into readings and returns the true content at the last one.
func write(r *rand.Rand, s *simulated, g habit, times []float64, at func(float64) float64, size float64) float64 {
	step := []float64{25, 50, 25, 50, 10}[r.IntN(5)]
	if g.stepML > 0 {
		step = g.stepML
	}
	eye := uniform(r, 0, 8)
	early := uniform(r, 0.5, 0.85) // share at which a change is made
	both := r.Float64() < 0.5      // whether the old canister is read at a change
	note := func(h, v float64, fresh bool) {
		m := v + eye*r.NormFloat64()
		m = math.Max(0, math.Min(size, step*math.Round(m/step)))
		if g.misread > 0 && r.Float64() < g.misread {
			m = misread(r, m, size)
		}
		if fresh {
			m = 0
		}
		s.course.Readings = append(s.course.Readings, fluid.Reading{At: wall(h), Content: unit.Volume(m), NewCanister: fresh})
	}
	content, placed := 0.0, times[0]
	if g.first && r.Float64() < 0.5 { // the first look is at a canister that somebody else put in
		content = uniform(r, 0, 0.5*size)
		note(times[0], content, false)
	} else {
		note(times[0], 0, true)
	}
	for i, h := range times[1:] {
		content = math.Min(size, content+at(h)-at(times[i]))
		if content > early*size || h-placed > 7*24 || g.daily {
			if both || g.daily {
				note(h, content, false)
			}
			content, placed = 0, h
			if g.unwritten == 0 || r.Float64() >= g.unwritten {
				note(h, 0, true)
			}
			continue
		}
		note(h, content, false)
	}
	return content
}
