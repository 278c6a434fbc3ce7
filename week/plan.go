package week

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"lowtide/route"
)

// Prices, in minutes of road. What they weigh against each other is common practice, no published source; docs/model/week.md
// says how they were chosen.
const (
	knownShare  = 0.5 // of the price of another nurse, for one who is in charge or covers but did not come last time
	otherTeam   = 15  // of another team, in addition
	fullHarm    = 240 // a canister that is full, times its chance
	dayOff      = 4   // each day away from the day it was ordered for
	fairWeight  = 0.8 // of work²/hours
	missVisit   = 900 // a visit that is left out
	missUrgent  = 5000
	missLoose   = 200 // in a replan: a visit that was promised to nobody
	missUnknown = 450 // at a place of which nothing is known: planned last
	wakeNurse   = 150 // a nurse whose day changes, in a replan
	callPatient = 200 // a patient who has to be told, in a replan
)

// Ask is what is planned.
type Ask struct {
	Cases   []Case
	Now     time.Time
	Start   time.Time // any instant of the first day, in the service's zone
	Days    int
	Lessons Lessons
	Seed    uint64
	Rounds  int            // of the search; zero: 4000
	Spent   func() float64 // share of the time that is spent; nil: by rounds
	Bound   bool           // compute a bound too
	Better  func(*Plan)
}

// Placed is a visit in the plan.
type Placed struct {
	Visit
	Day     int    `json:"day"`
	Date    string `json:"date"`
	Account string `json:"nurse"`
	// NurseName is the name of that account.
	NurseName string `json:"-"`
	Start     int    `json:"start_min"`
	End       int    `json:"end_min"`
	// RoadMin is the way to it; Guess that nothing is known of that way.
	RoadMin float64 `json:"road_min"`
	Guess   bool    `json:"guess,omitempty"`
	Fixed   bool    `json:"fixed,omitempty"`
	// Begun tells that it was promised for before now by somebody at work: it is made or being made.
	Begun bool `json:"begun,omitempty"`
	// Same tells that the nurse of the last visit, or in charge, comes.
	Same    bool    `json:"same_nurse"`
	FullPct float64 `json:"full_pct"`
}

// By tells whether the visit is made by somebody who is named by account or name.
func (v Placed) By(who string) bool { return who == v.Account || who != "" && who == v.NurseName }

// Left is a visit that could not be placed, with the reason.
type Left struct {
	Visit
	Why string `json:"why"`
}

// Load is what a nurse has to do.
type Load struct {
	Account string  `json:"nurse"`
	Name    string  `json:"name"`
	Visits  int     `json:"visits"`
	WorkMin float64 `json:"work_min"` // visits and road
	RoadMin float64 `json:"road_min"`
	HaveMin float64 `json:"have_min"`
}

// Plan is the week.
type Plan struct {
	Start  time.Time `json:"start"`
	Days   int       `json:"days"`
	Visits []Placed  `json:"visits"` // by day, nurse, start
	Left   []Left    `json:"left"`
	Loads  []Load    `json:"loads"`
	// Cost is eq. 1 of docs/model/route.md, Bound what no plan can go below; zero: not computed.
	Cost    float64  `json:"cost"`
	Bound   float64  `json:"bound,omitempty"`
	RoadMin float64  `json:"road_min"`
	Notes   []string `json:"notes"`
	Broken  []string `json:"broken,omitempty"` // what a fixed visit breaks

	tours [][]int
}

// desk is a problem being laid out.
type desk struct {
	r      *Roster
	ask    Ask
	h      horizon
	atlas  *atlas
	visits []Visit
	place  map[string]int
	names  []string
	shifts []shift
	p      *route.Problem
	fixed  map[int]Fixed // by visit
	broken []string
}

type shift struct {
	day      int
	nurse    Nurse
	from, to int
	kmH      float64
	start    string // where she is when it begins
}

// Make plans a week.
func (r *Roster) Make(ask Ask) *Plan {
	d := r.layOut(ask)
	d.windows(nil)
	p := d.solve(nil, 0.6)
	if d.ratherLate(p) {
		d.windows(nil)
		p = d.solve(p.tours, 0.6)
	}
	return p
}

