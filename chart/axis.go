package chart

import (
	"time"

	"lowtide/state"
)

// Range is the time that a chart shows, From before To.
type Range struct{ From, To time.Time }

// Holds tells whether the instant is within the range.
func (r Range) Holds(t time.Time) bool { return !t.Before(r.From) && !t.After(r.To) }

// lastDays is the range of the given number of the patient's days up to today, and on to the next planned visit
// when that is within a week. It does not start before therapy; days = 0 shows all of it.
func lastDays(s *state.State, t *state.Tide, days int) Range {
	first := s.Day(t.From)
	if days > 0 {
		y, m, d := t.To.In(s.Zone()).Date()
		if from := time.Date(y, m, d-days+1, 0, 0, 0, 0, s.Zone()); from.After(first) {
			first = from
		}
	}
	last := t.To
	if t.Planned != nil && t.Planned.After(s.AsOf) && t.Planned.Sub(s.AsOf) <= 7*24*time.Hour {
		last = *t.Planned
	}
	return Range{first, s.NextDay(last)}
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
func (a axis) ticks(s *state.State) []tick {
	var out []tick
	today := -1
	for t := a.From; !t.After(a.To); t = s.NextDay(t) {
		if s.Day(t).Equal(s.Day(s.AsOf)) {
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
	for _, n := range []int{1, 2, 3, 7, 14, 28, 56, 112, 224} {
		step = n
		if perDay*float64(n) > widest+20 {
			break
		}
	}
	for i := range out {
		if (i-today)%step == 0 && i < len(out)-1 {
			out[i].label = out[i].at.In(s.Zone()).Format(layout)
		}
	}
	return out
}
