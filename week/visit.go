package week

import (
	"math"
	"slices"
	"time"

	"lowtide/fluid"
	"lowtide/unit"
)

// Case is what planning knows of a case: its review, in short.
type Case struct {
	ID    string
	Name  string
	Place string // where she is visited
	// Nurse is in charge, LastBy made the newest visit; accounts or names, as written.
	Nurse, LastBy, Team string
	Last                time.Time
	// Next is when the next change is due; Planned that somebody planned it.
	Next    time.Time
	Planned bool
	// EveryH is the time between changes.
	EveryH float64
	Full   fluid.FullAt
	Dues   []Due
	Wounds int
}

// Due is something else that has to be done by a time.
type Due struct {
	What    string
	By      time.Time
	Urgent  bool // today, or now
	Measure bool
}

// z90 is the 90 % point of the normal distribution.
const z90 = 1.2815515655446004

// ChanceFull is the chance that the canister is full at an instant, seen from now: the time to full is taken as
// lognormal on either side of its median (eq. 1 in docs/model/week.md). A median beyond the forecast's horizon is taken as
// the horizon, which errs to the early side. ok is false where nothing can be told.
func ChanceFull(f fluid.FullAt, now, at time.Time) (p float64, ok bool) {
	switch f.Status {
	case fluid.FullRead:
		return 1, true
	case fluid.FullBeyond:
		return 0, true
	case fluid.FullComes:
	default:
		return 0, false
	}
	after := func(w fluid.When) float64 {
		if w.Beyond {
			return fluid.Horizon.Hours()
		}
		return w.At.Sub(now).Hours()
	}
	h, even, early := at.Sub(now).Hours(), after(f.Even), after(f.Early)
	if even <= 0 {
		return 1, true
	}
	if h <= 0 {
		return 0, true
	}
	side := math.Log(even / max(early, even*1e-3))
	if late := after(f.Late); h > even && late > even {
		side = math.Log(late / even)
	}
	if side <= 0 {
		if h >= even {
			return 1, true
		}
		return 0, true
	}
	return 0.5 * math.Erfc(-z90*math.Log(h/even)/side/math.Sqrt2), true
}

// fullBefore is the latest instant at which the chance of a full canister is at most pct.
func fullBefore(f fluid.FullAt, now time.Time, pct float64) (at time.Time, ok bool) {
	if _, ok = ChanceFull(f, now, now); !ok {
		return at, false
	}
	lo, hi := 0.0, 24*60.0
	for range 50 {
		mid := (lo + hi) / 2
		if p, _ := ChanceFull(f, now, now.Add(hours(mid))); p*100 <= pct {
			lo = mid
		} else {
			hi = mid
		}
	}
	return now.Add(hours(lo)), true
}

func hours(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }

// Span is minutes of a day; To < From is never.
type Span struct{ From, To float64 }

// Visit is one visit to plan.
type Visit struct {
	Case    string    `json:"case"`
	Seq     int       `json:"seq"`
	Name    string    `json:"name"`
	Place   string    `json:"place"`
	Days    []Span    `json:"-"` // by day: when it may begin
	Minutes float64   `json:"minutes"`
	For     []string  `json:"for"`
	Ideal   float64   `json:"-"` // day, with its fraction
	Risk    []float64 `json:"-"` // by day: chance of a full canister at its middle
	Skills  []string  `json:"-"`
	Not     []string  `json:"-"`
	Urgent  bool      `json:"urgent,omitempty"`
	// Least and Most are the days since the visit of the case before it.
	Least, Most int `json:"-"`
	// Why says why it cannot be planned at all; empty when it can.
	Why string `json:"-"`
	// Nurse and LastBy are those of the case.
	Nurse  string `json:"-"`
	LastBy string `json:"-"`
	Team   string `json:"-"`

	wanted float64 // on the first day: when it should have begun, where it may be later; zero: in time
}

// horizon is the span of days that is planned.
type horizon struct {
	start time.Time // midnight of the first day
	days  int
	now   time.Time
}

func (h horizon) date(d int) time.Time { return h.start.AddDate(0, 0, d) }

// minute is an instant as minutes since the midnight of a day.
func (h horizon) minute(at time.Time, day int) float64 {
	d := h.date(day)
	at = at.In(h.start.Location())
	ay, am, ad := at.Date()
	days := math.Round(time.Date(ay, am, ad, 0, 0, 0, 0, time.UTC).Sub(time.Date(d.Year(), d.Month(), d.Day(), 0, 0, 0, 0, time.UTC)).Hours() / 24)
	return days*1440 + float64(at.Hour()*60+at.Minute()) + float64(at.Second())/60
}

