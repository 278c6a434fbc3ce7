package healing

import "math"

// Band is a median with an 80 % interval.
type Band struct {
	Median float64 `json:"median"`
	P10    float64 `json:"p10"`
	P90    float64 `json:"p90"`
}

// closedAt are the sizes below which a wound counts as closed, equally likely: from what an eye can see to the
// smallest detectable change of an area, 0.27 (Landa 2016). cm², cm, cm³.
var closedAt = map[Measure][]float64{Area: {0.05, 0.12, 0.27}, Depth: {0.05}, Volume: {0.05}, Bare: {bareFloorPct / 2}}

// closedSizes are those of closedAt, but at most half of a size at which this wound was still written as open.
func closedSizes(m Measure, last float64) []float64 {
	var out []float64
	for _, v := range closedAt[m] {
		out = append(out, math.Min(v, last/2))
	}
	return out
}

// term is one normal part of a forecast.
type term struct {
	weight, mean, sd float64
	perSD            float64 // 1/sd
	scale            scale
}

// forecast is the distribution of the size at one time: a sum of normal parts, with a mass at closed.
type forecast struct {
	m     Measure
	terms []term
	// closedAt are the sizes below which this wound counts as closed.
	closedAt []float64
}

// moments of the size h weeks after the last reading, when the course goes on.
func (c *component) moments(h float64) way {
	u := h / c.cfg.relaxWk
	phi := math.Exp(-u)
	g := c.cfg.relaxWk * (1 - phi)
	p, m := &c.state.cov, &c.state.mean
	q, _, _ := driftCov(u, phi, c.cfg.sigma, c.cfg.relaxWk)
	return way{rate: h, drift: g, mean: m[stX] + h*m[stRate] + g*m[stDrift],
		variance: q + p[stX][stX] + h*h*p[stRate][stRate] + g*g*p[stDrift][stDrift] +
			2*(h*p[stX][stRate]+g*p[stX][stDrift]+h*g*p[stRate][stDrift])}
}

// changeShares are where between now and then a change of course is put.
var changeShares = [...]float64{1.0 / 6, 0.5, 5.0 / 6}

// at returns the forecast h weeks after the last reading (eq. 12). A course may still change once before then, at
// the prior's rate, and then goes on as after changes that were seen.
func (f *Fit) at(h float64) forecast {
	out := forecast{m: f.Measure, closedAt: f.closedAt, terms: make([]term, 0, 3*len(f.components))}
	f.ways(h, func(c *component, w way) { out.add(w.weight, w.mean, w.variance, c.cfg.scale) })
	return out
}

// way is one course that a component may take: how much of the state at the last reading goes into the size, as
// weights of size, lasting and passing rate, with the mean and variance that result.
type way struct {
	weight, mean, variance float64
	rate, drift            float64
}

// ways lists the courses of all components over h weeks.
func (f *Fit) ways(h float64, visit func(*component, way)) {
	h = math.Max(h, 0)
	turn0, turn1 := f.prior.changeFrom(f.spanWk, 0, h), f.prior.changeFrom(f.spanWk, 1, h)
	closing, standing := f.prior.turns(Exponential), f.prior.turns(NotClosing)
	for i := range f.components {
		c := &f.components[i]
		turn, turns := turn0, closing
		if c.cfg.family == NotClosing {
			turns = standing
		}
		if !math.IsNaN(c.cfg.changeWk) {
			turn = turn1
		}
		w := c.moments(h)
		w.weight = c.weight * (1 - turn)
		visit(c, w)
		if turn < 1e-3 {
			continue
		}
		var all [len(changeShares)]way
		var after [len(changeShares)]struct{ unit, rest float64 }
		for i, at := range changeShares {
			all[i] = c.moments(at * h)
			after[i].unit, after[i].rest = 1, (1-at)*h
			if c.cfg.scale != onLog {
				after[i].unit = math.Max(all[i].mean, 0) * c.cfg.scale.exponent(f.power)
			}
		}
		for _, r := range turns {
			// the three times of a change are joined to one normal with their mean and variance
			v, squares := way{weight: c.weight * turn * r.share}, 0.0
			const n = float64(len(changeShares))
			for i, w := range all {
				step := after[i].unit * after[i].rest
				mean, sd := w.mean-r.Mean*step, r.SD*step
				v.mean += mean / n
				squares += mean * mean / n
				v.variance += (w.variance + sd*sd) / n
				v.rate += w.rate / n
				v.drift += w.drift / n
			}
			v.variance += math.Max(squares-v.mean*v.mean, 0)
			visit(c, v)
		}
	}
}

// chanceLeft is the chance that h weeks after the last reading at most the share left of the size at the first
// reading is left, both as they really are; noiseSDLog widens it for the reading that will be compared (eq. 20).
func (f *Fit) chanceLeft(h, left, noiseSDLog float64) float64 {
	sum, total := 0.0, 0.0
	f.ways(h, func(c *component, w way) {
		p, m := &c.state.cov, &c.state.mean
		q, d, unit := 1.0, math.Log(left), 1.0
		if c.cfg.scale != onLog {
			e := c.cfg.scale.exponent(f.power)
			q, d = math.Pow(left, e), 0
			unit = math.Max(q*m[stStart], 0.01) * e
		}
		cross := p[stX][stStart] + w.rate*p[stRate][stStart] + w.drift*p[stDrift][stStart]
		v := w.variance + q*q*p[stStart][stStart] - 2*q*cross + noiseSDLog*noiseSDLog*unit*unit
		sum += w.weight * normalCDF((d+q*m[stStart]-w.mean)/math.Sqrt(math.Max(v, 1e-12)))
		total += w.weight
	})
	return math.Min(1, sum/total)
}

