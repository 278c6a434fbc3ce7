package healing

import "math"

// Prior holds what is believed of wounds before the first size: rates of fall per week on the logarithm of the
// measure, edge advance in cm per week, how often a wound changes course, and how often a reading is wild.
// It can be replaced by FitCohort from closed local cases.
type Prior struct {
	// Slow and Fast are two normal components of the weekly fall of the logarithm of the measure.
	Slow, Fast Rate
	// EdgeSlow and EdgeFast are two components of edge advance in cm a week for a wound of equivalent radius 2.5 cm.
	EdgeSlow, EdgeFast Rate
	// Steady is the weekly fall as a share of the first size, for a wound that loses the same every week.
	Steady Rate
	// Flat and Grow describe a wound that does not close: no change, and growth (a negative fall).
	Flat, Grow Rate
	// ChangePerWk is the mean of how often a wound changes course, per week; its own distribution is exponential.
	ChangePerWk float64
	// Wild is the chance that one reading is wild.
	Wild float64
	// Source says where it comes from.
	Source string
	// N is the number of local cases behind it, 0 for the published one.
	N int
}

// Rate is a normal belief about a rate, per week.
type Rate struct{ Mean, SD float64 }

// PublishedPrior returns the prior from published weekly rates of fall.
//
// Area: 8.3 % a week under NPWT (Dunn 2011), 39.4 % in 15 days (Ahmed 2019: 0.234 a week), -4.7 to 35.4 % in
// 4 weeks for poor and good pressure ulcers (Edsberg 2011: -0.01 to 0.11 a week), about 50 % in 4 weeks for half
// of diabetic foot ulcers (Sheehan 2003: 0.17 a week). Depth 15.8 %, volume 20.5 % a week (Dunn 2011), volume
// 60.3 % in 15 days (Ahmed 2019: 0.43 a week). Steady falls of the first size: area 11.6 %, volume 15.1 % a week
// (Campbell 2008). Edge: 0.021 to 0.16 cm a week (Edsberg 2011), 0.042 (Zimny).
// The two components cover these from the slowest to the fastest; docs/model/healing.md has the arithmetic.
func PublishedPrior(m Measure) Prior {
	p := Prior{
		Slow: Rate{0.07, 0.06}, Fast: Rate{0.20, 0.14},
		EdgeSlow: Rate{0.08, 0.06}, EdgeFast: Rate{0.20, 0.15},
		Steady: Rate{0.10, 0.06}, Flat: Rate{0, 0.03}, Grow: Rate{-0.06, 0.07},
		ChangePerWk: 0.015, Wild: 0.02,
		Source: "published weekly rates (Dunn 2011, Ahmed 2019, Edsberg 2011, Sheehan 2003)",
	}
	switch m {
	case Depth:
		p.Slow, p.Fast = Rate{0.14, 0.10}, Rate{0.30, 0.20}
		p.EdgeSlow, p.EdgeFast = Rate{0.15, 0.12}, Rate{0.40, 0.30}
	case Volume:
		p.Slow, p.Fast = Rate{0.18, 0.12}, Rate{0.42, 0.25}
		p.EdgeSlow, p.EdgeFast = Rate{0.10, 0.08}, Rate{0.25, 0.18}
		p.Steady = Rate{0.15, 0.08}
	case Bare:
		p.Slow, p.Fast = Rate{0.10, 0.12}, Rate{0.45, 0.35}
		p.EdgeSlow, p.EdgeFast = Rate{0.3, 0.3}, Rate{1.0, 0.8} // times (1 + 50/2.5)/2: 3 and 10 points a week from one half
		p.Source = "chosen, wide: no published rate of granulation"
	}
	return p
}

// sound tells whether a prior can be used at all: finite rates with a spread, and chances between 0 and 1.
func (p Prior) sound() bool {
	for _, r := range []Rate{p.Slow, p.Fast, p.EdgeSlow, p.EdgeFast, p.Steady, p.Flat, p.Grow} {
		if !finite(r.Mean) || !finite(r.SD) || r.SD <= 0 {
			return false
		}
	}
	return p.ChangePerWk >= 0 && p.ChangePerWk < 10 && p.Wild > 0 && p.Wild < 1
}

// unchanged is the chance that a course has not changed over a span: 1/(1 + λS), the exponential prior of the rate
// of change integrated out (eq. 8).
func (p Prior) unchanged(spanWk float64) float64 { return 1 / (1 + p.ChangePerWk*spanWk) }

