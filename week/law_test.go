package week_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"lowtide/evidence/weekgen"
	"lowtide/week"
)

// check holds a plan to the roster's own words, with code that shares nothing with the planner.
func check(r *week.Roster, cases []week.Case, p *week.Plan, now time.Time) (out []string) {
	bad := func(f string, a ...any) { out = append(out, fmt.Sprintf(f, a...)) }
	byCase := map[string]week.Case{}
	for _, c := range cases {
		byCase[c.ID] = c
	}
	type key struct{ nurse, day string }
	last := map[key]week.Placed{}
	seen := map[string][]int{}
	for _, v := range p.Visits {
		day, _ := time.ParseInLocation(time.DateOnly, v.Date, now.Location())
		n, ok := r.Nurse(v.Account)
		if !ok {
			bad("%s by nobody", v.Name)
			continue
		}
		i := slices.IndexFunc(n.Hours, func(h week.Hours) bool { return h.Weekday == int(day.Weekday()) })
		if i < 0 {
			bad("%s on a day that %s does not work", v.Name, n.Name)
			continue
		}
		h := n.Hours[i]
		if v.Start < h.From || v.End > h.To {
			bad("%s %d to %d, hours %d to %d", v.Name, v.Start, v.End, h.From, h.To)
		}
		for _, o := range r.Offs {
			if o.Account == v.Account && v.Date >= o.From && v.Date <= o.To && (v.Date > o.From || o.FromMin == 0 || v.End > o.FromMin) {
				bad("%s while %s is off", v.Name, n.Name)
			}
		}
		if day.Add(time.Duration(v.Start) * time.Minute).Before(now) {
			bad("%s in the past", v.Name)
		}
		w := r.Wishes[v.Case]
		if w.To > 0 && (v.Start < w.From || v.Start > w.To) && !v.Fixed {
			bad("%s at %d, asked for %d to %d", v.Name, v.Start, w.From, w.To)
		}
		for _, s := range w.Skills {
			if !slices.Contains(n.Skills, s) {
				bad("%s without skill %s", v.Name, s)
			}
		}
		c := byCase[v.Case]
		at := day.Add(time.Duration(v.Start) * time.Minute)
		if v.Seq == 0 && !v.Fixed && !v.Urgent && (at.After(c.Next.Add(12*time.Hour+time.Minute)) || at.Before(c.Next.Add(-12*time.Hour-time.Minute)) && c.Full.Early.After(c.Next.Add(12*time.Hour)) && len(c.Dues) == 0) {
			bad("%s at %v, due %v", v.Name, at, c.Next)
		}
		if pct, ok := week.ChanceFull(c.Full, now, at); ok && v.Seq == 0 && !v.Urgent && !v.Fixed && 100*pct > r.Settings.FullPct+0.5 {
			bad("%s with a chance of %v of a full canister", v.Name, pct)
		}
		k := key{v.Account, v.Date}
		if before, ok := last[k]; ok {
			way := 0.0
			a, b := r.Places[week.Key(before.Place)], r.Places[week.Key(v.Place)]
			if week.Key(before.Place) != week.Key(v.Place) && a.East != nil && b.East != nil {
				km := math.Hypot(*a.East-*b.East, *a.North-*b.North)
				way = km * r.Roads.Detour / 50 * 60 // at the highest speed there is
			}
			if float64(v.Start) < float64(before.End)+way-1 {
				bad("%s is in two places: %s until %d, %s at %d, %v min apart", n.Name, before.Name, before.End, v.Name, v.Start, way)
			}
		}
		last[k] = v
		seen[v.Case] = append(seen[v.Case], v.Seq)
	}
	for _, l := range p.Left {
		if strings.TrimSpace(l.Why) == "" {
			bad("%s left out without a reason", l.Name)
		}
		seen[l.Case] = append(seen[l.Case], l.Seq)
	}
	for c, s := range seen {
		slices.Sort(s)
		if len(slices.Compact(slices.Clone(s))) != len(s) {
			bad("%s: a visit twice: %v", c, s)
		}
	}
	return out
}

