package payer

import (
	"time"
)

// Date is a calendar day.
func Date(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 0, 0, 0, 0, time.UTC) }

// Days counts the calendar days from one day to another; the day itself is 0.
func Days(from, to time.Time) int { return int(to.Sub(from).Hours() / 24) }

// AddDays is the day n days later.
func AddDays(day time.Time, n int) time.Time { return day.AddDate(0, 0, n) }

// AddMonths is the same day of the month n months later; where that month is shorter, its last day. So the day after
// 31 January by one month is 28 or 29 February, never a day in March.
func AddMonths(day time.Time, n int) time.Time {
	y, m, d := day.Date()
	last := time.Date(y, m+time.Month(n)+1, 0, 0, 0, 0, 0, time.UTC)
	return Date(last.Year(), last.Month(), min(d, last.Day()))
}

// Window is a span of days: From is its first day, To the first day after it.
type Window struct{ From, To time.Time }

// Holds tells whether a day lies in the window.
func (w Window) Holds(day time.Time) bool { return !day.Before(w.From) && day.Before(w.To) }

// Count is how many of the days lie in the window.
func (w Window) Count(days []time.Time) int {
	n := 0
	for _, d := range days {
		if w.Holds(d) {
			n++
		}
	}
	return n
}

// Clock is where a case stands on a day.
type Clock struct {
	// Start is the day from which the policy counts, Day how many days of it are over (the start is day 0).
	Start time.Time
	Day   int
	// ByDays and ByMonths are the end by each reading; zero when the policy has none. End is the earlier: what is left
	// out is never counted on. Differ tells that the readings differ.
	ByDays, ByMonths, End time.Time
	Differ                bool
	// Month is the payer's month that today lies in, counted in month_days from Start; Calendar is the calendar month.
	// Limits are held against both.
	Month, Calendar Window
}

// At is the clock on a day. start is the first day of therapy anywhere, home the first day at home (zero when therapy
// began there); the later counts where hospital time does not. A day before the start lies in the first month.
func (p *Policy) At(start, home, today time.Time) Clock {
	c := Clock{Start: start}
	if !p.HospitalCounts && home.After(start) {
		c.Start = home
	}
	c.Day = Days(c.Start, today)
	if n := p.value("end_days"); n > 0 {
		c.ByDays = AddDays(c.Start, int(n))
	}
	if n := p.value("end_months"); n > 0 {
		c.ByMonths = AddMonths(c.Start, int(n))
	}
	c.End = c.ByDays
	if c.End.IsZero() || !c.ByMonths.IsZero() && c.ByMonths.Before(c.End) {
		c.End = c.ByMonths
	}
	c.Differ = !c.ByDays.IsZero() && !c.ByMonths.IsZero() && !c.ByDays.Equal(c.ByMonths)
	month := p.monthDays()
	n := max(0, c.Day) / month
	c.Month = Window{AddDays(c.Start, n*month), AddDays(c.Start, (n+1)*month)}
	y, m, _ := today.Date()
	c.Calendar = Window{Date(y, m, 1), Date(y, m+1, 1)}
	return c
}

// monthDays is the payer's month; without one, 30 days.
func (p *Policy) monthDays() int {
	if n := int(p.value("month_days")); n > 0 {
		return n
	}
	return 30
}

// MeasureBy is the last day for the next measurement after one: a month of days or a calendar month later, whichever
// comes first (after 31 January that is the end of February).
func (p *Policy) MeasureBy(last time.Time) time.Time {
	a, b := AddDays(last, p.monthDays()), AddMonths(last, 1)
	if b.Before(a) {
		return b
	}
	return a
}

// Sized is a measurement as the payer looks at it. A negative number is not known.
type Sized struct {
	Day time.Time
	// ProductCm2 is length × width; DepthCm the depth.
	ProductCm2, DepthCm float64
}

// Progress compares the newest measurement with the newest one that is at least month_days older, else with the oldest.
type Progress struct {
	From, To Sized
	// Better: length × width or depth became smaller; Known is false when nothing can be compared.
	Better, Known bool
	// Whole tells that the two lie at least a month apart.
	Whole bool
}

// Progress looks for healing as the payer defines it: a smaller area (length × width) or a smaller depth. sizes are in
// order of their days.
func (p *Policy) Progress(sizes []Sized) Progress {
	if len(sizes) < 2 {
		return Progress{}
	}
	out := Progress{From: sizes[0], To: sizes[len(sizes)-1]}
	for _, s := range sizes[:len(sizes)-1] {
		if Days(s.Day, out.To.Day) >= p.monthDays() {
			out.From, out.Whole = s, true
		}
	}
	for _, x := range [][2]float64{{out.From.ProductCm2, out.To.ProductCm2}, {out.From.DepthCm, out.To.DepthCm}} {
		if x[0] >= 0 && x[1] >= 0 {
			out.Known = true
			out.Better = out.Better || x[1] < x[0]
		}
	}
	return out
}
