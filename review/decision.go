package review

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/rule"
	"lowtide/rule/value"
	"lowtide/state"
	"lowtide/unit"
)

// Decision is what is put before the prescriber when the course of therapy is talked over. It recommends nothing.
type Decision struct {
	Healing []*state.Healing
	// Criteria are the goals and the reasons to stop, each with whether it holds.
	Criteria []Criterion
	// Delivered says what is known of the therapy that was given; Questions what could be changed first.
	Delivered []Known
	Questions []Question
}

// Criterion is a reason to decide. Holds is yes, no or cannot tell.
type Criterion struct {
	Words  string
	Wound  string
	Holds  rule.State
	Why    string
	Rule   string
	Source string
	// asked tells that a rule was asked and could not tell.
	asked bool
}

// Known is something that the record says or does not say.
type Known struct {
	Words, Value string
	Entries      []string
}

// Question is something that could be changed before therapy is stopped.
type Question struct{ About, Words, Record, Source string }

// Decision gathers the case for the prescriber's conversation.
func (r *Review) Decision() *Decision {
	s := r.State
	c, facts, d := s.Case, factsOf(s), &Decision{}
	for i := range c.Wounds {
		d.Healing = append(d.Healing, s.Healing(c.Wounds[i].Name))
	}
	byRule := map[string][]rule.Outcome{}
	for _, o := range r.rules.Judge(facts, s.AsOf) {
		byRule[o.Rule.ID] = append(byRule[o.Rule.ID], o)
	}
	d.Criteria = criteria(c, d.Healing, s.Payer, s.Values, byRule, s.AsOf)
	d.Delivered = delivered(s)
	d.Questions = questions(s, facts)
	return d
}

// judged says what rules answer: yes when one does, no when at least one was asked and all said no, else cannot tell.
func judged(words string, ids []string, byRule map[string][]rule.Outcome) []Criterion {
	type about struct{ wound, pump string }
	of := map[about]*Criterion{}
	var order []about
	for _, id := range ids {
		for i := range byRule[id] {
			o := &byRule[id][i]
			key := about{o.Wound, o.Pump}
			k := of[key]
			if k == nil {
				k = &Criterion{Words: words, Wound: o.Wound, Holds: rule.CannotTell, Why: "the record does not say enough for the rule to be asked", Rule: o.Rule.ID, Source: o.Rule.Basis()}
				if o.Pump != "" {
					k.Words += ", pump " + o.Pump
				}
				of[key] = k
				order = append(order, key)
			}
			switch {
			case o.State == rule.Yes && k.Holds != rule.Yes:
				k.Holds, k.Why, k.Rule, k.Source = rule.Yes, o.Headline(), o.Rule.ID, o.Rule.Basis()
			case o.State == rule.CannotTell && k.Holds != rule.Yes:
				k.Holds, k.Why, k.Rule, k.Source, k.asked = rule.CannotTell, o.Headline(), o.Rule.ID, o.Rule.Basis(), true
			case o.State == rule.No && k.Holds == rule.CannotTell && strings.HasPrefix(k.Why, "the record does not"):
				k.Holds, k.Why, k.Rule, k.Source = rule.No, usedWords(o), o.Rule.ID, o.Rule.Basis()
			}
		}
	}
	var out []Criterion
	for _, w := range order {
		out = append(out, *of[w])
	}
	return out
}

// usedWords lists what an answer of no rests on.
func usedWords(o *rule.Outcome) string {
	var out []string
	for _, u := range o.Used() {
		out = append(out, u.Words+": "+u.Value)
	}
	return strings.Join(out, "; ")
}

const common = "common practice, no published source"

func criteria(c *casebook.Case, heal []*state.Healing, stand *state.PayerStand, v value.Values, byRule map[string][]rule.Outcome, asOf time.Time) []Criterion {
	out := goals(c, heal)
	add := func(words string, ids ...string) { out = append(out, judged(words, ids, byRule)...) }
	add("Bed granulated and level with the edges", "STP-BED-01")
	out = append(out, barred(c, judged("", []string{"STP-ESCHAR-01"}, byRule), judged("", []string{"STP-PERF-01"}, byRule)))
	out = append(out, progress(heal, v, byRule, asOf)...)
	add("Output low", "STP-OUTPUT-01")
	add("Seal cannot be kept", "VIS-SEAL-02", "VIS-SEAL-01", "SUC-SEAL-01")
	add("Pain", "SGN-PAIN-01", "SGN-SCORE-01")
	out = append(out, wish(c), payerEnds(payerEndOf(stand), v.Span(value.PayerEndNear), asOf))
	add("The order has run out", "ORD-END-01")
	return out
}

