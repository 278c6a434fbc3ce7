package week_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/evidence/weekgen"
	"lowtide/fluid"
	"lowtide/week"
)

// TestOddRosters: whatever is odd in what was entered, nothing panics, the laws hold, and a sentence says what it means.
func TestOddRosters(t *testing.T) {
	zero, far := 0.0, 51.5
	day := func(s weekgen.Service, d int) string { return s.Now.AddDate(0, 0, d).Format(time.DateOnly) }
	for name, x := range map[string]struct {
		do   func(s weekgen.Service)
		want string // in a note, a reason or what is broken; empty: nothing is asked
	}{
		"a skill that nobody has": {func(s weekgen.Service) {
			s.Roster.Wishes[s.Cases[0].ID] = week.Wish{Case: s.Cases[0].ID, Skills: []string{"flying"}}
		}, "has what it needs: flying"},
		"a window that cannot be": {func(s weekgen.Service) {
			s.Roster.Wishes[s.Cases[0].ID] = week.Wish{Case: s.Cases[0].ID, From: 60, To: 90}
		}, "There is no time at which"},
		"only on a day that never comes": {func(s weekgen.Service) {
			s.Roster.Wishes[s.Cases[0].ID] = week.Wish{Case: s.Cases[0].ID, Weekdays: []int{9}}
		}, "There is no time at which"},
		"nobody may see her": {func(s weekgen.Service) {
			var all []string
			for _, n := range s.Roster.Nurses {
				all = append(all, n.Account)
			}
			s.Roster.Wishes[s.Cases[0].ID] = week.Wish{Case: s.Cases[0].ID, Not: all}
		}, "is not to see this patient"},
		"a nurse without hours": {func(s weekgen.Service) { s.Roster.Nurses[0].Hours = nil }, "has no working hours"},
		"hours of a minute":     {func(s weekgen.Service) { s.Roster.Nurses[0].Hours = []week.Hours{{Weekday: 1, From: 600, To: 601}} }, ""},
		"hours that overlap": {func(s weekgen.Service) {
			s.Roster.Nurses[0].Hours = []week.Hours{{Weekday: 1, From: 480, To: 900}, {Weekday: 1, From: 600, To: 960}}
		}, ""},
		"a holiday": {func(s weekgen.Service) {
			s.Roster.Offs = append(s.Roster.Offs, week.Off{Account: week.Everybody, From: day(s, 0), To: day(s, 6)})
		}, "Nobody works on a day"},
		"no nurses": {func(s weekgen.Service) { s.Roster.Nurses = nil }, "No nurse has working hours"},
		"a nurse left who has fixed visits": {func(s weekgen.Service) {
			s.Roster.Fixed = append(s.Roster.Fixed, week.Fixed{Case: s.Cases[0].ID, Day: day(s, 0), Account: s.Roster.Nurses[0].Account})
			s.Roster.Nurses = s.Roster.Nurses[1:]
		}, "who does not work then"},
		"a place in degrees among places on the sketch": {func(s weekgen.Service) {
			s.Roster.Places[week.Key(s.Cases[0].Place)] = week.Place{Name: s.Cases[0].Place, Lat: &far, Lon: &zero}
		}, "Say all of them in the same way"},
		"a place without coordinates":  {func(s weekgen.Service) { delete(s.Roster.Places, week.Key(s.Cases[0].Place)) }, "Nobody said where"},
		"a patient without an address": {func(s weekgen.Service) { s.Cases[0].Place = "" }, "a patient without an address"},
		"a road that takes all day": {func(s weekgen.Service) {
			s.Roster.Roads.Legs = []week.Leg{{From: s.Cases[0].Place, To: s.Roster.Nurses[0].Base, Minutes: 600}}
		}, ""},
		"promises of somebody unknown": {func(s weekgen.Service) {
			s.Roster.Promises = []week.Promise{{Case: s.Cases[0].ID, Day: day(s, 0), Account: "gone", Start: 600, Minutes: 30}, {Case: "nobody", Day: day(s, 1), Account: "gone", Start: 600}}
		}, ""},
	} {
		t.Run(name, func(t *testing.T) {
			s := weekgen.Make(11, 3, 3)
			s.Cases[0].Dues = []week.Due{{What: "look at it", By: s.Now.Add(12 * time.Hour), Urgent: true}}
			x.do(s)
			ask := week.Ask{Cases: s.Cases, Now: s.Now, Start: s.Now, Days: 4, Seed: 1, Rounds: 60, Bound: true}
			for _, p := range []*week.Plan{s.Roster.Make(ask), s.Roster.Again(ask).Plan} {
				if name != "hours that overlap" { // the later of the two counts; check takes the first
					if out := check(s.Roster, s.Cases, p, s.Now); len(out) > 0 && !strings.HasPrefix(name, "a place in degrees") {
						t.Error(out)
					}
				}
				all := append(slices.Clone(p.Notes), p.Broken...)
				for _, l := range p.Left {
					all = append(all, l.Why)
				}
				if !slices.ContainsFunc(all, func(s string) bool { return strings.Contains(s, x.want) }) && x.want != "" {
					t.Errorf("nothing says %q: %q", x.want, all)
				}
			}
		})
	}
}

