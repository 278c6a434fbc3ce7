package pumplog

import (
	"math"
	"slices"
	"sort"
	"time"
)

// What a sample says of the time until the next one.
const (
	stateUnknown uint8 = iota
	stateAt
	stateBelow
	stateAbove
	stateOther
	stateOff
)

// longestStep is the longest interval of logs that pumps keep (15 min), with a third of slack: a step above it is a
// gap however regular it is.
const longestStepMs = 20 * 60_000

// judging is the work on one log.
type judging struct {
	l      *Log
	orders []Order
	zone   *time.Location
	set    Settings
	dt     int64 // usual step, ms
	gap    int64 // a longer step is a gap
	end    []int64
	state  []uint8
	order  []int16 // index of the order in force, -1
	level  []uint8 // in a program of stages: 1 + group of the level, 0 none
	out    *Result
}

// Period bounds the time that is judged; zero ends are those of the log.
type Period struct{ From, To time.Time }

// Judge compares a log with the orders. orders may overlap in nothing; a time without one is judged for suction and
// off, not against a target. zone decides the days; nil is UTC. The log is not modified.
//
// Equations and thresholds: docs/model/pumplog.md.
func Judge(l *Log, orders []Order, zone *time.Location, set Settings, p Period) *Result {
	if zone == nil {
		zone = time.UTC
	}
	j := &judging{l: l, orders: orders, zone: zone, set: set, out: &Result{Pump: l.Pump, Days: []Day{}, OffSpell: []Spell{}, Episodes: []Episode{}, Cannot: []string{}, Alarms: []AlarmEpisode{}, Breaks: []Change{}}}
	j.out.Leak.Growing, j.out.Battery.Ageing = "cannot tell", "cannot tell"
	j.out.Pattern = Pattern{Kind: "cannot tell", Matches: "cannot tell", Words: "The log is too short to tell the program."}
	if len(l.Samples) == 0 {
		j.out.Cannot = append(j.out.Cannot, "The log holds no sample.")
		return j.out
	}
	j.steps()
	j.bounds(p)
	j.states()
	j.sum()
	j.spells()
	c := j.channel()
	j.episodes(c)
	j.course(c)
	j.pattern()
	j.battery()
	j.alarms()
	j.parts(c)
	j.changes(c)
	j.met()
	return j.out
}

// steps finds the usual step, what a gap is, and until when each sample speaks: to the next one, or for one usual step
// before a gap.
func (j *judging) steps() {
	s := j.l.Samples
	j.dt = j.l.Interval()
	if j.dt == 0 {
		j.dt = 60_000
	}
	stride := max(1, len(s)/4096)
	var d []int64
	for i := 0; i+1 < len(s); i += stride {
		d = append(d, s[i+1].T-s[i].T)
	}
	slices.Sort(d)
	p90 := j.dt
	if len(d) > 0 {
		p90 = d[len(d)*9/10]
	}
	j.gap = min(longestStepMs, max(j.dt*5/2, p90*3/2))
	j.dt = min(j.dt, longestStepMs)
	j.end = make([]int64, len(s))
	for i := range s {
		j.end[i] = s[i].T + j.dt
		if i+1 < len(s) && s[i+1].T-s[i].T <= j.gap {
			j.end[i] = s[i+1].T
		} else if i+1 < len(s) {
			j.end[i] = min(j.end[i], s[i+1].T)
		}
	}
	j.out.IntervalS, j.out.GapMin = float64(j.dt)/1000, float64(j.gap)/60_000
}

// bounds sets the period and its calendar days.
func (j *judging) bounds(p Period) {
	n := len(j.l.Samples)
	from, to := j.l.Samples[0].T, j.end[n-1]
	if !p.From.IsZero() {
		from = p.From.UnixMilli()
	}
	if !p.To.IsZero() {
		to = p.To.UnixMilli()
	}
	to = max(from, to)
	j.out.From, j.out.To = time.UnixMilli(from).In(j.zone), time.UnixMilli(to).In(j.zone)
	y, m, d := j.out.From.Date()
	for i := 0; ; i++ {
		start := time.Date(y, m, d+i, 0, 0, 0, 0, j.zone)
		next := time.Date(y, m, d+i+1, 0, 0, 0, 0, j.zone)
		if start.UnixMilli() >= to || i > 4000 {
			break
		}
		a, b := max(from, start.UnixMilli()), min(to, next.UnixMilli())
		j.out.Days = append(j.out.Days, Day{Date: start.Format(time.DateOnly), PeriodMin: float64(b-a) / 60e3, start: start.UnixMilli(), end: next.UnixMilli(), length: next.Sub(start).Minutes()})
	}
}