// ratherLate opens the rest of today to urgent visits that were left out because all in time is too much for those who
// work: late today is better than not at all, and the visit says so.
func (d *desk) ratherLate(p *Plan) (any bool) {
	for _, l := range p.Left {
		i := slices.IndexFunc(d.visits, func(v Visit) bool { return v.Case == l.Case && v.Seq == l.Seq })
		v := &d.visits[i]
		s := d.r.span(v.Case, d.h, 0)
		if !v.Urgent || v.Why != "" || v.Days[0].From > v.Days[0].To || s.To <= v.Days[0].To {
			continue
		}
		v.wanted = v.Days[0].To
		v.Days[0].To = s.To
		any = true
	}
	return any
}

// layOut turns needs into visits, people into shifts, places into a table.
func (r *Roster) layOut(ask Ask) *desk {
	y, m, day := ask.Start.Date()
	d := &desk{r: r, ask: ask, h: horizon{time.Date(y, m, day, 0, 0, 0, 0, ask.Start.Location()), ask.Days, ask.Now}, place: map[string]int{}, fixed: map[int]Fixed{}}
	factor := ask.Lessons.Road
	if factor <= 0 {
		factor = 1
	}
	d.atlas = newAtlas(r, factor)
	d.visits = r.visits(ask.Cases, d.h, ask.Lessons)
	for _, v := range d.visits {
		d.at(v.Place)
	}
	for day := range ask.Days {
		for _, n := range r.Nurses {
			from, to, ok := r.shiftOn(n, d.h.date(day))
			if !ok {
				continue
			}
			if m := int(math.Ceil(d.h.minute(ask.Now, day))); m > from {
				from = m
			}
			if from < to {
				d.at(n.Base)
				d.shifts = append(d.shifts, shift{day, n, from, to, d.atlas.slowest(from, to), n.Base})
			}
		}
	}
	d.takeFixed()
	return d
}

// at gives the number of a place.
func (d *desk) at(name string) int {
	k := Key(name)
	if _, ok := d.place[k]; !ok {
		d.place[k] = len(d.names)
		d.names = append(d.names, name)
	}
	return d.place[k]
}

// takeFixed finds the visits that somebody fixed: on that day, or the nearest one that may be moved there.
func (d *desk) takeFixed() {
	for _, f := range d.r.Fixed {
		day := -1
		for i := range d.ask.Days {
			if d.h.date(i).Format(time.DateOnly) == f.Day {
				day = i
			}
		}
		if day < 0 {
			continue
		}
		best := -1
		for i, v := range d.visits {
			if _, taken := d.fixed[i]; v.Case == f.Case && !taken && (best < 0 || math.Abs(v.Ideal-float64(day)) < math.Abs(d.visits[best].Ideal-float64(day))) {
				best = i
			}
		}
		if best >= 0 {
			d.fixed[best] = f
		}
	}
}

// table is the travel times between all places at a speed on a day.
func (d *desk) table(kmH float64, day string) []float64 {
	n := len(d.names)
	t := make([]float64, n*n)
	typed, far := len(d.r.Roads.Legs)+len(d.r.Measured)+len(d.r.Closed) > 0, 0.0
	unknown := make([]bool, n*n)
	for i, a := range d.names {
		for j, b := range d.names {
			m, known := d.atlas.minutes(a, b, kmH, day)
			t[i*n+j] = m
			if unknown[i*n+j] = !known; known {
				far = max(far, m)
			}
		}
	}
	for i, u := range unknown {
		if u {
			t[i] = max(t[i], far/2) // so that no way becomes shorter through a place of which nothing is known
		}
	}
	if typed {
		shorten(t, n)
	}
	return t
}

