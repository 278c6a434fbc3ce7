package page

import (
	"lowtide/casebook"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/wording"
)

// FindingGroup is the findings of one level.
type FindingGroup struct {
	Level, Note string
	Findings    []FindingView
}

// FindingView is a finding in full.
type FindingView struct {
	ID, Headline, Wound, Do, Due, Clears, Source, Rule, RuleHref, CannotTell string
	// DoWords heads the text of the rule: what to do is in the plan where there is one.
	DoWords string
	// Open shows the reasons at once; else they are one step away.
	Open    bool
	Why     []WhyView
	Missing []string
	Local   []string
	// Told says who was told of it; it stays all the same.
	Told string
	// ToldIn is the note that says so.
	ToldIn Link
}

// WhyView is one fact that a finding rests on, with the entries that told it.
type WhyView struct {
	Words, Value string
	Entries      []Link
}

// findingGroups sorts findings under their levels.
func findingGroups(c *casebook.Case, r *review.Review, k Clock) []FindingGroup {
	var out []FindingGroup
	for _, l := range rule.Levels {
		g := FindingGroup{Level: string(l), Note: levelNotes[l]}
		for _, f := range r.Findings {
			if f.Level == l {
				g.Findings = append(g.Findings, findingView(c, f, k))
			}
		}
		if len(g.Findings) > 0 {
			out = append(out, g)
		}
	}
	return out
}

func findingView(c *casebook.Case, f review.Finding, k Clock) FindingView {
	v := FindingView{ID: findingID(&f), Headline: f.Headline, Wound: f.Wound, Do: f.Do, DoWords: "In detail", Due: k.Due(f.Level, f.Due), Clears: f.Clears,
		Source: f.Source, Rule: f.Rule, RuleHref: RulePath(f.Rule), Missing: f.Missing, Local: f.Local,
		Open: f.Level == rule.ActNow || f.Level == rule.Today}
	if f.State == rule.CannotTell {
		v.CannotTell = "Cannot tell"
	}
	if f.Told != nil {
		v.Told = "Told " + f.Told.Who + " " + k.At(f.Told.At) + ", noted by " + f.Told.By
		v.ToldIn = Link{LogPath(c.ID, f.Told.Entry), "the note"}
	}
	for _, w := range f.Why {
		v.Why = append(v.Why, WhyView{w.Words, w.Value, entryLinks(c, w.Entries, k)})
	}
	return v
}

// maxEntryLinks is how many entries of one fact are linked; the newest come first.
const maxEntryLinks = 4

// entryLinks names entries by kind and time.
func entryLinks(c *casebook.Case, ids []string, k Clock) []Link {
	var out []Link
	for i := len(ids) - 1; i >= 0 && len(out) < maxEntryLinks; i-- {
		words := "entry"
		if l := c.Line(ids[i]); l != nil {
			words = wording.Kind(lineKind(l)) + " " + k.At(l.At)
		}
		out = append(out, Link{LogPath(c.ID, ids[i]), words})
	}
	return out
}

// lineKind is the kind of what a line tells: that of the moved entry when one moved in.
func lineKind(l *casebook.Line) casebook.Kind {
	if b, ok := l.Entry.Body.(casebook.EntryCorrected); ok && l.State == casebook.MovedIn && b.Original != nil {
		return b.Original.Kind
	}
	return l.Entry.Kind
}
