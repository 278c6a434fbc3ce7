package page

import (
	"fmt"
	"sort"
	"strings"
	"time"

	"lowtide/caseload"
	"lowtide/rule"
)

// roundsNames are the names that the filters offer.
type roundsNames struct{ nurses, teams []string }

func newNames(rows []*caseload.Row) *roundsNames {
	nurses, teams := map[string]bool{}, map[string]bool{}
	for _, r := range rows {
		nurses[r.Person.Nurse], teams[r.Person.Team] = true, true
	}
	return &roundsNames{sorted(nurses), sorted(teams)}
}

func sorted(set map[string]bool) []string {
	var out []string
	for s := range set {
		if s != "" {
			out = append(out, s)
		}
	}
	sort.Strings(out)
	return out
}

func (f RoundsFilter) levelPicks(n [5]int) []Pick {
	var out []Pick
	for i, l := range rule.Levels {
		to := f
		to.Page, to.Level = 0, l
		on := f.Level == l
		if on {
			to.Level = ""
		}
		out = append(out, Pick{to.address(), string(l), n[i], on})
	}
	return out
}

// dayWords names the days to ask for.
func dayWords(when string, k Clock) string {
	switch when {
	case "3days":
		return "Next 3 days"
	case "overdue":
		return "Overdue"
	case "today":
		return "Today"
	case "tomorrow":
		return "Tomorrow, " + k.Day(k.Start(1))
	case "after":
		return k.Day(k.Start(2))
	}
	return ""
}

func (f RoundsFilter) dayPicks(n [4]int, k Clock) []Pick {
	var out []Pick
	for i, w := range Whens[1:] {
		to := f
		to.Page, to.When = 0, w
		on := f.When == w
		if on {
			to.When = ""
		}
		words := dayWords(w, k)
		if w == "tomorrow" {
			words = "Tomorrow"
		}
		out = append(out, Pick{to.address(), words, n[i], on})
	}
	return out
}

func (f RoundsFilter) threeDays() Link {
	f.Page = 0
	if f.When == "3days" {
		f.When = ""
		return Link{f.address(), "List by level"}
	}
	f.When = "3days"
	return Link{f.address(), "The next 3 days, day by day"}
}

func (f RoundsFilter) form(n *roundsNames, k Clock) RoundsForm {
	out := RoundsForm{Ended: f.Ended, Clear: "/"}
	out.Nurse = choice("nurse", "Nurse", f.Nurse, "every nurse", n.nurses, nil)
	out.Team = choice("team", "Team", f.Team, "every team", n.teams, nil)
	out.Place = choice("place", "Place", f.Place, "every place", []string{"home", "nursing home", "ward"}, nil)
	levels := make([]string, len(rule.Levels))
	for i, l := range rule.Levels {
		levels[i] = string(l)
	}
	out.Level = choice("level", "Level", string(f.Level), "every level", levels, nil)
	out.When = choice("when", "Due or planned", f.When, "any time", Whens, func(s string) string { return dayWords(s, k) })
	var on []string
	for _, c := range []Choice{out.Nurse, out.Team, out.Place, out.Level, out.When} {
		if c.Value == "" {
			continue
		}
		words := c.Value
		if c.Name == "when" {
			words = dayWords(words, k)
		}
		on = append(on, strings.ToLower(c.Label)+": "+words)
	}
	if f.Ended {
		on = append(on, "ended cases")
	}
	out.Summary, out.Open = "Filter", len(on) > 0
	if out.Open {
		out.Summary = "Filtered by " + strings.Join(on, "; ")
	}
	return out
}

// choice makes a select; the value that is asked for is offered even when no row has it.
func choice(name, label, value, all string, options []string, words func(string) string) Choice {
	c := Choice{Name: name, Label: label, Value: value, FreeText: len(options) > maxOptions}
	if c.FreeText {
		return c
	}
	c.Options = []Option{{"", all, value == ""}}
	found := value == ""
	for _, o := range options {
		w := o
		if words != nil {
			w = words(o)
		}
		on := strings.EqualFold(o, value)
		found = found || on
		c.Options = append(c.Options, Option{o, w, on})
	}
	if !found {
		c.Options = append(c.Options, Option{value, value, true})
	}
	return c
}