// windows lays out the problem. Each shift is a kind of its own when keep says what was promised.
func (d *desk) windows(keep *kept) {
	n := len(d.names)
	p := &route.Problem{Places: n, Fair: fairWeight}
	d.broken = nil
	bands := map[string]int{}
	for i, s := range d.shifts {
		date := d.h.date(s.day).Format(time.DateOnly)
		if !slices.ContainsFunc(d.r.Closed, func(c Closed) bool { return c.Day == date }) {
			date = ""
		}
		key := fmt.Sprintf("%v %s", s.kmH, date)
		if _, ok := bands[key]; !ok {
			bands[key] = len(p.Times)
			p.Times = append(p.Times, d.table(s.kmH, date))
		}
		person := slices.IndexFunc(d.r.Nurses, func(n Nurse) bool { return n.Account == s.nurse.Account })
		base := d.at(s.nurse.Base)
		sh := route.Shift{Kind: i, Day: s.day, Person: person, Band: bands[key], From: d.at(s.start), To: base, Open: float64(s.from), Close: float64(s.to), Capacity: math.Inf(1)}
		if keep != nil {
			sh.Wake, sh.Home = keep.wake, make([]bool, len(d.visits))
		}
		p.Shifts = append(p.Shifts, sh)
	}
	first := map[string]int{}
	for i := range d.visits {
		v := &d.visits[i]
		s := route.Stop{Place: d.at(v.Place), Service: v.Minutes, Windows: make([]route.Window, len(d.shifts)), Cost: make([]float64, len(d.shifts)), Miss: d.miss(v)}
		for k := range d.shifts {
			s.Windows[k], s.Cost[k] = d.fit(v, k)
		}
		if f, ok := d.fixed[i]; ok {
			d.fix(&s, v, f)
		}
		if keep != nil {
			keep.hold(d, p, i, &s)
		}
		p.Stops = append(p.Stops, s)
		if v.Seq > 0 && v.Seq < 100 {
			if before, ok := first[v.Case]; ok {
				p.Gaps = append(p.Gaps, route.Gap{First: before, Then: i, Least: v.Least, Most: v.Most})
			}
		}
		if v.Seq < 100 {
			first[v.Case] = i
		}
	}
	d.p = p
}

func (d *desk) miss(v *Visit) float64 {
	switch {
	case v.Urgent:
		return missUrgent
	case !d.r.Places[Key(v.Place)].Located():
		return missUnknown
	}
	return missVisit
}

// fit is when a visit may begin in a shift, and what that costs beside the road.
func (d *desk) fit(v *Visit, k int) (route.Window, float64) {
	s := d.shifts[k]
	w := route.Window{Open: v.Days[s.day].From, Close: v.Days[s.day].To}
	if v.Why != "" || !able(s.nurse, v) {
		return w, math.Inf(1)
	}
	c := dayOff*math.Abs(v.Ideal-float64(s.day)-0.5) + fullHarm*v.Risk[s.day]
	switch {
	case v.LastBy != "" && s.nurse.is(v.LastBy) || v.LastBy == "" && d.knows(s.nurse, v):
	case d.knows(s.nurse, v):
		c += d.r.Settings.SameMin * knownShare
	default:
		c += d.r.Settings.SameMin
		if v.Team != "" && s.nurse.Team != "" && v.Team != s.nurse.Team {
			c += otherTeam
		}
	}
	return w, c
}

// able tells whether a nurse may make a visit.
func able(n Nurse, v *Visit) bool {
	for _, s := range v.Skills {
		if !slices.Contains(n.Skills, s) {
			return false
		}
	}
	return !slices.Contains(v.Not, n.Account)
}

// is tells whether somebody is named by account or name.
func (n Nurse) is(who string) bool { return who == n.Account || who == n.Name }

// knows tells whether a nurse came last time, is in charge, or covers whoever is.
func (d *desk) knows(n Nurse, v *Visit) bool {
	for _, name := range []string{v.LastBy, v.Nurse} {
		if name != "" && n.is(name) {
			return true
		}
		for _, c := range n.Covers {
			if other, ok := d.r.Nurse(c); ok && name != "" && other.is(name) {
				return true
			}
		}
	}
	return false
}

