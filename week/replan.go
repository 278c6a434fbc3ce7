package week

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"lowtide/route"
)

// kept are promises while a changed day is planned again: loose visits may move freely.
type kept struct {
	promise map[int]Promise // by visit
	wide    map[string]bool // these nurses' promised visits may move on their day
	wake    float64         // the price of a nurse whose day changes
}

// hold narrows a promised visit to its promise in its own shift, and prices every other shift.
func (k *kept) hold(d *desk, p *route.Problem, i int, s *route.Stop) {
	pr, ok := k.promise[i]
	if !ok {
		if d.visits[i].Seq < 100 {
			s.Miss = min(s.Miss, missLoose) // it had no place before either
		}
		return
	}
	s.Miss = missUrgent
	tol := float64(d.r.Settings.PromiseMin)
	for j, sh := range d.shifts {
		date := d.h.date(sh.day).Format(time.DateOnly)
		w := route.Window{Open: max(s.Windows[j].Open, float64(pr.Start)-tol), Close: min(s.Windows[j].Close, float64(pr.Start)+tol)}
		switch {
		case date == pr.Day && sh.nurse.Account == pr.Account:
			p.Shifts[j].Home[i] = true
			if !k.wide[pr.Account] {
				s.Windows[j] = w
			}
		case date == pr.Day:
			s.Windows[j] = w
		default:
			s.Cost[j] += callPatient
		}
	}
}

// Change is what became different for one visit.
type Change struct {
	Case, Name string
	// From and To are nil where the visit was not, or is not any more.
	From *Promise `json:"from"`
	To   *Promise `json:"to"`
	Why  string   `json:"why,omitempty"`
}

// Tell is somebody who must be told.
type Tell struct {
	// Nurse is an account, or Case a patient's case; Name whose.
	Nurse string `json:"nurse,omitempty"`
	Case  string `json:"case,omitempty"`
	Name  string `json:"name"`
	Words string `json:"words"`
}

// Replan is a plan that changes as little as it can of what was promised.
type Replan struct {
	Plan    *Plan    `json:"plan"`
	Changes []Change `json:"changes"`
	// Calls are the people who must be told: patients first, then nurses.
	Calls []Tell `json:"calls"`

	// UnderWay are promises for before now that are taken as made or being made.
	UnderWay []Promise `json:"under_way,omitempty"`
	begun    []Placed

	lost    int   // visits that were promised or asked for just now, and have no place
	missing []int // visits that need a place: asked for just now, or promised by somebody who cannot come
}

// Again plans anew what was promised, after something changed in the roster or the cases: as few patients and nurses as
// possible are to be told.
func (r *Roster) Again(ask Ask) *Replan {
	d := r.layOut(ask)
	going, begun := d.underWay()
	k := &kept{promise: map[int]Promise{}, wide: map[string]bool{}, wake: wakeNurse}
	for _, p := range r.Promises {
		day := d.dayOf(p.Day)
		if day < 0 {
			continue
		}
		best := -1
		for i, v := range d.visits {
			_, taken := k.promise[i]
			if v.Case != p.Case || taken || v.Seq >= 100 || v.Days[day].From > v.Days[day].To {
				continue // a visit of 100 and more was asked for just now
			}
			if best < 0 || math.Abs(v.Ideal-float64(day)) < math.Abs(d.visits[best].Ideal-float64(day)) {
				best = i
			}
		}
		if best >= 0 {
			k.promise[best] = p
		}
	}
	best := d.keeping(k)
	missing := best.missing
	// Where that leaves too many to tell: first with fewer nurses, however far they drive, then with the days of nurses near
	// by opened, each on top of those that helped.
	better := func() bool {
		got := d.keeping(k)
		if got.lost > best.lost || got.lost == best.lost && len(got.Calls) >= len(best.Calls) {
			return false
		}
		best = got
		return true
	}
	enough := func() bool { return best.lost == 0 && len(best.Calls) <= fewCalls }
	if k.wake = farWake; !enough() && !better() {
		k.wake = wakeNurse
	}
	d.ask.Rounds = max(ask.Rounds/4, 100)
	for _, nurse := range d.nearby(missing, widest) {
		if enough() {
			break
		}
		if k.wide[nurse] = true; !better() {
			delete(k.wide, nurse)
		}
	}
	best.UnderWay, best.begun = going, begun
	return best
}

