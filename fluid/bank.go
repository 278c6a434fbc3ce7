package fluid

import "math"

// belief is what one law says after some readings: content of the canister (mL) and log level (of mL/d),
// jointly normal, and the log of the law's weight.
type belief struct {
	lnW               float64
	v, x              float64
	varV, covVX, varX float64
}

// bank holds one belief for each law of its track.
type bank []belief

// blockShare is the variance of the mean of d days' worth of day effects, as a share of the variance of one
// day's effect, when the day's boundary falls anywhere (eq. 4).
func blockShare(d float64) float64 {
	if d <= 1 {
		return 1 - d/3
	}
	return (d - 1.0/3) / (d * d)
}

// meanGain is what the log of a mean output exceeds the mean of the log output by (eq. 5).
func (l law) meanGain(d float64) float64 {
	return l.dayVar*(1-blockShare(d))/2 + l.walkVarD*d/12
}

// drift is the change of the log level after d days (eq. 2), its mean over those days, and what the log of the mean
// output exceeds that mean by when the drift lasts (eq. 5).
func (l law) drift(d float64) (end, mean, gain float64) {
	switch {
	case d < 1e-9 || l.driftD == 0:
		return 0, 0, 0
	case l.lasting:
		return l.driftD * d, l.driftD * d / 2, bend(l.driftD * d)
	}
	e := -math.Expm1(-d / driftMemoryD)
	end = l.driftD * driftMemoryD * e
	return end, l.driftD * driftMemoryD * (1 - driftMemoryD*e/d), 0
}

// bend is the log of the mean of exp(s) over s between -a/2 and a/2.
func bend(a float64) float64 {
	if a = math.Abs(a); a < 0.1 {
		return a * a / 24
	}
	return math.Log(-math.Expm1(-a)/a) + a/2
}

// Quadrature of order 5 for the standard normal weight: nodes and weights (sum 1). Source: Abramowitz and Stegun,
// Handbook of Mathematical Functions, table 25.10, n = 5, nodes times sqrt 2 and weights over sqrt pi.
var (
	nodes   = [5]float64{-2.8569700138728056, -1.355626179974266, 0, 1.355626179974266, 2.8569700138728056}
	weights = [5]float64{0.011257411327720689, 0.2220759220056126, 0.5333333333333333, 0.2220759220056126, 0.011257411327720689}
)

// gap is what an interval of d days of therapy means under every law: computed once a reading.
type gap struct {
	d, share float64
	// lnCalm and lnLeap are the log chances of no sudden change in it and of one, leapVar the variance of its log size.
	lnCalm, lnLeap, leapVar float64
}

func newGap(d, leapVar float64) gap {
	return gap{d, blockShare(d), -leapPerD * d, math.Log(-math.Expm1(-leapPerD * d)), leapVar}
}

// path is what one law expects of an interval: the change of level at its end and in its mean, and growth, the days of
// the interval times the factor of eq. 5: what exp(u) is multiplied with in eq. 6.
type path struct{ end, mean, growth float64 }

func (g gap) path(l law) path {
	end, mean, gain := l.drift(g.d)
	return path{end, mean, g.d * math.Exp(gain+l.dayVar*(1-g.share)/2+l.walkVarD*g.d/12)}
}

// wait lets d days of therapy pass without a reading of what was collected (eq. 3).
func (b belief) wait(l law, d float64) belief {
	end, _, _ := l.drift(d)
	b.x += end
	b.varX += l.walkVarD*d + leapPerD*d*leapVar
	return b
}

// place puts a canister that holds ml, known with variance errVar.
func (b belief) place(ml, errVar float64) belief {
	b.v, b.varV, b.covVX = ml, errVar, 0
	return b
}

// glance takes a second reading at the same moment: an ordinary Kalman update of the content (eq. 8). Two readings that
// contradict each other by more than five standard deviations cannot both be as good as readings are: their error is
// widened to that, or the level would follow the difference beyond any number.
func (b belief) glance(ml, errVar float64) belief {
	r := ml - b.v
	s := max(b.varV+errVar, r*r/25)
	b.lnW += -0.5 * (r*r/s + math.Log(2*math.Pi*s))
	kv, kx := b.varV/s, b.covVX/s
	b.v += kv * r
	b.x += kx * r
	b.varX -= kx * b.covVX
	b.varV -= kv * b.varV
	b.covVX -= kv * b.covVX
	return b
}

// leapMode says how an interval treats a sudden change of level.
type leapMode int

const (
	leapWeighed leapMode = iota // by its chance
	leapNever
	leapCertain
)

// leapShares say what share of a leap's variance the interval's mean and the level at its end gain, and share: a leap
// at an unknown moment of the interval, none, and one at its start, which is how [Changes] dates it.
var leapShares = [3]struct{ mean, both, end float64 }{{1. / 3, 1. / 2, 1}, {}, {1, 1, 1}}

// look is one reading as the model takes it: ml with an error of variance errVar. A brimming canister says only that
// at least so much came: what came more was not collected.
type look struct {
	ml, errVar float64
	brimming   bool
}

// miss is how far the reading lies above a content of v.
func (y look) miss(v float64) float64 {
	if y.brimming && v > y.ml {
		return 0
	}
	return y.ml - v
}

