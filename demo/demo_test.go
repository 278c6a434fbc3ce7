package demo

import (
	"os"
	"reflect"
	"testing"
	"time"
	_ "time/tzdata"

	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/caseload"
	"lowtide/equipment"
	"lowtide/intake"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
)

var morning = time.Date(2026, 3, 4, 8, 30, 0, 0, time.UTC)

func cases(t testing.TB, now time.Time) map[string]*casebook.Case {
	byCase := map[string][]casebook.Entry{}
	for _, e := range Entries(now, 1) {
		byCase[e.Case] = append(byCase[e.Case], e)
	}
	blobs := Blobs(now, 1)
	out := map[string]*casebook.Case{}
	for id, list := range byCase {
		out[id] = casebook.Fold(id, list)
		out[id].Blob = func(hash string) ([]byte, error) { return blobs[hash], nil }
	}
	return out
}

// cannotShow are the rules that no patient of the demo can show.
var cannotShow = map[string]string{
	"CAN-BLEED-01": "its limit is empty until a local protocol sets it, because none was published",
	"ORD-CHILD-03": "nobody in the demo is a baby; a child of seven shows the other rules about children",
}

// someDays are the rules that show on some days of the week only; on at least one of the moments they do.
var someDays = map[string]string{
	"CAN-WEEKEND-01": "it is asked in the day before a weekend",
}

// moments are times at which somebody may start the demo: in both clock changes, on a leap day, at midnight. With
// LOWTIDE_DEEP=1 they are every 37 hours of a year.
func moments() []time.Time {
	out := []time.Time{morning, time.Date(2026, 3, 29, 5, 0, 0, 0, time.UTC), time.Date(2026, 10, 25, 0, 30, 0, 0, time.UTC), time.Date(2028, 2, 29, 23, 59, 0, 0, time.UTC),
		time.Date(2026, 7, 11, 13, 7, 0, 0, time.UTC), time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)}
	if os.Getenv("LOWTIDE_DEEP") != "" {
		for h := 0; h < 366*24; h += 37 {
			out = append(out, time.Date(2026, 1, 1, 0, 10, 0, 0, time.UTC).Add(time.Duration(h)*time.Hour))
		}
	}
	return out
}

// TestEveryFindingShows: together the 24 patients show every rule of the built-in set that is not withdrawn and that
// a store can hold; not everybody is an emergency, and a third of them have little to say.
func TestEveryFindingShows(t *testing.T) {
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	ever := map[string]bool{}
	for _, now := range moments() {
		all := cases(t, now)
		if len(all) != 24 {
			t.Errorf("%s: %d patients, want 24", now, len(all))
		}
		seen := map[string]bool{}
		urgent, few := 0, 0
		book := casebook.Book{Store: memory.New()}
		if err := Fill(t.Context(), book, now, 1); err != nil {
			t.Fatal(err)
		}
		load := caseload.New(book, rules, equipment.BuiltIn())
		stores, err := load.Stores(t.Context(), now, time.UTC)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range stores.Findings {
			seen[f.Rule] = true
		}
		for _, c := range all {
			r, err := load.Review(t.Context(), c, now)
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range r.Findings {
				seen[f.Rule], ever[f.Rule] = true, true
			}
			if top, ok := r.Top(); ok && top == rule.ActNow {
				urgent++
			}
			if len(r.Findings) <= 5 {
				few++
			}
		}
		if urgent > 12 || few < 8 {
			t.Errorf("%s: %d patients with Act now, want at most half; %d with at most five findings, want at least 8", now, urgent, few)
		}
		var missing []string
		for _, r := range rules.Rules() {
			if _, cannot := cannotShow[r.ID]; cannot && seen[r.ID] {
				t.Errorf("%s shows, and is listed as one that cannot", r.ID)
			} else if _, some := someDays[r.ID]; !some && !cannot && !seen[r.ID] && r.Withdrawn == nil {
				missing = append(missing, r.ID)
			}
		}
		if len(missing) > 0 {
			t.Errorf("%s: %d rules never show: %v", now, len(missing), missing)
		}
	}
	for id, why := range someDays {
		if !ever[id] {
			t.Errorf("%s (%s) shows at no moment", id, why)
		}
	}
}

