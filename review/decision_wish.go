package review

import (
	"fmt"
	"time"

	"lowtide/casebook"
	"lowtide/rule"
	"lowtide/unit"
)

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

// payerEnds says whether the payer ends: yes from near before the day.
func payerEnds(e payerEnd, near time.Duration, asOf time.Time) Criterion {
	k := Criterion{Words: "The payer ends", Holds: rule.CannotTell, Why: "the record does not say until when the payer pays: ask", Source: common}
	if !e.Known {
		return k
	}
	k.Holds, k.Source = rule.No, e.Source
	days := unit.Number(e.At.Sub(asOf).Hours()/24, 0)
	k.Why = fmt.Sprintf("by %s it ends on %s, in %s days", e.From, e.At.Format("2 January 2006"), days)
	switch {
	case !e.At.After(asOf):
		k.Holds, k.Why = rule.Yes, fmt.Sprintf("by %s it ended on %s", e.From, e.At.Format("2 January 2006"))
	case e.At.Sub(asOf) <= near:
		k.Holds = rule.Yes
	}
	return k
}
