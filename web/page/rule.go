package page

import (
	"fmt"
	"sort"
	"strconv"

	"lowtide/rule"
)

// RulePage is one rule with everything about it.
type RulePage struct {
	Frame
	Rule       RuleShort
	Parts      []Part
	Expression []Part
	Values     []ValueView
	Terms      []Part
	Cases      []CaseView
	Source     SourceView
	// Hazards are those that the rule stands against.
	Hazards []Link
}

// ValueView is a named value with what a local protocol made of it.
type ValueView struct{ Name, Words, Value, BuiltIn, Change string }

// CaseView is an example case of a rule.
type CaseView struct{ Name, Want, Facts, Local string }

// NewRule builds the page of one rule.
func NewRule(frame Frame, r *rule.Rule) RulePage {
	p := RulePage{Frame: frame, Rule: ruleShort(r), Hazards: hazardLinks(r.ID)}
	put := func(list *[]Part, label, text string) {
		if text != "" {
			*list = append(*list, Part{label, text})
		}
	}
	put(&p.Parts, "Area", string(r.Area))
	put(&p.Parts, "Level", string(r.Level))
	if r.UnknownLevel != "" {
		put(&p.Parts, "Level when it cannot be told", string(r.UnknownLevel))
	} else {
		put(&p.Parts, "When something is missing", "this rule is not asked, or is never unknown")
	}
	put(&p.Parts, "Asked", map[rule.Scope]string{rule.ScopeCase: "once for the case", rule.ScopeWound: "for each wound", rule.ScopePump: "for each pump", rule.ScopeCanister: "for each canister"}[r.Scope])
	put(&p.Parts, "Says", r.Headline)
	put(&p.Parts, "Or says", r.CannotTell)
	put(&p.Parts, "Next step", r.Do)
	put(&p.Parts, "Cleared when", r.Clears)
	until := "until further notice"
	if !r.Until.IsZero() {
		until = "until " + r.Until.Format("2 Jan 2006")
	}
	put(&p.Parts, "In force", "from "+r.From.Format("2 Jan 2006")+" "+until)
	put(&p.Parts, "How sure", r.Sure.Words())
	put(&p.Parts, "Place in the source", r.Locator)
	put(&p.Expression, "Asked only if", r.Applies)
	put(&p.Expression, "Finding if", r.When)
	put(&p.Expression, "Due", r.Due)
	for _, v := range r.Values {
		view := ValueView{Name: v.Name, Words: v.Words, Value: v.String(), BuiltIn: v.OriginalString()}
		if v.Local {
			view.Change = fmt.Sprintf("local, from %s, by %s: %s", v.Change.From.Format("2 Jan 2006"), v.Change.By, v.Change.Reason)
		}
		p.Values = append(p.Values, view)
	}
	p.Terms = termWords(r)
	for _, c := range r.Cases {
		view := CaseView{Name: c.Name, Want: string(c.Want), Facts: factWords(c.Facts)}
		if c.Local {
			view.Local = "with the local values"
		}
		p.Cases = append(p.Cases, view)
	}
	p.Source = sourceView(r.Source(), nil)
	return p
}

// termWords says what the terms mean that the example cases and the expressions name.
func termWords(r *rule.Rule) []Part {
	named := map[string]bool{}
	for _, c := range r.Cases {
		for t := range c.Facts {
			named[t] = true
		}
	}
	var out []Part
	for _, t := range rule.Vocabulary {
		if named[t.Name] {
			words := t.Words
			if t.Unit != "" {
				words += " (" + t.Unit + ")"
			}
			out = append(out, Part{t.Name, words})
		}
	}
	return out
}

// factWords prints the facts of an example, in order of name. Times are in hours from now.
func factWords(facts map[string]any) string {
	names := make([]string, 0, len(facts))
	for n := range facts {
		names = append(names, n)
	}
	sort.Strings(names)
	types := map[string]rule.Type{}
	for _, t := range rule.Vocabulary {
		types[t.Name] = t.Type
	}
	out := ""
	for i, n := range names {
		if i > 0 {
			out += "; "
		}
		value := fmt.Sprint(facts[n])
		switch x := facts[n].(type) {
		case float64:
			value = strconv.FormatFloat(x, 'f', -1, 64)
			if types[n] == rule.Time {
				if x < 0 {
					value = strconv.FormatFloat(-x, 'f', -1, 64) + " h ago"
				} else {
					value = "in " + value + " h"
				}
			}
		case bool:
			value = map[bool]string{true: "yes", false: "no"}[x]
		case string:
			value = strconv.Quote(x)
		}
		out += n + " = " + value
	}
	if out == "" {
		return "nothing known"
	}
	return out
}
