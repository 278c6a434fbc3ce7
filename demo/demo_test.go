package demo

import (
	"reflect"
	"sort"
	"testing"
	"time"
	_ "time/tzdata"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/intake"
	"lowtide/review"
	"lowtide/rule"
)

var morning = time.Date(2026, 3, 4, 8, 30, 0, 0, time.UTC)

func cases(t testing.TB, now time.Time) map[string]*casebook.Case {
	byCase := map[string][]casebook.Entry{}
	for _, e := range Entries(now, 1) {
		byCase[e.Case] = append(byCase[e.Case], e)
	}
	out := map[string]*casebook.Case{}
	for id, list := range byCase {
		out[id] = casebook.Fold(id, list)
	}
	return out
}

// TestEveryFindingShows: together the 24 patients show every rule of the built-in set that is not withdrawn.
func TestEveryFindingShows(t *testing.T) {
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	all := cases(t, morning)
	if len(all) != 24 {
		t.Errorf("%d patients, want 24", len(all))
	}
	seen := map[string]bool{}
	for _, c := range all {
		for _, f := range review.Of(c, rules, equipment.BuiltIn(), morning).Findings {
			seen[f.Rule] = true
		}
	}
	var missing []string
	for _, r := range rules.Rules() {
		if !seen[r.ID] {
			missing = append(missing, r.ID)
		}
	}
	sort.Strings(missing)
	if len(missing) > 0 {
		t.Errorf("%d rules never show: %v", len(missing), missing)
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
	for _, now := range []time.Time{morning, time.Date(2026, 3, 29, 5, 0, 0, 0, time.UTC), time.Date(2026, 10, 25, 0, 30, 0, 0, time.UTC), time.Date(2028, 2, 29, 23, 59, 0, 0, time.UTC)} {
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
					t.Logf("%s: %s", now.Format(time.DateOnly), p)
				}
			}
		}
	}
}