// visits turns what the cases need into visits, case by case in order.
func (r *Roster) visits(cases []Case, h horizon, l Lessons) []Visit {
	var out []Visit
	for _, c := range cases {
		out = append(out, r.visitsOf(c, h, l)...)
	}
	for _, x := range r.Extras {
		i := slices.IndexFunc(cases, func(c Case) bool { return c.ID == x.Case })
		if i < 0 {
			continue
		}
		v := r.visit(cases[i], h)
		v.Seq, v.Urgent, v.For = 100, true, []string{x.Why}
		v.Minutes = float64(x.Minutes)
		if x.Minutes == 0 {
			v.Minutes = r.Settings.OtherMin
		}
		known := false
		for d := range h.days {
			v.Days[d] = Span{1, 0}
			if h.date(d).Format(time.DateOnly) == x.Day {
				known = true
				v.Days[d] = r.span(v.Case, h, d)
				if x.To > 0 {
					v.Days[d] = Span{max(float64(x.From), h.minute(h.now, d)), float64(x.To)}
				}
				v.Ideal = float64(d)
			}
		}
		if known {
			v.explainWindow(h)
			out = append(out, v)
		}
	}
	return out
}

// visit is a visit of a case without its days.
func (r *Roster) visit(c Case, h horizon) Visit {
	w := r.Wishes[c.ID]
	return Visit{Case: c.ID, Name: c.Name, Place: c.Place, Days: make([]Span, h.days), Risk: make([]float64, h.days), Skills: w.Skills, Not: w.Not, Nurse: c.Nurse, LastBy: c.LastBy, Team: c.Team}
}

// span is when a patient may be visited on a day at all: her own hours, else the service's, and not in the past.
func (r *Roster) span(caseID string, h horizon, d int) Span {
	w := r.Wishes[caseID]
	if len(w.Weekdays) > 0 && !slices.Contains(w.Weekdays, int(h.date(d).Weekday())) {
		return Span{1, 0}
	}
	s := Span{float64(r.Settings.DayFrom), float64(r.Settings.DayTo)}
	if w.To > 0 {
		s = Span{float64(w.From), float64(w.To)}
	}
	s.From = max(s.From, math.Ceil(h.minute(h.now, d)))
	return s
}

func (r *Roster) visitsOf(c Case, h horizon, l Lessons) []Visit {
	if c.Next.IsZero() || c.EveryH <= 0 {
		return nil
	}
	slack := r.Settings.SlackH
	lo, hi := c.Next.Add(-hours(slack)), c.Next.Add(hours(slack))
	what := []string{"change of dressing"}
	urgent := false
	if full, ok := fullBefore(c.Full, h.now, r.Settings.FullPct); ok && full.Before(hi) {
		hi = full
		what = append(what, "canister: before the chance that it is full passes "+unit.Chance(r.Settings.FullPct/100))
	}
	measure := false
	for _, d := range c.Dues {
		if d.By.Before(hi) || d.Urgent {
			hi = earlier(hi, d.By)
			urgent = urgent || d.Urgent
			what = append(what, d.What)
			measure = measure || d.Measure
		}
	}
	endOfToday := h.date(0).Add(time.Duration(r.Settings.DayTo) * time.Minute)
	if hi.Before(h.now.Add(2 * time.Hour)) {
		urgent = true
		if hi = endOfToday; hi.Before(h.now.Add(time.Hour)) {
			hi = hi.AddDate(0, 0, 1) // too late today: first thing tomorrow
		}
	}
	lo = earlier(lo, hi.Add(-hours(slack)))
	if urgent {
		lo = h.now
	}
	first := r.visit(c, h)
	first.For, first.Urgent = what, urgent
	first.Minutes = r.duration(c, measure, l)
	first.Ideal = h.minute(earlier(c.Next, hi), 0) / 1440
	hiDay := int(math.Floor(h.minute(hi, 0) / 1440))
	if hiDay >= h.days {
		return nil // it may wait for the next plan
	}
	// Where the patient's hours leave no time between earliest and latest, the visit comes earlier.
	for early := 0; early <= 3; early++ {
		open := false
		for d := range h.days {
			s := r.span(c.ID, h, d)
			s.From, s.To = max(s.From, math.Ceil(h.minute(lo, d))), min(s.To, math.Floor(h.minute(hi, d)))
			first.Days[d] = s
			first.Risk[d], _ = ChanceFull(c.Full, h.now, h.date(d).Add(12*time.Hour))
			open = open || s.From <= s.To
		}
		if open || lo.Before(h.now) {
			break
		}
		lo = lo.Add(-12 * time.Hour)
	}
	loDay := int(math.Floor(h.minute(lo, 0) / 1440))
	first.explainWindow(h)
	out := []Visit{first}
	least, most := gapDays(c.EveryH, slack)
	loDay = max(loDay, 0)
	for k := 1; ; k++ {
		loDay, hiDay = loDay+least, hiDay+most
		if hiDay >= h.days {
			return out
		}
		v := r.visit(c, h)
		v.Seq, v.Least, v.Most, v.For, v.Minutes = k, least, most, []string{"change of dressing"}, r.duration(c, false, l)
		v.Ideal = first.Ideal + float64(k)*c.EveryH/24
		for d := range h.days {
			v.Days[d] = Span{1, 0}
			if d >= loDay && d <= hiDay {
				v.Days[d] = r.span(c.ID, h, d)
			}
		}
		for _, d := range c.Dues {
			if day := int(h.minute(d.By, 0) / 1440); !d.Urgent && day >= hiDay && day < hiDay+least {
				v.For = append(v.For, d.What)
				if d.Measure {
					v.Minutes = r.duration(c, true, l)
				}
			}
		}
		v.explainWindow(h)
		out = append(out, v)
	}
}