// TestClocksChange: on the night in which the clocks go forward or back a plan keeps its hours by the clock on the wall.
func TestClocksChange(t *testing.T) {
	zone, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	for _, saturday := range []time.Time{time.Date(2026, 3, 28, 6, 0, 0, 0, zone), time.Date(2026, 10, 24, 6, 0, 0, 0, zone)} {
		s := weekgen.Make(5, 3, 3)
		shift := saturday.Sub(s.Now)
		for i := range s.Cases {
			c := &s.Cases[i]
			c.Last, c.Next = c.Last.Add(shift), c.Next.Add(shift)
			for _, w := range []*fluid.When{&c.Full.Early, &c.Full.Even, &c.Full.Late} {
				w.At = w.At.Add(shift)
			}
			for j := range c.Dues {
				c.Dues[j].By = c.Dues[j].By.Add(shift)
			}
		}
		p := s.Roster.Make(week.Ask{Cases: s.Cases, Now: saturday, Start: saturday, Days: 3, Seed: 1, Rounds: 100})
		for _, v := range p.Visits {
			n, _ := s.Roster.Nurse(v.Account)
			on := saturday.AddDate(0, 0, v.Day)
			i := slices.IndexFunc(n.Hours, func(h week.Hours) bool { return h.Weekday == int(on.Weekday()) })
			if i < 0 || v.Start < n.Hours[i].From || v.End > n.Hours[i].To || v.Date != on.Format(time.DateOnly) {
				t.Errorf("%s on %s from %d to %d", n.Name, v.Date, v.Start, v.End)
			}
			at := time.Date(on.Year(), on.Month(), on.Day(), 0, v.Start, 0, 0, zone)
			for _, c := range s.Cases {
				if c.ID == v.Case && v.Seq == 0 && !v.Urgent && at.Sub(c.Next) > 12*time.Hour+time.Minute {
					t.Errorf("%s at %v, due %v", v.Name, at, c.Next)
				}
			}
		}
		if len(p.Visits) == 0 {
			t.Error("no visits")
		}
	}
}

// TestLearnFromVisits: the time of a change and of ways comes from the service's own visits, by nurse and day, from twelve on.
func TestLearnFromVisits(t *testing.T) {
	r := week.Fold(nil)
	zero, ten := 0.0, 10.0
	r.Places["a"], r.Places["b"] = week.Place{Name: "a", East: &zero, North: &zero}, week.Place{Name: "b", East: &ten, North: &zero}
	var seen []week.Seen
	way := 10 * 1.3 / 35 * 60 // at eleven, as computed
	for d := range 12 {
		at := time.Date(2026, 3, 2+d, 10, 10, 0, 0, time.UTC)
		end := at.Add(time.Duration(48+d%3) * time.Minute)
		next := end.Add(time.Duration(1.25 * way * float64(time.Minute)))
		seen = append(seen, week.Seen{Case: "x", Place: "a", By: "n", Start: at, End: end, Wounds: 1, Change: true},
			week.Seen{Case: "y", Place: "b", By: "n", Start: next, End: next.Add(4 * time.Minute), Wounds: 1, Change: true}, // not written as it went
			week.Seen{Case: "z", Place: "b", By: "m", Start: next, End: next.Add(90 * time.Minute), Wounds: 3, Change: true})
	}
	l := r.LearnFrom(seen, time.UTC)
	if l.ChangeN != 12 || l.ChangeMin != 49 || l.RoadN != 12 || l.Road < 1.249 || l.Road > 1.251 {
		t.Errorf("%+v", l)
	}
	if l = r.LearnFrom(seen[:33], time.UTC); l.Road != 1 {
		t.Errorf("from eleven ways: %+v", l)
	}
}

// TestFoldAnyOrder: the register's entries may come in any order and more than once.
func TestFoldAnyOrder(t *testing.T) {
	at := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	entries := []casebook.Entry{
		week.NewEntry("1", at, "n", week.Nurse{Account: "a", Name: "A"}),
		week.NewEntry("2", at.Add(time.Minute), "n", week.Off{Account: "a", From: "2026-03-03", To: "2026-03-04"}),
		week.NewEntry("3", at.Add(2*time.Minute), "n", week.Off{Account: "a", From: "2026-03-03", To: "2026-03-04", Lifted: true}),
		week.NewEntry("4", at.Add(3*time.Minute), "n", week.Nurse{Account: "a", Name: "A", Gone: true}),
		week.NewEntry("5", at.Add(4*time.Minute), "n", week.Settings{ChangeMin: 30}),
	}
	back := slices.Clone(entries)
	slices.Reverse(back)
	for _, list := range [][]casebook.Entry{entries, back, append(slices.Clone(back), entries...)} {
		r := week.Fold(list)
		if len(r.Nurses) != 0 || len(r.Offs) != 0 || r.Settings.ChangeMin != 30 || r.Settings.SameMin != week.Usual.SameMin {
			t.Errorf("%+v", r)
		}
	}
}
