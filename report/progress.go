package report

import (
	"lowtide/chart"
	"lowtide/review"
	"lowtide/rule"
)

// chartPx is the width at which charts are drawn for paper.
const chartPx = 700

// Progress is the progress report: order, delivered therapy, wounds with charts, what healing says, open findings.
func Progress(in Input) *Paper {
	p := in.start("progress", "Progress report")
	p.Pages = 2
	t := in.Review.Therapy
	started, next := "not started", "not planned"
	if t.StartedAt != nil {
		started = in.clock(*t.StartedAt)
	}
	if t.NextVisit != nil {
		next = in.clock(*t.NextVisit)
	}
	ended := ""
	if t.EndedAt != nil {
		ended = in.clock(*t.EndedAt)
	}
	p.dense(Pair{"Therapy", t.State}, Pair{"Started", started}, Pair{"Ended", ended}, Pair{"Next visit", next}, Pair{"Nurse in charge", in.Review.Person.Nurse})
	p.order(in)
	p.add(Heading{"Delivered therapy"})
	now := in.Review.AsOf
	days, ahead := chart.DaysAhead(in.Case, in.Equipment, now, 14)
	p.add(Picture{chart.TideAhead(in.Case, ahead, now, days, chartPx, "tide")})
	p.plainFigures(in, "therapy.", "order.", "path.wound", "log.", "canister.", "fluid.")
	if in.Rules != nil && in.Equipment != nil {
		d := review.DecisionOf(in.Case, in.Rules, in.Equipment, now)
		var delivered []Pair
		for _, k := range d.Delivered {
			delivered = append(delivered, Pair{k.Words, k.Value})
		}
		p.dense(delivered...)
	}
	for i := range in.Case.Wounds {
		w := &in.Case.Wounds[i]
		p.add(Heading{"Wound " + w.Name + ": " + woundLine(w)})
		h := review.HealingOf(in.Case, w, now)
		p.add(Para{Text: h.Plain(now)})
		if len(h.Sizes) > 1 {
			p.add(Picture{chart.Healing(in.Case, h, now, chartPx, "wound-"+string(rune('a'+i%26)))})
		}
		if d, ok := in.outlinePicture(w, "outline-"+string(rune('a'+i%26))); ok {
			p.add(Picture{d})
		}
		p.sizes(in, w, 3)
		p.pairs(Pair{"Filler in the wound", pieces(w)})
	}
	p.plainFigures(in, "wound.reduction", "wound.decay", "wound.advance")
	p.forecasts(in, "wound.", "fluid.rate", "fluid.full")
	p.findings(in, "Open findings", rule.ActNow, rule.Today)
	p.add(Para{Text: "Findings of the levels Plan and Note, and how each figure came about, stand in the case on the screen."})
	p.add(Sign{[]string{"Name and signature of the nurse", "Name and signature of the prescriber", "Date"}})
	return p
}
