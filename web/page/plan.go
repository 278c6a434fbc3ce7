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
	// List is what to do where the sentence says many things, and Before what stands before them.
	Before string
	List   []string
	// Answers lead to the forms.
	Answers []Link
	Waits   []string
	// Why are the findings behind it, each leading to its text.
	Why []Link
	// WhyWords heads the findings; Open shows them at once.
	WhyWords string
	Open     bool
}

// mostAnswers is how many forms a step leads to.
const mostAnswers = 3

// answerWords are the buttons of the forms that steps lead to most; of the others the kind of entry is the word.
var answerWords = map[string]string{
	string(casebook.KindNoteWritten):     "Write down what was seen, done and told",
	string(casebook.KindDressingChanged): "Write a visit",
	string(casebook.KindPowerNoted):      "Write down what the pump does",
	string(casebook.KindWoundMeasured):   "Write down a size",
	string(casebook.KindPhotoTaken):      "Take a photo",
	string(casebook.KindLogImported):     "Bring in the pump's log",
	string(casebook.KindDecisionMade):    "Write down what was decided",
	string(casebook.KindCallTaken):       "Start or open a call",
	string(casebook.KindReviewSigned):    "Sign off",
	"asked":                              "Say which is right",
	"log":                                "Correct an entry in the Log",
	"stores":                             "Open Stores",
}

// answerOf leads to a form: a kind of entry, or asked, log or stores.
func answerOf(id, form string) Link {
	l := Link{KindPath(id, casebook.Kind(form)), answerWords[form]}
	switch form {
	case "asked", "log":
		l.Href = CasePath(id, form)
	case "stores":
		l.Href = "/stores"
	}
	if l.Words == "" {
		l.Words = "Write down: " + casebook.Find(casebook.Kind(form)).Title
	}
	return l
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
	v := StepView{Title: s.Title(), Do: s.Do, Waits: s.Waits, WhyWords: "Why (" + countWords(len(s.Because), "finding", "findings") + ")", Open: s.Level == rule.ActNow || len(s.Because) <= 2}
	v.Before, v.List = s.List()
	if due := s.DueApart(k.Zone); due != nil { // without a time the sentence or the level says when
		v.Due = k.Due(s.Level, due)
	}
	for i, form := range s.Forms {
		if i < mostAnswers {
			v.Answers = append(v.Answers, answerOf(r.Case, form))
		}
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
