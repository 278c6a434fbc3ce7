package route

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// drawProblem draws a small week: people with days, places on a plane, stops with windows on some days, costs, gaps,
// fixed stops.
func drawProblem(t *rapid.T, most int) *Problem {
	p := &Problem{Places: rapid.IntRange(1, 8).Draw(t, "places")}
	x := make([][2]float64, p.Places)
	for i := range x {
		x[i] = [2]float64{float64(rapid.IntRange(0, 40).Draw(t, "x")), float64(rapid.IntRange(0, 40).Draw(t, "y"))}
	}
	times := make([]float64, p.Places*p.Places)
	for i := range x {
		for j := range x {
			times[i*p.Places+j] = math.Hypot(x[i][0]-x[j][0], x[i][1]-x[j][1])
		}
	}
	p.Times = [][]float64{times}
	days, people := rapid.IntRange(1, 3).Draw(t, "days"), rapid.IntRange(1, 3).Draw(t, "people")
	for d := range days {
		for w := range people {
			open := float64(rapid.IntRange(400, 600).Draw(t, "open"))
			base := rapid.IntRange(0, p.Places-1).Draw(t, "base")
			p.Shifts = append(p.Shifts, Shift{Kind: d, Day: d, Person: w, From: base, To: base, Open: open, Close: open + float64(rapid.IntRange(0, 400).Draw(t, "hours")), Capacity: float64(rapid.IntRange(1, 12).Draw(t, "capacity"))})
		}
	}
	n := rapid.IntRange(0, most).Draw(t, "stops")
	for i := range n {
		s := Stop{Place: rapid.IntRange(0, p.Places-1).Draw(t, "place"), Service: float64(rapid.IntRange(0, 60).Draw(t, "service")), Demand: float64(rapid.IntRange(0, 3).Draw(t, "demand")), Miss: 1000}
		for range days {
			open := float64(rapid.IntRange(380, 900).Draw(t, "from"))
			s.Windows = append(s.Windows, Window{open, open + float64(rapid.IntRange(-40, 300).Draw(t, "span"))})
		}
		if rapid.Bool().Draw(t, "costs") {
			for range p.Shifts {
				c := float64(rapid.IntRange(0, 30).Draw(t, "cost"))
				if c > 25 {
					c = math.Inf(1)
				}
				s.Cost = append(s.Cost, c)
			}
		}
		if rapid.IntRange(0, 5).Draw(t, "fixed") == 0 {
			s.Fixed, s.In = true, rapid.IntRange(0, len(p.Shifts)-1).Draw(t, "in")
		}
		p.Stops = append(p.Stops, s)
		if i > 0 && rapid.IntRange(0, 3).Draw(t, "gap") == 0 {
			least := rapid.IntRange(0, 2).Draw(t, "least")
			p.Gaps = append(p.Gaps, Gap{First: i - 1, Then: i, Least: least, Most: least + rapid.IntRange(0, 1).Draw(t, "more")})
		}
	}
	p.Fair = float64(rapid.IntRange(0, 1).Draw(t, "fair")) * 0.05
	return p
}

