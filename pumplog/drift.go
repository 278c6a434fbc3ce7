package pumplog

import (
	"fmt"
	"math"
	"time"
)

// drift takes the clock's error off along a straight line and says what it did. With d the error at the last row and a
// the error at the true time t0, the error at a time shown as t is
//
//	a + (d − a) (t − (t0 + a)) / (t_last − (t0 + a))
func (rd *reader) drift(l *Log) string {
	n, o := len(l.Samples), &rd.opt
	if n == 0 || (o.AheadMin == 0 && o.AheadAtStartMin == 0) {
		return ""
	}
	first, last := l.Samples[0].T, l.Samples[n-1].T
	from := first
	if !o.AheadAtStart.IsZero() {
		from = o.AheadAtStart.UnixMilli() + int64(math.Round(o.AheadAtStartMin*60e3))
	}
	span, grows := float64(last-from), (o.AheadMin-o.AheadAtStartMin)*60e3
	if grows != 0 && (span <= 0 || math.Abs(grows) > span/10) {
		rd.badDrift = true
		return ""
	}
	ahead := func(t int64) float64 {
		if grows == 0 {
			return o.AheadMin * 60e3
		}
		return o.AheadAtStartMin*60e3 + grows*float64(t-from)/span
	}
	a, z := ahead(first), ahead(last)
	for i := range l.Samples {
		l.Samples[i].T -= int64(math.Round(ahead(l.Samples[i].T)))
	}
	shown := func(t int64) string { return time.UnixMilli(t).In(o.Zone).Format("2 Jan 2006 15:04") }
	if grows == 0 {
		return fmt.Sprintf("The pump's clock was wrong: all times were moved %s, the first row from %s to %s.", moved(a), shown(first), shown(l.Samples[0].T))
	}
	return fmt.Sprintf("The pump's clock drifted by %.1f min a day: the first row was moved %s (%s is %s), the last %s (%s is %s).",
		grows/60e3/(span/dayMs), moved(a), shown(first), shown(l.Samples[0].T), moved(z), shown(last), shown(l.Samples[n-1].T))
}

func moved(ms float64) string {
	if ms < 0 {
		return fmt.Sprintf("forward by %.1f min", -ms/60e3)
	}
	return fmt.Sprintf("back by %.1f min", ms/60e3)
}