// goals says for every wound under the order whether the goal is met by its size.
func goals(c *casebook.Case, heal []*state.Healing) []Criterion {
	var out []Criterion
	for _, h := range heal {
		k := Criterion{Words: "Goal met", Wound: h.Wound, Holds: rule.CannotTell, Source: "the order; size as measured", Rule: "STP-GOAL-01"}
		met, known, _ := h.GoalMet()
		switch {
		case h.Goal == nil && c.Order() == nil:
			k.Why = "no order is in force"
		case h.Goal == nil:
			k.Why = "the goal is not written as a size; the order says: " + orWords(c.Order().Body.Goal, "nothing")
		case !known:
			k.Why = h.Goal.Words + ": its size is not measured"
		case met:
			k.Holds, k.Why = rule.Yes, h.Goal.Words
		default:
			k.Holds, k.Why = rule.No, h.Goal.Words
		}
		out = append(out, k)
	}
	return out
}

func orWords(s, other string) string {
	if strings.TrimSpace(s) == "" {
		return other
	}
	return s
}

// barred tells whether a condition that bars therapy was found: no only when every such question was answered and
// nothing that was seen since says otherwise.
func barred(c *casebook.Case, since ...[]Criterion) Criterion {
	k := Criterion{Words: "Contraindication", Holds: rule.No, Why: "every question about conditions that bar therapy was answered no", Source: "FDA 2009 notice, Table 1"}
	var found, open []string
	for _, q := range casebook.Questions {
		if !q.Hard {
			continue
		}
		switch yes, known, _ := state.Screened(c, q.ID); {
		case !known:
			open = append(open, state.Lower(q.Words))
		case yes:
			found = append(found, state.Lower(q.Words))
		}
	}
	switch {
	case len(found) > 0:
		k.Holds, k.Why = rule.Yes, "answered yes: "+strings.Join(found, "; ")
	case len(open) > 0:
		k.Holds, k.Why = rule.CannotTell, fmt.Sprintf("%d questions are open: %s", len(open), strings.Join(open, "; "))
	}
	if k.Holds == rule.Yes {
		return k
	}
	for _, s := range slices.Concat(since...) {
		switch {
		case s.Holds == rule.Yes:
			s.Words, s.Wound = k.Words, ""
			return s
		case s.Holds == rule.CannotTell && s.asked:
			k.Holds, k.Why = rule.CannotTell, k.Why+"; "+state.Lower(s.Why)
		}
	}
	return k
}

// progress puts the chance of not improving in words, or what the simple comparison says.
func progress(heal []*state.Healing, v value.Values, byRule map[string][]rule.Outcome, asOf time.Time) []Criterion {
	var out []Criterion
	call := v.In(value.StallChance, "%")
	simple := judged("No measurable progress", []string{"STP-PROGRESS-01"}, byRule)
	for _, h := range heal {
		k := Criterion{Words: "No measurable progress", Wound: h.Wound, Holds: rule.CannotTell, Why: v.Fill("no sizes from two visits, or the last is older than {size_fresh}"), Rule: "STP-STALL-01", Source: "docs/model/healing.md; unchanged after two to three weeks: look again (advice of a wound expert)"}
		switch {
		case h.Told(asOf) && len(byRule["STP-STALL-01"]) > 0: // not where a local protocol switched it off
			pct := *h.NotImproving * 100
			k.Holds = rule.No
			if pct >= call {
				k.Holds = rule.Yes
			}
			k.Why = fmt.Sprintf("the chance of not improving is %s over the %s days up to %s; called from %s %%",
				unit.Chance(*h.NotImproving), unit.Number(h.WindowDays, 0), h.LastAt.Format("2 January 2006"), unit.Number(call, 0))
		default:
			for _, s := range simple {
				if s.Wound == h.Wound {
					k = s
				}
			}
		}
		out = append(out, k)
	}
	return out
}

// delivered says what is known of the therapy that was given since the order in force was written.
func delivered(s *state.State) []Known {
	c := s.Case
	var out []Known
	o := c.Order()
	from := s.AsOf
	if started, _, ok := state.Started(c); ok {
		from = started
	}
	if o != nil {
		from = o.At
	}
	changes, gaps, last := 0, 0.0, time.Time{}
	var by []string
	for _, d := range c.Changes {
		if d.At.Before(from) {
			continue
		}
		if !last.IsZero() {
			gaps = max(gaps, d.At.Sub(last).Hours())
		}
		last = d.At
		changes++
		by = append(by, d.ID)
	}
	words := fmt.Sprintf("%d since %s", changes, state.Clock(c.Zone, from))
	if gaps > 0 {
		words += fmt.Sprintf(", at most %s h apart", unit.Number(gaps, 0))
	}
	if o != nil && o.Body.ChangeEveryH != nil {
		words += fmt.Sprintf("; ordered every %s h", unit.Number(*o.Body.ChangeEveryH, 0))
	}
	out = append(out, Known{"Changes of dressing", words, by})
	if shown, v := state.Newest(c.Changes, func(d casebook.DressingChanged) *float64 { return d.SuctionMmHg }); v != nil {
		out = append(out, Known{"Suction that the pump showed last", unit.Suction(*v).String() + ", " + state.Clock(c.Zone, shown.At), []string{shown.ID}})
	} else {
		out = append(out, Known{Words: "Suction that the pump showed last", Value: "not recorded"})
	}
	switch now := s.Suction; {
	case now.Doing == state.SuctionNotKnown:
		out = append(out, Known{Words: "Whether therapy runs", Value: "not known"})
	case now.Doing.IsOff():
		out = append(out, Known{"Whether therapy runs", "off since " + state.Clock(c.Zone, now.From), now.Entries})
	default:
		out = append(out, Known{"Whether therapy runs", "on, " + state.Clock(c.Zone, now.Record.Seen), now.Entries})
	}
	alarms := []string(nil)
	for _, a := range c.Alarms {
		if !a.At.Before(from) {
			alarms = append(alarms, a.ID)
		}
	}
	out = append(out, Known{"Alarms reported", fmt.Sprintf("%d since %s", len(alarms), state.Clock(c.Zone, from)), alarms})
	return append(out, loggedKnown(s)...)
}