// gapDays turns an interval with slack into whole days between two visits.
func gapDays(everyH, slackH float64) (least, most int) {
	least, most = int(math.Ceil((everyH-slackH)/24-1e-9)), int(math.Floor((everyH+slackH)/24+1e-9))
	if most < least {
		least = int(math.Round(everyH / 24))
		most = least
	}
	return max(least, 1), max(most, 1)
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

// duration is how long a visit takes by what is done there.
func (r *Roster) duration(c Case, measure bool, l Lessons) float64 {
	m := r.Settings.ChangeMin
	if l.ChangeN >= leastVisits {
		m = l.ChangeMin
	}
	m += r.Settings.WoundMin * float64(max(c.Wounds-1, 0))
	if measure {
		m += r.Settings.MeasureMin
	}
	return math.Round(m)
}

// explainWindow says why a visit without any window has none.
func (v *Visit) explainWindow(h horizon) {
	for d := range v.Days {
		if v.Days[d].From <= v.Days[d].To {
			return
		}
	}
	v.Why = "There is no time at which it is needed and the patient can be visited: its days are outside the hours or weekdays that were asked for, or over. Ask the patient, or change her hours."
}

// Seen is a visit that was made, as its entries tell.
type Seen struct {
	Case, Place, By string
	Start, End      time.Time
	Wounds          int
	Change          bool
	// Full tells that the canister was full before the visit, where FullKnown.
	Full, FullKnown bool
}

// Lessons are what was learnt from the visits that were made.
type Lessons struct {
	// ChangeMin is the median time of a change of one wound, from ChangeN visits; Road how much longer ways take than
	// computed, from RoadN ways.
	ChangeMin float64 `json:"change_min"`
	ChangeN   int     `json:"change_n"`
	Road      float64 `json:"road"`
	RoadN     int     `json:"road_n"`
}

// leastVisits is from how many visits their time is learnt.
const leastVisits = 12

// LearnFrom learns from the visits that were made. A visit of less than 10 min or more than 3 h was not written as it
// went, and is left out.
func (r *Roster) LearnFrom(seen []Seen, zone *time.Location) Lessons {
	var took []float64
	seen = slices.Clone(seen)
	slices.SortFunc(seen, func(a, b Seen) int { return a.Start.Compare(b.Start) })
	last := map[string]Seen{}
	var trips []Trip
	for _, s := range seen {
		m := s.End.Sub(s.Start).Minutes()
		if s.Change && s.Wounds == 1 && m >= 10 && m <= 180 {
			took = append(took, m)
		}
		if p, ok := last[s.By]; ok && p.End.In(zone).Format(time.DateOnly) == s.Start.In(zone).Format(time.DateOnly) && Key(p.Place) != Key(s.Place) {
			trips = append(trips, Trip{p.Place, s.Place, s.Start.Sub(p.End).Minutes(), p.End.In(zone).Hour()})
		}
		last[s.By] = s
	}
	out := Lessons{ChangeN: len(took)}
	if len(took) > 0 {
		slices.Sort(took)
		out.ChangeMin = took[len(took)/2]
	}
	out.Road, out.RoadN = Learn(r, trips)
	return out
}
