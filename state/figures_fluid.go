package state

import (
	"fmt"
	"time"

	"lowtide/fluid"
	"lowtide/unit"
)

// The sources of the figures of output.
const (
	proteinSource = "Hourigan 2010, Nutr Clin Pract 25:510: 2.9 g in 100 mL, 17 patients, 2.59 ± 0.6 and 2.9 ± 0.9 g"
	areaSource    = "arithmetic; for comparison Dealey 2006, J Wound Care 15:149: 1.3 g per cm² in 24 h, mean of 15 measures in 5 patients"
)

// Figures are the numbers that follow from the output now.
func (f *Fluid) Figures(asOf time.Time) []Figure {
	if !f.Read() {
		return nil
	}
	out := f.figures(asOf)
	for i := range out {
		out[i] = f.figure(out[i])
	}
	return out
}

// figure says at a figure whose canister it is about, where there are several.
func (f *Fluid) figure(g Figure) Figure {
	if f.Pump != "" {
		g.Pump, g.Name = f.Pump, g.Name+", pump "+f.Pump
	}
	return g
}

func (f *Fluid) figures(asOf time.Time) []Figure {
	var out []Figure
	q, _ := f.Rate(asOf)
	at := f.LastAt.UTC()
	span := func(k float64, digits int, u string) string {
		return fmt.Sprintf("%s %s (80 %%: %s to %s)", unit.Number(k*q.Median, digits), u, unit.Number(k*q.P10, digits), unit.Number(k*q.P90, digits))
	}
	grams := fluid.Protein(unit.Rate(1))
	out = append(out, Figure{ID: "fluid.protein", Name: "Protein lost with the fluid, estimate", Value: fluid.Protein(unit.Rate(q.Median)), Unit: "g/d", Text: span(grams, 1, "g a day"), At: &at,
		Method: "2.9 g in 100 mL times the output now; the interval is that of the output, the factor's own spread is not in it. An estimate for a dietitian, no measurement, and nothing to feed by", Source: proteinSource, Entries: f.Entries})
	if f.WoundsKnown && f.AreaCm2 > 0 {
		out = append(out, Figure{ID: "fluid.per_area", Name: "Output for the area of the wounds on the pump", Value: q.Median / f.AreaCm2, Unit: "mL/(cm2.d)", Text: span(1/f.AreaCm2, 2, "mL per cm² a day"), At: &at,
			Method: "output now over the sum of the newest areas, " + unit.Area(f.AreaCm2).String(), Source: areaSource, Entries: entriesOf(append(append([]string{}, f.Entries...), f.AreaBy...)...)})
	}
	return out
}