// questions lists what could be changed first, each with what the record says about it.
func questions(s *state.State, f *rule.Facts) []Question {
	c := s.Case
	say := func(terms ...string) string {
		var out []string
		for _, t := range terms {
			if v := f.Known(t); v != nil {
				out = append(out, recordWords(t, v))
			}
		}
		if len(out) == 0 {
			return "the record does not say"
		}
		return strings.Join(out, "; ")
	}
	infected := ofWounds(c, "infected", func(b casebook.WoundFound) *bool { return b.Infected })
	perfusion := ofWounds(c, "poor blood supply", func(b casebook.WoundFound) *bool { return b.PoorPerfusion })
	return []Question{
		{"Filler", "Does the filler reach every part of the bed, also undermining? Would another filler, or a contact layer, do less harm or drain better?", say("order.filler"), "common practice, no published source"},
		{"Pressure", "Does the suction reach the wound as ordered? Would another suction or mode be borne better?", say("order.deepest_mmHg", "pump.shown_mmHg", "path.mean_mmHg"), "WOCN 2015 bench paper: short by 13 to 31 mmHg at larger leaks"},
		{"Seal", "Is the seal good between visits, and how many hours a day does suction really run?", say("visit.seal", "therapy.off_h", "seal.words"), "Royal Marsden Manual, ch. 18: off for no more than 2 h"},
		{"Off-loading", "Is the wound free of pressure at every hour, in bed, chair and shoe?", say("person.mobility"), "IWGDF 2023, from memory"},
		{"Infection", "Are there signs of infection in the wound, and was bone looked at?", infected, "Woo and Sibbald 2009 (Ostomy Wound Manage 55(8):40): any three signs"},
		{"Nutrition", "Was nutrition screened, and is the protein lost with the fluid replaced?", outputs(s, f), "Hourigan 2010: about 29 g of protein a litre; NPIAP 2019, from memory"},
		{"Blood supply", "Was the blood supply measured since the wound stopped closing?", perfusion, "common practice, no published source"},
		{"Dead tissue or a piece left behind", "Is there dead tissue to take away, and does the filler count add up?", countWords(c), "Wounds 2014;26(7):E53"},
	}
}

// outputs is what was collected a day in each canister.
func outputs(s *state.State, f *rule.Facts) string {
	var out []string
	for _, k := range s.Canisters {
		if v := f.Canister(k.Pump).Known("canister.output_mL_d"); v != nil {
			words := recordWords("canister.output_mL_d", v)
			if k.Pump != "" {
				words += ", pump " + k.Pump
			}
			out = append(out, words)
		}
	}
	return orWords(strings.Join(out, "; "), "the record does not say")
}

// ofWounds says an answer wound by wound.
func ofWounds(c *casebook.Case, what string, of func(casebook.WoundFound) *bool) string {
	var out []string
	for _, w := range c.Wounds {
		answer := "not answered"
		if w.Found != nil {
			if v := of(w.Found.Body); v != nil {
				answer = yesNo(*v)
			}
		}
		out = append(out, "wound "+w.Name+", "+what+": "+answer)
	}
	return orWords(strings.Join(out, "; "), "the record does not say")
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

func countWords(c *casebook.Case) string {
	for _, w := range c.Wounds {
		if w.Count.Open() {
			return "the filler count of wound " + w.Name + " does not add up"
		}
	}
	return "the filler counts that were made add up"
}

// recordWords prints a fact with its words.
func recordWords(term string, v any) string {
	for _, t := range rule.Vocabulary {
		if t.Name != term {
			continue
		}
		switch x := v.(type) {
		case float64:
			return t.Words + ": " + strings.TrimSpace(unit.Number(x, 1)+" "+t.Unit)
		case bool:
			return t.Words + ": " + yesNo(x)
		}
		return t.Words + ": " + fmt.Sprint(v)
	}
	return fmt.Sprint(v)
}
