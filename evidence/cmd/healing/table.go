package main

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"runtime"
	"sort"
	"sync"
	"sync/atomic"
	"time"

	"lowtide/healing"
	"lowtide/rule"
	"lowtide/state"
)

// share counts how often something was so.
type share struct{ yes, of int }

func (s *share) count(yes bool) {
	s.of++
	if yes {
		s.yes++
	}
}

func (s share) value() float64 {
	if s.of == 0 {
		return math.NaN()
	}
	return float64(s.yes) / float64(s.of)
}

// tally is everything that the simulation counts.
type tally struct {
	wounds               int
	size14, size28, date share
	low28, high28        share
	dateLow, dateHigh    share
	chances, outcomes    []float64
	// naive chances for the same milestones
	rate, expo                  []float64
	closeChances, closeOutcomes []float64
	alarm, anyAlarm, stall      share
	wildNamed, wildWrong        share
	byKind                      map[string]*kindTally
	// score28 sums the interval score of log sizes in 4 weeks (Gneiting and Raftery 2007, J Am Stat Assoc 102:359):
	// width, plus ten times what the truth lies outside; lower is better.
	score28 float64
}

type kindTally struct {
	size14, size28, date, alarm, anyAlarm, stall, stallArea share
	width28                                                 []float64
}

func (t *tally) kind(name string) *kindTally {
	if t.byKind == nil {
		t.byKind = map[string]*kindTally{}
	}
	if t.byKind[name] == nil {
		t.byKind[name] = &kindTally{}
	}
	return t.byKind[name]
}

// stallCall is the chance from which a wound is called not improving.
const stallCall = 0.5

// simulate follows n wounds of the given kinds, each with its own stream of numbers, on all cores.
//
// only is "" for everything, "sizes" for one forecast a wound, "stalls" for stall calls.
func simulate(n int, kinds []string, seed uint64, only string) *tally {
	parts := make([]*tally, n)
	var next atomic.Int64
	var done sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		done.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				r := newRand(seed, i)
				p := &tally{wounds: 1}
				w := newTruth(kinds[i%len(kinds)], r)
				c := newChart(w, 14, r)
				if only != "stalls" {
					p.forecasts(w, c, r)
				}
				if only == "" {
					p.milestones(w, c, r)
				}
				if only != "sizes" {
					p.stalls(w, c)
				}
				if only == "" {
					p.wild(w, c)
				}
				parts[i] = p
			}
		})
	}
	done.Wait()
	t := &tally{}
	for _, p := range parts {
		t.join(p)
	}
	return t
}

// newRand is the stream of one wound.
func newRand(seed uint64, wound int) *rand.Rand { return rand.New(rand.NewPCG(seed, uint64(wound))) }

// join adds another tally to this one.
func (t *tally) join(p *tally) {
	t.wounds += p.wounds
	t.score28 += p.score28
	for _, s := range [][2]*share{{&t.size14, &p.size14}, {&t.size28, &p.size28}, {&t.date, &p.date}, {&t.low28, &p.low28}, {&t.high28, &p.high28},
		{&t.dateLow, &p.dateLow}, {&t.dateHigh, &p.dateHigh}, {&t.alarm, &p.alarm}, {&t.anyAlarm, &p.anyAlarm}, {&t.stall, &p.stall}, {&t.wildNamed, &p.wildNamed}, {&t.wildWrong, &p.wildWrong}} {
		s[0].yes, s[0].of = s[0].yes+s[1].yes, s[0].of+s[1].of
	}
	for _, s := range [][2]*[]float64{{&t.chances, &p.chances}, {&t.outcomes, &p.outcomes}, {&t.rate, &p.rate}, {&t.expo, &p.expo},
		{&t.closeChances, &p.closeChances}, {&t.closeOutcomes, &p.closeOutcomes}} {
		*s[0] = append(*s[0], *s[1]...)
	}
	for name, k := range p.byKind {
		o := t.kind(name)
		for _, s := range [][2]*share{{&o.size14, &k.size14}, {&o.size28, &k.size28}, {&o.date, &k.date}, {&o.alarm, &k.alarm}, {&o.anyAlarm, &k.anyAlarm}, {&o.stall, &k.stall}, {&o.stallArea, &k.stallArea}} {
			s[0].yes, s[0].of = s[0].yes+s[1].yes, s[0].of+s[1].of
		}
		o.width28 = append(o.width28, k.width28...)
	}
}

