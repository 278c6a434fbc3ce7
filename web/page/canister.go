package page

import (
	"fmt"

	"lowtide/casebook"
	"lowtide/review"
	"lowtide/rule/value"
	"lowtide/state"
)

// fluidForecasts are the forecasts of output and canister in the order of the page.
var fluidForecasts = []string{"fluid.full", "fluid.before_visit", "fluid.weekend", "fluid.canister", "fluid.rate", "fluid.collected_24h", "fluid.collected_48h", "fluid.collected_72h"}

// newestReadings is how many of the readings that a forecast rests on are linked one by one.
const newestReadings = 6

// canisterForecasts puts what is forecast of output and canister after the canister's figures.
func (p *CasePage) canisterForecasts(c *casebook.Case, r *review.Review, k Clock) {
	links := func(ids []string) []Link {
		if n := len(ids); n > newestReadings+2 {
			out := entryLinks(c, ids[n-newestReadings:], k)
			return append(out, Link{CasePath(c.ID, "log"), fmt.Sprintf("and %d earlier entries in the log", n-newestReadings)})
		}
		return entryLinks(c, ids, k)
	}
	for _, id := range fluidForecasts {
		for _, f := range r.Forecasts() {
			if f.ID != id {
				continue
			}
			p.CanisterForecasts = append(p.CanisterForecasts, FigureView{Name: f.Name, Text: f.Text, Method: f.Model, Source: "own model, docs/model/fluid.md; an interval holds the truth four times in five", Entries: links(f.Entries)})
		}
	}
	for _, id := range []string{"fluid.per_area", "fluid.protein"} {
		for _, f := range r.Figures() {
			if f.ID != id {
				continue
			}
			v := figureView(c, f, k)
			v.Entries = links(f.Entries)
			p.CanisterForecasts = append(p.CanisterForecasts, v)
		}
	}
}

// SetBleedLimit shows the service's own limit for output in an hour, or that none is set.
func (p *CasePage) SetBleedLimit(v value.Values) {
	if len(p.CanisterForecasts) == 0 {
		return
	}
	p.BleedLimit = "Output in an hour from which to look for bleeding: " + state.BleedLimitWords(v) + "."
	p.BleedRule = Link{RulePath("CAN-BLEED-01"), "Rule CAN-BLEED-01"}
}
