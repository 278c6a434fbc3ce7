package review

import (
	"slices"
	"strings"
	"testing"
	"time"

	"lowtide/rule"
)

// asks is a finding that asks for acts.
func asks(id string, level rule.Level, due *time.Time, wound string, acts ...rule.Act) Finding {
	f := Finding{Rule: id, Level: level, Due: due, Wound: wound, Headline: id + " is so.", acts: acts}
	for i := range f.acts {
		if f.acts[i].Level == "" {
			f.acts[i].Level = level
		}
	}
	return f
}

func do(verb, about string) rule.Act { return rule.Act{Do: verb, About: about} }

var (
	planNow = time.Date(2026, 3, 4, 9, 0, 0, 0, time.UTC) // a Wednesday
	berlin  = time.FixedZone("Berlin", 3600)
)

func planned(list ...Finding) []Step {
	return planOf(list, planState{off: true, ran: true, many: true, asOf: planNow, zone: berlin})
}

// TestPlanSaysDressingOffOnce: where the dressing comes off, no step says beside it that the dressing change waits.
func TestPlanSaysDressingOffOnce(t *testing.T) {
	plan := planned(asks("A", rule.ActNow, nil, "", do("leave-suction-off", "")), asks("B", rule.ActNow, nil, "", do("dressing-off", "")), asks("C", rule.Today, nil, "", do("change-dressing", "")))
	if len(plan) != 2 || plan[0].Waits != nil || !slices.Equal(plan[1].Because, []string{"B/", "C/"}) {
		t.Errorf("%+v", plan)
	}
}

// TestPlanNamesWoundsOnce: one clause names all wounds that it is about.
func TestPlanNamesWoundsOnce(t *testing.T) {
	plan := planned(asks("A", rule.Today, nil, "A", do("look", "wound")), asks("A", rule.Today, nil, "B", do("look", "wound")), asks("B", rule.Today, nil, "C", do("look", "wound")))
	if len(plan) != 1 || plan[0].Do != "Look at the wound (wounds A, B and C)." {
		t.Errorf("%+v", plan)
	}
	plan = planned(asks("A", rule.Today, nil, "A", do("observe", "temperature")), asks("B", rule.Today, nil, "", do("observe", "")))
	if len(plan) != 1 || plan[0].Do != "Take pulse, breathing, blood pressure and temperature." || len(plan[0].Because) != 2 {
		t.Errorf("%+v", plan)
	}
}

// TestPlanWhenAgrees: the sentence of a step and its due time never name two days.
func TestPlanWhenAgrees(t *testing.T) {
	at := func(day, hour int) *time.Time {
		x := time.Date(2026, 3, day, hour, 0, 0, 0, berlin)
		return &x
	}
	tell := do("tell-prescriber", "order")
	tellToday := rule.Act{Do: "tell-prescriber", About: "order", Level: rule.Today}
	for _, x := range []struct {
		list []Finding
		say  string
		due  *time.Time
	}{
		{[]Finding{asks("A", rule.Today, at(5, 12), "", tell)}, "by Thu 5 Mar about", at(5, 12)},
		{[]Finding{asks("A", rule.Today, at(4, 23), "", tell)}, "today about", at(4, 23)},
		{[]Finding{asks("A", rule.Today, at(3, 12), "", tell)}, "today about", at(3, 12)},
		{[]Finding{asks("A", rule.Today, nil, "", tell), asks("B", rule.Today, at(5, 12), "", tell)}, "today about", nil},
		{[]Finding{asks("A", rule.Today, nil, "", tell), asks("B", rule.Today, at(4, 14), "", tell)}, "today about", at(4, 14)},
		{[]Finding{asks("A", rule.Plan, at(6, 12), "", tellToday)}, "today about", nil}, // the visit is on Friday, the call is not
		{[]Finding{asks("A", rule.Plan, at(6, 12), "", tell)}, "by Fri 6 Mar about", at(6, 12)},
		{[]Finding{asks("A", rule.Plan, at(4, 16), "", tell)}, "today about", at(4, 16)},
		{[]Finding{asks("A", rule.Plan, at(2, 12), "", tell)}, "surgeon about", at(2, 12)},
		{[]Finding{asks("A", rule.Plan, nil, "", tell)}, "by the next visit about", nil},
		{[]Finding{asks("A", rule.ActNow, at(4, 8), "", tell), asks("B", rule.ActNow, nil, "", tell)}, "now about", at(4, 8)},
		{[]Finding{asks("A", rule.ActNow, at(4, 18), "", tell), asks("B", rule.ActNow, nil, "", tell)}, "now about", nil},
	} {
		plan := planned(x.list...)
		if len(plan) != 1 || !strings.Contains(plan[0].Do, x.say) || (plan[0].Due == nil) != (x.due == nil) || x.due != nil && !plan[0].Due.Equal(*x.due) {
			t.Errorf("%s: %+v", x.say, plan)
		}
	}
}

// TestPlanLeadsToForms: a step leads to the forms that answer it, also what cannot be told.
func TestPlanLeadsToForms(t *testing.T) {
	unknown := Finding{Rule: "B", Level: rule.Today, Headline: "Cannot tell.", Missing: []string{"screening", "date of birth"}, missing: []string{"screen.done_at", "person.age_y"}, acts: []rule.Act{{Do: "ask", Level: rule.Today}}}
	s := planned(asks("A", rule.Today, nil, "", do("ask", "canister")), unknown)[0]
	if !slices.Equal(s.Forms, []string{"canister.read", "screening.done", "person.registered"}) {
		t.Errorf("%q: %q", s.Do, s.Forms)
	}
	for _, term := range rule.Vocabulary {
		if rule.Plans().FormFor(term.Name) == "" {
			t.Errorf("nothing says where %s is answered", term.Name)
		}
	}
}
