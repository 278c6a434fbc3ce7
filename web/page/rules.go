package page

import (
	"fmt"
	"net/url"
	"strings"

	"lowtide/rule"
)

// RulesFilter is what the address of the rulebook asks for.
type RulesFilter struct {
	Words string
	Area  rule.Area
	Level rule.Level
	// Source is the ID of a source.
	Source string
}

// RulesPage is the rulebook.
type RulesPage struct {
	Frame
	Protocol, Total string
	Words           string
	Area, Level     Choice
	Areas           []RulesArea
	Withdrawn       []RuleShort
	Sources         []SourceView
	Empty           string
	Shared          []SharedView
}

// SharedView is a number that more than one place goes by.
type SharedView struct {
	ID, Words, Value, Basis, Also, Local string
	Rules                                []Link
}

// RulesArea is the rules of one area.
type RulesArea struct {
	Title string
	ID    string
	Rules []RuleShort
}

// RuleShort is a rule in a list.
type RuleShort struct {
	ID, Href, Title, Level, CannotTell, Statement, Basis string
	// Local says what a local protocol did to the rule.
	Local []string
	State string
}

// SourceView is a source with the rules that rest on it.
type SourceView struct {
	ID, Title, By, Kind, Note, Local string
	Rules                            Link
}

// NewRules builds the rulebook.
func NewRules(frame Frame, set *rule.Set, f RulesFilter) RulesPage {
	p := RulesPage{Frame: frame, Words: f.Words, Protocol: set.Protocol}
	areas := make([]string, len(rule.Areas))
	for i, a := range rule.Areas {
		areas[i] = string(a)
	}
	levels := make([]string, len(rule.Levels))
	for i, l := range rule.Levels {
		levels[i] = string(l)
	}
	p.Area = choice("area", "Area", string(f.Area), "every area", areas, nil)
	p.Level = choice("level", "Level", string(f.Level), "every level", levels, nil)
	n := 0
	for _, a := range rule.Areas {
		list := RulesArea{Title: string(a), ID: "area-" + url.PathEscape(strings.ReplaceAll(strings.ToLower(string(a)), " ", "-"))}
		for _, r := range set.Rules() {
			if r.Area == a && f.passes(r) {
				list.Rules = append(list.Rules, ruleShort(r))
			}
		}
		if n += len(list.Rules); len(list.Rules) > 0 {
			p.Areas = append(p.Areas, list)
		}
	}
	for _, r := range set.Withdrawn() {
		if f.passes(r) {
			p.Withdrawn = append(p.Withdrawn, ruleShort(r))
		}
	}
	if n > manyRules {
		for _, a := range p.Areas {
			for i := range a.Rules {
				a.Rules[i].Basis = ""
			}
		}
	}
	p.Total = fmt.Sprintf("%d of %s", n, countWords(len(set.Rules()), "rule", "rules"))
	if n+len(p.Withdrawn) == 0 {
		p.Empty = "No rule matches."
	}
	if f == (RulesFilter{}) {
		for _, v := range set.Shared() {
			view := SharedView{ID: v.Name, Words: sentence(v.Words), Value: v.String(), Basis: v.Basis(), Also: v.Also, Local: v.LocalWords()}
			for _, r := range v.Rules() {
				view.Rules = append(view.Rules, Link{RulePath(r.ID), r.ID})
			}
			p.Shared = append(p.Shared, view)
		}
	}
	all := append(set.Rules(), set.Withdrawn()...)
	for _, s := range set.Sources() {
		p.Sources = append(p.Sources, sourceView(s, all))
	}
	return p
}

// manyRules is above how many the list leaves out what each rests on: the rule's own page has it, and a chosen area too.
const manyRules = 100

func (f RulesFilter) passes(r *rule.Rule) bool {
	if f.Source != "" && r.SourceID != f.Source {
		return false
	}
	if f.Area != "" && r.Area != f.Area || f.Level != "" && r.Level != f.Level && r.UnknownLevel != f.Level {
		return false
	}
	text := strings.ToLower(strings.Join([]string{r.ID, r.Title, r.StatementText(), r.Headline, r.Do, r.Basis()}, " "))
	for _, w := range strings.Fields(strings.ToLower(f.Words)) {
		if !strings.Contains(text, w) {
			return false
		}
	}
	return true
}

func ruleShort(r *rule.Rule) RuleShort {
	v := RuleShort{ID: r.ID, Href: RulePath(r.ID), Title: r.Title, Level: string(r.Level), CannotTell: string(r.UnknownLevel),
		Statement: r.StatementText(), Basis: r.Basis(), Local: localWords(r)}
	switch {
	case r.Withdrawn != nil:
		v.State = "Withdrawn " + r.Withdrawn.Date.Format("2 Jan 2006") + ": " + r.Withdrawn.Reason
	case r.Off != nil:
		v.State = "Switched off by the local protocol: " + r.Off.Reason + " (" + r.Off.By + ")"
	}
	return v
}

// localWords says what a local protocol did to a rule.
func localWords(r *rule.Rule) []string {
	var out []string
	if r.Local {
		out = append(out, "The whole rule comes from the local protocol.")
	}
	for _, v := range r.Values {
		if v.Local {
			out = append(out, v.LocalWords())
		}
	}
	return out
}

func sourceView(s rule.Source, rules []*rule.Rule) SourceView {
	v := SourceView{ID: s.ID, Title: s.Title, By: s.By, Kind: s.Kind, Note: s.Note}
	if s.Year != 0 {
		v.By = fmt.Sprintf("%s, %d", s.By, s.Year)
	}
	if s.Local {
		v.Local = "came with the local protocol"
	}
	n := 0
	for _, r := range rules {
		if r.SourceID == s.ID {
			n++
		}
	}
	v.Rules = Link{"/rules?source=" + url.QueryEscape(s.ID), "All rules on this source"}
	if n > 0 {
		v.Rules.Words = countWords(n, "rule rests", "rules rest") + " on it"
	}
	return v
}
