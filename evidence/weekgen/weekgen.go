// Package weekgen generates invented services for the planner's tests and figures: nurses, places on a sketch map,
// patients with what they need. The same seed gives the same service.
package weekgen

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"lowtide/fluid"
	"lowtide/week"
)

// Service is an invented service.
type Service struct {
	Roster *week.Roster
	Cases  []week.Case
	Now    time.Time
	// EvenH is when a new canister of a case is full with a chance of a half, in hours.
	EvenH map[string]float64
}

// Make invents a service of so many nurses, each with about perDay visits on a working day. Its week begins on the Monday
// of now, at six.
func Make(seed uint64, nurses int, perDay float64) Service {
	rnd := rand.New(rand.NewPCG(seed, 23))
	now := time.Date(2026, 3, 2, 6, 0, 0, 0, time.UTC) // a Monday
	r := week.Fold(nil)
	side := 8 + 2*math.Sqrt(float64(nurses))*4
	place := func(name string, x, y float64) string {
		r.Places[week.Key(name)] = week.Place{Name: name, East: &x, North: &y}
		return name
	}
	teams := max(1, nurses/5)
	centre := make([][2]float64, teams)
	for t := range centre {
		centre[t] = [2]float64{(rnd.Float64() - 0.5) * side, (rnd.Float64() - 0.5) * side}
	}
	team := func(t int) string { return fmt.Sprintf("team %d", t+1) }
	for i := range nurses {
		t := i % teams
		n := week.Nurse{Account: fmt.Sprintf("nurse%02d", i+1), Name: fmt.Sprintf("Nurse %d", i+1), Team: team(t)}
		n.Base = place(fmt.Sprintf("base %d", i+1), centre[t][0]+rnd.NormFloat64()*2, centre[t][1]+rnd.NormFloat64()*2)
		from := []int{7 * 60, 8 * 60, 8*60 + 30}[rnd.IntN(3)]
		off := []int{i % 7, (i + 1) % 7} // a rota: every day of the week is worked by five of seven
		for d := range 7 {
			if d != off[0] && d != off[1] {
				n.Hours = append(n.Hours, week.Hours{Weekday: d, From: from, To: from + 8*60})
			}
		}
		if rnd.IntN(3) == 0 {
			n.Skills = append(n.Skills, "instillation")
		}
		r.Nurses = append(r.Nurses, n)
	}
	every := []float64{48, 60, 72}
	visitsAWeek := float64(nurses) * 5 * perDay
	patients := int(visitsAWeek / (168 / 60))
	wards := make([]string, max(1, patients/12))
	for i := range wards {
		t := rnd.IntN(teams)
		wards[i] = place(fmt.Sprintf("ward %d", i+1), centre[t][0]+rnd.NormFloat64()*4, centre[t][1]+rnd.NormFloat64()*4)
	}
	var cases []week.Case
	evens := map[string]float64{}
	for i := range patients {
		t := rnd.IntN(teams)
		c := week.Case{ID: fmt.Sprintf("case-%04d", i+1), Name: fmt.Sprintf("Patient %d", i+1), Team: team(t), Wounds: 1 + rnd.IntN(8)/6, EveryH: every[rnd.IntN(3)]}
		if rnd.IntN(4) == 0 {
			c.Place = wards[rnd.IntN(len(wards))]
		} else {
			c.Place = place(fmt.Sprintf("house %d", i+1), centre[t][0]+rnd.NormFloat64()*5, centre[t][1]+rnd.NormFloat64()*5)
		}
		mine := t + teams*rnd.IntN(max(1, (nurses-t+teams-1)/teams))
		c.LastBy = r.Nurses[min(mine, nurses-1)].Account
		c.Nurse = c.LastBy
		c.Last = now.Add(-time.Duration(rnd.Float64() * c.EveryH * float64(time.Hour))).Truncate(time.Hour)
		c.Next = c.Last.Add(time.Duration(c.EveryH * float64(time.Hour)))
		even := 50 + 200*rnd.Float64()
		evens[c.ID] = even
		c.Full = fullAfter(now, even)
		if rnd.IntN(8) == 0 {
			c.Dues = append(c.Dues, week.Due{What: "measure the wound", By: now.AddDate(0, 0, 1+rnd.IntN(5)), Measure: true})
		}
		switch rnd.IntN(10) {
		case 0:
			r.Wishes[c.ID] = week.Wish{Case: c.ID, From: 8 * 60, To: 12 * 60}
		case 1:
			r.Wishes[c.ID] = week.Wish{Case: c.ID, From: 12 * 60, To: 18 * 60}
		case 2:
			r.Wishes[c.ID] = week.Wish{Case: c.ID, Skills: []string{"instillation"}}
		}
		cases = append(cases, c)
	}
	return Service{r, cases, now, evens}
}

// early and late are by how much sooner and later than the median a canister is full, with a chance of 10 and 90 %.
const early, late = 0.7, 1.5

func hours(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }

func fullAfter(new time.Time, evenH float64) fluid.FullAt {
	at := func(h float64) fluid.When { return fluid.When{At: new.Add(hours(h))} }
	return fluid.FullAt{Status: fluid.FullComes, Early: at(evenH * early), Even: at(evenH), Late: at(evenH * late)}
}
