package state

import (
	"fmt"
	"strings"

	"lowtide/casebook"
)

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

// What the record says twice: the same thing asked in the screening, ticked for a wound, ordered, or told in a note.

// woundAnswer is the newest answer to a question for one wound: its own, or the general one.
func woundAnswer(byWound map[string]answer, wound string) answer {
	if a, ok := byWound[wound]; ok {
		return a
	}
	return byWound[""]
}

// answeredFacts sets what the screening says of one wound, and whether the order in force covers it.
func answeredFacts(c *casebook.Case, w *casebook.Wound, all map[string]map[string]answer, set Sink) {
	for _, x := range []struct{ term, question string }{
		{"wound.answered_eschar", "eschar"}, {"wound.answered_organs", "exposed_organs"},
		{"wound.answered_near", "near_structures"}, {"wound.answered_supply", "inadequate_perfusion"},
	} {
		switch a := woundAnswer(all[x.question], w.Name); a.value {
		case casebook.AnswerYes:
			set(x.term, true, a.entry)
		case casebook.AnswerNo:
			set(x.term, false, a.entry)
		}
	}
	if o := c.Order(); o != nil {
		set("wound.ordered", len(o.Body.Wounds) == 0 || contains(o.Body.Wounds, w.Name), o.ID)
	}
}

// openHardWhere says for which wounds a question that bars therapy has no answer; empty when for all of several, or for
// the only one.
func openHardWhere(c *casebook.Case, all map[string]map[string]answer) string {
	var names []string
	for _, w := range c.Wounds {
		for _, q := range casebook.Questions {
			if v := woundAnswer(all[q.ID], w.Name).value; q.Hard && v != casebook.AnswerYes && v != casebook.AnswerNo {
				names = append(names, w.Name)
				break
			}
		}
	}
	if len(names) == 0 || len(names) == len(c.Wounds) {
		return ""
	}
	return " on wound " + strings.Join(names, " and ")
}

// infection is what is known of a wound's infection: ticked when it was found, or answered in the screening.
func infection(w *casebook.Wound, byWound map[string]answer) (yes, known bool, entries []string) {
	a := woundAnswer(byWound, w.Name)
	if w.Found != nil && w.Found.Body.Infected != nil {
		yes, known, entries = *w.Found.Body.Infected, true, append(entries, w.Found.ID)
	}
	switch a.value {
	case casebook.AnswerYes:
		yes, known, entries = true, true, append(entries, a.entry)
	case casebook.AnswerNo:
		known, entries = true, append(entries, a.entry)
	}
	return yes, known, entries
}

// mixedFacts looks for an infected and a clean wound on a pump. A wound of which nobody said whether it is infected
// leaves it open.
func mixedFacts(c *casebook.Case, pump string, all map[string]map[string]answer, set Sink) {
	open := OpenPumps(c)
	var on, pumps, by []string
	for _, p := range open {
		if p.Assigned.Body.Pump == pump {
			on, pumps = append(on, p.Assigned.Body.Wounds...), append(pumps, p.Assigned.ID)
		}
	}
	if pumps == nil {
		return
	}
	var infected, clean, unknown []string
	for i := range c.Wounds {
		w := &c.Wounds[i]
		if w.Count.Known && w.Count.Total() == 0 && len(w.Changes) > 0 {
			continue // no filler in it: it hangs on no pump
		}
		// The only pump is that of every wound with filler, named for it or not.
		if len(open) > 1 && !contains(on, w.Name) {
			continue
		}
		yes, known, entries := infection(w, all["infected_wound"])
		by = append(by, entries...)
		switch {
		case !known:
			unknown = append(unknown, w.Name)
		case yes:
			infected = append(infected, w.Name)
		default:
			clean = append(clean, w.Name)
		}
	}
	switch {
	case len(infected) > 0 && len(clean) > 0:
		set("pump.mixed_words", fmt.Sprintf("wound %s is infected, wound %s is not", strings.Join(infected, " and "), strings.Join(clean, " and ")), entriesOf(append(by, pumps...)...)...)
	case len(unknown) == 0 || len(infected)+len(clean)+len(unknown) == 1:
		set("pump.mixed_words", "")
	}
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
	drugFacts(c, all, set)
	set("screen.open_hard_words", strings.Join(hard, "; "))
	set("screen.open_other", float64(len(other)))
	set("screen.open_other_words", strings.Join(other, "; "))
}

// drugFacts finds the newest text that names a drug against clotting, is newer than the screening's answer about such drugs,
// and is not answered with "not new".
func drugFacts(c *casebook.Case, all map[string]map[string]answer, set Sink) {
	asked := map[string]bool{}
	for _, a := range all["anticoagulant"] {
		if a.value == casebook.AnswerYes || a.value == casebook.AnswerNo {
			asked[a.entry] = true
		}
	}
	var words string
	var told casebook.Line
	for _, l := range c.Log {
		if asked[l.Entry.ID] {
			words = ""
		}
		text, known := "", false
		switch b := l.Now.(type) {
		case casebook.NoteWritten:
			text, known = b.Text, b.ClotDrug == "not new"
		case casebook.DressingChanged:
			text = b.Note
		}
		if name := casebook.ClotDrugIn(text); name != "" && !known {
			words, told = name, l
		}
	}
	if words != "" {
		set("note.drug_words", words, told.Entry.ID)
		set("note.drug_at", told.At, told.Entry.ID)
	} else if len(c.Notes)+len(c.Changes) > 0 {
		set("note.drug_words", "")
	}
}
