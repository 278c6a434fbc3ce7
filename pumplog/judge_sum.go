package pumplog

import (
	"math"
	"time"
)

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
