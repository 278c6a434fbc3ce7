package page

import (
	"net/url"

	"lowtide/casebook"
	"lowtide/review"
	"lowtide/state"
	"lowtide/unit"
)

// DecisionPage is what is put before the prescriber, and the form of what is decided.
type DecisionPage struct {
	FormPage
	// State is where the therapy stands, Last the newest decision and Due when the next one is due.
	State, Last, Due string
	LastEntry        Link
	Order            OrderView
	Accepted         []string
	Delivered        []KnownView
	Wounds           []DecisionWound
	Criteria         []CriterionView
	Questions        []review.Question
	// May tells whether the person may write a decision; the form is left out otherwise.
	May bool
}

// KnownView is something that the record says.
type KnownView struct {
	Words, Value string
	Entries      []Link
}

// DecisionWound is how one wound answered.
type DecisionWound struct {
	Title, Href, Plain string
	Parts              []Part
}

// CriterionView is a reason to decide.
type CriterionView struct{ Words, Holds, Why, Rule, RuleHref, Source string }

// NewDecision builds the page with the empty form of a decision.
func NewDecision(frame Frame, c *casebook.Case, r *review.Review, d *review.Decision, in FormInput, may bool) DecisionPage {
	k := in.Clock
	p := DecisionPage{FormPage: NewEntryForm(frame, casebook.KindDecisionMade, in), State: therapyState(r, k), Order: orderView(c, r, k), May: may}
	p.Frame.Case, p.Frame.Person = c.ID, r.Person.Name
	p.Heading, p.Submit = "Decision", "Save the decision"
	p.Last = "No decision is recorded."
	if n := len(c.Decisions); n > 0 {
		last := c.Decisions[n-1]
		p.Last = "Last decided: " + last.Body.Choice + ", by " + last.Body.By + ", " + k.At(last.At) + "."
		p.LastEntry = Link{LogPath(c.ID, last.ID), "The entry"}
	}
	p.Due = DecisionDueWords(c, k)
	if o := c.Order(); o != nil {
		for _, id := range o.Body.AcceptsRisks {
			if q, ok := casebook.FindQuestion(id); ok {
				p.Accepted = append(p.Accepted, q.Words)
			}
		}
	}
	for _, x := range d.Delivered {
		p.Delivered = append(p.Delivered, KnownView{x.Words, x.Value, entryLinks(c, x.Entries, k)})
	}
	for _, x := range d.Criteria {
		v := CriterionView{Words: x.Words, Holds: string(x.Holds), Why: x.Why, Rule: x.Rule, Source: x.Source}
		if x.Wound != "" {
			v.Words += ", wound " + x.Wound
		}
		if x.Rule != "" {
			v.RuleHref = RulePath(x.Rule)
		}
		p.Criteria = append(p.Criteria, v)
	}
	for _, h := range d.Healing {
		w := DecisionWound{Title: "Wound " + h.Wound, Href: WoundPath(c.ID, h.Wound), Plain: h.Plain(k.Now)}
		if h.Told(k.Now) {
			w.Parts = append(w.Parts, Part{"Chance that it is not improving", unit.Chance(*h.NotImproving)}, Part{"Chance that one of its sizes is growing", unit.Chance(*h.Growing)})
		} else {
			w.Parts = append(w.Parts, Part{"Improving or not", "cannot tell"})
		}
		for _, f := range h.Forecasts(k.Now) {
			w.Parts = append(w.Parts, Part{f.Name, f.Text})
		}
		p.Wounds = append(p.Wounds, w)
	}
	p.Questions = d.Questions
	return p
}

// DecisionDueWords says when the next decision is due; empty when no decision says so or therapy ended.
func DecisionDueWords(c *casebook.Case, k Clock) string {
	at, _, ok := state.DecisionDue(c)
	switch {
	case !ok || c.Ended != nil:
		return ""
	case at.Before(k.Now):
		return "The next decision was due by " + k.At(at) + "."
	}
	return "The next decision is due by " + k.At(at) + "."
}

func query(s string) string { return url.QueryEscape(s) }
