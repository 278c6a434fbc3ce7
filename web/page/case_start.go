package page

import (
	"slices"
	"strings"

	"lowtide/casebook"
	"lowtide/review"
	"lowtide/state"
	"lowtide/wording"
)

// StartView is the line of steps with which a therapy begins.
type StartView struct {
	// Words head the line.
	Words string
	Steps []StartItem
}

// StartItem is one step of the line: done, next, open, or waiting.
type StartItem struct{ Name, State, Href string }

// startView is the start of a therapy as the page of a case shows it: all steps up to the first visit, afterwards those that
// were left open; nil when nothing is open. The plan comes first: while it says that the start waits, the first visit does.
func startView(r *review.Review) *StartView {
	steps := state.StartOf(r.State.Case)
	waits := startWaits(r)
	next := state.NextStart(steps, waits)
	begun := r.Therapy.LastVisit != nil
	v, done := &StartView{}, 0
	for i := range steps {
		s := &steps[i]
		item := StartItem{Name: s.Name, State: "open", Href: startPath(r.Case, s.Kind)}
		switch {
		case s.Done:
			done++
			if begun {
				continue
			}
			item.State = "done"
		case s == next:
			item.State = "next"
		case waits && s.Kind == casebook.KindDressingChanged:
			item.State, item.Href = "waits", ""
		}
		if s.Left != "" {
			item.Name += " (" + s.Left + ")"
		}
		v.Steps = append(v.Steps, item)
	}
	if done == len(steps) {
		return nil
	}
	v.Words = "Starting therapy"
	if begun {
		v.Words = "Left open at the start"
	}
	return v
}

// startWaits tells whether the plan has the therapy wait.
func startWaits(r *review.Review) bool {
	return slices.ContainsFunc(r.Plan, func(s review.Step) bool {
		return slices.Contains(s.Acts, "start-waits") || slices.Contains(s.Acts, "no-start")
	})
}

// startPath is the form of a step of the start.
func startPath(id string, kind casebook.Kind) string {
	if kind == casebook.KindPersonRegistered {
		return KindPath(id, kind) + "#" + fieldID("contacts")
	}
	return KindPath(id, kind)
}

// startStep is the next step of the start as the one thing to do, where the plan has none.
func startStep(id string, next *state.StartStep) *StepView {
	return &StepView{Do: wording.StartStep(next.Kind), Answers: []Link{{startPath(id, next.Kind), strings.TrimSuffix(next.Name, " to call")}}}
}
