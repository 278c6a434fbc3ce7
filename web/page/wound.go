package page

import (
	"fmt"
	"strings"

	"lowtide/casebook"
	"lowtide/chart"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
	"lowtide/unit"
)

// WoundPage is how one wound heals.
type WoundPage struct {
	Frame
	CaseHref, Name, About string
	// Plain is for the patient; it stands under the chart.
	Plain     string
	Chart     ChartView
	Ahead     ChartView
	Findings  []FindingView
	Forecasts []ForecastView
	// Progress says how likely the wound is not improving, measure by measure.
	Progress []Part
	Figures  []FigureView
	Markers  []MarkerView
	Odd      []Link
	// Notes say what was joined, left out or assumed.
	Notes  []string
	Cohort CohortView
	Links  []Link
}

// ForecastView is a forecast in words.
type ForecastView struct{ Name, Text, Model string }

// MarkerView is a published marker and how the wound stands to it.
type MarkerView struct{ Title, State, Due, Seen, Chance, Right, Source string }

// CohortView is the agency's own curve.
type CohortView struct {
	Words string
	// Chart is empty while there are too few cases.
	Chart ChartView
	// Ahead is what the rates of these cases would forecast in place of the published ones.
	Ahead []Part
}

// WoundPath is the address of a wound's page.
func WoundPath(caseID, wound string) string { return CasePath(caseID, "wound", wound) }

// NewWound builds the page of a wound. pending is how many cases were not yet read for the agency's own curve.
func NewWound(frame Frame, c *casebook.Case, w *casebook.Wound, r *review.Review, k Clock, cohort state.Cohort, rates *state.Rates, pending int) WoundPage {
	h := r.State.Course(w.Name)
	p := WoundPage{Frame: frame, CaseHref: CasePath(c.ID) + "#wounds", Name: w.Name, Plain: h.Plain(k.Now)}
	p.Frame.Case, p.Frame.Person = c.ID, r.Person.Name
	if w.Found != nil {
		p.About = joined(", ", w.Found.Body.Site, w.Found.Body.Type)
	}
	p.Chart = chartView(c.ID, chart.Healing(r.State, h, wideChartPx, "healing-wide").SVG(), chart.Healing(r.State, h, narrowChartPx, "healing-narrow").SVG(), chart.HealingTable(r.State, h))
	p.Ahead = chartView(c.ID, "", "", chart.HealingAheadTable(r.State, h))
	for _, f := range r.Findings {
		if f.Wound == w.Name && (f.Area == rule.AreaStopping || f.Rule == "REC-ODD-01" || f.Rule == "REC-METHOD-01" || strings.HasPrefix(f.Rule, "OUT-")) {
			p.Findings = append(p.Findings, findingView(c, f, k))
		}
	}
	for _, f := range h.Forecasts(k.Now) {
		p.Forecasts = append(p.Forecasts, ForecastView{f.Name, f.Text, f.Model})
	}
	for _, f := range h.Plainly() {
		p.Figures = append(p.Figures, figureView(c, f, k))
	}
	p.progress(r, h, k)
	p.markers(h, k)
	p.odd(c, h, k)
	p.notes(h)
	p.cohort(c.ID, h, cohort, pending)
	if rates != nil {
		by := r.State.HealingByRates(w.Name, rates)
		for _, f := range by.Forecasts(k.Now) {
			if f.ID == "wound.area_4wk" || f.ID == "wound.closure" {
				p.Cohort.Ahead = append(p.Cohort.Ahead, Part{f.Name + ", by the " + rates.Source, f.Text})
			}
		}
		if by.Told(k.Now) {
			p.Cohort.Ahead = append(p.Cohort.Ahead, Part{"Chance that it is not improving, by the same", unit.Chance(*by.NotImproving)})
		}
	}
	p.Links = []Link{{CasePath(c.ID, "add", string(casebook.KindWoundMeasured)) + "?wound=" + query(w.Name), "Write a measurement"}, {CasePath(c.ID, "photo") + "?wound=" + query(w.Name), "Photo and outline"}, {EdgePath(c.ID, w.Name), "Edge, two dates"}, {CasePath(c.ID, "decision"), "Decision"}}
	return p
}

