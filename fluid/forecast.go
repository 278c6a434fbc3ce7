package fluid

import (
	"math"
	"time"
)

// Quantiles are the 10 %, 50 % and 90 % points of a forecast: P10 to P90 is the 80 % interval.
type Quantiles struct {
	Median float64 `json:"median"`
	P10    float64 `json:"p10"`
	P90    float64 `json:"p90"`
}

// strand is one part of a forecast: a belief with its law and weight.
type strand struct {
	w float64
	b belief
	l law
}

// least is the weight under which a strand is left out of a forecast: together they cannot move a 10 % point
// by more than the readings' own error does.
const least = 2e-3

// strands lists the believed parts, weights summing to one.
func (t Track) strands() []strand {
	out := make([]strand, 0, len(laws))
	top, sum := math.Inf(-1), 0.0
	for _, a := range t.tales {
		for _, b := range a.beliefs {
			top = math.Max(top, b.lnW)
		}
	}
	for _, a := range t.tales {
		for j, b := range a.beliefs {
			if w := math.Exp(b.lnW - top); w > least {
				out = append(out, strand{w, b, laws[j]})
				sum += w
			}
		}
	}
	for i := range out {
		out[i].w /= sum
	}
	return out
}

// normal is a normal distribution with a weight.
type normal struct{ w, mean, sd float64 }

// mixture of normals.
type mixture []normal

// lnCollected is the log of what is collected in the d days of therapy that begin lag days after the latest reading,
// given the level (eq. 11). A sudden change on the way is a second part of its own: an 80 % interval must not be
// widened by what happens once in forty days.
func (s strand) lnCollected(x, varX, w, lag, d float64, out mixture) mixture {
	endLag, _ := s.l.drift(lag)
	_, meanAll := s.l.drift(lag + d)
	_, meanLag := s.l.drift(lag)
	mean := endLag
	if d > 0 {
		mean = (meanAll*(lag+d) - meanLag*lag) / d
	}
	m := x + mean + s.l.meanGain(d) + math.Log(d)
	v := varX + s.l.walkVarD*(lag+d/3) + s.l.dayVar*blockShare(d)
	pi := 1 - math.Exp(-leapPerD*(lag+d/2))
	return append(out, normal{w * (1 - pi), m, math.Sqrt(v)}, normal{w * pi, m, math.Sqrt(v + leapVar)})
}

// below is the probability of being below y.
func (m mixture) below(y float64) float64 {
	p := 0.0
	for _, n := range m {
		p += n.w * phi((y-n.mean)/n.sd)
	}
	return p
}