// faults checks a plan by the problem's own words, with code that shares nothing with the search.
func faults(p *Problem, plan Plan) (out []string, cost float64) {
	seen, day := map[int]bool{}, map[int]int{}
	work := map[int]float64{}
	hours := map[int]float64{}
	for r, tour := range plan.Tours {
		sh := p.Shifts[r]
		hours[sh.Person] += sh.Close - sh.Open
		T := p.Times[sh.Band]
		at, clock, load := sh.From, sh.Open, 0.0
		alien := false
		for _, v := range tour {
			s := p.Stops[v]
			if seen[v] {
				out = append(out, "a stop twice")
			}
			seen[v], day[v] = true, sh.Day
			leg := T[at*p.Places+s.Place]
			clock = math.Max(clock+leg, s.Windows[sh.Kind].Open)
			if clock > s.Windows[sh.Kind].Close+1e-6 {
				out = append(out, "outside its window")
			}
			clock += s.Service
			cost += leg
			work[sh.Person] += leg + s.Service
			load += s.Demand
			if s.Cost != nil {
				if cost += s.Cost[r]; math.IsInf(s.Cost[r], 1) {
					out = append(out, "a shift that it may not be in")
				}
			}
			if s.Fixed && s.In != r {
				out = append(out, "a fixed stop moved")
			}
			alien = alien || sh.Home != nil && !sh.Home[v]
			at = s.Place
		}
		if alien {
			cost += sh.Wake
		}
		leg := T[at*p.Places+sh.To]
		cost += leg
		work[sh.Person] += leg
		if len(tour) > 0 && clock+leg > sh.Close+1e-6 {
			out = append(out, "home after the shift")
		}
		if load > sh.Capacity+1e-6 {
			out = append(out, "too much load")
		}
	}
	for _, v := range plan.Absent {
		if seen[v] {
			out = append(out, "placed and left out")
		}
		seen[v] = true
		cost += p.Stops[v].Miss
	}
	if len(seen) != len(p.Stops) {
		out = append(out, "a stop neither placed nor left out")
	}
	for _, g := range p.Gaps {
		a, ok := day[g.First]
		b, ok2 := day[g.Then]
		if ok && ok2 && (b-a < g.Least || b-a > g.Most) {
			out = append(out, "sisters too near or too far")
		}
	}
	for w, m := range work {
		if hours[w] > 0 {
			cost += p.Fair * m * m / hours[w]
		}
	}
	return out, cost
}

// TestLawPlansHold: whatever is asked, the plan keeps every rule, counts its cost right, is not below the bound, and is
// the same again for the same seed.
func TestLawPlansHold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t, 14)
		seed := rapid.Uint64().Draw(t, "seed")
		o := Options{Seed: seed, Rounds: 150}
		plan := Solve(p, o)
		out, cost := faults(p, plan)
		if len(out) > 0 {
			t.Fatal(out)
		}
		if math.Abs(cost-plan.Cost) > 1e-6 {
			t.Fatalf("cost %v, said %v", cost, plan.Cost)
		}
		if b := Bound(p); b > cost+1e-6 {
			t.Fatalf("bound %v above a plan of %v", b, cost)
		}
		if again := Solve(p, o); !reflect.DeepEqual(again, plan) {
			t.Fatal("another plan for the same seed")
		}
		o.Start = plan.Tours
		if next := Solve(p, o); next.Cost > plan.Cost+1e-6 {
			t.Fatalf("started from %v, ended at %v", plan.Cost, next.Cost)
		}
	})
}

// least tries every way: each stop in each shift at each position, or left out.
func least(p *Problem) float64 {
	best := math.Inf(1)
	tours := make([][]int, len(p.Shifts))
	var absent []int
	var step func(v int)
	step = func(v int) {
		if v == len(p.Stops) {
			if out, cost := faults(p, Plan{Tours: tours, Absent: absent}); len(out) == 0 {
				best = min(best, cost)
			}
			return
		}
		absent = append(absent, v)
		step(v + 1)
		absent = absent[:len(absent)-1]
		for r := range tours {
			for i := 0; i <= len(tours[r]); i++ {
				tours[r] = slices.Insert(tours[r], i, v)
				step(v + 1)
				tours[r] = slices.Delete(tours[r], i, i+1)
			}
		}
	}
	step(0)
	return best
}

// TestLawSmallIsExact: on problems small enough to try every way, the search finds the best.
func TestLawSmallIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawProblem(t, 4)
		plan := Solve(p, Options{Seed: 1, Rounds: 600})
		if want := least(p); math.Abs(plan.Cost-want) > 1e-6 {
			t.Fatalf("found %v, best %v", plan.Cost, want)
		}
	})
}
