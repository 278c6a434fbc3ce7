package review

import (
	"slices"
	"sort"
	"time"

	"lowtide/casebook"
	"lowtide/rule"
	"lowtide/state"
)

// Finding is one thing that a rule says about the case.
type Finding struct {
	Rule  string     `json:"rule"`
	Area  rule.Area  `json:"area"`
	Level rule.Level `json:"level"`
	// State is "yes" or "cannot tell".
	State rule.State `json:"state"`
	Wound string     `json:"wound,omitempty"`
	// Pump is the one that it is about, where the patient has several.
	Pump string `json:"pump,omitempty"`
	// Headline is one sentence with the patient's numbers in it.
	Headline string `json:"headline"`
	// Why lists what the rule looked at; Missing what it would need to know.
	Why     []Why    `json:"why"`
	Missing []string `json:"missing,omitempty"`
	// Do is the next step. For Act now it says first what to do for the patient.
	Do  string     `json:"do"`
	Due *time.Time `json:"due,omitempty"`
	// Clears says what makes the finding go away.
	Clears string `json:"clears"`
	Source string `json:"source"`
	// Local names the values that a local protocol changed; "whole rule" when it added the rule.
	Local []string `json:"local,omitempty"`
	// ByFile are the orders and signatures that it rests on which came by file and which nobody here has taken over.
	ByFile []string `json:"by_file,omitempty"`
	// Told is who was told of it, if a note says so; the finding stays until what it rests on changes.
	Told *Told `json:"told,omitempty"`

	acts    []rule.Act // what it asks for
	missing []string   // the terms whose words Missing has
}

// Key tells findings of one review apart.
func (f Finding) Key() string {
	if f.Pump != "" {
		return f.Rule + "/" + f.Wound + "/" + f.Pump
	}
	return f.Rule + "/" + f.Wound
}

// Why is one fact that a rule used.
type Why struct {
	Words   string   `json:"words"`
	Value   string   `json:"value"`
	Entries []string `json:"entries,omitempty"`
}

// Finding returns the finding with the key, or nil.
func (r *Review) Finding(key string) *Finding {
	for i := range r.Findings {
		if r.Findings[i].Key() == key {
			return &r.Findings[i]
		}
	}
	return nil
}

// findingOf says in its first words which pump it is about, where there are several.
func findingOf(c *casebook.Case, o *rule.Outcome) Finding {
	f := finding(c, o)
	if o.Pump != "" {
		f.Pump, f.Headline = o.Pump, "Pump "+o.Pump+": "+f.Headline
	}
	return f
}

// finding turns a rule's answer into a finding; c is nil for the rules about stock.
func finding(c *casebook.Case, o *rule.Outcome) Finding {
	f := Finding{Rule: o.Rule.ID, Area: o.Rule.Area, Level: o.Level(), State: o.State, Wound: o.Wound, Headline: o.Headline(),
		Do: o.Do(), Clears: o.Clears(), Source: o.Rule.Basis(), Why: []Why{}, acts: o.Acts()}
	for _, u := range o.Used() {
		f.Why = append(f.Why, Why{Words: u.Words, Value: u.Value, Entries: u.Entries})
	}
	for _, t := range o.Missing() {
		if !slices.Contains(f.Missing, t.Words) {
			f.Missing, f.missing = append(f.Missing, t.Words), append(f.missing, t.Name)
		}
	}
	for _, v := range o.Values() {
		if v.Local {
			f.Local = append(f.Local, v.Words)
		}
	}
	if o.Rule.Local {
		f.Local = append(f.Local, "whole rule")
	}
	if c != nil {
		f.byFile(c)
	}
	f.Due = due(c, f.Level, o.Due())
	if c != nil {
		f.Told = toldOf(c, f)
	}
	return f
}

// due is the rule's own time when it has one, and for Plan the next planned visit. Otherwise it is nil and the
// level says it: Act now is due at once, Today before the end of the day, Note never. No due time depends on
// the clock, so findings hold until a rule's answer changes.
func due(c *casebook.Case, level rule.Level, own *time.Time) *time.Time {
	if own == nil && level == rule.Plan && c != nil {
		if next, _, ok := state.NextVisit(c); ok {
			own = &next
		}
	}
	if own == nil {
		return nil
	}
	t := own.UTC()
	return &t
}

// SortFindings orders by level, due time (none first for Act now, last otherwise), area (danger signs first),
// rule, wound.
func SortFindings(list []Finding) {
	sort.SliceStable(list, func(i, j int) bool {
		a, b := list[i], list[j]
		if x, y := a.Level.Rank(), b.Level.Rank(); x != y {
			return x < y
		}
		if (a.Due == nil) != (b.Due == nil) {
			return (a.Due == nil) == (a.Level == rule.ActNow)
		}
		if a.Due != nil && !a.Due.Equal(*b.Due) {
			return a.Due.Before(*b.Due)
		}
		if x, y := a.Area.Rank(), b.Area.Rank(); x != y {
			return x < y
		}
		if a.Rule != b.Rule {
			return a.Rule < b.Rule
		}
		if a.Wound != b.Wound {
			return a.Wound < b.Wound
		}
		return a.Pump < b.Pump
	})
}

// byFile marks a finding that rests on an order or a signature which only a file says: wherever the finding is shown, it
// says so, until somebody who may write such an entry takes it over.
func (f *Finding) byFile(c *casebook.Case) {
	for _, w := range f.Why {
		for _, id := range w.Entries {
			l := c.Line(id)
			if l == nil || !l.Entry.Came.Claimed() || slices.Contains(f.ByFile, id) {
				continue
			}
			switch l.Entry.Kind {
			case casebook.KindOrderWritten, casebook.KindOrderStopped, casebook.KindReviewSigned:
				f.ByFile = append(f.ByFile, id)
			}
		}
	}
	if len(f.ByFile) == 0 {
		return
	}
	came := c.Line(f.ByFile[0]).Entry.Came
	f.Headline += " (By file: nobody here has taken it over.)"
	f.Why = append(f.Why, Why{Words: "what only the file " + came.File + " says", Value: "brought by " + came.By + "; compare it with the prescriber's own, then take it over in the log", Entries: f.ByFile})
}