// TestMovedNote: the note that was written for the wrong patient shows in both cases, and counts in one.
func TestMovedNote(t *testing.T) {
	var out, in []casebook.Line
	for _, c := range cases(t, morning) {
		for _, l := range c.Log {
			switch l.State {
			case casebook.MovedOut:
				out = append(out, l)
			case casebook.MovedIn:
				in = append(in, l)
			}
		}
	}
	if len(out) != 1 || len(in) != 1 {
		t.Fatalf("%d moved out, %d moved in", len(out), len(in))
	}
	note, counts := in[0].Now.(casebook.NoteWritten)
	was, _ := out[0].Entry.Body.(casebook.NoteWritten)
	move, _ := in[0].Entry.Body.(casebook.EntryCorrected)
	switch {
	case out[0].Now != nil || !counts:
		t.Error("the note counts where it should not, or nowhere")
	case note.Text == "" || note.Text != was.Text || !in[0].At.Equal(out[0].At):
		t.Errorf("moved in %q of %s, moved out %q of %s", note.Text, in[0].At, was.Text, out[0].At)
	case in[0].Entry.Case == out[0].Entry.Case || move.OtherCase != out[0].Entry.Case:
		t.Error("the two cases do not name each other")
	}
}

// TestSameStory: the seed and the clock decide everything.
func TestSameStory(t *testing.T) {
	if !reflect.DeepEqual(Entries(morning, 7), Entries(morning, 7)) {
		t.Error("the same seed tells two stories")
	}
	if reflect.DeepEqual(Entries(morning, 7), Entries(morning, 8)) {
		t.Error("another seed tells the same story")
	}
}

// TestAlwaysAMorning: at any time of the year the entries pass intake's checks, also on days when clocks change.
func TestAlwaysAMorning(t *testing.T) {
	for _, now := range moments() {
		byCase := map[string][]casebook.Entry{}
		for _, e := range Entries(now, 1) {
			byCase[e.Case] = append(byCase[e.Case], e)
			if e.At.After(now) || e.Recorded.After(now) {
				t.Errorf("%s: entry in the future: %s %s", now, e.Kind, e.At)
			}
		}
		for _, list := range byCase {
			for _, p := range intake.CheckEntries(nil, list, now) {
				if !p.Notice {
					t.Errorf("%s: %s", now.Format(time.DateOnly), p)
				}
			}
		}
	}
}

// TestPastCases: the past cases pass intake's checks at any time, are enough for the service's own curve and rates, and
// have nothing that presses on the morning's list.
func TestPastCases(t *testing.T) {
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, now := range moments()[:3] {
		byCase := map[string][]casebook.Entry{}
		for _, e := range Past(now, 1) {
			byCase[e.Case] = append(byCase[e.Case], e)
		}
		if len(byCase) != PastCases {
			t.Errorf("%s: %d cases, want %d", now, len(byCase), PastCases)
		}
		for _, list := range byCase {
			for _, p := range intake.CheckEntries(nil, list, now) {
				t.Errorf("%s: %s", now.Format(time.DateOnly), p)
			}
		}
		book := casebook.Book{Store: memory.New()}
		if err := Fill(t.Context(), book, now, 1); err != nil {
			t.Fatal(err)
		}
		load := caseload.New(book, rules, equipment.BuiltIn())
		c, rates, pending, err := load.Cohort(t.Context(), "surgical", now)
		if err != nil || pending != 0 || rates == nil || c.N < PastCases || len(c.Points) < 4 {
			t.Errorf("%s: %d cases, %d points, rates %v, %d pending, %v", now, c.N, len(c.Points), rates, pending, err)
		}
		rows, _, err := load.Rows(t.Context(), now)
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range rows {
			if len(byCase[row.Case]) > 0 && len(row.Findings) > 0 && row.Findings[0].Level.Rank() <= rule.Today.Rank() {
				t.Errorf("%s: %s: %+v", now.Format(time.DateOnly), row.Person.Name, row.Findings[0])
			}
		}
	}
}

// TestHealingShows: the demo has what the pages on healing can show: a goal of granulation with the day it may be met, a
// patient's wish, and a wound whose type has a curve of the service's own.
func TestHealingShows(t *testing.T) {
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	goal, wish := false, false
	for _, c := range cases(t, morning) {
		for i := range c.Wounds {
			h := state.HealingOf(c, &c.Wounds[i], rules.Values(morning), morning)
			if h.Goal != nil && h.Goal.Kind == "level and granulated" && h.GoalArrival() != nil && h.GoalArrival().Chance != nil {
				goal = true
			}
		}
		for _, k := range review.Of(state.Of(c, rules, equipment.BuiltIn(), nil, morning), rules).Decision().Criteria {
			wish = wish || k.Words == "The patient's wish" && k.Holds == rule.Yes
		}
	}
	if !goal || !wish {
		t.Errorf("a goal of granulation shows: %v; a wish to stop: %v", goal, wish)
	}
}