// levelNotes says what a level asks for.
var levelNotes = map[rule.Level]string{
	rule.ActNow: "Harm is possible within the hour.",
	rule.Today:  "Before the end of the day.",
	rule.Plan:   "Before the next visit.",
	rule.Note:   "Good to know.",
}

// group heads a part of the list: a level, or a day.
func (f RoundsFilter) group(it *roundsItem, n int) RoundsGroup {
	count := func(title string) string { return fmt.Sprintf("%s (%d)", title, n) }
	if f.When != "" {
		return RoundsGroup{Title: count(dayWords(Whens[1+it.group], it.clock.Clock))}
	}
	if it.group < len(rule.Levels) {
		l := rule.Levels[it.group]
		return RoundsGroup{Title: count(string(l)), Note: levelNotes[l]}
	}
	return RoundsGroup{Title: count("Nothing open"), Note: "No rule asks for anything. That says nothing about what is not recorded."}
}

// row fills one patient of the page.
func (f RoundsFilter) row(it *roundsItem) RoundsRow {
	r, k := it.row, it.clock
	out := RoundsRow{Href: CasePath(r.Case), Name: r.Person.Name, Nurse: r.Person.Nurse, Next: k.Planned(r.Therapy.NextVisit), Fill: fillWords(r.Fill, k.Clock)}
	out.Where = joined(", ", r.Person.Place, r.Person.Address)
	if n := len(r.Therapy.Wounds); n > 0 {
		out.Wounds = strings.Join(r.Therapy.Wounds[:min(n, 6)], ", ")
		if n > 6 {
			out.Wounds += fmt.Sprintf(" and %d more", n-6)
		}
	}
	switch r.Therapy.State {
	case "ended":
		out.State, out.Next = "therapy ended", ""
	case "not started":
		out.State = "therapy not started"
	}
	day := -1
	if f.When != "" {
		day = it.group
	}
	var left [5]int
	rest := 0
	put := func(l rule.Level, show bool, line RoundsFinding) {
		if show && len(out.Findings) < topFindings {
			out.Findings = append(out.Findings, line)
			return
		}
		left[l.Rank()]++
		rest++
	}
	if day < 0 && len(r.Plan) > 0 {
		for _, s := range r.Plan {
			put(s.Level, f.Level == "" || s.Level == f.Level, roundsLine(s.Level, s.Do, s.Why, s.Due, k))
		}
	} else {
		for i := range r.Findings {
			fd := &r.Findings[i]
			put(fd.Level, f.passes(fd, k.findingDay(fd), day), roundsLine(fd.Level, fd.Headline, "", fd.Due, k))
		}
	}
	if rest > 0 {
		var parts []string
		for i, l := range rule.Levels {
			if left[i] > 0 {
				parts = append(parts, fmt.Sprintf("%d %s", left[i], l))
			}
		}
		out.More = "and " + strings.Join(parts, ", ")
	}
	return out
}

// headlineLetters is how much of a headline a list shows; the case page shows all of it.
const headlineLetters = 220

func roundsLine(level rule.Level, text, why string, due *time.Time, k *roundsClock) RoundsFinding {
	out := RoundsFinding{Level: string(level), Headline: shortened(text), Why: shortened(why)}
	if due != nil { // without a time the level says when
		out.Due = k.Due(level, due)
	}
	return out
}

func shortened(text string) string {
	if cut := []rune(text); len(text) > headlineLetters && len(cut) > headlineLetters {
		return string(cut[:headlineLetters]) + " … (all of it in the case)"
	}
	return text
}

func joined(sep string, parts ...string) string {
	var out []string
	for _, p := range parts {
		if strings.TrimSpace(p) != "" {
			out = append(out, p)
		}
	}
	return strings.Join(out, sep)
}
