package rule

import (
	"strings"
	"time"

	"lowtide/rule/value"
)

// Outcome is the answer of one rule for a case, or for one of its wounds or canisters.
type Outcome struct {
	Rule *Rule
	// Wound is the name that the wound has in the facts, Pump that of the canister's pump; both are empty in case scope.
	Wound, Pump string
	State       State
	// Until is the next instant at which the state or what it rests on changes if no fact does; zero means never.
	Until time.Time

	facts   *Facts
	edition *edition
	at      time.Time
	reasons uint64 // leaves of when that make the state what it is
}

// UsedTerm is a term that an outcome rests on.
type UsedTerm struct {
	Name string `json:"name"`
	// Words says what the term means, Value is printed with its unit, Entries are where it comes from.
	Words   string   `json:"words"`
	Value   string   `json:"value"`
	Entries []string `json:"entries,omitempty"`
}

// Level returns the level of the finding: that of the rule for yes, that of "cannot tell" for that, else "".
func (o *Outcome) Level() Level {
	switch o.State {
	case Yes:
		return o.Rule.Level
	case CannotTell:
		if o.Rule.UnknownLevel == "" {
			return o.Rule.Level
		}
		return o.Rule.UnknownLevel
	}
	return ""
}

// Headline prints the sentence of the finding; empty unless the state is yes or cannot tell.
func (o *Outcome) Headline() string {
	switch {
	case o.State == Yes:
		return o.edition.headline.print(o.facts, o.edition)
	case o.State == CannotTell && len(o.edition.cannotTell) > 0:
		return o.edition.cannotTell.print(o.facts, o.edition)
	case o.State == CannotTell:
		return "Cannot tell: " + o.Rule.Title + "."
	}
	return ""
}

// Do prints the next step; for "cannot tell" that is to find out what is missing.
func (o *Outcome) Do() string {
	switch {
	case o.State == Yes:
		return o.edition.do.print(o.facts, o.edition)
	case o.State == CannotTell:
		return "Find out and record: " + o.missingWords() + "."
	}
	return ""
}

// Clears prints what makes the finding go away.
func (o *Outcome) Clears() string {
	switch {
	case o.State == Yes:
		return o.edition.clears.print(o.facts, o.edition)
	case o.State == CannotTell:
		return "This is recorded: " + o.missingWords() + "."
	}
	return ""
}

func (o *Outcome) missingWords() string {
	var words []string
	for _, t := range o.Missing() {
		if rank(words, t.Words) == len(words) {
			words = append(words, t.Words)
		}
	}
	return strings.Join(words, "; ")
}

// Due returns when the step is due, or nil when the rule names no time or it is not known.
func (o *Outcome) Due() *time.Time {
	if o.State != Yes || o.edition.due == nil {
		return nil
	}
	d := o.edition.due
	t, ok := o.facts.at(d.term).value.(time.Time)
	if !ok {
		return nil
	}
	h := d.hours
	if d.span >= 0 {
		x, ok := o.facts.at(d.span).value.(float64)
		if h = x * d.unitH; !ok || !(h <= value.MaxHours && h >= -value.MaxHours) {
			return nil
		}
	}
	t = t.Add(value.Span(d.sign * h))
	return &t
}

// Values returns the named values in force, in the order of the rule.
func (o *Outcome) Values() []Value {
	if o.edition == nil {
		return nil
	}
	out := make([]Value, len(o.Rule.Values))
	for i, v := range o.Rule.Values {
		if v.Local && o.at.Before(v.Change.From) {
			v.Value, v.Original, v.Local, v.Change = v.Original, nil, false, nil
		}
		out[i] = v
	}
	return out
}

// Missing returns, for "cannot tell", the unknown terms that could settle the answer.
func (o *Outcome) Missing() []Term {
	if o.State != CannotTell {
		return nil
	}
	var out []Term
	for _, i := range o.terms(o.reasons) {
		if o.facts.at(i).value == nil {
			out = append(out, Vocabulary[i])
		}
	}
	return out
}

// Used returns the known terms that the outcome rests on: for yes those of the conditions that hold and those that
// the headline shows; for no and cannot tell all that were looked at.
func (o *Outcome) Used() []UsedTerm {
	if o.State == NotAsked {
		return nil
	}
	set, headline := ^uint64(0), o.edition.cannotTell
	if o.State == Yes {
		set, headline = o.reasons, o.edition.headline
	}
	list := o.terms(set)
	if o.State != No {
		for _, p := range headline {
			if p.term >= 0 && p.value == "" {
				list = merge(list, []int{p.term})
			}
		}
	}
	var out []UsedTerm
	for _, i := range list {
		if f := o.facts.at(i); f.value != nil {
			t := Vocabulary[i]
			out = append(out, UsedTerm{t.Name, t.Words, o.facts.printed(i), f.entries})
		}
	}
	return out
}

// terms lists the terms of a set of leaves of when, in the order of the expression.
func (o *Outcome) terms(set uint64) []int {
	var out []int
	for i, l := range o.edition.when.leaves {
		if set&(1<<i) != 0 {
			out = merge(out, l.terms)
		}
	}
	return out
}
