package report

import (
	"fmt"
	"slices"
	"strings"

	"lowtide/casebook"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/unit"
	"lowtide/wording"
)

// noFinding is what stands where no finding is.
const noFinding = "No rule has a finding of this level. That is no proof that all is well."

// plan lists the steps of some levels under their level: what to do, until when, why, and what waits. most bounds the
// list, 0 is all; what is left out is counted.
func (p *Paper) plan(in Input, title string, most int, levels ...rule.Level) {
	p.add(Heading{title})
	points := in.steps(levels...)
	if points == nil {
		p.add(Para{Text: noFinding})
		return
	}
	left := 0
	if most > 0 && len(points) > most {
		points, left = points[:most], len(points)-most
	}
	p.add(Points{points})
	if left > 0 {
		p.add(Para{Text: fmt.Sprintf("And %d more, in the record.", left)})
	}
}

// steps are the steps of the plan of some levels, each with the headlines of its findings. A headline is printed with
// the first step that rests on it.
func (in Input) steps(levels ...rule.Level) []Point {
	var out []Point
	said := map[string]bool{}
	for _, s := range in.Review.Plan {
		if !slices.Contains(levels, s.Level) {
			continue
		}
		q := Point{Group: string(s.Level), Lead: s.Do}
		if due := s.DueApart(in.state().Zone()); due != nil {
			q.Lead += " Due " + in.clock(*due) + "."
		}
		var why []string
		for _, key := range s.Because {
			if f := in.Review.Finding(key); f != nil && !said[key] {
				said[key] = true
				why = append(why, in.headline(f))
			}
		}
		q.Text = strings.Join(append(why, s.Waits...), " ")
		out = append(out, q)
	}
	return out
}

// headline is a finding's headline with its wound, and with who was told of it.
func (in Input) headline(f *review.Finding) string {
	what := f.Headline
	if f.Wound != "" && !strings.Contains(what, "ound "+f.Wound) {
		what = "Wound " + f.Wound + ": " + what
	}
	if f.Told != nil {
		what += " (" + f.Told.Who + " was told on " + in.clock(f.Told.At) + ".)"
	}
	return what
}

// order says what is ordered now.
func (p *Paper) order(in Input) {
	p.add(Heading{"Order"})
	o := in.state().Order()
	if o == nil {
		p.add(Para{Text: "No order is in force.", Strong: true})
		return
	}
	b := o.Body
	every := number(b.ChangeEveryH, 0, "h")
	layer := b.ContactLayer
	if layer == "" {
		layer = "the order does not say"
	}
	if o.Came.Claimed() {
		p.add(Para{Strong: true, Text: "This order is what a file says, and nobody here has taken it over: compare it with the prescriber's own before you go by it. " + wording.Came(o.Came, in.clock)})
	}
	p.dense(Pair{"Ordered by", orUnknown(b.Prescriber, "not recorded") + ", " + in.clock(o.At)}, Pair{"Stages", stages(b.Stages)}, Pair{"Filler", orUnknown(b.Filler, "the order does not say")},
		Pair{"Contact layer", layer}, Pair{"Change every", orUnknown(every, "the order does not say")}, Pair{"Goal", b.Goal}, Pair{"For", number(b.DurationDays, 0, "days")},
		Pair{"Risks confirmed in writing", wording.Risks(b.AcceptsRisks)}, Pair{"Note", b.Note})
}

// figures lists figures of the review by the start of their ID.
func (p *Paper) figures(in Input, caption string, prefixes ...string) {
	g := Grid{Caption: caption, Head: []string{"Figure", "Value", "How it came about"}, Shares: []float64{3, 3, 5}}
	for _, f := range in.Review.Figures() {
		if !hasPrefix(f.ID, prefixes...) {
			continue
		}
		name := f.Name
		if f.Wound != "" {
			name = "Wound " + f.Wound + ": " + name
		}
		how := f.Method
		if f.Source != "" {
			how += " (" + f.Source + ")"
		}
		g.Rows = append(g.Rows, []string{name, f.Text, how})
	}
	if g.Rows != nil {
		p.add(g)
	}
}

func hasPrefix(s string, prefixes ...string) bool {
	return slices.ContainsFunc(prefixes, func(pre string) bool { return strings.HasPrefix(s, pre) })
}

// plainFigures lists figures of the review by the start of their ID, without how they came about.
func (p *Paper) plainFigures(in Input, prefixes ...string) { p.dense(in.plain("", prefixes...)...) }

