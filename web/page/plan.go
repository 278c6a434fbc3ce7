package page

import (
	"lowtide/casebook"
	"lowtide/review"
	"lowtide/rule"
)

// PlanLevel is the steps of one level.
type PlanLevel struct {
	Level, Note string
	Steps       []StepView
}

// StepView is one step of the plan with the form that answers it and the findings behind it.
type StepView struct {
	Title, Do, Due string
	// Answer leads to the form; its Href is empty when there is none.
	Answer Link
	Waits  []string
	// Why are the findings behind it, each leading to its text.
	Why []Link
	// WhyWords heads the findings; Open shows them at once.
	WhyWords string
	Open     bool
}

// answers are the forms of the steps.
var answers = map[string]struct {
	words string
	path  []string
}{
	"signs":   {"Write down what was seen and done", []string{"add", string(casebook.KindNoteWritten)}},
	"note":    {"Write down who was told", []string{"add", string(casebook.KindNoteWritten)}},
	"visit":   {"Write a visit", []string{"visit"}},
	"pump":    {"Write down what the pump does", []string{"add", string(casebook.KindPowerNoted)}},
	"measure": {"Write down a size", []string{"add", string(casebook.KindWoundMeasured)}},
	"record":  {"Write it down", []string{"visit"}},
	"asked":   {"Say which is right", []string{"asked"}},
}

// planLevels puts the steps of the plan under their levels, for a page that holds the findings, too.
func planLevels(r *review.Review, k Clock) []PlanLevel { return planOf(r, k, "", rule.Levels) }

// PressingPlan is what the plan asks for now and today, for a page on which the findings do not stand.
func PressingPlan(r *review.Review, k Clock) []PlanLevel {
	return planOf(r, k, CasePath(r.Case), []rule.Level{rule.ActNow, rule.Today})
}

// planOf shows steps of some levels; findings is the page on which their findings stand, empty for the same page.
func planOf(r *review.Review, k Clock, findings string, levels []rule.Level) []PlanLevel {
	var out []PlanLevel
	for _, l := range levels {
		g := PlanLevel{Level: string(l), Note: levelNotes[l]}
		for _, s := range r.Plan {
			if s.Level == l {
				g.Steps = append(g.Steps, stepView(r, s, k, findings))
			}
		}
		if len(g.Steps) > 0 {
			out = append(out, g)
		}
	}
	return out
}

func stepView(r *review.Review, s review.Step, k Clock, findings string) StepView {
	v := StepView{Title: s.Title(), Do: s.Do, Due: k.Due(s.Level, s.Due), Waits: s.Waits, WhyWords: "Why (" + countWords(len(s.Because), "finding", "findings") + ")", Open: s.Level == rule.ActNow || len(s.Because) <= 2}
	if a, ok := answers[s.Form()]; ok {
		v.Answer = Link{CasePath(r.Case, a.path...), a.words}
	}
	for _, key := range s.Because {
		if f := r.Finding(key); f != nil {
			v.Why = append(v.Why, Link{findings + "#" + findingID(f), f.Headline})
		}
	}
	return v
}

// findingID is the anchor of a finding on its page.
func findingID(f *review.Finding) string {
	id := "f-" + f.Rule + "-" + Anchor(f.Wound)
	if f.Pump != "" {
		id += "-" + Anchor(f.Pump)
	}
	return id
}