// changeFrom is the chance that a course changes within h weeks more, after a span with so many changes: the rate of
// change then has a gamma distribution with shape 1 + changes (eq. 8).
func (p Prior) changeFrom(spanWk float64, changes int, h float64) float64 {
	if p.ChangePerWk == 0 {
		return 0
	}
	b := 1/p.ChangePerWk + spanWk
	return 1 - math.Pow(b/(b+h), float64(1+changes))
}

// Family is a shape of the curve of size against time.
type Family string

// The competing families. Each is a mean curve; all of them let the rate wander a little (eq. 5).
const (
	Exponential Family = "exponential"
	LinearEdge  Family = "linear edge advance"
	SteadyFall  Family = "steady fall"
	Delayed     Family = "delayed exponential"
	NotClosing  Family = "growth or no change"
	ChangedRate Family = "exponential with a change of rate"
	Slowing     Family = "slowing exponential"
	Quickening  Family = "quickening exponential"
	Jump        Family = "exponential with a jump"
)

// Families in the order in which they are reported.
var Families = []Family{Exponential, LinearEdge, SteadyFall, Slowing, Quickening, Delayed, NotClosing, ChangedRate, Jump}

// config is one node of the quadrature: a family with its nuisance parameters fixed.
type config struct {
	family         Family
	scale          scale
	noise          float64 // factor on the stated standard errors
	sigma, relaxWk float64 // drift of the rate
	rate           Rate    // prior of the lasting rate, as a fall per week on the family's scale
	early          *Rate   // prior of the rate at the start, from which it runs to rate with relaxWk; nil is none
	changeWk       float64 // time of the change of course, NaN for none
	then           Rate    // rate after the change; for a jump, its height on the logarithm
	trunk          int     // nodes of one trunk are alike up to changeWk, which does not fall along the grid; 0 for none
	logPrior       float64
}

// drifts are the nodes for how much the rate wanders: standard deviation per week on the log scale of area, time
// constant in weeks, and weight.
var drifts = [...]struct{ sigma, relaxWk, weight float64 }{
	{0.012, 6, 0.68}, {0.05, 3, 0.11}, {0.05, 10, 0.08}, {0.12, 3, 0.06}, {0.12, 10, 0.04}, {0.28, 5, 0.03},
}

// driftsChanged are the nodes used beside a change of course.
var driftsChanged = [...]struct{ sigma, relaxWk, weight float64 }{{0.015, 6, 0.6}, {0.06, 5, 0.4}}

// noises are the nodes for a misjudged standard error.
var noises = [...]struct{ factor, weight float64 }{{0.75, 0.30}, {1.1, 0.50}, {2.0, 0.20}}

// weights of the families at the start of a course (eq. 9).
const (
	wExponential, wLinear, wSteady, wNotClosing, wDelayed = 0.17, 0.15, 0.13, 0.20, 0.09
	wSlowing, wQuickening                                 = 0.15, 0.11
	wCourse                                               = wExponential + wLinear + wSteady + wSlowing + wQuickening
	// of courses that changed, the shares that stopped closing and that jumped and went on as before
	wStopped, wJumped = 0.62, 0.13
)