func (f *forecast) add(w, mean, variance float64, sc scale) {
	if w > 1e-6 {
		sd := math.Sqrt(math.Max(variance, 1e-12))
		f.terms = append(f.terms, term{w, mean, sd, 1 / sd, sc})
	}
}

// below returns the chance that the size is at most value.
func (f *forecast) below(value float64) float64 {
	if value < 0 {
		return 0
	}
	on := [...]float64{onLog: math.Log(value), onLength: lengthOf(f.m, value), onValue: value}
	sum, total := 0.0, 0.0
	for i := range f.terms {
		t := &f.terms[i]
		sum += t.weight * normalCDF((on[t.scale]-t.mean)*t.perSD)
		total += t.weight
	}
	return sum / total
}

// closed returns the chance that the wound is closed.
func (f *forecast) closed() float64 {
	if len(f.closedAt) == 0 {
		return 0
	}
	sum := 0.0
	for _, v := range f.closedAt {
		sum += f.below(v)
	}
	return sum / float64(len(f.closedAt))
}

// quantile returns the size at which the chance of being at most that size is q, to a part in 10⁹; 0 is closed.
// The normal score of the chance is nearly straight in the logarithm of the size, so that a secant from the moments of
// the sum is there in a few steps; it is kept in a bracket and halves it whenever it crawls.
func (f *forecast) quantile(q, closed float64) float64 {
	if q <= closed {
		return 0
	}
	const least, most = -6.9, 11.6 // logarithms of 10⁻³ and 10⁵
	zq := normalQuantile(q)
	lo, hi := least, most
	mean, sd := f.logMoments()
	x := math.Min(math.Max(mean+zq*sd, least), most)
	before, fBefore := x, 0.0
	for n := range 80 {
		fx := normalQuantile(f.below(math.Exp(x))) - zq
		if fx < 0 {
			lo = x
		} else {
			hi = x
		}
		if hi-lo < 1e-9 || math.Abs(fx) < 1e-10 {
			break
		}
		next := x - fx*sd
		if n > 0 && fx != fBefore {
			next = x - fx*(x-before)/(fx-fBefore)
		}
		if n%6 == 5 || !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		before, fBefore, x = x, fx, next
	}
	return math.Exp(x)
}

// logMoments is about where the logarithm of the size lies: a start for a search, not a figure.
func (f *forecast) logMoments() (mean, sd float64) {
	var total, sum, squares float64
	one := math.Log(lengthOf(f.m, 1))
	for i := range f.terms {
		t := &f.terms[i]
		m, s := t.mean, t.sd
		if t.scale != onLog {
			at := math.Max(t.mean, 0.05)
			m, s = math.Log(at), math.Min(t.sd/at, 1)
			if t.scale == onLength {
				m, s = (m-one)/f.m.power(), s/f.m.power()
			}
		}
		total += t.weight
		sum += t.weight * m
		squares += t.weight * (m*m + s*s)
	}
	mean = sum / total
	return mean, math.Sqrt(math.Max(squares/total-mean*mean, 1e-8))
}

// band returns median and 80 % interval.
func (f *forecast) band() Band {
	c := f.closed()
	return Band{Median: f.quantile(0.5, c), P10: f.quantile(0.1, c), P90: f.quantile(0.9, c)}
}

// horizonDays is how far ahead a date of closure is looked for: one year.
const horizonDays = 364

// reach is the chance of having reached a size by each day.
type reach struct {
	days, chance []float64
}

// reachBelow follows the chance of being at most any of the given sizes, never falling: what has been reached
// stays reached. offset: days from the last reading to the day from which days count.
func (f *Fit) reachBelow(values []float64, offset float64) reach {
	var out reach
	most := 0.0
	for d := 0.0; d <= horizonDays; {
		fc := f.at((d + offset) / 7)
		sum := 0.0
		for _, v := range values {
			sum += fc.below(v)
		}
		most = math.Max(most, sum/float64(len(values)))
		out.days = append(out.days, d)
		out.chance = append(out.chance, most)
		switch {
		case d < 28:
			d += 2
		case d < 84:
			d += 4
		case d < 182:
			d += 7
		default:
			d += 14
		}
	}
	return out
}

// by returns the chance by a day, linear between nodes.
func (r reach) by(day float64) float64 {
	if day <= 0 {
		return r.chance[0]
	}
	for i := 1; i < len(r.days); i++ {
		if day <= r.days[i] {
			w := (day - r.days[i-1]) / (r.days[i] - r.days[i-1])
			return r.chance[i-1] + w*(r.chance[i]-r.chance[i-1])
		}
	}
	return r.chance[len(r.chance)-1]
}

// quantileIf returns the day by which the share q of the wounds that get there within the horizon have got there.
func (r reach) quantileIf(q float64) float64 {
	want := q * r.chance[len(r.chance)-1]
	if want <= r.chance[0] {
		return 0
	}
	for i := 1; i < len(r.days); i++ {
		if r.chance[i] >= want {
			w := (want - r.chance[i-1]) / (r.chance[i] - r.chance[i-1])
			return r.days[i-1] + w*(r.days[i]-r.days[i-1])
		}
	}
	return horizonDays
}
