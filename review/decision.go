package review

import (
	"strings"

	"lowtide/casebook"
	"lowtide/rule"
	"lowtide/state"
)

func orWords(s, other string) string {
	if strings.TrimSpace(s) == "" {
		return other
	}
	return s
}

// questions lists what could be changed first, each with what the record says about it.
func questions(s *state.State, f *rule.Facts) []Question {
	c := s.Case
	say := func(terms ...string) string {
		var out []string
		for _, t := range terms {
			if v := f.Known(t); v != nil {
				out = append(out, recordWords(t, v))
				continue
			}
			for _, p := range s.Pumps {
				v := f.Pump(p.Name).Known(t)
				switch {
				case v != nil && p.Name != "":
					out = append(out, recordWords(t, v)+", pump "+p.Name)
				case v != nil:
					out = append(out, recordWords(t, v))
				}
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
