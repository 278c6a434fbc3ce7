package pumplog

import (
	"math"
	"slices"
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

// leastWorking is the depth in mmHg above which a stage that reads as off is off: a leak that takes more away would have
// stopped the deep stage too (own choice).
const leastWorking = 50

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
	j.lone()
	j.rests()
}

// stagesAt are the stages ordered at a sample, nil without an order.
func (j *judging) stagesAt(i int) []Stage {
	if k := j.order[i]; k >= 0 {
		return j.orders[k].Stages
	}
	return nil
}

// loneBand is how far outside a single reading may lie, in bands, and still be the noise of the sensor.
const loneBand = 1.5

// lone counts a single reading just outside the band, between two inside it at the same level, as inside: that is the
// noise of the sensor. How far is just outside does not follow from the log: a restless one would excuse a dip of any
// depth.
func (j *judging) lone() {
	s := j.l.Samples
	slack := loneBand * j.set.BandMmHg
	for i := 1; i+1 < len(s); i++ {
		k := j.order[i]
		if k < 0 || j.state[i] == stateAt || j.state[i] == stateUnknown || j.state[i] == stateOff || j.state[i-1] != stateAt || j.state[i+1] != stateAt ||
			j.order[i-1] != k || j.order[i+1] != k || j.level[i-1] != j.level[i+1] || j.end[i-1] != s[i].T || j.end[i] != s[i+1].T {
			continue
		}
		depth := j.orders[k].Stages[max(0, int(j.level[i-1])-1)].SuctionMmHg
		if math.Abs(float64(s[i].SuctionMmHg)-depth) <= slack {
			j.state[i], j.level[i] = stateAt, j.level[i-1]
		}
	}
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
// it is ordered. Longer ones are off. Where the lowest stage is no rest but hardly deeper than off, a time as short as
// that stage is below it, as when air leaks in, and not off: the pump works.
func (j *judging) rests() {
	s := j.l.Samples
	for i := 0; i < len(s); i++ {
		k := int(j.order[i])
		if j.state[i] != stateOff || k < 0 || s[i].Therapy == No {
			continue
		}
		rest := -1
		for g, st := range j.orders[k].Stages {
			if st.SuctionMmHg <= leastWorking && len(j.orders[k].Stages) > 1 && (rest < 0 || st.SuctionMmHg < j.orders[k].Stages[rest].SuctionMmHg) {
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
				state, level := stateAt, j.group(j.orders[k].Stages, rest)
				if st.SuctionMmHg > j.set.OffBelowMmHg && !(st.SuctionMmHg <= j.set.BandMmHg) {
					state, level = stateBelow, 0
				}
				for q := i; q <= e; q++ {
					j.state[q], j.level[q] = state, level
				}
			}
		}
		i = e
	}
}

// Whole tells that the log covers the whole day with an order.
func (d *Day) Whole() bool {
	return d.PeriodMin >= d.length-1 && d.ordered >= d.CoveredMin-1 && d.CoveredMin != 0
}

// MetBy says of a whole day whether therapy ran at the order for so many hours: yes, no or cannot tell; "" of others. The
// target is its share of 24 h on days of 23 and 25.
func (d *Day) MetBy(targetH float64) string {
	target := targetH / 24 * d.length
	switch {
	case !d.Whole():
		return ""
	case d.AtTargetMin >= target:
		return "yes"
	case d.AtTargetMin+d.UnknownMin < target:
		return "no"
	}
	return "cannot tell"
}

// met judges the days by the daily target, if there is one.
func (j *judging) met() {
	for i := range j.out.Days {
		if d := &j.out.Days[i]; j.set.DailyTargetH > 0 {
			d.Met = d.MetBy(j.set.DailyTargetH)
		}
	}
}
