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
const least = 4e-3

// strands lists the believed parts, weights summing to one.
func (t Track) strands() []strand {
	if t.parts != nil {
		return t.parts
	}
	out := make([]strand, 0, len(t.laws))
	top, sum := math.Inf(-1), 0.0
	for _, a := range t.tales {
		for _, b := range a.beliefs {
			top = max(top, b.lnW)
		}
	}
	for _, a := range t.tales {
		for j, b := range a.beliefs {
			if w := math.Exp(b.lnW - top); w > least {
				out = append(out, strand{w, b, t.laws[j]})
				sum += w
			}
		}
	}
	for i := range out {
		out[i].w /= sum
	}
	return out
}

// ahead is what a forecast of the mean output over d days of therapy, lag days after the latest reading, adds to a
// level: the mean and variance of the log, which depend on the law, and the chance of a sudden change on the way,
// which does not (eq. 11). The sudden change is a part of its own: an 80 % interval must not be widened by what
// happens once in weeks.
type ahead struct{ lag, d, wander, swing, leap float64 }

func lookAhead(lag, d float64) ahead {
	return ahead{lag, d, reach(lag + d/3), blockShare(d), -math.Expm1(-leapPerD * reach(lag+d/2))}
}

func (a ahead) of(l law) (mean, variance float64) {
	switch {
	case l.lasting:
		mean = l.driftD*(a.lag+a.d/2) + bend(l.driftD*a.d)
	case a.d > 0:
		_, all, _ := l.drift(a.lag + a.d)
		_, before, _ := l.drift(a.lag)
		mean = (all*(a.lag+a.d) - before*a.lag) / a.d
	default:
		mean, _, _ = l.drift(a.lag)
	}
	mean += l.dayVar*(1-a.swing)/2 + l.walkVarD*a.d/12
	return mean, l.walkVarD*a.wander + l.dayVar*a.swing
}

// lnCollected is the log of what is collected in the d days of therapy that begin lag days after the latest reading.
func lnCollected(ss []strand, lag, d float64) Mixture {
	a := lookAhead(lag, d)
	m := make(Mixture, 0, 2*len(ss))
	for _, s := range ss {
		mean, v := a.of(s.l)
		mean += s.b.x + math.Log(d)
		v += s.b.varX
		m = append(m, Normal{s.w * (1 - a.leap), mean, math.Sqrt(v)}, Normal{s.w * a.leap, mean, math.Sqrt(v + leapVar)})
	}
	return m
}

// reach is the time over which a level goes on wandering when it is forecast d days ahead (eq. 11): a wound's output
// does not walk off without bound.
func reach(d float64) float64 { return -walkMemoryD * math.Expm1(-d/walkMemoryD) }

// Collected is what the wound gives in the d days of therapy after asOf, in mL, whatever canister takes it.
// It is zero for d of zero or less.
func (t Track) Collected(d float64) Quantiles {
	if !(d > 0) {
		return Quantiles{}
	}
	m := t.collected(d)
	return Quantiles{
		Median: math.Exp(m.Quantile(0.5)), P10: math.Exp(m.Quantile(0.1)), P90: math.Exp(m.Quantile(0.9)),
	}
}

// CollectedBetween is what the wound gives from one time to another, neither before the track's asOf, in mL, whatever
// canister takes it. It is zero when there is no time of therapy between them.
func (t Track) CollectedBetween(from, to time.Time) Quantiles {
	d, lag := t.clock.days(from, to), 0.0
	if !(d > 0) {
		return Quantiles{}
	}
	if !t.seen.IsZero() {
		lag = t.clock.days(t.seen, from)
	}
	m := lnCollected(t.strands(), lag, d)
	return Quantiles{Median: math.Exp(m.Quantile(0.5)), P10: math.Exp(m.Quantile(0.1)), P90: math.Exp(m.Quantile(0.9))}
}

// At is the same track as of a later time: what was read stays, forecasts begin there. It panics when asOf is before
// the track's own, which is a slip of the caller.
func (t Track) At(asOf time.Time) Track {
	if asOf.Before(t.asOf) {
		panic("fluid: a track cannot be moved back in time")
	}
	t.asOf, t.clock = asOf, t.course.clock(asOf)
	return t
}