// configs builds the quadrature. v0 is the first value; times are those of the visits in weeks, increasing.
func configs(pr Prior, m Measure, v0 float64, times []float64) []config {
	p, r0 := m.power(), lengthOf(m, v0)
	span := times[len(times)-1] - times[0]
	stay := pr.unchanged(span)
	// the drift is stated for area; a measure of higher dimension moves more, in proportion to its logarithm
	more := 0.5 / p
	edge := (1 + r0/2.5) / 2
	nan := math.NaN()
	var out []config
	trunks := 0
	add := func(c config, w float64) {
		if w <= 0 {
			return
		}
		c.logPrior = math.Log(w)
		out = append(out, c)
	}
	two := func(slow, fast Rate) [2]Rate { return [2]Rate{slow, fast} }
	changes := changeTimes(times)
	for _, n := range noises {
		for _, d := range drifts {
			w := n.weight * d.weight / 2
			for _, r := range two(pr.Slow, pr.Fast) {
				add(config{family: Exponential, noise: n.factor, sigma: d.sigma * more, relaxWk: d.relaxWk, rate: r, changeWk: nan}, w*wExponential*stay)
			}
			for _, r := range two(pr.EdgeSlow, pr.EdgeFast) {
				r = Rate{r.Mean * edge, r.SD * edge}
				add(config{family: LinearEdge, scale: onLength, noise: n.factor, sigma: d.sigma * r0 / 2, relaxWk: d.relaxWk, rate: r, changeWk: nan}, w*wLinear*stay)
			}
			if m != Depth && m != Bare {
				// a depth is a length already, and a share is taken as one
				r := Rate{pr.Steady.Mean * v0, pr.Steady.SD * v0}
				add(config{family: SteadyFall, scale: onValue, noise: n.factor, sigma: d.sigma * more * v0 / 2, relaxWk: d.relaxWk, rate: r, changeWk: nan}, 2*w*wSteady*stay)
			}
		}
		for _, d := range driftsChanged {
			w := n.weight * d.weight
			for _, relaxWk := range bends {
				w, c := n.weight*d.weight/float64(len(bends))*stay, config{noise: n.factor, sigma: d.sigma * more, relaxWk: relaxWk, changeWk: nan}
				slow, quick := pr.bent()
				c.family, c.early, c.rate = Slowing, &slow[0], slow[1]
				add(c, w*wSlowing)
				c.family, c.early, c.rate = Quickening, &quick[0], quick[1]
				add(c, w*wQuickening)
			}
			base := config{noise: n.factor, sigma: d.sigma * more, relaxWk: d.relaxWk, changeWk: nan}
			c := base
			c.family, c.rate = NotClosing, pr.Flat
			add(c, w*wNotClosing*0.65)
			c.rate = pr.Grow
			add(c, w*wNotClosing*0.35)
			if len(changes) == 0 {
				continue
			}
			turns := pr.turns(Exponential)
			trunks += 2
			for _, t := range changes {
				c, w := base, w*t.share
				c.changeWk = t.wk
				c.family, c.rate, c.then, c.trunk = Delayed, pr.Flat, both(pr), trunks
				add(c, w*wDelayed)
				c.rate, c.trunk = both(pr), trunks-1
				c.family, c.then = NotClosing, turns[0].Rate
				add(c, w*wCourse*(1-stay)*wStopped)
				c.family, c.then = ChangedRate, turns[1].Rate
				add(c, w*wCourse*(1-stay)*(1-wStopped-wJumped))
				c.family, c.then = Jump, jumpLog
				add(c, w*wCourse*(1-stay)*wJumped)
			}
		}
	}
	return out
}

// turn is what a course may turn into, with its share among turns.
type turn struct {
	Rate
	share float64
}

// turns are the courses after a change, the same for changes seen and for those to come: stopped, or another rate. A
// course that stands already can hardly stop.
func (p Prior) turns(from Family) [2]turn {
	b := both(p)
	stopped := wStopped / (1 - wJumped)
	if from == NotClosing {
		stopped = wStoppedAgain
	}
	return [2]turn{{Rate{-0.01, p.Flat.SD * 1.5}, stopped}, {Rate{b.Mean * 1.3, b.SD * 1.3}, 1 - stopped}}
}

// wStoppedAgain is the share of courses that stand or grow already which, when they change, stand again.
const wStoppedAgain = 0.25

// jumpLog is by how much the logarithm of the area jumps when a wound is widened or breaks down. Chosen.
var jumpLog = Rate{0.20, 0.25}

// bends are the time constants, weeks, with which a rate runs from an early to a late one.
var bends = [...]float64{3, 8}

// bent are the early and the late rate of courses that slow down and that quicken.
func (p Prior) bent() (slow, quick [2]Rate) {
	return [2]Rate{{p.Fast.Mean * 1.3, p.Fast.SD * 1.3}, {p.Slow.Mean * 0.4, p.Slow.SD * 0.6}},
		[2]Rate{{p.Slow.Mean * 0.7, p.Slow.SD * 0.8}, {p.Fast.Mean * 1.8, p.Fast.SD * 1.6}}
}

// both merges the slow and the fast component into one.
func both(pr Prior) Rate {
	m := (pr.Slow.Mean + pr.Fast.Mean) / 2
	d := (pr.Fast.Mean - pr.Slow.Mean) / 2
	return Rate{m, math.Sqrt((pr.Slow.SD*pr.Slow.SD+pr.Fast.SD*pr.Fast.SD)/2 + d*d)}
}

// changeTime is a node for when a course changed, with its share of the span.
type changeTime struct{ wk, share float64 }

// changeTimes returns at most eight times of a possible change of course, halfway between visits; a change is as likely
// in every week, so that a node weighs as much as the time that it stands for.
func changeTimes(times []float64) []changeTime {
	const most = 8
	span := times[len(times)-1] - times[0]
	var out []changeTime
	gaps := 0
	for i := 1; i < len(times); i++ {
		if times[i] > times[i-1] {
			gaps++
		}
	}
	if gaps <= most {
		for i := 1; i < len(times); i++ {
			if d := times[i] - times[i-1]; d > 0 {
				out = append(out, changeTime{times[i] - d/2, d / span})
			}
		}
		return out
	}
	for i := range most {
		out = append(out, changeTime{times[0] + span*(float64(i)+0.5)/most, 1.0 / most})
	}
	return out
}
