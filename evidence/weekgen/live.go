package weekgen

import (
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"lowtide/week"
)

// z90 is the 90 % point of the normal distribution.
const z90 = 1.2815515655446004

// Lived is what came of some weeks.
type Lived struct {
	week.Record
	// Open are visits that a day's plan had no room for, summed over the days: each day that one waits counts.
	Open int
	// Slowest is the longest time that one plan took.
	Slowest time.Duration
}

// Live plans every morning with plan, lets the day go as planned, and goes on for so many days. Canisters fill when they
// fill: each is drawn from the forecast that the planner sees, by a seed that does not depend on the plan's choices. A
// full canister stops the pump and makes the patient's visit urgent the next morning.
func Live(s Service, days int, plan func(r *week.Roster, ask week.Ask) *week.Plan) Lived {
	cases := slices.Clone(s.Cases)
	index := map[string]int{}
	fullAt, changes := make([]time.Time, len(cases)), make([]int, len(cases))
	change := func(i int, at time.Time) {
		c := &cases[i]
		changes[i]++
		rnd := rand.New(rand.NewPCG(uint64(i)<<20|uint64(changes[i]), 29))
		z := rnd.NormFloat64() / z90
		side := math.Log(late)
		if z < 0 {
			side = -math.Log(early)
		}
		even := s.EvenH[c.ID]
		fullAt[i] = at.Add(hours(even * math.Exp(side*z)))
		c.Last, c.Next, c.Full = at, at.Add(hours(c.EveryH)), fullAfter(at, even)
	}
	for i, c := range cases {
		index[c.ID] = i
		change(i, c.Last)
	}
	var out Lived
	var seen []week.Seen
	for day := range days {
		now := s.Now.AddDate(0, 0, day)
		asked := slices.Clone(cases)
		for i := range asked {
			asked[i].Dues = nil
			if fullAt[i].Before(now) {
				asked[i].Dues = []week.Due{{What: "canister full", By: now.Add(12 * time.Hour), Urgent: true}}
			}
		}
		begun := time.Now()
		p := plan(s.Roster, week.Ask{Cases: asked, Now: now, Start: now, Days: 5, Seed: uint64(day)})
		out.Slowest = max(out.Slowest, time.Since(begun))
		out.Open += len(p.Left)
		for _, v := range p.Visits {
			if v.Day != 0 {
				continue
			}
			i := index[v.Case]
			at := func(minute int) time.Time {
				return time.Date(now.Year(), now.Month(), now.Day(), 0, minute, 0, 0, now.Location())
			}
			seen = append(seen, week.Seen{Case: v.Case, Place: v.Place, By: v.Account, Start: at(v.Start), End: at(v.End), Wounds: cases[i].Wounds, Change: true, Full: fullAt[i].Before(at(v.Start)), FullKnown: true})
			change(i, at(v.Start))
			cases[i].LastBy = v.Account
		}
	}
	out.Record = s.Roster.Done(seen, cases, time.UTC)
	return out
}
