package pumplog

import (
	"math"
	"time"
)

// leastDrop is the smallest discharge, in per cent, from which a run time is told: a level in whole per cent is then
// off by at most a twentieth.
const leastDrop = 20

// battery finds stretches on battery: the level falls, the pump is not on mains, and no two rows lie more than two
// hours apart.
func (j *judging) battery() {
	b := &j.out.Battery
	s := j.l.Samples
	var from, last int = -1, -1
	flush := func() {
		if from < 0 || last <= from {
			from = -1
			return
		}
		drop, h := float64(s[from].BatteryPct-s[last].BatteryPct), float64(s[last].T-s[from].T)/hourMs
		if drop >= leastDrop && h > 0.2 {
			b.Discharges = append(b.Discharges, Discharge{time.UnixMilli(s[from].T).In(j.zone), time.UnixMilli(s[last].T).In(j.zone), float64(s[from].BatteryPct), float64(s[last].BatteryPct), h * 100 / drop})
		}
		from = -1
	}
	low := math.Inf(1)
	for i := range s {
		v := s[i].BatteryPct
		if !known(v) {
			continue
		}
		b.Told = true
		low = math.Min(low, float64(v))
		switch {
		case s[i].Plugged == Yes || s[i].Therapy == No:
			flush()
			continue
		case from >= 0 && (v > s[last].BatteryPct+1.5 || s[i].T-s[last].T > 2*hourMs):
			flush()
		}
		if from < 0 {
			from = i
		} else if v == s[from].BatteryPct && s[i].Plugged == 0 {
			from = i // full and not yet used: it may have been on mains
		}
		last = i
	}
	flush()
	if !b.Told {
		return
	}
	b.LowPct = &low
	n := len(b.Discharges)
	if n < 6 || b.Discharges[n-1].From.Sub(b.Discharges[0].From) < 14*24*time.Hour {
		return
	}
	part := func(list []Discharge) float64 {
		var v []float64
		for _, d := range list {
			v = append(v, d.FullH)
		}
		return median(v)
	}
	first, end := part(b.Discharges[:n/3]), part(b.Discharges[n-n/3:])
	left := 100 * end / first
	b.FirstH, b.LastH, b.LeftPct = &first, &end, &left
	var at, y []float64
	for _, d := range b.Discharges {
		at, y = append(at, float64(d.From.UnixMilli())/dayMs), append(y, d.FullH)
	}
	if len(at) > 200 {
		at, y = at[len(at)-200:], y[len(y)-200:]
	}
	_, z := trend(at, y)
	if b.Ageing = "no"; z < -1.645 && left < 90 { // one-sided, 5 %
		b.Ageing = "yes"
	}
}

// alarms joins repeats of the same alarm.
func (j *judging) alarms() {
	s := j.l.Samples
	open := map[uint8]int{}
	join := int64(j.set.JoinAlarmMin * 60e3)
	for i := range s {
		w := s[i].Alarm
		if w == 0 || int(w) >= len(j.l.Words) {
			continue
		}
		end := time.UnixMilli(j.end[i]).In(j.zone)
		if k, ok := open[w]; ok && s[i].T-j.out.Alarms[k].To.UnixMilli() <= join {
			j.out.Alarms[k].To = end
			j.out.Alarms[k].Rows++
			continue
		}
		if len(j.out.Alarms) < 5000 {
			open[w] = len(j.out.Alarms)
			j.out.Alarms = append(j.out.Alarms, AlarmEpisode{j.l.Words[w], time.UnixMilli(s[i].T).In(j.zone), end, 1})
		}
	}
}

// parts divides the covered time into day and night on the clock of the place.
func (j *judging) parts(c *measure) {
	s := j.l.Samples
	from, to := j.out.From.UnixMilli(), j.out.To.UnixMilli()
	night := func(h int) bool {
		if j.set.NightFromH > j.set.NightToH {
			return h >= j.set.NightFromH || h < j.set.NightToH
		}
		return h >= j.set.NightFromH && h < j.set.NightToH
	}
	var hour int64 = -1
	isNight := false
	var leak [2][]float64
	thin := max(1, len(s)/4000)
	for i := range s {
		a, b := max(s[i].T, from), min(j.end[i], to)
		if a >= b {
			continue
		}
		// Offsets of zones are whole quarters of an hour, so a quarter has one hour of the day.
		if q := a / (hourMs / 4); q != hour {
			hour, isNight = q, night(time.UnixMilli(a).In(j.zone).Hour())
		}
		p, k := &j.out.Day, 0
		if isNight {
			p, k = &j.out.Night, 1
		}
		m := float64(b-a) / 60e3
		if j.state[i] != stateUnknown {
			p.CoveredMin += m
		}
		switch j.state[i] {
		case stateAt:
			p.AtTargetMin += m
		case stateBelow:
			p.BelowMin += m
		case stateAbove:
			p.AboveMin += m
		case stateOther:
			p.OtherMin += m
		case stateOff:
			p.OffMin += m
		}
		if c != nil && i%thin == 0 && c.x[i] == c.x[i] {
			leak[k] = append(leak[k], c.x[i])
		}
	}
	for _, a := range j.out.Alarms {
		if night(a.From.Hour()) {
			j.out.Night.Alarms++
		} else {
			j.out.Day.Alarms++
		}
	}
	for k, p := range []*Part{&j.out.Day, &j.out.Night} {
		if v := median(leak[k]); !math.IsNaN(v) {
			p.LeakUsual = &v
		}
	}
	var all, dark float64
	for t := from - from%(hourMs/4); t < to; t += hourMs / 4 {
		m := float64(min(t+hourMs/4, to)-max(t, from)) / 60e3
		all += m
		if night(time.UnixMilli(t).In(j.zone).Hour()) {
			dark += m
		}
	}
	j.out.Night.UnknownMin = math.Max(0, dark-j.out.Night.CoveredMin)
	j.out.Day.UnknownMin = math.Max(0, all-dark-j.out.Day.CoveredMin)
}