// phi is the standard normal distribution function.
func phi(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// quantile finds y with below(y) = p.
func (m mixture) quantile(p float64) float64 {
	mean, v := 0.0, 0.0
	for _, n := range m {
		mean += n.w * n.mean
	}
	for _, n := range m {
		v += n.w * (n.sd*n.sd + (n.mean-mean)*(n.mean-mean))
	}
	sd := math.Sqrt(v)
	return solve(m.below, p, mean-8*sd, mean+8*sd, mean+sd*probit(p))
}

// probit is the standard normal quantile.
func probit(p float64) float64 { return -math.Sqrt2 * math.Erfcinv(2*p) }

// solve finds y in [lo, hi] with f(y) = p for a rising f, by secant steps on the probit scale, where such
// functions are nearly straight, kept inside a shrinking bracket.
func solve(f func(float64) float64, p, lo, hi, start float64) float64 {
	target := probit(p)
	y := math.Max(lo, math.Min(hi, start))
	var lastY, lastZ float64
	have := false
	tol := 1e-4 * (hi - lo) / 16
	for i := range 60 {
		fy := f(y)
		if fy < p {
			lo = y
		} else {
			hi = y
		}
		z := probit(math.Max(1e-12, math.Min(1-1e-12, fy)))
		if math.Abs(z-target) < 1e-4 || hi-lo < tol {
			return y
		}
		next := (lo + hi) / 2
		if have && z != lastZ && i < 30 {
			if s := y + (target-z)*(y-lastY)/(z-lastZ); s > lo && s < hi {
				next = s
			}
		} else if !have {
			if s := y + (target-z)*0.5; s > lo && s < hi {
				next = s
			}
		}
		lastY, lastZ, have = y, z, true
		y = next
	}
	return y
}

// Collected is what the wound gives in the d days of therapy after asOf, in mL, whatever canister takes it.
// It is zero for d of zero or less.
func (t Track) Collected(d float64) Quantiles {
	if !(d > 0) {
		return Quantiles{}
	}
	m := t.collected(d)
	return Quantiles{
		Median: math.Exp(m.quantile(0.5)), P10: math.Exp(m.quantile(0.1)), P90: math.Exp(m.quantile(0.9)),
	}
}

func (t Track) collected(d float64) mixture {
	ss := t.strands()
	m := make(mixture, 0, 2*len(ss))
	for _, s := range ss {
		m = s.lnCollected(s.b.x, s.b.varX, s.w, t.lag(), d, m)
	}
	return m
}

// lag is the therapy time between the latest reading and asOf, in days.
func (t Track) lag() float64 {
	if t.seen.IsZero() {
		return 0
	}
	return t.clock.days(t.seen, t.asOf)
}

// Rate is the output a day at asOf in mL/d, averaged over the swings from day to day.
func (t Track) Rate() Quantiles {
	ss := t.strands()
	m := make(mixture, 0, 2*len(ss))
	lag := t.lag()
	for _, s := range ss {
		end, _ := s.l.drift(lag)
		m = append(m, normal{s.w, s.b.x + end + s.l.dayVar/2, math.Sqrt(s.b.varX + s.l.walkVarD*lag)})
	}
	return Quantiles{math.Exp(m.quantile(0.5)), math.Exp(m.quantile(0.1)), math.Exp(m.quantile(0.9))}
}

// vNodes integrate over the content in the canister: Gauss-Hermite of order 3.
var vNodes = [3]normal{{w: 1.0 / 6, mean: -math.Sqrt(3)}, {w: 2.0 / 3}, {w: 1.0 / 6, mean: math.Sqrt(3)}}

// pot is a forecast's strand with one content: what it needs to fill, and the level given that content.
type pot struct {
	strand
	need, x, varX, w float64
}

// pots lists the ways in which the canister in place may stand at the latest reading, against a usable volume.
func (t Track) pots(usableML float64) []pot {
	ss := t.strands()
	out := make([]pot, 0, 3*len(ss))
	for _, s := range ss {
		sd := math.Sqrt(s.b.varV)
		toX := 0.0
		if s.b.varV > 0 {
			toX = s.b.covVX / s.b.varV
		}
		varX := math.Max(1e-8, s.b.varX-toX*s.b.covVX)
		for _, n := range vNodes {
			v := math.Max(0, s.b.v+n.mean*sd)
			out = append(out, pot{s, usableML - v, s.b.x + toX*n.mean*sd, varX, s.w * n.w})
		}
	}
	return out
}

// filled is the chance that d days of therapy after the latest reading the content is at or above usable (eq. 12).
func filled(pots []pot, d float64) float64 {
	p := 0.0
	var m [2]normal
	for _, c := range pots {
		if c.need <= 0 {
			p += c.w
			continue
		}
		if d <= 0 {
			continue
		}
		p += c.w - mixture(c.lnCollected(c.x, c.varX, c.w, 0, d, m[:0])).below(math.Log(c.need))
	}
	return p
}

// horizonD is how far ahead a filling time is looked for. A canister is changed weekly; what is not full in a
// year will not fill.
const horizonD = 365

// FillDays are the days of therapy from the latest reading until the usable volume is reached. A quantile that
// lies beyond a year is +Inf; ok is false when nothing can be said (no reading of the canister or no size).
func (t Track) FillDays() (q Quantiles, ok bool) {
	u := t.course.usable()
	if t.seen.IsZero() || !(u > 0) {
		return Quantiles{}, false
	}
	if t.full() {
		return Quantiles{}, true
	}
	pots := t.pots(u)
	f := func(lnD float64) float64 { return filled(pots, math.Exp(lnD)) }
	lo, hi := math.Log(1e-4), math.Log(horizonD)
	at := func(p, start float64) float64 {
		switch {
		case filled(pots, 0) >= p:
			return 0
		case f(hi) < p:
			return math.Inf(1)
		}
		return math.Exp(solve(f, p, lo, hi, start))
	}
	start := 0.0
	for _, c := range pots {
		start += c.w * (math.Log(math.Max(1, c.need)) - c.x)
	}
	q.Median = at(0.5, start)
	if q.Median > 0 && !math.IsInf(q.Median, 1) {
		start = math.Log(q.Median)
	}
	q.P10 = math.Min(q.Median, at(0.1, start-0.5))
	q.P90 = math.Max(q.Median, at(0.9, start+0.5))
	return q, true
}

// ChanceFull is the chance that the canister in place has reached its usable volume by the time at, if nobody changes
// it; ok as for [Track.FillDays].
func (t Track) ChanceFull(at time.Time) (p float64, ok bool) {
	u := t.course.usable()
	if t.seen.IsZero() || !(u > 0) {
		return 0, false
	}
	if t.full() {
		return 1, true
	}
	return clip(filled(t.pots(u), t.clock.days(t.seen, at))), true
}

// ChanceFills is the chance that the canister in place reaches its usable volume between from and to: a night, a
// weekend.
func (t Track) ChanceFills(from, to time.Time) (p float64, ok bool) {
	a, ok := t.ChanceFull(from)
	b, _ := t.ChanceFull(to)
	return math.Max(0, b-a), ok
}

func clip(p float64) float64 { return math.Max(0, math.Min(1, p)) }