const (
	// widest is how many nurses' days are opened, one after another, to make room.
	widest = 8
	// fewCalls is how many people to tell are few enough not to look for fewer.
	fewCalls = 3
	// farWake is the price of a nurse whose day changes where few must be told, however far they drive.
	farWake = 5 * wakeNurse
)

// keeping plans with what was promised, and compares.
func (d *desk) keeping(k *kept) *Replan {
	d.windows(k)
	got := &Replan{Plan: d.solve(k.tours(d), 0.05)}
	got.compare(d, k)
	return got
}

// nearby are the nurses whose promised visits are nearest to visits that need room, the nearest first.
func (d *desk) nearby(visits []int, most int) []string {
	type near struct {
		account string
		minutes float64
	}
	var list []near
	for _, i := range visits {
		v := &d.visits[i]
		for _, s := range d.shifts {
			if v.Days[s.day].From > v.Days[s.day].To || !able(s.nurse, v) {
				continue
			}
			least := math.Inf(1)
			for _, p := range d.r.Promises {
				j := slices.IndexFunc(d.visits, func(v Visit) bool { return v.Case == p.Case })
				if p.Account == s.nurse.Account && p.Day == d.h.date(s.day).Format(time.DateOnly) && j >= 0 {
					m, _ := d.atlas.minutes(d.visits[j].Place, v.Place, s.kmH, p.Day)
					least = min(least, m)
				}
			}
			list = append(list, near{s.nurse.Account, least})
		}
	}
	slices.SortStableFunc(list, func(a, b near) int { return cmp.Compare(a.minutes, b.minutes) })
	var out []string
	for _, n := range list {
		if len(out) < most && !slices.Contains(out, n.account) {
			out = append(out, n.account)
		}
	}
	return out
}

// underWay takes the visits that were promised for before now, by nurses who were at work then, as made or being made: they are
// planned no more, and the rest of the nurse's day begins where the last of them ends.
func (d *desk) underWay() (going []Promise, begun []Placed) {
	today, now := d.h.date(0).Format(time.DateOnly), int(math.Ceil(d.h.minute(d.ask.Now, 0)))
	gone := map[string]bool{}
	for _, p := range d.r.Promises {
		n, known := d.r.Nurse(p.Account)
		v := slices.IndexFunc(d.visits, func(v Visit) bool { return v.Case == p.Case && v.Seq == 0 })
		if p.Day != today || p.Start > now || v < 0 || !known {
			continue
		}
		if from, to, ok := d.r.shiftOn(n, d.h.date(0)); !ok || p.Start < from || p.Start >= to {
			continue
		}
		gone[p.Case] = true
		going = append(going, p)
		begun = append(begun, Placed{Visit: d.visits[v], Date: today, Account: n.Account, NurseName: n.Name, Start: p.Start, End: p.Start + p.Minutes, Begun: true, Same: d.knows(n, &d.visits[v])})
		if i := slices.IndexFunc(d.shifts, func(s shift) bool { return s.day == 0 && s.nurse.Account == p.Account }); i >= 0 {
			d.shifts[i].from, d.shifts[i].start = max(now, p.Start+p.Minutes), d.visits[v].Place
		}
	}
	for i := range d.visits {
		if v := &d.visits[i]; v.Seq == 1 && gone[v.Case] {
			for day := range v.Days {
				if day < v.Least || day > v.Most {
					v.Days[day] = Span{1, 0}
				}
			}
		}
	}
	d.visits = slices.DeleteFunc(d.visits, func(v Visit) bool { return v.Seq == 0 && gone[v.Case] })
	d.shifts = slices.DeleteFunc(d.shifts, func(s shift) bool { return s.from >= s.to })
	d.fixed = map[int]Fixed{}
	d.takeFixed()
	return going, begun
}

// Whole is the plan with the visits that were begun before it.
func (p *Replan) Whole() *Plan {
	out := *p.Plan
	out.Visits = append(slices.Clone(p.begun), out.Visits...)
	slices.SortStableFunc(out.Visits, func(a, b Placed) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Account, b.Account), cmp.Compare(a.Start, b.Start))
	})
	return &out
}

func (d *desk) dayOf(date string) int {
	for i := range d.ask.Days {
		if d.h.date(i).Format(time.DateOnly) == date {
			return i
		}
	}
	return -1
}