// read takes a reading after d days of therapy in the same canister (eqs. 3, 6, 7, 8). When a steady
// course explains the reading badly, a sudden change of level inside the interval is weighed too and both are
// folded into one normal with the same moments.
func (b belief) read(l law, g gap, y look, leap leapMode) belief {
	if g.d < shortestD {
		return b.glance(y.ml, y.errVar)
	}
	if leap == leapCertain {
		out, _ := b.collect(l, g, g.path(l), y, leapCertain)
		return out
	}
	p := g.path(l)
	calm, z := b.collect(l, g, p, y, leapNever)
	if leap == leapNever || math.Abs(z) < 1.3 {
		return calm
	}
	jump, _ := b.collect(l, g, p, y, leapWeighed)
	calm.lnW += g.lnCalm
	jump.lnW += g.lnLeap
	top := max(calm.lnW, jump.lnW)
	wc, wl := math.Exp(calm.lnW-top), math.Exp(jump.lnW-top)
	sum := wc + wl
	wc, wl = wc/sum, wl/sum
	out := belief{lnW: top + math.Log(sum), v: wc*calm.v + wl*jump.v, x: wc*calm.x + wl*jump.x}
	dv, dx := calm.v-jump.v, calm.x-jump.x
	out.varV = wc*calm.varV + wl*jump.varV + wc*wl*dv*dv
	out.varX = wc*calm.varX + wl*jump.varX + wc*wl*dx*dx
	out.covVX = wc*calm.covVX + wl*jump.covVX + wc*wl*dv*dx
	return out
}

// collect is the one kernel: it moves the belief over d days, with or without a sudden change, and conditions on the reading. The only curve in the model, content = content + d·exp(u), has one
// dimension, so it is integrated by quadrature about the most probable u. The second result says how many
// standard deviations that u lies from what was expected.
func (b belief) collect(l law, g gap, on path, y look, leap leapMode) (belief, float64) {
	d, dg := g.d, on.growth
	moved := leapShares[leap]
	walk := l.walkVarD*d + g.leapVar*moved.end
	mu := b.x + on.mean
	varU := b.varX + l.walkVarD*d/3 + g.leapVar*moved.mean + l.dayVar*g.share
	covU1 := b.varX + l.walkVarD*d/2 + g.leapVar*moved.both
	beta := b.covVX / varU
	restV := max(b.varV-b.covVX*beta, 0)
	s := restV + y.errVar

	u := mode(mu, varU, beta, s, dg, y.ml-b.v, y.brimming)
	middle := dg * math.Exp(u)
	slope := middle + beta
	sd := 1 / math.Sqrt(1/varU+slope*slope/s)

	var p, us, vs [5]float64
	top := math.Inf(-1)
	inner, outer := math.Exp(sd*nodes[3]), math.Exp(sd*nodes[4])
	growns := [5]float64{middle / outer, middle / inner, middle, middle * inner, middle * outer}
	for i, z := range nodes {
		us[i] = u + sd*z
		grown := growns[i]
		vs[i] = b.v + beta*(us[i]-mu) + grown
		r := y.miss(vs[i])
		p[i] = -0.5*((us[i]-mu)*(us[i]-mu)/varU+r*r/s) + 0.5*z*z
		top = max(top, p[i])
	}
	sum := 0.0
	for i := range p {
		if p[i] == top {
			p[i] = weights[i]
		} else {
			p[i] = weights[i] * math.Exp(p[i]-top)
		}
		sum += p[i]
	}
	out := belief{lnW: b.lnW + top + math.Log(sum*sd/math.Sqrt(varU*2*math.Pi*s))}
	// Given u, content and level are linear in the reading's residual.
	toX := covU1 / varU
	restVX := b.covVX * (1 - toX)
	kv, kx := restV/s, restVX/s
	var mv, mx [5]float64
	for i := range p {
		p[i] /= sum
		r := y.miss(vs[i])
		mv[i] = vs[i] + kv*r
		mx[i] = b.x + on.end + toX*(us[i]-mu) + kx*r
		out.v += p[i] * mv[i]
		out.x += p[i] * mx[i]
	}
	out.varV = restV * (1 - kv)
	out.covVX = restVX * (1 - kv)
	out.varX = max(b.varX+walk-covU1*toX-kx*restVX, 1e-8)
	for i := range p {
		dv, dx := mv[i]-out.v, mx[i]-out.x
		out.varV += p[i] * dv * dv
		out.covVX += p[i] * dv * dx
		out.varX += p[i] * dx * dx
	}
	return out, (u - mu) / math.Sqrt(varU)
}

// mode finds the most probable log output u of an interval by damped Gauss-Newton steps: prior N(mu, varU), and
// gained = beta·(u-mu) + dg·exp(u) + noise of variance s.
func mode(mu, varU, beta, s, dg, gained float64, brimming bool) float64 {
	u := mu
	if brimming && dg*math.Exp(mu) >= gained {
		return mu
	}
	if gained > 0 {
		// Start between what was expected and what was read, nearer to the surer of both.
		read := math.Log(gained / dg)
		noise := s / (gained * gained)
		u = (mu*noise + read*varU) / (noise + varU)
	}
	for range 12 {
		grown := dg * math.Exp(u)
		r := gained - beta*(u-mu) - grown
		slope := grown + beta
		bend := slope*slope/s + 1/varU
		step := max(-1, min(1, (r*slope/s-(u-mu)/varU)/bend))
		u += step
		if step*step*bend < 0.01 { // a tenth of the posterior's sd: the quadrature sees to the rest
			break
		}
	}
	return u
}