// TestLawWeek: whatever service is drawn, the plan keeps every window, nobody is in two places, and whatever was left out
// has its reason.
func TestLawWeek(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := weekgen.Make(rapid.Uint64Range(1, 1<<30).Draw(t, "service"), rapid.IntRange(1, 4).Draw(t, "nurses"), float64(rapid.IntRange(1, 9).Draw(t, "a day")))
		r := s.Roster
		days := rapid.IntRange(1, 7).Draw(t, "days")
		now := s.Now.Add(time.Duration(rapid.IntRange(0, 12*60).Draw(t, "later")) * time.Minute)
		if rapid.Bool().Draw(t, "off") {
			r.Offs = append(r.Offs, week.Off{Account: r.Nurses[0].Account, From: now.Format(time.DateOnly), To: now.AddDate(0, 0, 1).Format(time.DateOnly), FromMin: rapid.IntRange(0, 1000).Draw(t, "from")})
		}
		if rapid.Bool().Draw(t, "no place") && len(s.Cases) > 0 {
			s.Cases[0].Place = "somewhere"
		}
		if rapid.Bool().Draw(t, "no hours") {
			r.Nurses[len(r.Nurses)-1].Hours = nil
		}
		ask := week.Ask{Cases: s.Cases, Now: now, Start: now, Days: days, Seed: 1, Rounds: 60, Bound: true}
		p := r.Make(ask)
		if out := check(r, s.Cases, p, now); len(out) > 0 {
			t.Fatal(out)
		}
		if p.Bound > p.Cost+1e-6 {
			t.Fatalf("bound %v, cost %v", p.Bound, p.Cost)
		}
		// Fix one visit for somebody: it is there, or what that breaks or why not is said.
		if len(p.Visits) > 0 {
			v := p.Visits[rapid.IntRange(0, len(p.Visits)-1).Draw(t, "visit")]
			who := r.Nurses[rapid.IntRange(0, len(r.Nurses)-1).Draw(t, "who")].Account
			r.Fixed = []week.Fixed{{Case: v.Case, Day: v.Date, Account: who}}
			q := r.Make(ask)
			there := slices.ContainsFunc(q.Visits, func(x week.Placed) bool {
				return x.Case == v.Case && x.Date == v.Date && x.Account == who && x.Fixed
			})
			left := slices.ContainsFunc(q.Left, func(x week.Left) bool { return x.Case == v.Case })
			if !there && !left && len(q.Broken) == 0 {
				t.Fatalf("%s was fixed for %s on %s: %+v", v.Name, who, v.Date, q.Visits)
			}
			if len(p.Visits)+len(p.Left) != len(q.Visits)+len(q.Left) {
				t.Fatalf("%d visits before, %d after", len(p.Visits)+len(p.Left), len(q.Visits)+len(q.Left))
			}
			r.Fixed = nil
		}
		// Keep it, let somebody fall ill, plan again: the same laws hold.
		r.Promises = p.Promises()
		r.Offs = append(r.Offs, week.Off{Account: r.Nurses[0].Account, From: now.Format(time.DateOnly), To: now.Format(time.DateOnly)})
		again := r.Again(ask)
		if out := check(r, s.Cases, again.Plan, now); len(out) > 0 {
			t.Fatal("again: ", out)
		}
	})
}

// TestNothingToTell: planning again when nothing happened tells nobody.
func TestNothingToTell(t *testing.T) {
	s := weekgen.Make(3, 5, 6)
	ask := week.Ask{Cases: s.Cases, Now: s.Now, Start: s.Now, Days: 5, Seed: 1, Rounds: 800}
	p := s.Roster.Make(ask)
	s.Roster.Promises = p.Promises()
	if got := s.Roster.Again(ask); len(got.Calls) > 0 {
		t.Errorf("calls %v", got.Calls)
	}
}