// states says of each sample what it tells.
func (j *judging) states() {
	s := j.l.Samples
	n := len(s)
	j.state, j.order, j.level = make([]uint8, n), make([]int16, n), make([]uint8, n)
	at := -1
	for i := range s {
		if at < 0 || !j.orders[at].holds(s[i].T) {
			at = -1
			for k := range j.orders {
				if j.orders[k].holds(s[i].T) && len(j.orders[k].Stages) > 0 {
					at = k
				}
			}
		}
		j.order[i] = int16(at)
		j.state[i], j.level[i] = j.stateOf(&s[i], at)
	}
	j.rests()
}

func (j *judging) stateOf(s *Sample, at int) (uint8, uint8) {
	if s.Therapy == No {
		return stateOff, 0
	}
	if !known(s.SuctionMmHg) {
		return stateUnknown, 0
	}
	v := float64(s.SuctionMmHg)
	if v < j.set.OffBelowMmHg {
		return stateOff, 0
	}
	if at < 0 {
		return stateOther, 0
	}
	stages := j.orders[at].Stages
	near, best := 0, math.Inf(1)
	low, high := math.Inf(1), 0.0
	for k, g := range stages {
		if d := math.Abs(v - g.SuctionMmHg); d < best {
			near, best = k, d
		}
		high = math.Max(high, g.SuctionMmHg)
		low = math.Min(low, g.SuctionMmHg)
	}
	switch {
	case best <= j.set.BandMmHg:
		if len(stages) == 1 {
			return stateAt, 0
		}
		return stateAt, j.group(stages, near)
	case v > high:
		return stateAbove, 0
	case v < low:
		return stateBelow, 0
	}
	return stateOther, 0
}

// group numbers a stage by the first stage of the same depth.
func (j *judging) group(stages []Stage, k int) uint8 {
	for i := range stages {
		if math.Abs(stages[i].SuctionMmHg-stages[k].SuctionMmHg) <= j.set.BandMmHg/2 {
			return uint8(min(i, 250) + 1)
		}
	}
	return uint8(min(k, 250) + 1)
}

// rests turns short times without suction into the rest stage, where the program has one: up to half again as long as
// it is ordered. Longer ones are off.
func (j *judging) rests() {
	s := j.l.Samples
	for i := 0; i < len(s); i++ {
		k := int(j.order[i])
		if j.state[i] != stateOff || k < 0 || s[i].Therapy == No {
			continue
		}
		rest := -1
		for g, st := range j.orders[k].Stages {
			if st.SuctionMmHg <= j.set.OffBelowMmHg && len(j.orders[k].Stages) > 1 {
				rest = g
			}
		}
		e := i
		for e+1 < len(s) && j.state[e+1] == stateOff && s[e+1].T == j.end[e] && s[e+1].Therapy != No {
			e++
		}
		if rest >= 0 {
			st := j.orders[k].Stages[rest]
			if float64(j.end[e]-s[i].T) <= (1.5*st.HoldMin+2*st.RampMin)*60e3+2*float64(j.dt) {
				for q := i; q <= e; q++ {
					j.state[q], j.level[q] = stateAt, j.group(j.orders[k].Stages, rest)
				}
			}
		}
		i = e
	}
}

// window collects the times at the levels of a program over whole cycles of one day.
type window struct {
	order   int
	day     int
	spent   float64
	limit   float64
	covered float64
	dwell   [256]float64
	touched []uint8
}

// sum adds up the minutes by day and in all.
func (j *judging) sum() {
	var w window
	w.order = -1
	day, s := 0, j.l.Samples
	from, to := j.out.From.UnixMilli(), j.out.To.UnixMilli()
	var delivered, orderedDose, onSum, onMin, onOrdered float64
	means := make([]float64, len(j.orders))
	for k := range j.orders {
		means[k] = j.orders[k].MeanMmHg()
	}
	for i := range s {
		a, b := max(s[i].T, from), min(j.end[i], to)
		for a < b && day < len(j.out.Days) {
			d := &j.out.Days[day]
			if a >= d.end {
				j.close(&w)
				day++
				continue
			}
			e := min(b, d.end)
			min := float64(e-a) / 60e3
			a = e
			j.add(&w, d, day, i, min)
			if j.state[i] == stateUnknown {
				continue
			}
			v := 0.0
			if known(s[i].SuctionMmHg) && s[i].Therapy != No {
				v = float64(s[i].SuctionMmHg)
			}
			d.sum += v * min
			if k := j.order[i]; k >= 0 {
				d.ordered += min
				delivered += v * min / 60
				orderedDose += means[k] * min / 60
				if j.state[i] != stateOff {
					onSum, onMin, onOrdered = onSum+v*min, onMin+min, onOrdered+means[k]*min
				}
			}
		}
	}
	j.close(&w)
	j.hours(from, to)
	j.totals()
	j.dose(delivered, orderedDose, onSum, onMin, onOrdered, means)
}

