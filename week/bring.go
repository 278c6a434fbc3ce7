package week

import (
	"cmp"
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
	// Full is the number of canisters that were full before the visit, or the number to expect, of FullKnown visits of
	// which that can be told.
	Full      float64
	FullKnown int
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
		if s.FullKnown {
			out.FullKnown++
			if s.Full {
				out.Full++
			}
		}
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
	out := Record{Visits: len(p.Visits), RoadMin: p.RoadMin, FullKnown: len(p.Visits)}
	last := map[string]string{}
	for _, v := range slices.SortedStableFunc(slices.Values(p.Visits), func(a, b Placed) int { return cmp.Or(a.Day-b.Day, a.Start-b.Start) }) {
		before := v.LastBy
		if by, ok := last[v.Case]; ok {
			before = by
		}
		if before != "" {
			out.Known++
			if v.By(before) {
				out.Same++
			}
		}
		last[v.Case] = v.Account
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

// ByHand is how a careful person without a planner would go about the same visits, as a measure to compare with. Each
// is given to the nurse who came last time or is in charge, on the day nearest to the one on which it is due, at the
// place in her round where it costs the least road; what she cannot do goes to whoever has the least way then. Nothing
// is moved again. It is common practice, no published source.
func (r *Roster) ByHand(ask Ask) *Plan {
	d := r.layOut(ask)
	d.windows(nil)
	tours := make([][]int, len(d.shifts))
	order := make([]int, len(d.visits))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(d.visits[a].Ideal, d.visits[b].Ideal) })
	placed := map[int]bool{}
	for _, own := range []bool{true, false} {
		for _, i := range order {
			if placed[i] {
				continue
			}
			v := &d.visits[i]
			best, bestAt, bestBy := -1, 0, math.Inf(1)
			for k, s := range d.shifts {
				if v.Days[s.day].From > v.Days[s.day].To || own && !d.knows(s.nurse, v) || !able(s.nurse, v) || !d.apart(i, s.day, tours) {
					continue
				}
				away := 1000 * math.Abs(math.Floor(v.Ideal)-float64(s.day)) // a day is more than any road
				for at := range len(tours[k]) + 1 {
					tour := slices.Insert(slices.Clone(tours[k]), at, i)
					if by := away + d.road(tour, k) - d.road(tours[k], k); by < bestBy && d.inTime(tour, k) {
						best, bestAt, bestBy = k, at, by
					}
				}
			}
			if best >= 0 {
				tours[best] = slices.Insert(tours[best], bestAt, i)
				placed[i] = true
			}
		}
	}
	return d.read(d.planOf(tours, placed))
}

// road is the way of a tour, from its start to its end.
func (d *desk) road(tour []int, k int) float64 {
	sh := d.p.Shifts[k]
	t, P := d.p.Times[sh.Band], d.p.Places
	at, sum := sh.From, 0.0
	for _, i := range tour {
		sum += t[at*P+d.p.Stops[i].Place]
		at = d.p.Stops[i].Place
	}
	if len(tour) == 0 {
		return 0
	}
	return sum + t[at*P+sh.To]
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

// Weighed is what a plan brings when the nurse of last time has a price.
type Weighed struct {
	SameMin float64
	Record
	Left int
}

// Weigh plans once for each price, so that somebody can choose between road and the same nurse.
func (r *Roster) Weigh(ask Ask, prices []float64) (out []Weighed) {
	for _, price := range prices {
		other := *r
		other.Settings.SameMin = price
		p := other.Make(ask)
		out = append(out, Weighed{price, p.Expected(), len(p.Left)})
	}
	return out
}