func (t Track) collected(d float64) Mixture { return lnCollected(t.strands(), t.lag(), d) }

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
	m := make(Mixture, 0, 2*len(ss))
	lag := t.lag()
	for _, s := range ss {
		end, _, _ := s.l.drift(lag)
		m = append(m, Normal{s.w, s.b.x + end + s.l.dayVar/2, math.Sqrt(s.b.varX + s.l.walkVarD*reach(lag))})
	}
	return Quantiles{math.Exp(m.Quantile(0.5)), math.Exp(m.Quantile(0.1)), math.Exp(m.Quantile(0.9))}
}

// vNodes integrate over the content in the canister: Gauss-Hermite of order 3.
var vNodes = [3]Normal{{Weight: 1.0 / 6, Mean: -math.Sqrt(3)}, {Weight: 2.0 / 3}, {Weight: 1.0 / 6, Mean: math.Sqrt(3)}}

// pot is a forecast's strand with three contents: what each lacks to the usable volume, and the level given each.
type pot struct {
	strand
	x, lnNeed [3]float64
	full      [3]bool
	varX      float64
}

// pots lists the ways in which the canister in place may stand at the latest reading, against a usable volume.
func pots(ss []strand, usableML float64) []pot {
	out := make([]pot, len(ss))
	for i, s := range ss {
		sd := math.Sqrt(s.b.varV)
		toX := 0.0
		if s.b.varV > 0 {
			toX = s.b.covVX / s.b.varV
		}
		p := pot{strand: s, varX: max(1e-8, s.b.varX-toX*s.b.covVX)}
		for k, n := range vNodes {
			need := usableML - max(0, s.b.v+n.Mean*sd)
			p.x[k] = s.b.x + toX*n.Mean*sd
			if p.full[k] = need <= 0; !p.full[k] {
				p.lnNeed[k] = math.Log(need)
			}
		}
		out[i] = p
	}
	return out
}

// filled is the chance that d days of therapy after the latest reading the content is at or above usable (eq. 12).
func filled(pots []pot, d float64) float64 {
	p, lnD := 0.0, math.Log(max(d, 1e-9))
	a := lookAhead(0, d)
	for i := range pots {
		c := &pots[i]
		mean, v := a.of(c.l)
		calm, leapt := 1/math.Sqrt(c.varX+v), 1/math.Sqrt(c.varX+v+leapVar)
		for k, n := range vNodes {
			switch {
			case c.full[k]:
				p += c.w * n.Weight
			case d > 0:
				over := c.x[k] + mean + lnD - c.lnNeed[k]
				p += c.w * n.Weight * ((1-a.leap)*phi(over*calm) + a.leap*phi(over*leapt))
			}
		}
	}
	return p
}

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
	ps := pots(t.strands(), u)
	f := func(lnD float64) float64 { return filled(ps, math.Exp(lnD)) }
	lo, hi := math.Log(1e-4), math.Log(horizonD)
	already, ever := filled(ps, 0), f(hi)
	at := func(p, start float64) float64 {
		switch {
		case already >= p:
			return 0
		case ever < p:
			return math.Inf(1)
		}
		return math.Exp(solve(f, p, lo, hi, start))
	}
	start := 0.0
	for _, c := range ps {
		start += c.w * (c.lnNeed[1] - c.x[1])
	}
	q.Median = at(0.5, start)
	if q.Median > 0 && !math.IsInf(q.Median, 1) {
		start = math.Log(q.Median)
	}
	q.P10 = min(q.Median, at(0.1, start-0.5))
	q.P90 = max(q.Median, at(0.9, start+0.5))
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
	return clip(filled(pots(t.strands(), u), t.clock.days(t.seen, at))), true
}

// ChanceFills is the chance that the canister in place reaches its usable volume between from and to: a night, a
// weekend.
func (t Track) ChanceFills(from, to time.Time) (p float64, ok bool) {
	a, ok := t.ChanceFull(from)
	b, _ := t.ChanceFull(to)
	return max(0, b-a), ok
}

func clip(p float64) float64 { return max(0, min(1, p)) }