// limits are the built-in ones.
var limits = sync.OnceValue(func() healing.Limits {
	rules, err := rule.Builtin()
	if err != nil {
		panic(err)
	}
	return state.HealingLimits(rules.Values(time.Now()))
})

func upTo(c chart, visits int) healing.Input {
	return healing.Input{WoundType: "surgical", Limits: limits(), AsOf: c.sizes[visits-1].At, Sizes: c.sizes[:visits]}
}

// forecasts asks once a wound, at a visit between the third and the twelfth while it is open.
func (t *tally) forecasts(w truth, c chart, r *rand.Rand) {
	visits := 3 + r.IntN(10)
	for visits > 2 && (visits > len(c.sizes) || w.area[c.days[visits-1]] == 0) {
		visits--
	}
	if visits < 3 {
		return
	}
	in := upTo(c, visits)
	in.AheadDays = []float64{14, 28}
	a := healing.Assess(in)
	if a.Status != healing.OK || len(a.Ahead) != 2 {
		return
	}
	day, k := c.days[visits-1], t.kind(w.kind)
	inside := func(b *healing.Band, x float64) bool { return x >= b.P10 && x <= b.P90 }
	b14, b28 := a.Ahead[0].Area, a.Ahead[1].Area
	x14, x28 := w.area[day+14], w.area[day+28]
	t.size14.count(inside(b14, x14))
	t.size28.count(inside(b28, x28))
	k.size14.count(inside(b14, x14))
	k.size28.count(inside(b28, x28))
	t.score28 += intervalScore(b28, x28)
	t.low28.count(x28 < b28.P10)
	t.high28.count(x28 > b28.P90)
	k.width28 = append(k.width28, (b28.P90-b28.P10)/w.area[day])
	closes := -1
	for d := day; d <= day+364; d++ {
		if w.area[d] == 0 {
			closes = d - day
			break
		}
	}
	for _, d := range []float64{28, 84} {
		t.closeChances = append(t.closeChances, a.Closure.ChanceByDays[fmt.Sprint(d)])
		t.closeOutcomes = append(t.closeOutcomes, b2f(closes >= 0 && float64(closes) <= d))
	}
	if closes >= 0 {
		in := a.Closure.P10Days != nil && float64(closes) >= *a.Closure.P10Days && float64(closes) <= *a.Closure.P90Days
		t.date.count(in)
		k.date.count(in)
		t.dateLow.count(a.Closure.P10Days != nil && float64(closes) < *a.Closure.P10Days)
		t.dateHigh.count(a.Closure.P10Days == nil || float64(closes) > *a.Closure.P90Days)
	}
}

// intervalScore is that of an 80 % interval on the logarithm, sizes under 0.1 cm² counting as 0.1.
func intervalScore(b *healing.Band, x float64) float64 {
	on := func(v float64) float64 { return math.Log(math.Max(v, 0.1)) }
	lo, hi, at := on(b.P10), on(b.P90), on(x)
	return hi - lo + 10*math.Max(0, lo-at) + 10*math.Max(0, at-hi)
}

// milestones asks, at the visits before they fall due, for half and a fifth of the area by week 4.
func (t *tally) milestones(w truth, c chart, r *rand.Rand) {
	start := measured(w, 0, r)
	for visits := 2; visits <= len(c.days) && c.days[visits-1] < 28; visits++ {
		if w.area[c.days[visits-1]] == 0 {
			return
		}
		a := healing.Assess(upTo(c, visits))
		rateRatio, expoChance := naive(c, visits, 28)
		got := measured(w, 28, r)
		for _, m := range a.Milestones {
			if m.DueDays != 28 || m.State != healing.StateNotYetDue || m.Chance == nil {
				continue
			}
			t.chances = append(t.chances, *m.Chance)
			t.outcomes = append(t.outcomes, b2f(1-got/start >= m.Reduction))
			t.rate = append(t.rate, b2f(1-rateRatio >= m.Reduction))
			t.expo = append(t.expo, expoChance(1-m.Reduction))
		}
	}
}