func (j *judging) add(w *window, d *Day, day, i int, min float64) {
	k := int(j.order[i])
	switch j.state[i] {
	case stateUnknown:
		return
	case stateAt:
		if j.level[i] > 0 {
			if w.order != k || w.day != day || w.spent >= w.limit {
				j.close(w)
				c := j.orders[k].CycleMin()
				*w = window{order: k, day: day, limit: math.Ceil(60/c) * c}
			}
			if w.dwell[j.level[i]] == 0 {
				w.touched = append(w.touched, j.level[i])
			}
			w.dwell[j.level[i]] += min
		} else {
			d.AtTargetMin += min
		}
	case stateBelow:
		d.BelowMin += min
	case stateAbove:
		d.AboveMin += min
	case stateOther:
		d.OtherMin += min
	case stateOff:
		d.OffMin += min
	}
	if w.order == k && w.day == day {
		w.spent += min
		if j.state[i] != stateOff {
			w.covered += min
		}
	}
	d.CoveredMin += min
}

// close counts a window: each level counts up to its share of the program, with a tenth and one step of slack; what is
// beyond is a level held too long.
func (j *judging) close(w *window) {
	if w.order < 0 {
		return
	}
	o := j.orders[w.order]
	cycle := o.CycleMin()
	d := &j.out.Days[w.day]
	for _, g := range w.touched {
		share := 0.0
		for k := range o.Stages {
			if j.group(o.Stages, k) == g {
				share += (o.Stages[k].HoldMin + o.Stages[k].RampMin) / cycle
			}
		}
		allowed := share*w.covered*1.1 + float64(j.dt)/60e3
		d.AtTargetMin += math.Min(w.dwell[g], allowed)
		d.OtherMin += math.Max(0, w.dwell[g]-allowed)
	}
	*w = window{order: -1}
}

func (j *judging) totals() {
	t := &j.out.Minutes
	for i := range j.out.Days {
		d := &j.out.Days[i]
		d.UnknownMin = math.Max(0, d.PeriodMin-d.CoveredMin)
		t.CoveredMin += d.CoveredMin
		t.AtTargetMin += d.AtTargetMin
		t.BelowMin += d.BelowMin
		t.AboveMin += d.AboveMin
		t.OtherMin += d.OtherMin
		t.OffMin += d.OffMin
		t.UnknownMin += d.UnknownMin
		j.out.OrderedMin += d.ordered
		if d.CoveredMin > 0 {
			m := d.sum / d.CoveredMin
			d.MeanMmHg = &m
		}
	}
	if all := t.CoveredMin + t.UnknownMin; all > 0 {
		j.out.CoveredPct = 100 * t.CoveredMin / all
	}
}

func (j *judging) dose(delivered, ordered, onSum, onMin, onOrdered float64, means []float64) {
	d := &j.out.Dose
	d.DeliveredMmHgH, d.OrderedMmHgH = delivered, ordered
	if onMin > 0 {
		m, o := onSum/onMin, onOrdered/onMin
		d.MeanMmHg, d.OrderedMmHg = &m, &o
	}
	if ordered <= 0 {
		return
	}
	share := 100 * delivered / ordered
	d.SharePct = &share
	// What is unknown lies under the mean of what was ordered while the log spoke.
	unknown := j.out.UnknownMin / 60 * ordered / (j.out.OrderedMin / 60)
	least, most := 100*delivered/(ordered+unknown), 100*(delivered+unknown)/(ordered+unknown)
	d.LeastPct, d.MostPct = &least, &most
}