func ofWound(wound, name string) string {
	if wound == "" {
		return name
	}
	return wound + ": " + name
}

// plain are the figures of one wound, or of all, by the start of their ID.
func (in Input) plain(wound string, prefixes ...string) []Pair {
	var out []Pair
	for _, f := range in.Review.Figures() {
		if hasPrefix(f.ID, prefixes...) && (f.Wound == wound || wound == "") {
			name := f.Name
			if wound == "" {
				name = ofWound(f.Wound, name)
			}
			out = append(out, Pair{name, f.Text})
		}
	}
	return out
}

// expected are the forecasts of one wound, or of none, by the start of their ID, also those that could not be made.
func (in Input) expected(wound string, prefixes ...string) []Pair {
	var out []Pair
	for _, f := range in.Review.Forecasts() {
		if f.Wound == wound && hasPrefix(f.ID, prefixes...) {
			out = append(out, Pair{"Expected: " + strings.ToLower(f.Name[:1]) + f.Name[1:], f.Text})
		}
	}
	return out
}

// forecasts lists the review's forecasts, also those that could not be made.
// With prefixes only those whose ID starts so.
func (p *Paper) forecasts(in Input, prefixes ...string) {
	g := Grid{Caption: "What is expected, four times in five", Head: []string{"What", "Expected"}, Shares: []float64{3, 8}}
	for _, f := range in.Review.Forecasts() {
		if len(prefixes) > 0 && !hasPrefix(f.ID, prefixes...) {
			continue
		}
		name := f.Name
		if f.Wound != "" {
			name = "Wound " + f.Wound + ": " + name
		}
		g.Rows = append(g.Rows, []string{name, f.Text})
	}
	if g.Rows != nil {
		p.add(g)
	}
}

// sizes is the newest sizes of a wound, newest first.
func (p *Paper) sizes(in Input, w *casebook.Wound, most int) {
	g := Grid{Caption: "Wound " + w.Name + ", newest sizes", Head: []string{"When", "Length × width", "Depth", "Area", "Method", "Bed"}, Shares: []float64{3, 2, 1.3, 1.5, 1.6, 3}}
	for i := len(w.Measured) - 1; i >= 0 && len(g.Rows) < most; i-- {
		m := w.Measured[i]
		lw := ""
		if m.Body.LengthCm != nil && m.Body.WidthCm != nil {
			lw = unit.Number(*m.Body.LengthCm, 1) + " × " + unit.Number(*m.Body.WidthCm, 1) + " cm"
		}
		bed := ""
		if t := m.Body.Tissue; t != nil {
			var parts []string
			for _, s := range []struct {
				word  string
				share float64
			}{{"granulation", t.GranulationPct}, {"slough", t.SloughPct}, {"eschar", t.EscharPct}, {"epithelium", t.EpitheliumPct}, {"other", t.OtherPct}} {
				if s.share > 0 {
					parts = append(parts, unit.Number(s.share, 0)+" % "+s.word)
				}
			}
			bed = strings.Join(parts, ", ")
		}
		g.Rows = append(g.Rows, []string{in.clock(m.At), lw, number(m.Body.DepthCm, 1, "cm"), number(m.Body.AreaCm2, 1, "cm²"), m.Body.Method, bed})
	}
	if g.Rows == nil {
		p.add(Para{Text: "Wound " + w.Name + " has no size on record."})
		return
	}
	p.add(g)
}

// woundLine says where a wound is and what is in it.
func woundLine(w *casebook.Wound) string {
	if w.Found == nil {
		return "where and of which type is not recorded"
	}
	b := w.Found.Body
	out := b.Site + ", " + b.Type
	if b.Stage != "" {
		out += ", stage " + b.Stage
	}
	if b.Since != "" {
		out += ", since " + b.Since
	}
	return out
}

// pieces says how much filler is in a wound, and what of the count does not add up.
func pieces(w *casebook.Wound) string {
	out := "not known"
	if w.Count.Known {
		out = w.Count.Words()
	}
	if !w.Count.Open() {
		return out
	}
	var open []string
	for _, m := range w.Count.Missing {
		open = append(open, fmt.Sprintf("%d %s missing", m.Count, m.Filler))
	}
	for _, m := range w.Count.Surplus {
		open = append(open, fmt.Sprintf("%d %s more than recorded", m.Count, m.Filler))
	}
	if len(w.Count.Unsure) > 0 {
		open = append(open, "a change without a count")
	}
	return out + "; the count does not add up: " + strings.Join(open, ", ")
}