// wild asks at the last visit while the wound is open whether the wild reading is named, and how many others are.
func (t *tally) wild(w truth, c chart) {
	visits := len(c.days)
	for visits > 0 && w.area[c.days[visits-1]] == 0 {
		visits--
	}
	if visits < 5 {
		return
	}
	named := map[string]bool{}
	for _, o := range healing.Assess(upTo(c, visits)).Odd {
		if o.Measure == healing.Area {
			named[o.At.String()] = true
		}
	}
	for i := range visits {
		n := named[c.sizes[i].At.String()]
		if i == c.wildAt {
			t.wildNamed.count(n)
		} else {
			t.wildWrong.count(n)
		}
	}
}

// naive gives the two plain forecasts of area on a day relative to the first: the rate between the last two visits
// goes on; and a least-squares line through the logarithms, with the chance from its residuals.
func naive(c chart, visits, day int) (ratio float64, chance func(ratio float64) float64) {
	n := visits
	var x, y []float64
	for i := range n {
		m, _ := healing.MethodOf(c.sizes[i].Method)
		x = append(x, float64(c.days[i]))
		y = append(y, math.Log(math.Max(*c.sizes[i].AreaCm2/m.Factor, 0.01)))
	}
	slope := (y[n-1] - y[n-2]) / (x[n-1] - x[n-2])
	ratio = math.Exp(y[n-1] + slope*(float64(day)-x[n-1]) - y[0])
	var mx, my, sxx, sxy float64
	for i := range n {
		mx += x[i] / float64(n)
		my += y[i] / float64(n)
	}
	for i := range n {
		sxx += (x[i] - mx) * (x[i] - mx)
		sxy += (x[i] - mx) * (y[i] - my)
	}
	b := sxy / sxx
	at := my + b*(float64(day)-mx) - y[0]
	var rss float64
	for i := range n {
		e := y[i] - my - b*(x[i]-mx)
		rss += e * e
	}
	sd := 0.06
	if n > 2 {
		sd = math.Max(math.Sqrt(rss/float64(n-2)), 0.03)
	}
	sd *= math.Sqrt(1 + 1/float64(n) + (float64(day)-mx)*(float64(day)-mx)/sxx)
	return ratio, func(q float64) float64 { return 0.5 * math.Erfc((at-math.Log(q))/sd/math.Sqrt2) }
}

// stalls follows each wound visit by visit: a call while it heals is a false alarm; a true stall should be called at
// one of the three visits after it began.
func (t *tally) stalls(w truth, c chart) {
	k := t.kind(w.kind)
	after, called, healingSeen, anyFalse := 0, false, false, false
	for visits := 3; visits <= len(c.days); visits++ {
		day := c.days[visits-1]
		if w.area[day] == 0 {
			break
		}
		stalled := w.stallDay >= 0 && day > w.stallDay && day <= w.stallEnd
		fall := 1 - w.area[day]/w.area[max(0, day-14)]
		heals := day >= 14 && fall >= 0.10
		if !(stalled && after < 3) && !heals {
			continue
		}
		a := healing.Assess(upTo(c, visits))
		if a.NotImproving == nil {
			continue
		}
		call := *a.NotImproving >= stallCall
		if heals {
			healingSeen = true
			anyFalse = anyFalse || call
			t.alarm.count(call)
			k.alarm.count(call)
		} else if stalled {
			after++
			called = called || call
		}
	}
	if healingSeen {
		t.anyAlarm.count(anyFalse)
		k.anyAlarm.count(anyFalse)
	}
	if after == 3 || called {
		t.stall.count(called)
		k.stall.count(called)
		if c.sizes[0].DepthCm == nil {
			k.stallArea.count(called)
		}
	}
}

