package main

import (
	"math"
	"math/rand/v2"
	"sort"

	"lowtide/fluid"
)

// probs are the forecast points that are scored.
var probs = [3]float64{0.1, 0.5, 0.9}

// capH bounds filling times in the loss: a canister is changed weekly, so an error beyond two weeks is no error that
// matters, and a baseline whose last rate is zero must not lose by infinity.
const capH = 14 * 24

// pinball is the mean quantile loss of three points against a truth. A baseline that gives one number has it
// taken for all three points.
func pinball(q [3]float64, truth float64) float64 {
	sum := 0.0
	for k, p := range probs {
		sum += math.Max(p*(truth-q[k]), (p-1)*(truth-q[k]))
	}
	return sum / 3
}

// target is what is forecast: the filling time, or what is collected in 24, 48 or 72 h.
var targets = [4]string{"fill time", "24 h", "48 h", "72 h"}

// outcome is one course forecast: the model's points, the baselines' numbers and the truth, a target each.
type outcome struct {
	model      [4][3]float64
	last, mean [4]float64
	truth      [4]float64
}

func points(q fluid.Quantiles) [3]float64 { return [3]float64{q.P10, q.Median, q.P90} }

// forecast lets the model and both baselines forecast one simulated course.
func forecast(s simulated) outcome {
	var o outcome
	t := fluid.Fit(s.course, s.asOf)
	lag := s.asOf.Sub(s.course.Readings[len(s.course.Readings)-1].At).Hours()
	fill, _ := t.FillDays()
	for k, d := range points(fill) {
		o.model[0][k] = math.Min(24*aheadD, d*24-lag)
	}
	o.truth[0] = s.fillH
	last, mean := baselineRates(s)
	n := len(s.course.Readings)
	need := s.course.UsableShare*float64(s.course.Canister) - float64(s.course.Readings[n-1].Content)
	o.last[0], o.mean[0] = need/last*24-lag, need/mean*24-lag
	for k, h := range horizonsH {
		o.model[k+1] = points(t.Collected(h / 24))
		o.truth[k+1] = s.collected[k]
		o.last[k+1], o.mean[k+1] = last*h/24, mean*h/24
	}
	return o
}

// baselineRates are the rate between the last two readings of one canister, and the mean over the intervals that end
// in the last three days before the last reading, in mL/d. A rate of zero or less is taken as 1 mL/d, and where
// no interval was read both get the published output of the area.
func baselineRates(s simulated) (last, mean float64) {
	rs := s.course.Readings
	end := rs[len(rs)-1].At
	var sumML, sumH float64
	for i := len(rs) - 1; i > 0; i-- {
		h := rs[i].At.Sub(rs[i-1].At).Hours()
		if rs[i].NewCanister || h <= 0 {
			continue
		}
		ml := float64(rs[i].Content - rs[i-1].Content)
		if last == 0 {
			last = math.Max(1, ml/h*24)
		}
		if end.Sub(rs[i].At).Hours() < 72 || sumH == 0 {
			sumML += ml
			sumH += h
		}
	}
	if sumH == 0 {
		expected := float64(fluid.Expected(s.course.Area))
		return expected, expected
	}
	return last, math.Max(1, sumML/sumH*24)
}

// tally sums the scores of one generator, or of all.
type tally struct {
	n       int
	covered [4]int
	// nominal is the sum of the chances that the intervals are meant to hold: 0.9 where a canister that may never fill has
	// no end of its interval, 0.8 otherwise.
	nominal                    [4]float64
	model, last, mean          [4]float64
	banded                     [4]float64
	modelMid, lastMid, meanMid [4]float64
}

// bands make an interval of the three-day mean: its factors are set so that, over all courses and in hindsight, each
// point is right as often as it should be. No forecaster could have known them; it is the fairest opponent.
func (t *tally) add(o outcome, bands [4][3]float64) {
	t.n++
	for k := range targets {
		truth := o.truth[k]
		if o.model[k][0] <= truth && truth <= o.model[k][2] {
			t.covered[k]++
		}
		m, l, a := o.model[k], o.last[k], o.mean[k]
		if m[2] >= 24*aheadD && k == 0 {
			t.nominal[k] += 0.9
		} else {
			t.nominal[k] += 0.8
		}
		if k == 0 {
			truth, l, a = cap14(truth), cap14(l), cap14(a)
			for j := range m {
				m[j] = cap14(m[j])
			}
		}
		t.model[k] += pinball(m, truth)
		t.last[k] += pinball([3]float64{l, l, l}, truth)
		t.mean[k] += pinball([3]float64{a, a, a}, truth)
		b := [3]float64{o.mean[k] * bands[k][0], o.mean[k] * bands[k][1], o.mean[k] * bands[k][2]}
		if k == 0 {
			b = [3]float64{cap14(b[0]), cap14(b[1]), cap14(b[2])}
		}
		t.banded[k] += pinball(b, truth)
		t.modelMid[k] += math.Abs(m[1] - truth)
		t.lastMid[k] += math.Abs(l - truth)
		t.meanMid[k] += math.Abs(a - truth)
	}
}

func cap14(h float64) float64 { return math.Max(0, math.Min(capH, h)) }

// coverage of the 80 % interval of target k.
func (t tally) coverage(k int) float64 { return float64(t.covered[k]) / float64(t.n) }

// meant is the coverage that the intervals of target k say they have.
func (t tally) meant(k int) float64 { return t.nominal[k] / float64(t.n) }

// better is the share by which the model's pinball loss is below a baseline's.
func better(model, baseline float64) float64 { return 1 - model/baseline }

// hindsight finds the bands of [tally.add]: the 10, 50 and 90 % points of truth over forecast.
func hindsight(os []outcome) (bands [4][3]float64) {
	for k := range targets {
		var r []float64
		for _, o := range os {
			r = append(r, o.truth[k]/math.Max(1e-9, o.mean[k]))
		}
		sort.Float64s(r)
		for j, p := range probs {
			bands[k][j] = r[int(p*float64(len(r)-1))]
		}
	}
	return bands
}

// run scores n courses, the generators of the list in turn.
func run(list []generator, n int, seed uint64) (all tally, each []tally) {
	each = make([]tally, len(list))
	r := newRand(seed)
	var os []outcome
	for len(os) < n {
		if s, ok := simulate(list[len(os)%len(list)], r); ok {
			os = append(os, forecast(s))
		}
	}
	bands := hindsight(os)
	for i, o := range os {
		all.add(o, bands)
		each[i%len(list)].add(o, bands)
	}
	return all, each
}

func newRand(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 5)) }
