package chart

import (
	"time"

	"lowtide/casebook"
	"lowtide/state"
)

// Range is the time that a chart shows, From before To.
type Range struct{ From, To time.Time }

// Holds tells whether the instant is within the range.
func (r Range) Holds(t time.Time) bool { return !t.Before(r.From) && !t.After(r.To) }

// LastDays is the range of the given number of the patient's days up to today, and on to the next planned visit
// when that is within a week. It does not start before therapy; days = 0 shows all of it.
func LastDays(c *casebook.Case, now time.Time, days int) Range {
	end := now
	if c.Ended != nil && c.Ended.At.Before(now) {
		end = c.Ended.At
	}
	first := c.Day(end)
	if started, _, ok := state.Started(c); ok && started.Before(end) {
		first = c.Day(started)
	}
	for _, w := range c.Wounds {
		if len(w.Measured) > 0 && w.Measured[0].At.Before(first) {
			first = c.Day(w.Measured[0].At)
		}
	}
	if days > 0 {
		y, m, d := end.In(c.Zone).Date()
		if from := time.Date(y, m, d-days+1, 0, 0, 0, 0, c.Zone); from.After(first) {
			first = from
		}
	}
	last := end
	if next, _, ok := state.NextVisit(c); ok && c.Ended == nil && next.After(now) && next.Sub(now) <= 7*24*time.Hour {
		last = next
	}
	return Range{first, c.NextDay(last)}
}

// axis maps time to X.
type axis struct {
	Range
	x0, x1 float64
}

func (a axis) x(t time.Time) float64 {
	return a.x0 + (a.x1-a.x0)*float64(t.Sub(a.From))/float64(a.To.Sub(a.From))
}

// cut moves an instant into the range.
func (a axis) cut(t time.Time) time.Time {
	if t.Before(a.From) {
		return a.From
	}
	if t.After(a.To) {
		return a.To
	}
	return t
}

// tick is the start of a day; Label is empty where there is no room for one.
type tick struct {
	at    time.Time
	label string
}

// ticks lists the starts of the patient's days in the range. Labels are put every so many days that they do not
// touch, counted from the day of now, so that today is always named.
func (a axis) ticks(c *casebook.Case, now time.Time) []tick {
	var out []tick
	today := -1
	for t := a.From; !t.After(a.To); t = c.NextDay(t) {
		if c.Day(t).Equal(c.Day(now)) {
			today = len(out)
		}
		out = append(out, tick{at: t})
	}
	if today < 0 {
		today = len(out) - 1
	}
	if len(out) < 2 {
		return out
	}
	perDay := (a.x1 - a.x0) / float64(len(out)-1)
	layout, widest := "2 Jan", wide("22 Nov", axisPx)
	if w := wide("Wed 22 Nov", axisPx); perDay > w+8 {
		layout, widest = "Mon 2 Jan", w
	}
	step := 1
	for _, s := range []int{1, 2, 3, 7, 14, 28, 56, 112, 224} {
		step = s
		if perDay*float64(s) > widest+20 {
			break
		}
	}
	for i := range out {
		if (i-today)%step == 0 && i < len(out)-1 {
			out[i].label = out[i].at.In(c.Zone).Format(layout)
		}
	}
	return out
}
