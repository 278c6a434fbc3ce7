package state

import (
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/therapy"
)

// Sink takes the values of terms of rule.Vocabulary, with the entries that they came from. A term that is
// never set stays unknown.
type Sink func(term string, value any, entries ...string)

// setNum sets a term when the number is known.
func (set Sink) setNum(term string, v *float64, entries ...string) {
	if v != nil {
		set(term, *v, entries...)
	}
}

// setBool sets a term when the answer is known.
func (set Sink) setBool(term string, v *bool, entries ...string) {
	if v != nil {
		set(term, *v, entries...)
	}
}

// setText sets a term when the text is not empty.
func (set Sink) setText(term, v string, entries ...string) {
	if v != "" {
		set(term, v, entries...)
	}
}

// recordFacts tell what of the record itself cannot be used.
func recordFacts(c *casebook.Case, set Sink) {
	set("case.unknown_entries", float64(c.UnknownEntries))
}

func personFacts(c *casebook.Case, asOf time.Time, set Sink) {
	if c.Person == nil {
		return
	}
	p, id := c.Person.Body, c.Person.ID
	set.setText("person.place", p.Place, id)
	set.setText("person.mobility", p.Mobility, id)
	set.setNum("person.weight_kg", p.WeightKg, id)
	if born, err := time.Parse(time.DateOnly, p.Born); err == nil {
		set("person.age_y", float64(age(born, asOf.In(c.Zone))), id)
	}
	callable := false
	for _, k := range p.Contacts {
		callable = callable || strings.TrimSpace(k.Phone) != ""
	}
	set("person.has_call_number", callable, id)
}

// age counts completed years.
func age(born, at time.Time) int {
	y := at.Year() - born.Year()
	if at.Month() < born.Month() || (at.Month() == born.Month() && at.Day() < born.Day()) {
		y--
	}
	return y
}

// answer is the newest answer to a question within one scope (a wound, or "" for all).
type answer struct{ value, entry string }

// screenAnswers joins all screenings: for each question and scope the newest answer counts.
func screenAnswers(c *casebook.Case) map[string]map[string]answer {
	out := map[string]map[string]answer{}
	for _, s := range c.Screenings {
		for q, v := range s.Body.Answers {
			if out[q] == nil {
				out[q] = map[string]answer{}
			}
			if s.Body.Wound == "" {
				// A general answer replaces what was said of single wounds before.
				clear(out[q])
			}
			out[q][s.Body.Wound] = answer{v, s.ID}
		}
	}
	return out
}

// Screened gives the answer to a question for the case: yes when any wound's answer is yes, no when the answers
// cover every wound with no, otherwise not known.
func Screened(c *casebook.Case, question string) (yes, known bool, entries []string) {
	return screened(c, screenAnswers(c)[question])
}

func screened(c *casebook.Case, byWound map[string]answer) (yes, known bool, entries []string) {
	general, covered := byWound[""], len(c.Wounds) > 0
	for _, a := range byWound {
		if a.value == casebook.AnswerYes {
			yes = true
			entries = append(entries, a.entry)
		}
	}
	if yes {
		sortStrings(entries)
		return true, true, entries
	}
	for _, w := range c.Wounds {
		a, ok := byWound[w.Name]
		if !ok {
			a = general
		}
		if a.value != casebook.AnswerNo {
			covered = false
		} else if !contains(entries, a.entry) {
			entries = append(entries, a.entry)
		}
	}
	if len(c.Wounds) == 0 && general.value == casebook.AnswerNo {
		covered, entries = true, []string{general.entry}
	}
	if !covered {
		return false, false, nil
	}
	sortStrings(entries)
	return false, true, entries
}

