package state

import (
	"strconv"
	"strings"

	"lowtide/casebook"
)

// StartStep is one thing that belongs to the start of a therapy.
type StartStep struct {
	Name string
	// Kind is the entry that says that it is done.
	Kind casebook.Kind
	Done bool
	// Left says what is open of a step that was begun; empty otherwise.
	Left string
}

// StartOf lists what belongs to the start of a case's therapy, in the order in which it is done. It is empty once the
// therapy has ended. Common practice, no published source.
func StartOf(c *casebook.Case) []StartStep {
	if c.Ended != nil {
		return nil
	}
	screening := StartStep{Name: "Screening", Kind: casebook.KindScreeningDone}
	if len(c.Screenings) > 0 {
		open := 0
		all := screenAnswers(c)
		for _, q := range casebook.Questions {
			if _, known, _ := screened(c, all[q.ID]); q.Hard && !known {
				open++
			}
		}
		if screening.Done = open == 0; open > 0 {
			screening.Left = strconv.Itoa(open) + " open"
		}
	}
	size := StartStep{Name: "Size", Kind: casebook.KindWoundMeasured, Done: len(c.Wounds) > 0}
	var unmeasured []string
	for i := range c.Wounds {
		if len(c.Wounds[i].Measured) == 0 {
			unmeasured = append(unmeasured, c.Wounds[i].Name)
		}
	}
	if len(unmeasured) > 0 {
		if size.Done = false; len(unmeasured) < len(c.Wounds) {
			size.Left = "wound " + strings.Join(unmeasured, ", ")
		}
	}
	return []StartStep{
		screening,
		{Name: "Order", Kind: casebook.KindOrderWritten, Done: c.Order() != nil},
		{Name: "Pump", Kind: casebook.KindPumpAssigned, Done: len(OpenPumps(c)) > 0},
		{Name: "Teaching", Kind: casebook.KindTeachingGiven, Done: len(c.Teaching) > 0},
		{Name: "Numbers to call", Kind: casebook.KindPersonRegistered, Done: hasNumber(c)},
		{Name: "First visit", Kind: casebook.KindDressingChanged, Done: len(c.Changes) > 0},
		size,
	}
}

// hasNumber tells whether anybody can be called.
func hasNumber(c *casebook.Case) bool {
	if c.Person != nil {
		for _, x := range c.Person.Body.Contacts {
			if strings.TrimSpace(x.Phone) != "" {
				return true
			}
		}
	}
	return false
}

// NextStart is the first step that is open, nil when none is. A dressing is not offered while the plan has the start wait.
func NextStart(steps []StartStep, waits bool) *StartStep {
	for i := range steps {
		if s := &steps[i]; !s.Done && !(waits && s.Kind == casebook.KindDressingChanged) {
			return s
		}
	}
	return nil
}

// AnsweredBefore are the answers to questions of the screening that other entries gave already and no screening did: what
// was said of the wounds when they were found, and the program of the order.
func AnsweredBefore(c *casebook.Case) map[string]string {
	out := map[string]string{}
	asked := screenAnswers(c)
	take := func(question string, of func(casebook.WoundFound) *bool) {
		no := len(c.Wounds) > 0
		for i := range c.Wounds {
			var said *bool
			if f := c.Wounds[i].Found; f != nil {
				said = of(f.Body)
			}
			if said != nil && *said {
				out[question] = casebook.AnswerYes
				return
			}
			no = no && said != nil
		}
		if no {
			out[question] = casebook.AnswerNo
		}
	}
	take("infected_wound", func(w casebook.WoundFound) *bool { return w.Infected })
	take("inadequate_perfusion", func(w casebook.WoundFound) *bool { return w.PoorPerfusion })
	take("circumferential", func(w casebook.WoundFound) *bool {
		if w.Circumferential == nil && w.Limb != nil && !*w.Limb {
			return w.Limb // there is no limb to go round
		}
		return w.Circumferential
	})
	if o := c.Order(); o != nil && len(o.Body.Stages) > 0 {
		out["intermittent_mode"] = casebook.AnswerNo
		if len(o.Body.Stages) > 1 {
			out["intermittent_mode"] = casebook.AnswerYes
		}
	}
	for q := range out {
		if len(asked[q]) > 0 {
			delete(out, q)
		}
	}
	return out
}
