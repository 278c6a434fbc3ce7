package report

import (
	"fmt"
	"time"

	"lowtide/state"
	"lowtide/unit"
)

// PayerMonth is the month's summary for whoever pays: what is missing first, then what the policy asks for. ok is false
// when no payer is noted or the rule set has no such policy.
func PayerMonth(in Input) (p *Paper, ok bool) {
	now := in.Review.AsOf
	s := in.state().Payer
	if s == nil || s.Policy == nil {
		return nil, false
	}
	p = in.start("payer-month", "Summary of the month for the payer")
	p.Pages = 2
	p.add(Para{Strong: true, Text: s.Policy.Name + ". " + state.PayerVerify})
	day := func(t time.Time) string {
		if t.IsZero() {
			return "not known"
		}
		return t.Format("2 Jan 2006")
	}
	p.add(Heading{"Missing"})
	if missing := payerMissing(s, now); missing != nil {
		p.add(List{Items: missing, Boxes: true})
	} else {
		p.add(Para{Text: "Nothing that this policy asks for is missing by the record. Whether the payer agrees nobody can tell from here."})
	}
	p.add(Heading{"The clock"})
	if !s.StartKnown {
		p.add(Para{Text: "Cannot tell: the start of therapy is not known."})
	} else {
		p.dense(Pair{"Counted from", day(s.Clock.Start) + " (" + s.StartWords + ")"}, Pair{"Day", fmt.Sprint(s.Clock.Day)},
			Pair{"The payer's month", day(s.Clock.Month.From) + " to " + day(s.Clock.Month.To.AddDate(0, 0, -1))}, Pair{"Calendar month", s.Clock.Calendar.From.Format("January 2006")},
			Pair{"End", s.EndWords()})
	}
	p.order(in)
	p.add(Heading{"Sizes in the month, and what was used"})
	g := Grid{Head: []string{"Wound", "Last measured", "Measure again by", "Progress", "Kits used", "Limit"}, Shares: []float64{1.4, 2, 2, 4, 1.4, 1.2}}
	for _, w := range s.Wounds {
		progress := "cannot tell"
		if w.Progress.Known {
			progress = "no measurable healing"
			if w.Progress.Better {
				progress = "measurable healing"
			}
		}
		limit := "none"
		if w.Kits.Limit > 0 {
			limit = unit.Number(w.Kits.Limit, 0)
		}
		g.Rows = append(g.Rows, []string{w.Wound, day(w.MeasuredAt), day(w.MeasureBy), progress, fmt.Sprint(w.Kits.Used()), limit})
	}
	if g.Rows != nil {
		p.add(g)
	}
	for i := range in.state().WoundRecords() {
		p.add(Para{Text: "Wound " + in.state().WoundRecords()[i].Name + ": " + woundLine(&in.state().WoundRecords()[i]) + "."})
		p.sizes(in, &in.state().WoundRecords()[i], 5)
	}
	output := "not documented"
	if s.HighOutput != nil {
		output = unit.Number(*s.HighOutput, 0) + " mL a day at most"
	}
	limit := "none"
	if s.Canisters.Limit > 0 {
		limit = unit.Number(s.Canisters.Limit, 0)
	}
	p.dense(Pair{"Canisters used in the month", fmt.Sprint(s.Canisters.Used())}, Pair{"Limit of canisters", limit}, Pair{"Documented output", output}, Pair{"Changes of dressing on record", fmt.Sprint(len(in.state().Visits()))})
	p.add(Heading{"Criteria noted as documented"})
	var noted []string
	for _, k := range s.Documented {
		noted = append(noted, k.Words+" ("+k.Locator+")")
	}
	if noted == nil {
		noted = []string{"none"}
	}
	p.add(List{Items: noted})
	p.figures(in, "How the counts came about", "payer.")
	p.add(Sign{[]string{"Measured and assessed by", "Signature", "Date"}})
	return p, true
}

// payerMissing lists what the policy asks for and the record does not show.
func payerMissing(s *state.PayerStand, now time.Time) []string {
	var out []string
	for _, k := range s.Undocumented {
		out = append(out, k.Words+" ("+k.Locator+")")
	}
	for _, b := range s.Barred {
		out = append(out, "Ends payment, by the screening: "+b.Words)
	}
	for _, b := range s.Unasked {
		out = append(out, "The screening does not say: "+b.Words)
	}
	if !s.StartKnown {
		out = append(out, "The start of therapy")
	}
	for _, w := range s.Wounds {
		switch {
		case w.MeasuredAt.IsZero():
			out = append(out, "Wound "+w.Wound+": no measurement on record")
		case !w.MeasureBy.IsZero() && w.MeasureBy.Before(now):
			out = append(out, "Wound "+w.Wound+": a measurement was due by "+w.MeasureBy.Format("2 Jan 2006"))
		}
		if !w.Progress.Known {
			out = append(out, "Wound "+w.Wound+": two sizes of one kind that show progress or not")
		}
		if w.Kits.Limit > 0 && float64(w.Kits.Used()) > w.Kits.Limit {
			out = append(out, fmt.Sprintf("Wound %s: why more than %s kits were used", w.Wound, unit.Number(w.Kits.Limit, 0)))
		}
	}
	if u := s.Canisters; u.Limit > 0 && float64(u.Used()) > u.Limit && (s.High == nil || !*s.High) {
		out = append(out, "An output that explains more than "+unit.Number(u.Limit, 0)+" canisters")
	}
	return out
}
