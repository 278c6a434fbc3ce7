package fluid

import "math"

// law is one assumption about how the output moves: it stays fixed for a whole course, and the readings
// decide how much each law is believed (eq. 9).
type law struct {
	// walkVarD is the variance that the log level gains per day.
	walkVarD float64
	// dayVar is the variance of the log output of one day about the level.
	dayVar float64
	// driftD is the steady change of the log level per day.
	driftD float64
	// lnPrior is the log of the belief before any reading.
	lnPrior float64
}

// choice is one value of a law's part with its weight before any reading.
type choice struct{ value, weight float64 }

// The laws: every combination of these. They span "hardly moves" to "doubles or halves within days" and were
// set on the tuning generators named in docs/model/fluid.md, section 7.
var (
	walkSDs = []choice{{0.02, 0.35}, {0.09, 0.40}, {0.22, 0.25}}
	daySDs  = []choice{{0.08, 0.25}, {0.22, 0.40}, {0.45, 0.35}}
	drifts  = []choice{{-0.09, 0.25}, {-0.03, 0.30}, {0.02, 0.45}}
)

const (
	// leapPerD is the chance per day of a sudden change of level, and leapVar the variance of its log size:
	// sd 0.8 is a factor of 2.2 up or down.
	leapPerD = 0.025
	leapVar  = 0.64
	// driftMemoryD damps a drift in forecasts: nobody knows that a fall goes on for weeks, and a fall that
	// does not come is the dangerous error.
	driftMemoryD = 12
)

var laws = buildLaws()

func buildLaws() []law {
	var out []law
	for _, w := range walkSDs {
		for _, d := range daySDs {
			for _, m := range drifts {
				out = append(out, law{
					walkVarD: w.value * w.value, dayVar: d.value * d.value, driftD: m.value,
					lnPrior: math.Log(w.weight * d.weight * m.weight),
				})
			}
		}
	}
	return out
}

// belief is what one law says after some readings: content of the canister (mL) and log level (of mL/d),
// jointly normal, and the log of the law's weight.
type belief struct {
	lnW               float64
	v, x              float64
	varV, covVX, varX float64
}

// bank holds one belief for each of laws.
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

// drift is the change of the log level after d days (eq. 2) and its mean over those days.
func (l law) drift(d float64) (end, mean float64) {
	if d < 1e-9 {
		return 0, 0
	}
	e := -math.Expm1(-d / driftMemoryD)
	end = l.driftD * driftMemoryD * e
	return end, l.driftD * driftMemoryD * (1 - driftMemoryD*e/d)
}

// quadrature of order 7 for the standard normal weight: nodes and weights (sum 1).
// Source: Abramowitz and Stegun, Handbook of Mathematical Functions, table 25.10, n = 7, scaled by sqrt 2 and
// 1/sqrt pi.
var (
	nodes   = [7]float64{-3.750439717725742, -2.366759410734541, -1.154405394739968, 0, 1.154405394739968, 2.366759410734541, 3.750439717725742}
	weights = [7]float64{5.48268855972217e-4, 3.07571239675865e-2, 2.40123178605013e-1, 4.57142857142857e-1, 2.40123178605013e-1, 3.07571239675865e-2, 5.48268855972217e-4}
)

// wait lets d days of therapy pass without a reading of what was collected (eq. 3).
func (b belief) wait(l law, d float64) belief {
	end, _ := l.drift(d)
	b.x += end
	b.varX += l.walkVarD*d + leapPerD*d*leapVar
	return b
}

// place puts a canister that holds ml, known with variance errVar.
func (b belief) place(ml, errVar float64) belief {
	b.v, b.varV, b.covVX = ml, errVar, 0
	return b
}

// glance takes a second reading at the same moment: an ordinary Kalman update of the content (eq. 8).
func (b belief) glance(ml, errVar float64) belief {
	s := b.varV + errVar
	r := ml - b.v
	b.lnW += -0.5 * (r*r/s + math.Log(2*math.Pi*s))
	kv, kx := b.varV/s, b.covVX/s
	b.v += kv * r
	b.x += kx * r
	b.varX -= kx * b.covVX
	b.varV -= kv * b.varV
	b.covVX -= kv * b.covVX
	return b
}

