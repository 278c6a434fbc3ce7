package review_test

import (
	"lowtide/casebook"
	"lowtide/rule"
)

// paid notes US Medicare from that day, with every criterion of a surgical wound documented.
func paid(start string, mod func(*casebook.PayerNoted)) casebook.PayerNoted {
	b := casebook.PayerNoted{Payer: "us-medicare", Start: start,
		Documented: []string{"initial", "A1-evaluation", "A1-moist", "A1-debridement", "A1-nutrition", "B-surgical", "order", "supervised"}}
	if mod != nil {
		mod(&b)
	}
	return b
}

func init() {
	payer := at(-2, paid("2026-02-27", nil))
	ended := casebook.TherapyEnded{Why: "goal met", By: "Dr I. Vance", Next: "plain dressing"}
	small := at(-23.8, casebook.CanisterRead{VolumeML: num(0), SizeML: num(200)})
	storyOf(
		// 10 November and 120 days is 10 March (20 to 30 November, 51, 82, 110 to 28 February), and four months are too.
		story{rule: "PAY-END-01", level: rule.Plan, tell: []step{at(-2, paid("2025-11-10", nil))}, says: []string{"US Medicare", "Tue 10 Mar 00:00", "Tue 10 Mar 2026 by both readings"}, act: []step{at(1, ended)}},
		// 22 October 2025: 120 days to 19 February, four months to 22 February.
		story{rule: "PAY-END-02", level: rule.Today, tell: []step{at(-2, paid("2025-10-22", nil))}, says: []string{"US Medicare", "Thu 19 Feb 00:00", "as days Thu 19 Feb 2026, as calendar months Sun 22 Feb 2026"}, act: []step{at(1, ended)}},
		story{rule: "PAY-TRIAL-01", level: rule.Plan, tell: []step{at(-2, paid("2026-02-20", func(p *casebook.PayerNoted) { p.Payer = "us-insurer-example" }))}, says: []string{"Fri 6 Mar 00:00"}, act: []step{at(1, paid("2026-02-20", nil))}},
		// Measured on 3 March: 30 days later is 2 April.
		story{rule: "PAY-MEASURE-01", level: rule.Plan, wound: "A", tell: []step{payer}, wait: 552 * hour, says: []string{"US Medicare", "wound A", "Thu 2 Apr 00:00"}, act: []step{at(553, measured(6, 2.5, 1.8, nil))}},
		story{rule: "PAY-MEASURE-01", level: rule.Today, state: rule.CannotTell, wound: "A", without: []casebook.Kind{casebook.KindWoundMeasured}, tell: []step{payer}, says: []string{"wound A"}, act: []step{at(1, measured(6.8, 2.9, 2.2, nil))}},
		story{rule: "PAY-PROGRESS-01", level: rule.Plan, wound: "A", tell: []step{payer, at(735, measured(7, 3, 2.4, nil))}, wait: 740 * hour, says: []string{"US Medicare", "wound A"}, act: []step{at(741, measured(6, 2.5, 1.8, nil))}},
		// Three changes so far; the next on 5 March 18:00, then every 40 h up to 28 March 24:00 are 15.
		story{rule: "PAY-KITS-01", level: rule.Plan, wound: "A", tell: []step{payer, at(-1, order(func(o *casebook.OrderWritten) { o.ChangeEveryH = num(40) }))}, says: []string{"US Medicare", "wound A has used 3 kits", "it will be 18", "the limit is 15"}, act: []step{at(1, order(nil))}},
		story{rule: "PAY-CAN-01", level: rule.Plan, tell: []step{payer, small, at(-2, casebook.CanisterRead{VolumeML: num(62), Colour: "straw"})}, says: []string{"US Medicare", "2 canisters were used", "the limit is 10"}, act: []step{at(14, casebook.CanisterRead{VolumeML: num(127), Colour: "straw"})}},
		story{rule: "PAY-CAN-01", level: rule.Plan, state: rule.CannotTell, without: []casebook.Kind{casebook.KindPumpAssigned}, tell: []step{payer}, act: []step{at(1, casebook.PumpAssigned{Pump: "P-11", Class: "portable", CanisterML: num(300), Wounds: []string{"A"}})}},
		story{rule: "PAY-DOC-01", level: rule.Plan, tell: []step{at(-2, paid("2026-02-27", func(p *casebook.PayerNoted) { p.Documented = p.Documented[:7] }))}, says: []string{"US Medicare", "a licensed professional looks at the wound"}, act: []step{at(1, paid("2026-02-27", nil))}},
		story{rule: "PAY-BAR-01", level: rule.Today, tell: []step{payer, at(-1, screened(map[string]string{"malignancy": "yes"}))}, says: []string{"US Medicare", "cancer in the wound"}, act: []step{at(1, screened(nil))}},
		story{rule: "PAY-BAR-01", level: rule.Plan, state: rule.CannotTell, without: []casebook.Kind{casebook.KindScreeningDone}, tell: []step{payer}, says: []string{"US Medicare"}, act: []step{at(1, screened(nil))}},
	)
}
