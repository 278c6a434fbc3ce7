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
	out = append(out, barred(c, judged("", []string{"STP-ESCHAR-01"}, byRule), judged("", []string{"SCR-SUPPLY-01"}, byRule)))
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
		k.Holds, k.Why = rule.CannotTell, unit.Count(len(open), "question is open: ", "questions are open: ")+strings.Join(open, "; ")
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

// wish says what the patient said last about the therapy, in a note or at a decision.
func wish(c *casebook.Case) Criterion {
	k := Criterion{Words: "The patient's wish", Holds: rule.CannotTell, Why: "nobody noted what the patient wishes: ask", Source: common}
	var said string
	var at time.Time
	newest := func(words string, when time.Time) {
		if words != "" && !when.Before(at) {
			said, at = words, when
		}
	}
	for _, n := range c.Notes {
		newest(n.Body.Wish, n.At)
	}
	for _, d := range c.Decisions {
		newest(d.Body.Wish, d.At)
	}
	if said == "" {
		return k
	}
	k.Why = fmt.Sprintf("on %s the patient wished %s", at.In(c.Zone).Format("2 January 2006"), said)
	switch said {
	case "to stop":
		k.Holds = rule.Yes
	case "to go on":
		k.Holds = rule.No
	case "not sure":
		k.Why = fmt.Sprintf("on %s the patient was not sure", at.In(c.Zone).Format("2 January 2006"))
	}
	return k
}

// payerEnd is the day from which whoever pays no longer pays, as far as the record and the payer's policy say.
type payerEnd struct {
	// Known is false when no entry says who pays, or the policy has no end.
	Known bool
	// At is the first day without payment.
	At time.Time
	// From says what it was read from, Source the policy.
	From, Source string
}

// payerEndOf reads the end from the payer's clock; s may be nil.
func payerEndOf(s *state.PayerStand) payerEnd {
	if s == nil || s.Policy == nil || !s.StartKnown || s.Clock.End.IsZero() {
		return payerEnd{}
	}
	return payerEnd{Known: true, At: s.StartOf(s.Clock.End), From: s.Policy.Name, Source: s.Policy.Source + "; " + state.PayerVerify}
}

// payerEnds says whether the payer ends: yes from near before the day.
func payerEnds(e payerEnd, near time.Duration, asOf time.Time) Criterion {
	k := Criterion{Words: "The payer ends", Holds: rule.CannotTell, Why: "the record does not say until when the payer pays: ask", Source: common}
	if !e.Known {
		return k
	}
	k.Holds, k.Source = rule.No, e.Source
	k.Why = fmt.Sprintf("by %s it ends on %s", e.From, e.At.Format("2 January 2006"))
	switch {
	case !e.At.After(asOf):
		k.Holds, k.Why = rule.Yes, fmt.Sprintf("by %s it ended on %s", e.From, e.At.Format("2 January 2006"))
	case e.At.Sub(asOf) <= near:
		k.Holds = rule.Yes
	}
	return k
}
