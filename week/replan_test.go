package week_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"lowtide/evidence/weekgen"
	"lowtide/tests/processor"
	"lowtide/week"
)

// events are what can happen on a day, done to a roster whose plan was kept. The ask is as of then.
var events = []struct {
	name string
	do   func(r *week.Roster, p *week.Plan, ask *week.Ask, day string)
}{
	{"ill from the morning", func(r *week.Roster, p *week.Plan, _ *week.Ask, day string) {
		r.Offs = append(r.Offs, week.Off{Account: p.Visits[5].Account, From: day, To: day})
	}},
	{"ill from one o'clock", func(r *week.Roster, p *week.Plan, ask *week.Ask, day string) {
		ask.Now = ask.Now.Add(7 * time.Hour)
		r.Offs = append(r.Offs, week.Off{Account: p.Visits[5].Account, From: day, To: day, FromMin: 13 * 60})
	}},
	{"a road closed", func(r *week.Roster, p *week.Plan, _ *week.Ask, day string) {
		r.Closed = append(r.Closed, week.Closed{Day: day, From: p.Visits[5].Place, Extra: 40})
	}},
	{"an urgent visit at eleven", func(r *week.Roster, _ *week.Plan, ask *week.Ask, day string) {
		ask.Now = ask.Now.Add(5 * time.Hour)
		r.Extras = append(r.Extras, week.Extra{Case: "case-0008", Day: day, Minutes: 30, Why: "leak that does not stop"})
	}},
}

// bigDay is a service of 20 nurses with a kept plan of about 200 visits in three days.
func bigDay(seed uint64) (weekgen.Service, week.Ask, *week.Plan) {
	s := weekgen.Make(seed, 20, 4.5)
	ask := week.Ask{Cases: s.Cases, Now: s.Now, Start: s.Now, Days: 3, Seed: 1, Rounds: 2500}
	p := s.Roster.Make(ask)
	s.Roster.Promises = p.Promises()
	ask.Rounds = 300
	return s, ask, p
}

// TestCalls: 20 nurses, about 200 visits in three days; whatever happens on the day, no visit that was promised is lost, and
// at most three people have to be told, in all but one of twelve replans; the most is four.
func TestCalls(t *testing.T) {
	many := 0
	for seed := range uint64(3) {
		for _, e := range events {
			s, ask, p := bigDay(seed + 1)
			if n := len(p.Visits); n < 190 || n > 230 {
				t.Fatalf("%d visits", n)
			}
			day := s.Now.Format(time.DateOnly)
			hers := 0
			for _, v := range p.Visits {
				if v.Day == 0 && v.Account == p.Visits[5].Account {
					hers++
				}
			}
			e.do(s.Roster, p, &ask, day)
			got := s.Roster.Again(ask)
			t.Logf("service %d, %s: %d visits, %d of hers today; %d people to tell: %v", seed+1, e.name, len(p.Visits), hers, len(got.Calls), got.Calls)
			if len(got.Plan.Left) > len(p.Left) {
				t.Errorf("service %d, %s: %d left out, before %d", seed+1, e.name, len(got.Plan.Left), len(p.Left))
			}
			if len(s.Roster.Extras) > 0 && !slices.ContainsFunc(got.Plan.Visits, func(v week.Placed) bool { return v.Case == "case-0008" && v.Seq == 100 && v.Date == day }) {
				t.Errorf("service %d: the urgent visit is not made", seed+1)
			}
			if out := check(s.Roster, s.Cases, got.Plan, ask.Now); len(out) > 0 {
				t.Errorf("service %d, %s: %v", seed+1, e.name, out)
			}
			if len(got.Calls) > 3 {
				many++
			}
			if len(got.Calls) > 4 {
				t.Errorf("service %d, %s: %d calls", seed+1, e.name, len(got.Calls))
			}
		}
	}
	if many > 2 {
		t.Errorf("%d of 12 replans need more than three calls", many)
	}
}

// TestNothingLost: between a kept plan and the next every promise is kept, changed and listed, under way, or over.
func TestNothingLost(t *testing.T) {
	for _, e := range events {
		s, ask, p := bigDay(2)
		day := s.Now.Format(time.DateOnly)
		e.do(s.Roster, p, &ask, day)
		got := s.Roster.Again(ask)
		key := func(caseID, date string) string { return caseID + " " + date }
		there := map[string]bool{}
		for _, v := range got.Plan.Visits {
			there[key(v.Case, v.Date)] = true
		}
		for _, v := range got.UnderWay {
			there[key(v.Case, v.Day)] = true
		}
		for _, c := range got.Changes {
			if c.From != nil {
				there[key(c.Case, c.From.Day)] = true
			}
		}
		for _, v := range s.Roster.Promises {
			if !there[key(v.Case, v.Day)] {
				t.Errorf("%s: %v is nowhere", e.name, v)
			}
		}
		for _, c := range got.Calls {
			if c.Name == "" || c.Words == "" || (c.Case == "") == (c.Nurse == "") {
				t.Errorf("%s: tell whom? %+v", e.name, c)
			}
		}
	}
}

// BenchmarkReplan: what a replan of 20 nurses and about 200 visits takes of the processor, and how many must be told. The
// budget is a second.
func BenchmarkReplan(b *testing.B) {
	for _, e := range events {
		b.Run(fmt.Sprint(e.name), func(b *testing.B) {
			calls, n := 0, uint64(0)
			var used, most time.Duration
			for b.Loop() {
				b.StopTimer()
				s, ask, p := bigDay(n%6 + 1)
				n++
				e.do(s.Roster, p, &ask, s.Now.Format(time.DateOnly))
				b.StartTimer()
				begun := processor.Time(b)
				calls += len(s.Roster.Again(ask).Calls)
				took := processor.Time(b) - begun
				used, most = used+took, max(most, took)
			}
			b.ReportMetric(used.Seconds()*1000/float64(n), "cpu-ms/op")
			b.ReportMetric(most.Seconds()*1000, "most-cpu-ms")
			b.ReportMetric(float64(calls)/float64(n), "calls/op")
		})
	}
}

// BenchmarkFirstPlan: how long until the first plan of a week for 20 nurses is there. The budget is 0.2 s.
func BenchmarkFirstPlan(b *testing.B) {
	s := weekgen.Make(1, 20, 3.5)
	ask := week.Ask{Cases: s.Cases, Now: s.Now, Start: s.Now, Days: 7, Seed: 1, Rounds: 1}
	var first time.Duration
	visits := 0
	for b.Loop() {
		begun, seen := processor.Time(b), false
		ask.Better = func(p *week.Plan) {
			if !seen {
				seen, visits = true, len(p.Visits)
				first += processor.Time(b) - begun
			}
		}
		s.Roster.Make(ask)
	}
	b.ReportMetric(first.Seconds()*1000/float64(b.N), "cpu-ms/first")
	b.ReportMetric(float64(visits), "visits")
}
