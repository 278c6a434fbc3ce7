package report

import (
	"strings"

	"lowtide/chart"
	"lowtide/rule"
)

// Widths of drawings on paper. A line of a page holds chartPx; a wound's course and its outline share one.
const (
	chartPx  = 900.0
	coursePx = 560.0
)

// Progress is the progress report: the plan first, then order, delivered therapy, and each wound with its course,
// its outline and what healing says.
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
	p.plan(in, "What needs doing", 0, rule.ActNow, rule.Today)
	p.add(Para{Text: "Findings of the levels Plan and Note, and how each figure came about, stand in the case on the screen."})
	p.order(in)
	p.delivered(in)
	for i := range in.state().WoundRecords() {
		p.wound(in, i)
	}
	p.add(Sign{[]string{"Name and signature of the nurse", "Name and signature of the prescriber", "Date"}})
	return p
}

// delivered is what the therapy did and what is expected of output and canister, with the tide chart.
func (p *Paper) delivered(in Input) {
	p.add(Heading{"Delivered therapy"})
	var pairs []Pair
	for _, k := range in.Review.Decision().Delivered {
		pairs = append(pairs, Pair{k.Words, k.Value})
	}
	pairs = append(pairs, in.plain("", "therapy.", "order.", "path.wound", "log.", "canister.", "fluid.")...)
	p.dense(append(pairs, in.expected("", "fluid.rate", "fluid.full")...)...)
	tide := chart.TideOf(in.state(), 14)
	caption := "Tide chart. Below the line marked ambient: suction, ordered and as the pump showed it. Above it: canister fill and wound sizes."
	if tide.GoesOn() {
		caption += " Dashed past the newest reading: what the canister will hold if nobody changes it, and a band that holds it four times in five."
	}
	p.add(Picture{Drawings: []chart.Drawing{tide.Drawing(chartPx, "tide")}, Caption: caption})
}

// wound is a wound with its filler, its newest sizes, its course, its outline and what is expected.
func (p *Paper) wound(in Input, i int) {
	w, now, id := &in.state().WoundRecords()[i], in.Review.AsOf, string(rune('a'+i%26))
	p.add(Heading{"Wound " + w.Name + ": " + woundLine(w)})
	h := in.state().Healing(w.Name)
	p.add(Para{Text: h.Trend(now)})
	pairs := append([]Pair{{"Filler in the wound", pieces(w)}}, in.plain(w.Name, "wound.reduction", "wound.decay", "wound.advance")...)
	if len(h.Sizes) > 0 { // without a size the line above says all of it
		p.sizes(in, w, 3)
		pairs = append(pairs, in.expected(w.Name, "wound.")...)
	}
	var pic Picture
	if len(h.Sizes) > 1 {
		pic.Drawings = append(pic.Drawings, chart.Healing(in.state(), h, coursePx, "wound-"+id))
		pic.Caption = "Course of wound " + w.Name + ": sizes with bars that hold the truth four times in five, the fitted curve, and the forecast for four weeks with such a band."
	}
	if d, words, ok := in.outlinePicture(w, "outline-"+id); ok {
		pic.Drawings, pic.Caption = append(pic.Drawings, d), strings.TrimSpace(pic.Caption+" "+words)
	}
	switch len(pic.Drawings) {
	case 0:
		p.dense(pairs...)
	case 1:
		pic.Beside = pairs
		p.add(pic)
	default:
		p.add(pic)
		p.dense(pairs...)
	}
}