// tours are the promises as tours to start from.
func (k *kept) tours(d *desk) [][]int {
	out := make([][]int, len(d.shifts))
	for i := range d.visits {
		p, ok := k.promise[i]
		if !ok {
			continue
		}
		for j, s := range d.shifts {
			if s.nurse.Account == p.Account && d.h.date(s.day).Format(time.DateOnly) == p.Day {
				out[j] = append(out[j], i)
			}
		}
	}
	for _, t := range out {
		slices.SortStableFunc(t, func(a, b int) int { return k.promise[a].Start - k.promise[b].Start })
	}
	return out
}

// compare lists what became different and who must be told.
func (p *Replan) compare(d *desk, k *kept) {
	p.Changes, p.Calls = []Change{}, []Tell{}
	at := map[string]Placed{} // by case and number
	key := func(v Visit) string { return fmt.Sprint(v.Case, " ", v.Seq) }
	for _, v := range p.Plan.Visits {
		at[key(v.Visit)] = v
	}
	why := map[string]string{}
	for _, l := range p.Plan.Left {
		if _, promised := k.promise[slices.IndexFunc(d.visits, func(v Visit) bool { return key(v) == key(l.Visit) })]; promised || l.Seq >= 100 {
			p.lost++
		}
		why[key(l.Visit)] = l.Why
	}
	var nurses []string
	note := func(account string) {
		if !slices.Contains(nurses, account) {
			nurses = append(nurses, account)
		}
	}
	for i, v := range d.visits {
		was, promised := k.promise[i]
		now, placed := at[key(v)]
		if v.Seq >= 100 {
			p.missing = append(p.missing, i)
		} else if promised {
			if _, working := d.shiftOf(was.Account, was.Day); !working {
				p.missing = append(p.missing, i)
			}
		}
		to := Promise{Case: v.Case, Day: now.Date, Account: now.Account, Start: now.Start, Minutes: int(v.Minutes)}
		switch {
		case promised && !placed:
			p.Changes = append(p.Changes, Change{Case: v.Case, Name: v.Name, From: &was, Why: why[key(v)]})
			p.Calls = append(p.Calls, Tell{Case: v.Case, Name: v.Name, Words: "nobody can come on " + was.Day + " at " + Clock(was.Start) + "; say when"})
			note(was.Account)
		case !promised && placed:
			p.Changes = append(p.Changes, Change{Case: v.Case, Name: v.Name, To: &to})
			if v.Seq >= 100 {
				p.Calls = append(p.Calls, Tell{Case: v.Case, Name: v.Name, Words: d.name(to.Account) + " comes on " + to.Day + " at about " + Clock(to.Start)})
			}
			note(to.Account)
		case !promised: // it had no place before either
		default:
			late := math.Abs(float64(now.Start-was.Start)) > float64(d.r.Settings.PromiseMin)+1
			if was.Day == to.Day && was.Account == to.Account && !late {
				continue
			}
			p.Changes = append(p.Changes, Change{Case: v.Case, Name: v.Name, From: &was, To: &to})
			if was.Day != to.Day || late {
				p.Calls = append(p.Calls, Tell{Case: v.Case, Name: v.Name, Words: "instead of " + was.Day + " at " + Clock(was.Start) + ": " + d.name(to.Account) + " on " + to.Day + " at about " + Clock(to.Start)})
			}
			if was.Account != to.Account || was.Day != to.Day {
				note(to.Account)
				if _, working := d.shiftOf(was.Account, was.Day); working {
					note(was.Account)
				}
			}
		}
	}
	slices.Sort(nurses)
	for _, a := range nurses {
		p.Calls = append(p.Calls, Tell{Nurse: a, Name: d.name(a), Words: "her visits are not the same as before"})
	}
}

func (d *desk) shiftOf(account, day string) (shift, bool) {
	for _, s := range d.shifts {
		if s.nurse.Account == account && d.h.date(s.day).Format(time.DateOnly) == day {
			return s, true
		}
	}
	return shift{}, false
}

// Promises are a plan's visits as they are kept, from a day on.
func (p *Plan) Promises() []Promise {
	out := []Promise{}
	for _, v := range p.Visits {
		out = append(out, Promise{Case: v.Case, Day: v.Date, Account: v.Account, Start: v.Start, Minutes: int(v.Minutes)})
	}
	return out
}