func b2f(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func brier(p, y []float64) float64 {
	s := 0.0
	for i := range p {
		s += (p[i] - y[i]) * (p[i] - y[i])
	}
	return s / float64(len(p))
}

// print writes the table.
func (t *tally) print(out io.Writer, title string) {
	fmt.Fprintf(out, "%s: %d wounds\n", title, t.wounds)
	row := func(name string, s share, target string) {
		fmt.Fprintf(out, "  %-58s %6.1f %%  of %5d   %s\n", name, 100*s.value(), s.of, target)
	}
	row("size in 2 weeks inside its 80 % interval", t.size14, "75 to 85 %")
	row("size in 4 weeks inside its 80 % interval", t.size28, "75 to 85 %")
	row("  smaller than the interval", t.low28, "")
	row("  larger than the interval", t.high28, "")
	fmt.Fprintf(out, "  interval score of the logarithm of the size in 4 weeks %.4f\n", t.score28/float64(t.size28.of))
	row("date of closure inside its 80 % interval, of those closing", t.date, "75 to 85 %")
	row("  earlier than the interval", t.dateLow, "")
	row("  later than the interval, or no date given", t.dateHigh, "")
	row("stall called while healing, of visits", t.alarm, "at most 10 %")
	row("stall called at any visit while healing, of wounds", t.anyAlarm, "at most 10 %")
	row("true stall called within three visits", t.stall, "at least 80 %")
	row("wild reading named", t.wildNamed, "")
	row("other reading named as wild", t.wildWrong, "")
	own, rate, expo := brier(t.chances, t.outcomes), brier(t.rate, t.outcomes), brier(t.expo, t.outcomes)
	fmt.Fprintf(out, "  milestones due in week 4: Brier score %.4f; current rate continues %.4f (%.0f %% better); exponential fit %.4f (%.0f %% better)\n",
		own, rate, 100*(1-own/rate), expo, 100*(1-own/expo))
	fmt.Fprintf(out, "  closed within 4 and 12 weeks: Brier score %.4f\n", brier(t.closeChances, t.closeOutcomes))
	reliability(out, "milestones", t.chances, t.outcomes)
	reliability(out, "closure", t.closeChances, t.closeOutcomes)
	names := make([]string, 0, len(t.byKind))
	for n := range t.byKind {
		names = append(names, n)
	}
	sort.Strings(names)
	fmt.Fprintf(out, "  %-24s %8s %8s %8s %8s %8s %8s %8s %8s\n", "by kind", "2 weeks", "4 weeks", "closure", "alarm", "any", "stall", "by area", "width")
	for _, n := range names {
		k := t.byKind[n]
		sort.Float64s(k.width28)
		w := math.NaN()
		if len(k.width28) > 0 {
			w = k.width28[len(k.width28)/2]
		}
		fmt.Fprintf(out, "  %-24s %8.1f %8.1f %8.1f %8.1f %8.1f %8.1f %8.1f %8.2f\n", n, 100*k.size14.value(), 100*k.size28.value(), 100*k.date.value(), 100*k.alarm.value(), 100*k.anyAlarm.value(), 100*k.stall.value(), 100*k.stallArea.value(), w)
	}
}

// reliability prints how often a thing happened among forecasts of about the same chance.
func reliability(out io.Writer, name string, p, y []float64) {
	const bins = 10
	var sumP, sumY [bins]float64
	var n [bins]int
	for i := range p {
		b := min(bins-1, int(p[i]*bins))
		sumP[b] += p[i]
		sumY[b] += y[i]
		n[b]++
	}
	fmt.Fprintf(out, "  reliability of %s (forecast -> seen):", name)
	for b := range bins {
		if n[b] > 0 {
			fmt.Fprintf(out, " %.0f->%.0f (%d)", 100*sumP[b]/float64(n[b]), 100*sumY[b]/float64(n[b]), n[b])
		}
	}
	fmt.Fprintln(out)
}