// hours fills the hourly course for drawing, at most 10,000 of them.
func (j *judging) hours(from, to int64) {
	const hour = 3600_000
	first := from - from%hour
	n := int((to-first)/hour) + 1
	if n > 10_000 || n < 1 {
		return
	}
	hs := make([]Hour, n)
	for i, s := range j.l.Samples {
		a, b := max(s.T, from), min(j.end[i], to)
		for a < b && j.state[i] != stateUnknown {
			k := int((a - first) / hour)
			e := min(b, first+int64(k+1)*hour)
			m := float64(e-a) / 60e3
			a = e
			h := &hs[k]
			v := 0.0
			if known(s.SuctionMmHg) && s.Therapy != No {
				v = float64(s.SuctionMmHg)
			}
			if h.KnownMin == 0 || v < h.LowMmHg {
				h.LowMmHg = v
			}
			h.HighMmHg = math.Max(h.HighMmHg, v)
			h.MeanMmHg += v * m
			h.KnownMin += m
			if j.state[i] == stateOff {
				h.OffMin += m
			}
		}
	}
	for i := range hs {
		if hs[i].KnownMin > 0 {
			hs[i].MeanMmHg /= hs[i].KnownMin
		}
		hs[i].At = time.UnixMilli(first + int64(i)*hour).UTC()
	}
	j.out.Hours = hs
}

// shortOnMs is an interruption of an off-spell that does not end it.
const shortOnMs = 2 * 60_000

// spells lists the times off. A spell ends where suction is back for more than two minutes, and at a gap.
func (j *judging) spells() {
	s := j.l.Samples
	from, to := j.out.From.UnixMilli(), j.out.To.UnixMilli()
	var list []Spell
	type edge struct{ a, b int64 }
	var raw []edge
	for i := range s {
		if j.state[i] != stateOff {
			continue
		}
		a, b := max(s[i].T, from), min(j.end[i], to)
		if a >= b {
			continue
		}
		if n := len(raw); n > 0 && (raw[n-1].b == a || (a-raw[n-1].b <= shortOnMs && j.coveredBetween(raw[n-1].b, i))) {
			raw[n-1].b = b
			continue
		}
		raw = append(raw, edge{a, b})
	}
	// Unknown time on both sides: from the end of the last known sample to the start of the next.
	for k, r := range raw {
		i := sort.Search(len(s), func(i int) bool { return s[i].T >= r.a })
		lo, hi := from, to
		for q := i - 1; q >= 0; q-- {
			if j.state[q] != stateUnknown {
				lo = max(from, j.end[q])
				break
			}
		}
		e := sort.Search(len(s), func(i int) bool { return s[i].T >= r.b })
		for q := e; q < len(s); q++ {
			if j.state[q] != stateUnknown {
				hi = min(to, s[q].T)
				break
			}
		}
		// Where an unknown time joins two spells, off may have lasted through.
		if k > 0 && lo == raw[k-1].b && lo < r.a {
			lo = raw[k-1].a
		}
		if k+1 < len(raw) && hi == raw[k+1].a && hi > r.b {
			hi = raw[k+1].b
		}
		list = append(list, Spell{time.UnixMilli(r.a).In(j.zone), time.UnixMilli(r.b).In(j.zone), float64(r.b-r.a) / 60e3, float64(hi-lo) / 60e3})
		for d := range j.out.Days {
			if x := &j.out.Days[d]; r.a < x.end && r.b > x.start {
				x.LongestOffMin = math.Max(x.LongestOffMin, float64(r.b-r.a)/60e3)
			}
		}
	}
	if list != nil {
		j.out.OffSpell = list
	}
}

// coveredBetween tells whether the samples before i reach back to t without a gap.
func (j *judging) coveredBetween(t int64, i int) bool {
	for i--; i >= 0 && j.l.Samples[i].T >= t; i-- {
		if j.end[i] != j.l.Samples[i+1].T || j.state[i] == stateUnknown {
			return false
		}
	}
	return true
}

// LongestOff returns the longest spell off; false when there is none.
func (r *Result) LongestOff() (Spell, bool) {
	var best Spell
	for _, s := range r.OffSpell {
		if s.Minutes > best.Minutes {
			best = s
		}
	}
	return best, best.Minutes > 0
}

// met says for whole days whether the daily target was met; the target is its share of 24 h on days of 23 and 25.
func (j *judging) met() {
	for i := range j.out.Days {
		d := &j.out.Days[i]
		if d.PeriodMin < d.length-1 || d.ordered < d.CoveredMin-1 || d.CoveredMin == 0 {
			continue
		}
		target := j.set.DailyTargetH / 24 * d.length
		switch {
		case d.AtTargetMin >= target:
			d.Met = "yes"
		case d.AtTargetMin+d.UnknownMin < target:
			d.Met = "no"
		default:
			d.Met = "cannot tell"
		}
	}
}
