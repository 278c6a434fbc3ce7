package page

import (
	"fmt"
	"strings"

	"lowtide/casebook"
	"lowtide/review"
	"lowtide/rule/value"
	"lowtide/state"
)

// CaseFigures are the numbers of a case's page, by what they are about.
type CaseFigures struct {
	// Order and Wounds are those of the order and of the wounds; Canister those of the canisters, and Ahead what the readings
	// tell of output and filling; Pump is what the pressure path and the battery model tell, forecasts after figures.
	Order, Wounds, Canister, Ahead, Pump []FigureView
}

// fluidForecasts are the forecasts of output and canister in the order of the page.
var fluidForecasts = []string{"fluid.full", "fluid.before_visit", "fluid.weekend", "fluid.canister", "fluid.rate", "fluid.collected_24h", "fluid.collected_48h", "fluid.collected_72h"}

// newestReadings is how many of the readings that a forecast rests on are linked one by one.
const newestReadings = 6

func caseFigures(c *casebook.Case, r *review.Review, k Clock) (out CaseFigures) {
	put := func(to *[]FigureView, ids ...string) {
		for _, id := range ids {
			for _, f := range r.Figures() {
				if f.ID == id {
					*to = append(*to, figureView(c, f, k))
				}
			}
		}
	}
	put(&out.Order, "order.mean")
	for i := range c.Wounds {
		for _, f := range woundFigures(r, c.Wounds[i].Name) {
			v := figureView(c, f, k)
			v.Name = "Wound " + f.Wound + ", " + lowerFirst(v.Name)
			out.Wounds = append(out.Wounds, v)
		}
	}
	put(&out.Canister, "canister.full", "canister.output")
	for _, id := range fluidForecasts {
		for _, f := range r.Forecasts() {
			if f.ID == id {
				out.Ahead = append(out.Ahead, FigureView{Name: f.Name, Text: f.Text, Method: f.Model, Source: "own model, docs/model/fluid.md; an interval holds the truth four times in five", Entries: readingLinks(c, f.Entries, k)})
			}
		}
	}
	for _, id := range []string{"fluid.per_area", "fluid.protein"} {
		for _, f := range r.Figures() {
			if f.ID == id {
				v := figureView(c, f, k)
				v.Entries = readingLinks(c, f.Entries, k)
				out.Ahead = append(out.Ahead, v)
			}
		}
	}
	put(&out.Pump, "path.mean", "path.duty", "path.largest_leak", "path.head", "seal.leak")
	for _, id := range []string{"power.lasts", "power.reserve"} {
		if f, ok := r.Forecast(id, ""); ok {
			out.Pump = append(out.Pump, FigureView{Name: "Forecast: " + lowerFirst(f.Name), Text: f.Text, Method: f.Model, Source: "own model, docs/model/power.md; run time of the class: common practice, no published source", Entries: entryLinks(c, f.Entries, k)})
		}
	}
	return out
}

// woundFigures are the numbers of a wound on its case's page; those of healing are on the wound's own.
func woundFigures(r *review.Review, wound string) (out []state.Figure) {
	for _, f := range r.Figures() {
		if f.Wound == wound && f.ID != "wound.pieces" && !strings.HasPrefix(f.ID, "healing.") {
			out = append(out, f)
		}
	}
	return out
}

// readingLinks links the newest of many readings.
func readingLinks(c *casebook.Case, ids []string, k Clock) []Link {
	if n := len(ids); n > newestReadings+2 {
		out := entryLinks(c, ids[n-newestReadings:], k)
		return append(out, Link{CasePath(c.ID, "log"), fmt.Sprintf("and %d earlier entries in the log", n-newestReadings)})
	}
	return entryLinks(c, ids, k)
}

// figureParts are numbers in short: name and text.
func figureParts(list []FigureView) (out []Part) {
	for _, f := range list {
		out = append(out, Part{f.Name, f.Text})
	}
	return out
}

// whyPart is the address of the page behind a case's page, from there.
const whyPart = "?part=why"

// WhyPage is what stands behind the page of a case: the findings in full, and how each number came about.
type WhyPage struct {
	Frame
	CaseHref, AsOf string
	Plan           []PlanLevel
	Findings       []FindingGroup
	NoFindings     string
	Figures        []FigureGroup
	// BleedLimit is the service's own limit of output in an hour.
	BleedLimit string
	BleedRule  Link
}

// FigureGroup is numbers under a heading.
type FigureGroup struct {
	Title   string
	Figures []FigureView
}

// NewWhy builds the page behind the page of a case.
func NewWhy(frame Frame, c *casebook.Case, r *review.Review, v value.Values, k Clock) WhyPage {
	p := WhyPage{Frame: frame, CaseHref: CasePath(c.ID), AsOf: k.At(r.AsOf), Plan: planLevels(r, k), Findings: findingGroups(c, r, k)}
	p.Frame.Case, p.Frame.Person = c.ID, r.Person.Name
	if len(p.Findings) == 0 {
		p.NoFindings = "No rule asks for anything. That says nothing about what is not recorded."
	}
	f := caseFigures(c, r, k)
	for _, g := range []FigureGroup{{"Order", f.Order}, {"Wounds", f.Wounds}, {"Canister", f.Canister}, {"Output and canister ahead", f.Ahead}, {"Pump", f.Pump}} {
		if len(g.Figures) > 0 {
			p.Figures = append(p.Figures, g)
		}
	}
	if len(f.Ahead) > 0 {
		p.BleedLimit, p.BleedRule = "Output in an hour from which to look for bleeding: "+state.BleedLimitWords(v)+".", Link{RulePath("CAN-BLEED-01"), "Rule CAN-BLEED-01"}
	}
	return p
}