// read takes a reading of ml after d days of therapy in the same canister (eqs. 3, 6, 7, 8). When a steady
// course explains the reading badly, a sudden change of level inside the interval is weighed too and both are
// folded into one normal with the same moments. The second result is the chance of that sudden change.
func (b belief) read(l law, d, ml, errVar float64) (belief, float64) {
	if d < 1e-5 {
		return b.glance(ml, errVar), 0
	}
	calm, z := b.collect(l, d, ml, errVar, 0)
	if math.Abs(z) < 1 {
		return calm, 0
	}
	pi := 1 - math.Exp(-leapPerD*d)
	leap, _ := b.collect(l, d, ml, errVar, leapVar)
	calm.lnW += math.Log1p(-pi)
	leap.lnW += math.Log(pi)
	top := math.Max(calm.lnW, leap.lnW)
	wc, wl := math.Exp(calm.lnW-top), math.Exp(leap.lnW-top)
	sum := wc + wl
	wc, wl = wc/sum, wl/sum
	out := belief{lnW: top + math.Log(sum), v: wc*calm.v + wl*leap.v, x: wc*calm.x + wl*leap.x}
	dv, dx := calm.v-leap.v, calm.x-leap.x
	out.varV = wc*calm.varV + wl*leap.varV + wc*wl*dv*dv
	out.varX = wc*calm.varX + wl*leap.varX + wc*wl*dx*dx
	out.covVX = wc*calm.covVX + wl*leap.covVX + wc*wl*dv*dx
	return out, wl
}

// collect is the one kernel: it moves the belief over d days, with a sudden change of variance extra somewhere
// inside them, and conditions on the reading. The only curve in the model, content = content + d·exp(u), has one
// dimension, so it is integrated by quadrature about the most probable u. The second result says how many
// standard deviations that u lies from what was expected.
func (b belief) collect(l law, d, ml, errVar, extra float64) (belief, float64) {
	walk := l.walkVarD*d + extra
	end, mean := l.drift(d)
	gain := l.meanGain(d)
	mu := b.x + mean
	varU := b.varX + walk/3 + l.dayVar*blockShare(d)
	covU1 := b.varX + walk/2
	beta := b.covVX / varU
	restV := math.Max(b.varV-b.covVX*beta, 0)
	s := restV + errVar

	dg := d * math.Exp(gain)
	u := mode(mu, varU, beta, s, dg, ml-b.v)
	slope := dg*math.Exp(u) + beta
	sd := 1 / math.Sqrt(1/varU+slope*slope/s)

	var p, us, vs [7]float64
	top := math.Inf(-1)
	for i, z := range nodes {
		us[i] = u + sd*z
		grown := dg * math.Exp(us[i])
		vs[i] = b.v + beta*(us[i]-mu) + grown
		r := ml - vs[i]
		p[i] = -0.5*((us[i]-mu)*(us[i]-mu)/varU+r*r/s) + 0.5*z*z
		top = math.Max(top, p[i])
	}
	sum := 0.0
	for i := range p {
		p[i] = weights[i] * math.Exp(p[i]-top)
		sum += p[i]
	}
	out := belief{lnW: b.lnW + top + math.Log(sum*sd) - 0.5*math.Log(varU*2*math.Pi*s)}
	// Given u, content and level are linear in the reading's residual.
	toX := covU1 / varU
	restVX := b.covVX * (1 - toX)
	kv, kx := restV/s, restVX/s
	var mv, mx [7]float64
	for i := range p {
		p[i] /= sum
		r := ml - vs[i]
		mv[i] = vs[i] + kv*r
		mx[i] = b.x + end + toX*(us[i]-mu) + kx*r
		out.v += p[i] * mv[i]
		out.x += p[i] * mx[i]
	}
	out.varV = restV * (1 - kv)
	out.covVX = restVX * (1 - kv)
	out.varX = math.Max(b.varX+walk-covU1*toX-kx*restVX, 1e-8)
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
func mode(mu, varU, beta, s, dg, gained float64) float64 {
	u := mu
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
		step := (r*slope/s - (u-mu)/varU) / (slope*slope/s + 1/varU)
		step = math.Max(-1, math.Min(1, step))
		u += step
		if math.Abs(step) < 1e-3 {
			break
		}
	}
	return u
}
