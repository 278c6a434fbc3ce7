package page

import (
	"fmt"
	"sort"
	"strings"

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
		out = append(out, Pick{to.address(), string(l), n[i], on, forms[l]})
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
		out = append(out, Pick{Href: to.address(), Words: words, Count: n[i], On: on})
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
	out := RoundsForm{Name: f.Name, Ended: f.Ended, Clear: "/"}
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
	if f.Name != "" {
		on = append(on, "name: "+f.Name)
	}
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
	out.Summary = "Days and teams"
	out.Open = len(on) > 0
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
func (f RoundsFilter) group(it *roundsItem, n int, whose bool) RoundsGroup {
	count := func(title string) string { return fmt.Sprintf("%s (%d)", title, n) }
	if f.When != "" {
		return RoundsGroup{Title: count(dayWords(Whens[1+it.group], it.clock.Clock))}
	}
	if whose {
		return RoundsGroup{Title: count(Whose[it.group])}
	}
	if it.group < len(rule.Levels) {
		l := rule.Levels[it.group]
		return RoundsGroup{Title: count(string(l)), Note: levelNotes[l]}
	}
	return RoundsGroup{Title: count("No rule asks"), Note: "That says nothing about what is not recorded."}
}