// fix holds a visit where somebody put it, and says what that breaks.
func (d *desk) fix(s *route.Stop, v *Visit, f Fixed) {
	in := slices.IndexFunc(d.shifts, func(x shift) bool {
		return x.nurse.Account == f.Account && d.h.date(x.day).Format(time.DateOnly) == f.Day
	})
	if in < 0 {
		d.broken = append(d.broken, fmt.Sprintf("%s is fixed for %s on %s, who does not work then: fix it for somebody else.", v.Name, d.name(f.Account), f.Day))
		return
	}
	if !able(d.shifts[in].nurse, v) {
		d.broken = append(d.broken, fmt.Sprintf("%s is fixed for %s, who has not the skill it needs or is not to see this patient: fix it for somebody else.", v.Name, d.name(f.Account)))
		return
	}
	w := s.Windows[in]
	if w.Open > w.Close {
		d.broken = append(d.broken, fmt.Sprintf("%s on %s is outside the days on which it is needed: the interval, the canister or the patient's hours ask for another day.", v.Name, f.Day))
		w = route.Window{Open: float64(max(d.r.Settings.DayFrom, d.shifts[in].from)), Close: float64(d.r.Settings.DayTo)}
	}
	if f.At > 0 {
		if float64(f.At) < w.Open || float64(f.At) > w.Close {
			d.broken = append(d.broken, fmt.Sprintf("%s at %s is outside its window, %s to %s.", v.Name, Clock(f.At), Clock(int(w.Open)), Clock(int(w.Close))))
		}
		w = route.Window{Open: float64(f.At), Close: float64(f.At)}
	}
	s.Windows[in] = w
	s.Fixed, s.In = true, in
	if math.IsInf(s.Cost[in], 1) {
		s.Cost[in] = 0
	}
}

func (d *desk) name(account string) string {
	if n, ok := d.r.Nurse(account); ok && n.Name != "" {
		return n.Name
	}
	return account
}

// Clock prints a minute of the day.
func Clock(minute int) string { return fmt.Sprintf("%02d:%02d", minute/60, minute%60) }

// solve finds the plan. start are tours to start from; heat the first temperature in typical legs.
func (d *desk) solve(start [][]int, heat float64) *Plan {
	rounds := d.ask.Rounds
	if rounds == 0 {
		rounds = 4000
	}
	o := route.Options{Seed: d.ask.Seed, Rounds: rounds, Spent: d.ask.Spent, Heat: heat, Start: start}
	if d.ask.Better != nil {
		o.Better = func(b route.Plan) { d.ask.Better(d.read(b)) }
	}
	out := d.read(route.Solve(d.p, o))
	if d.ask.Bound {
		out.Bound = route.Bound(d.p)
	}
	return out
}

// read turns tours into visits with times. Ways are timed with the speed of their hour, which is never slower than what
// was planned with.
func (d *desk) read(b route.Plan) *Plan {
	out := &Plan{Start: d.h.start, Days: d.ask.Days, Cost: b.Cost, Broken: d.broken, tours: b.Tours, Visits: []Placed{}, Left: []Left{}, Loads: []Load{}, Notes: d.notes()}
	loads := map[string]*Load{}
	for _, n := range d.r.Nurses {
		out.Loads = append(out.Loads, Load{Account: n.Account, Name: n.Name})
	}
	for i := range out.Loads {
		loads[out.Loads[i].Account] = &out.Loads[i]
	}
	for k, tour := range b.Tours {
		s := d.shifts[k]
		l := loads[s.nurse.Account]
		l.HaveMin += float64(s.to - s.from)
		at, clock := s.start, float64(s.from)
		for _, i := range tour {
			v := d.visits[i]
			way, known := d.way(at, v.Place, clock, s)
			clock = math.Ceil(max(clock+way, d.p.Stops[i].Windows[k].Open) - 1e-6)
			if v.wanted > 0 && clock > v.wanted {
				v.For = append([]string{"wanted by " + Clock(int(v.wanted)) + "; there was no room before"}, v.For...)
			}
			_, fixed := d.fixed[i]
			out.Visits = append(out.Visits, Placed{Visit: v, Day: s.day, Date: d.h.date(s.day).Format(time.DateOnly), Account: s.nurse.Account, NurseName: s.nurse.Name, Start: int(clock), End: int(clock + v.Minutes),
				RoadMin: way, Guess: !known, Fixed: fixed, Same: d.knows(s.nurse, &v), FullPct: 100 * v.Risk[s.day]})
			l.Visits++
			l.RoadMin += way
			l.WorkMin += way + v.Minutes
			clock += v.Minutes
			at = v.Place
		}
		if len(tour) > 0 {
			way, _ := d.way(at, s.nurse.Base, clock, s)
			l.RoadMin += way
			l.WorkMin += way
		}
	}
	for _, l := range out.Loads {
		out.RoadMin += l.RoadMin
	}
	for _, i := range b.Absent {
		out.Left = append(out.Left, Left{d.visits[i], d.whyLeft(i)})
	}
	return out
}