func (p *WoundPage) progress(r *review.Review, h *state.Healing, k Clock) {
	put := func(label, text string) { p.Progress = append(p.Progress, Part{label, text}) }
	if !h.Told(k.Now) {
		put("Improving or not", r.State.Values.Fill("cannot tell: it takes sizes of two visits at least {progress_shortest} apart, the last of them within {size_fresh}"))
		return
	}
	put("Chance that it is not improving", unit.Chance(*h.NotImproving)+", from all sizes together")
	put("Chance that one of its sizes is growing", unit.Chance(*h.Growing))
	put("Judged over", unit.Number(h.WindowDays, 0)+" days up to "+k.At(h.LastAt))
	for _, m := range h.Progress {
		name, _ := state.MeasureWords(m.Measure)
		put(sentence(name)+" alone", fmt.Sprintf("that it fell by less than %s %%: %s", unit.Number(m.LeastFall*100, 0), unit.Chance(m.NotImproving)))
	}
}

func (p *WoundPage) markers(h *state.Healing, k Clock) {
	for _, m := range h.Milestones {
		v := MarkerView{Title: sentence(m.Title), State: m.State, Due: k.Day(m.Due), Right: m.Right, Source: m.Source, Seen: "not known", Chance: "cannot tell"}
		if m.Sure == "from memory" && !strings.Contains(v.Source, "from memory") {
			v.Source += ", from memory"
		}
		switch {
		case m.State == state.MarkerNotYetDue && m.Due.Before(k.Now):
			v.State = "due today"
		case m.State == state.MarkerNotYetDue && m.Chance != nil:
			v.Chance = unit.Chance(*m.Chance)
		case m.Met != nil:
			v.Chance = "known"
		}
		if m.Seen != nil {
			v.Seen = unit.Number(*m.Seen*100, 0) + " % gone"
			if *m.Seen < 0 {
				v.Seen = unit.Fall(*m.Seen)
			}
			if m.SeenAt != nil {
				v.Seen += " by " + k.Day(*m.SeenAt)
			}
		}
		p.Markers = append(p.Markers, v)
	}
}

func (p *WoundPage) odd(c *casebook.Case, h *state.Healing, k Clock) {
	for _, o := range h.Odd {
		name, u := state.MeasureWords(o.Measure)
		words := fmt.Sprintf("%s: %s %s %s", k.At(o.At), name, unit.Number(o.Value, 1), u)
		if o.Expected != nil {
			words += fmt.Sprintf("; its neighbours say about %s %s", unit.Number(*o.Expected, 1), u)
		}
		for _, z := range h.Sizes {
			if z.At.Equal(o.At) {
				p.Odd = append(p.Odd, Link{LogPath(c.ID, z.Entry), words + "; chance that it is wrong " + unit.Chance(o.Chance)})
				break
			}
		}
	}
}

func (p *WoundPage) notes(h *state.Healing) {
	put := func(s string) {
		if s != "" {
			p.Notes = append(p.Notes, s)
		}
	}
	put(h.Sentence)
	put(h.Mixed)
	left := map[string]int{}
	var order []string
	for _, z := range h.Sizes {
		if z.LeftOut != "" {
			if left[z.LeftOut] == 0 {
				order = append(order, z.LeftOut)
			}
			left[z.LeftOut]++
		}
	}
	for _, why := range order {
		put("Left out, " + countWords(left[why], "area", "areas") + ": " + why + ".")
	}
	for _, l := range h.LeftOut {
		put("Left out: " + l.Why + ".")
	}
	for _, n := range h.Notes {
		put(n)
	}
	put("Rates believed before the first size: " + h.Prior + ".")
}

func (p *WoundPage) cohort(id string, h *state.Healing, c state.Cohort, pending int) {
	p.Cohort.Words = c.Sentence
	if pending > 0 {
		p.Cohort.Words += " " + countWords(pending, "case was", "cases were") + " not read yet."
	}
	if len(c.Points) == 0 {
		return
	}
	table := chart.Table{Caption: "Share of the first area that was left in ended cases of this type", Header: []string{"Weeks", "Median", "Eight in ten between", "Cases"}}
	for _, x := range c.Points {
		table.Rows = append(table.Rows, chart.TableRow{Cells: []string{unit.Number(x.Weeks, 0), unit.Number(x.Left.Median*100, 0) + " %",
			unit.Number(x.Left.P10*100, 0) + " and " + unit.Number(x.Left.P90*100, 0) + " %", fmt.Sprint(x.N)}})
	}
	p.Cohort.Chart = chartView(id, chart.Cohort(c, h, wideChartPx, "cohort-wide").SVG(), chart.Cohort(c, h, narrowChartPx, "cohort-narrow").SVG(), table)
}
