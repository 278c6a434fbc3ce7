package page

import (
	"lowtide/casebook"
)

// payers offers the payers' policies, and the criteria of the one that is noted, or of all that are no examples.
func (b *formBuilder) payers(in FormInput, prefix string) {
	if in.Rules == nil {
		return
	}
	var payers, criteria []Option
	noted := ""
	var types []string
	if in.Case != nil {
		types = woundTypes(in.Case)
		if in.Case.Payer != nil {
			noted = in.Case.Payer.Body.Payer
		}
	}
	for _, p := range in.Rules.Payers() {
		payers = append(payers, Option{Value: p.ID, Words: p.Name})
		if noted == "" && p.Example || noted != "" && noted != p.ID {
			continue
		}
		for _, c := range p.Asks(types) {
			criteria = append(criteria, Option{Value: c.ID, Words: c.Words})
		}
	}
	b.choices[prefix+"payer"], b.as[prefix+"payer"] = payers, ControlSelect
	b.choices[prefix+"documented"] = criteria
}

func woundTypes(c *casebook.Case) []string {
	var out []string
	for _, w := range c.Wounds {
		if w.Found != nil {
			out = append(out, w.Found.Body.Type)
		}
	}
	return out
}
