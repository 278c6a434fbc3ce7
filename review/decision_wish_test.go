package review_test

import (
	"strings"
	"testing"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
)

// TestWishAndPayer: the newest wish counts, from a note or a decision; the payer's end comes from its clock.
func TestWishAndPayer(t *testing.T) {
	rules, eq := builtin(t), equipment.BuiltIn()
	criterion := func(words string, steps ...step) review.Criterion {
		t.Helper()
		for _, k := range review.Of(state.Of(casebook.Fold("tidy", entries(join(tidy(), steps)...)), rules, eq, nil, noon), rules).Decision().Criteria {
			if k.Words == words {
				return k
			}
		}
		t.Fatalf("no criterion %q", words)
		return review.Criterion{}
	}
	said := func(h float64, words string) step { return at(h, casebook.NoteWritten{Text: "talked", Wish: words}) }
	agreed := func(h float64, words string) step {
		d := decided("continue", 300)
		d.Wish = words
		return at(h, d)
	}
	for _, x := range []struct {
		name  string
		steps []step
		want  rule.State
		says  string
	}{
		{"nobody asked", nil, rule.CannotTell, "nobody noted"},
		{"to stop", []step{said(-5, "to stop")}, rule.Yes, "wished to stop"},
		{"then to go on", []step{said(-5, "to stop"), agreed(-2, "to go on")}, rule.No, "4 March 2026 the patient wished to go on"},
		{"written in the other order", []step{agreed(-2, "to stop"), said(-5, "to go on")}, rule.Yes, "to stop"},
		{"not sure", []step{said(-5, "to go on"), said(-2, "not sure")}, rule.CannotTell, "was not sure"},
		{"something else", []step{said(-2, "something else")}, rule.CannotTell, "wished something else"},
	} {
		if k := criterion("The patient's wish", x.steps...); k.Holds != x.want || !strings.Contains(k.Why, x.says) {
			t.Errorf("%s: %s, %q", x.name, k.Holds, k.Why)
		}
	}
	// Noon is on 4 March 2026; 120 days from 10 November end on 10 March, from 22 October on 19 February.
	for _, x := range []struct {
		name, start string
		want        rule.State
		says        string
	}{
		{"far off", "2026-02-27", rule.No, "it ends on 27 June 2026"},
		{"within two weeks", "2025-11-10", rule.Yes, "it ends on 10 March 2026"},
		{"over", "2025-10-22", rule.Yes, "it ended on 19 February 2026"},
	} {
		if k := criterion("The payer ends", at(-2, paid(x.start, nil))); k.Holds != x.want || !strings.Contains(k.Why, x.says) || !strings.Contains(k.Source, "Verify") {
			t.Errorf("%s: %s, %q, %q", x.name, k.Holds, k.Why, k.Source)
		}
	}
}

// TestGoalOfABed: level and granulated is met only when both are, by the newest look at each, and is forecast from both.
func TestGoalOfABed(t *testing.T) {
	rules, eq := builtin(t), equipment.BuiltIn()
	look := func(h, depth, granulation float64) step {
		return at(h, measured(6, 2.5, depth, func(m *casebook.WoundMeasured) {
			m.Tissue = &casebook.Tissue{GranulationPct: granulation, SloughPct: 100 - granulation}
		}))
	}
	goal := at(-900, order(func(o *casebook.OrderWritten) { o.GoalKind, o.GoalGranulationPct = "level and granulated", num(90) }))
	for _, x := range []struct {
		name string
		last step
		want rule.State
	}{
		{"both", look(-2, 0.2, 95), rule.Yes},
		{"not level", look(-2, 0.9, 95), rule.No},
		{"not granulated", look(-2, 0.2, 80), rule.No},
		{"tissue never judged", at(-2, measured(6, 2.5, 0.2, func(m *casebook.WoundMeasured) { m.Tissue = nil })), rule.CannotTell},
	} {
		steps := []step{at(-950, person(nil)), at(-940, wound("A", nil)), goal, x.last}
		for _, k := range review.Of(state.Of(casebook.Fold("tidy", entries(steps...)), rules, eq, nil, noon), rules).Decision().Criteria {
			if k.Words == "Goal met" && k.Holds != x.want {
				t.Errorf("%s: %s, %q", x.name, k.Holds, k.Why)
			}
		}
	}
	h := healingOf(t, []step{at(-950, person(nil)), at(-940, wound("A", nil)), goal, look(-2-21*24, 2.4, 40), look(-2-14*24, 1.9, 60), look(-2-7*24, 1.4, 75), look(-2, 1.0, 82)}, noon)
	g := h.GoalArrival()
	if g == nil || g.MedianDays == nil || *g.MedianDays < 3 || h.Ahead().Goals[0].And == nil {
		t.Errorf("goal %+v", g)
	}
}
