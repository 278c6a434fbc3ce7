package week

import (
	"math"
	"slices"
	"time"

	"lowtide/route"
)

// Record is how visits went, or are planned to go.
type Record struct {
	Visits int
	// RoadMin is the computed way between them, from and to base.
	RoadMin float64
	// Same are visits by the nurse who came last time, of Known where that can be told. Late are changes that came later
	// than ordered and slack, of Known.
	Same, Late, Known int
	// Full is the expected number of canisters that are full before the visit; FullOK tells that it can be told.
	Full   float64
	FullOK bool
	// UnevenMin is how many minutes more the nurse with most work has a week than the one with least.
	UnevenMin float64
}

// Done looks back at the visits that were made. Ways are computed as for a plan, so that both are measured alike.
func (r *Roster) Done(seen []Seen, cases []Case, zone *time.Location) Record {
	out := Record{}
	every := map[string]float64{}
	for _, c := range cases {
		every[c.ID] = c.EveryH
	}
	seen = slices.Clone(seen)
	slices.SortFunc(seen, func(a, b Seen) int { return a.Start.Compare(b.Start) })
	a := newAtlas(r, 1)
	base := func(by string) string {
		for _, n := range r.Nurses {
			if n.Account == by || n.Name == by {
				return n.Base
			}
		}
		return ""
	}
	way := func(from, to string, at time.Time) float64 {
		if from == "" || to == "" {
			return 0
		}
		m, _ := a.minutes(from, to, r.Roads.SpeedKmH[at.In(zone).Hour()], "")
		return m
	}
	last, before := map[string]Seen{}, map[string]Seen{}
	work := map[string]float64{}
	home := func(s Seen) {
		m := way(s.Place, base(s.By), s.End)
		out.RoadMin += m
		work[s.By] += m
	}
	for _, s := range seen {
		out.Visits++
		m := 0.0
		if p, ok := last[s.By]; ok && sameDay(p.Start, s.Start, zone) {
			m = way(p.Place, s.Place, p.End)
		} else {
			if ok {
				home(p)
			}
			m = way(base(s.By), s.Place, s.Start)
		}
		out.RoadMin += m
		work[s.By] += m + s.End.Sub(s.Start).Minutes()
		last[s.By] = s
		if p, ok := before[s.Case]; ok {
			out.Known++
			if p.By == s.By {
				out.Same++
			}
			if e := every[s.Case]; e > 0 && s.Start.Sub(p.Start).Hours() > e+r.Settings.SlackH {
				out.Late++
			}
		}
		before[s.Case] = s
	}
	for _, s := range last {
		home(s)
	}
	out.UnevenMin = spread(work)
	return out
}

func sameDay(a, b time.Time, zone *time.Location) bool {
	return a.In(zone).Format(time.DateOnly) == b.In(zone).Format(time.DateOnly)
}

func spread(work map[string]float64) float64 {
	least, most := math.Inf(1), 0.0
	for _, w := range work {
		least, most = min(least, w), max(most, w)
	}
	if len(work) < 2 {
		return 0
	}
	return most - least
}

// Expected is what a plan brings, in the same measures.
func (p *Plan) Expected() Record {
	out := Record{Visits: len(p.Visits), RoadMin: p.RoadMin, Known: len(p.Visits), FullOK: true}
	for _, v := range p.Visits {
		if v.Same {
			out.Same++
		}
		out.Full += v.FullPct / 100
	}
	work := map[string]float64{}
	for _, l := range p.Loads {
		if l.HaveMin > 0 {
			work[l.Account] = l.WorkMin
		}
	}
	out.UnevenMin = spread(work)
	return out
}

// ByHand is how a service without a planner would go about the same visits, as a measure to compare with: each is made by
// the nurse who came last time or is in charge, on the day on which it is due, in the order in which they are due, if she
// works then and it fits her hours; else by the first who can. It is common practice, no published source.
func (r *Roster) ByHand(ask Ask) *Plan {
	d := r.layOut(ask)
	d.windows(nil)
	tours := make([][]int, len(d.shifts))
	order := make([]int, len(d.visits))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch x, y := d.visits[a].Ideal, d.visits[b].Ideal; {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	placed := map[int]bool{}
	for _, own := range []bool{true, false} {
		for _, i := range order {
			for k, s := range d.shifts {
				if placed[i] || d.visits[i].Days[s.day].From > d.visits[i].Days[s.day].To || own && !d.knows(s.nurse, &d.visits[i]) || !able(s.nurse, &d.visits[i]) || !d.apart(i, s.day, tours) {
					continue
				}
				if d.inTime(append(slices.Clone(tours[k]), i), k) {
					tours[k] = append(tours[k], i)
					placed[i] = true
				}
			}
		}
	}
	return d.read(d.planOf(tours, placed))
}

// apart tells whether a visit on a day is as far from its sisters as it must be.
func (d *desk) apart(i, day int, tours [][]int) bool {
	at := map[int]int{}
	for k, t := range tours {
		for _, v := range t {
			at[v] = d.shifts[k].day
		}
	}
	for _, g := range d.p.Gaps {
		if first, ok := at[g.First]; ok && g.Then == i && (day-first < g.Least || day-first > g.Most) {
			return false
		}
		if then, ok := at[g.Then]; ok && g.First == i && (then-day < g.Least || then-day > g.Most) {
			return false
		}
	}
	return true
}

// inTime tells whether a tour keeps every window and comes home in time.
func (d *desk) inTime(tour []int, k int) bool {
	sh := d.p.Shifts[k]
	t, P := d.p.Times[sh.Band], d.p.Places
	at, clock := sh.From, sh.Open
	for _, i := range tour {
		s := d.p.Stops[i]
		clock = max(clock+t[at*P+s.Place], s.Windows[k].Open)
		if clock > s.Windows[k].Close {
			return false
		}
		clock += s.Service
		at = s.Place
	}
	return clock+t[at*P+sh.To] <= sh.Close
}

func (d *desk) planOf(tours [][]int, placed map[int]bool) route.Plan {
	p := route.Plan{Tours: tours}
	for i := range d.visits {
		if !placed[i] {
			p.Absent = append(p.Absent, i)
		}
	}
	return p
}
