package main

import (
	"math/rand/v2"
	"slices"
	"sort"
	"time"

	"lowtide/trouble"
)

// result is what the calls of one generator came to.
type result struct {
	calls, first, second, asked, questions, stopped int
	minutes, taught, ordered                        float64
}

// taughtOrder is a fixed list as services hand it out: power, pump, tube, canister, film, the rest. Common practice.
var taughtOrder = []string{"plug-in", "upright", "straighten", "connectors", "reseat", "press-film", "press-port", "patch", "new-canister", "drain-tube", "restart", "read-program", "all-well"}

// visitMin is the wait for somebody trained.
const visitMin = 90

// worldCalls is how many calls share one stirring of the tables: one stirring alone would say more about itself.
const worldCalls = 20

// longest bounds a call: there are fewer questions and checks than this.
const longest = 80

func run(m *trouble.Model, make func(*rand.Rand, *trouble.Model, uint64) caller, n int, seed uint64) result {
	var t result
	ordered := bestFixed(m)
	for i := range n {
		r := rand.New(rand.NewPCG(seed, uint64(i)))
		c := make(r, m, seed+uint64(i/worldCalls)) // the same stirring for a few calls, then another
		start := trouble.State{OffLimitH: 2, AsOf: time.Date(2026, 3, 4, 12, 0, 0, 0, time.UTC), VisitMin: visitMin, Danger: map[string]string{}, Signs: map[string]string{}}
		stop := false
		for k := range m.Dangers {
			d := &m.Dangers[k]
			v := c.danger(d)
			start.Danger[d.ID] = v
			start.Checks = append(start.Checks, trouble.Outcome{Check: "patient:" + d.ID, Result: trouble.Said})
			stop = stop || v == trouble.Yes // no check follows, and somebody comes
		}
		if stop {
			t.stopped++
			continue
		}
		t.calls++
		// Everybody answers each sign once; both ways of going about it get the same answers and the same luck.
		answers, mended := map[string]string{}, map[string]bool{}
		for k := range m.Signs {
			answers[m.Signs[k].ID] = c.sign(&m.Signs[k])
		}
		for k := range m.Checks {
			mended[m.Checks[k].ID] = c.try(&m.Checks[k])
		}
		full := start
		full.Signs = answers
		switch place := rank(m.Advise(full), c.truth()); place {
		case 0:
			t.first++
			t.second++
		case 1:
			t.second++
		}
		t.call(m, start, answers, mended, c.truth())
		t.taught += fixed(m, taughtOrder, mended)
		t.ordered += fixed(m, ordered, mended)
	}
	return t
}

// rank is the place of the true cause, leaving out that bleeding stands first while a danger answer is not known.
func rank(a trouble.Advice, truth string) int {
	list := slices.Clone(a.Causes)
	sort.SliceStable(list, func(i, j int) bool { return list[i].Chance > list[j].Chance })
	return slices.IndexFunc(list, func(r trouble.Ranked) bool { return r.ID == truth })
}

// call lets the program lead one call to its end.
func (t *result) call(m *trouble.Model, s trouble.State, answers map[string]string, mended map[string]bool, truth string) {
	t.minutes += 0.5 * float64(len(m.Dangers))
	known := map[string]string{}
	for i := range m.Signs {
		if g := &m.Signs[i]; g.FromCase {
			known[g.ID] = answers[g.ID]
		}
	}
	s.Signs = known
	s.Checks = slices.Clone(s.Checks)
	checked := false
	for range longest {
		a := m.Advise(s)
		t.minutes += a.Next.Minutes
		if a.Next.Kind != "question" && !checked {
			checked = true
			if rank(a, truth) < 2 {
				t.asked++
			}
		}
		switch a.Next.Kind {
		case "question":
			t.questions++
			s.Signs[a.Next.Check] = answers[a.Next.Check]
		case "check":
			out := trouble.NotFixed
			if mended[a.Next.Check] {
				return
			}
			s.Checks = append(s.Checks, trouble.Outcome{Check: a.Next.Check, Result: out})
		default:
			return
		}
	}
	panic("a call without end")
}

// fixed is how long a fixed list takes.
func fixed(m *trouble.Model, order []string, mended map[string]bool) float64 {
	minutes := 0.5 * float64(len(m.Dangers))
	for _, id := range order {
		minutes += m.Check(id).Minutes
		if mended[id] {
			return minutes
		}
	}
	return minutes + visitMin
}

// bestFixed is the order of the model's own plan before anything is known: the strongest list that asks nothing.
func bestFixed(m *trouble.Model) []string {
	s := trouble.State{OffLimitH: 2, VisitMin: 100000, Danger: map[string]string{}}
	for i := range m.Dangers {
		s.Danger[m.Dangers[i].ID] = trouble.No
	}
	return m.Advise(s).Then
}