func screenFacts(c *casebook.Case, set Sink) {
	if n := len(c.Screenings); n > 0 {
		set("screen.done_at", c.Screenings[n-1].At, c.Screenings[n-1].ID)
	}
	all := screenAnswers(c)
	var hard, other []string
	for _, q := range casebook.Questions {
		yes, known, entries := screened(c, all[q.ID])
		switch {
		case known:
			set("screen."+q.ID, yes, entries...)
		case q.Hard:
			hard = append(hard, Lower(q.Words))
		default:
			other = append(other, Lower(q.Words))
		}
	}
	set("screen.open_hard", float64(len(hard)))
	set("screen.open_hard_where", openHardWhere(c, all))
	mixedFacts(c, all, set)
	drugFacts(c, all, set)
	set("screen.open_hard_words", strings.Join(hard, "; "))
	set("screen.open_other", float64(len(other)))
	set("screen.open_other_words", strings.Join(other, "; "))
}

func orderFacts(c *casebook.Case, set Sink) {
	o := c.Order()
	set("order.exists", o != nil)
	if o == nil {
		return
	}
	b, id := o.Body, o.ID
	set("order.written_at", o.At, id)
	set.setText("order.prescriber", b.Prescriber, id)
	set.setText("order.filler", b.Filler, id)
	set.setText("order.goal", b.Goal, id)
	set.setText("order.contact_layer", b.ContactLayer, id)
	set.setNum("order.change_every_h", b.ChangeEveryH, id)
	set.setNum("order.duration_d", b.DurationDays, id)
	if b.DurationDays != nil {
		set("order.ends_at", o.At.Add(time.Duration(*b.DurationDays*24*float64(time.Hour))), id)
	}
	set("order.missing", strings.Join(OrderMissing(b), ", "), id)
	set("order.stages", float64(len(b.Stages)), id)
	if len(b.Stages) > 0 {
		shallow, deep := b.Stages[0].SuctionMmHg, b.Stages[0].SuctionMmHg
		for _, s := range b.Stages {
			shallow, deep = min(shallow, s.SuctionMmHg), max(deep, s.SuctionMmHg)
		}
		set("order.shallowest_mmHg", shallow, id)
		set("order.deepest_mmHg", deep, id)
		if off, ok := longestOff(b); ok {
			set("order.longest_off_h", off, id)
		}
		if p, ok := Program(b); ok {
			set("order.mean_mmHg", p.MeanMmHg(), id)
		}
	}
	for _, q := range casebook.Questions {
		set("order.accepts_"+q.ID, contains(b.AcceptsRisks, q.ID), id)
	}
}

// OrderMissing lists what a complete order would say and this one does not.
func OrderMissing(b casebook.OrderWritten) []string {
	var out []string
	need := func(missing bool, words string) {
		if missing {
			out = append(out, words)
		}
	}
	need(len(b.Stages) == 0, "suction")
	if len(b.Stages) > 1 {
		for _, s := range b.Stages {
			if s.HoldMin == nil {
				out = append(out, "how long each stage is held")
				break
			}
		}
	}
	need(b.Filler == "", "filler")
	need(b.ContactLayer == "", "contact layer or that there is none")
	need(b.ChangeEveryH == nil, "change interval")
	need(strings.TrimSpace(b.Goal) == "", "goal")
	need(b.DurationDays == nil, "duration")
	need(strings.TrimSpace(b.Prescriber) == "", "prescriber")
	return out
}

// Program returns the ordered stages as a program; ok is false when a hold is missing or a number cannot be
// a suction (the order rules name it).
func Program(b casebook.OrderWritten) (therapy.Program, bool) {
	var p therapy.Program
	for _, s := range b.Stages {
		hold := 60.0
		switch {
		case s.HoldMin != nil:
			hold = *s.HoldMin
		case len(b.Stages) > 1:
			return p, false
		}
		if s.SuctionMmHg < 0 {
			return p, false
		}
		p = append(p, therapy.Stage{SuctionMmHg: s.SuctionMmHg, HoldMin: hold})
	}
	return p, len(p) > 0
}

// Newest returns the last body of the list in which the field is known.
func Newest[T, V any](list []casebook.Dated[T], field func(T) *V) (casebook.Dated[T], *V) {
	for i := len(list) - 1; i >= 0; i-- {
		if v := field(list[i].Body); v != nil {
			return list[i], v
		}
	}
	return casebook.Dated[T]{}, nil
}