// way is the way at the speed of the hour in which it begins, and never longer than the slower way that was planned.
func (d *desk) way(from, to string, clock float64, s shift) (minutes float64, known bool) {
	planned := d.p.Times[d.band(s)][d.at(from)*len(d.names)+d.at(to)]
	hour := min(int(clock)/60, 23)
	m, known := d.atlas.minutes(from, to, max(d.r.Roads.SpeedKmH[hour], s.kmH), d.h.date(s.day).Format(time.DateOnly))
	if !known {
		return planned, false
	}
	return min(m, planned), true
}

func (d *desk) band(s shift) int {
	k := slices.IndexFunc(d.shifts, func(x shift) bool { return x.day == s.day && x.nurse.Account == s.nurse.Account })
	return d.p.Shifts[k].Band
}

// whyLeft says why a visit is not in the plan: the first thing that stands in its way even alone, else that the rest
// leaves no room.
func (d *desk) whyLeft(i int) string {
	v := d.visits[i]
	s := d.p.Stops[i]
	if v.Why != "" {
		return v.Why
	}
	if len(d.r.Nurses) == 0 {
		return "No nurse has working hours: enter them under People."
	}
	var working, skilled, intime bool
	for k := range d.shifts {
		w := s.Windows[k]
		if w.Open > w.Close {
			continue
		}
		working = true
		if math.IsInf(s.Cost[k], 1) || s.Fixed && s.In != k {
			continue
		}
		skilled = true
		sh := d.p.Shifts[k]
		t := d.p.Times[sh.Band]
		begin := max(sh.Open+t[sh.From*d.p.Places+s.Place], w.Open)
		if begin <= w.Close && begin+s.Service+t[s.Place*d.p.Places+sh.To] <= sh.Close {
			intime = true
		}
	}
	switch {
	case !working:
		return "Nobody works on a day on which it is needed (" + d.days(&v) + "): find somebody for that day."
	case !skilled && len(v.Skills) > 0:
		return "Nobody who works then has what it needs: " + strings.Join(v.Skills, ", ") + "."
	case !skilled:
		return "Whoever works then is not to see this patient."
	case !intime:
		return "Nobody who works then can get there, do it and be back within her hours, even with nothing else to do: longer hours, or a nearer nurse."
	case s.Fixed:
		return "It is fixed for a nurse whose other visits that day leave no room for it: free one of them, or fix it elsewhere."
	}
	return fmt.Sprintf("The other visits leave no room for its %.0f min on %s: more hours, a wider window, or a visit less.", v.Minutes, d.days(&v))
}

// days names the days on which a visit may be made.
func (d *desk) days(v *Visit) string {
	var out []string
	for k, s := range v.Days {
		if s.From <= s.To {
			out = append(out, d.h.date(k).Format("Mon 2 Jan"))
		}
	}
	return strings.Join(out, ", ")
}

// notes says what the plan rests on that somebody should know.
func (d *desk) notes() []string {
	out := []string{}
	if d.r.RoadNote != "" {
		out = append(out, d.r.RoadNote)
	}
	seen := map[string]bool{}
	for _, n := range d.names {
		if !seen[Key(n)] && !d.r.Places[Key(n)].Located() && !d.typed(n) {
			seen[Key(n)] = true
			what := n
			if what == "" {
				what = "a patient without an address"
			}
			out = append(out, fmt.Sprintf("Nobody said where %s is: planned last, with a guess of %.0f min to get there.", what, d.r.Settings.GuessMin))
		}
	}
	sketch, degrees := 0, 0
	for _, n := range d.names {
		switch p := d.r.Places[Key(n)]; {
		case p.Lat != nil && p.Lon != nil:
			degrees++
		case p.Located():
			sketch++
		}
	}
	if sketch > 0 && degrees > 0 {
		out = append(out, fmt.Sprintf("%d places stand on the sketch map and %d in degrees: ways from one kind to the other are guesses of %.0f min. Say all of them in the same way.", sketch, degrees, d.r.Settings.GuessMin))
	}
	for _, n := range d.r.Nurses {
		if len(n.Hours) == 0 {
			out = append(out, n.Name+" has no working hours: no visits are planned for her.")
		}
	}
	return out
}

// typed tells whether some travel time to a place was typed.
func (d *desk) typed(name string) bool {
	k := Key(name)
	return slices.ContainsFunc(d.r.Roads.Legs, func(l Leg) bool { return Key(l.From) == k || Key(l.To) == k })
}
