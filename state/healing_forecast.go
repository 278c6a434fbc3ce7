package state

import (
	"fmt"
	"strings"
	"time"

	"lowtide/healing"
	"lowtide/rule/value"
	"lowtide/unit"
)

// The model's name as a forecast carries it.
const healingModel = "healing: nine families of curves weighed by how well they fit; docs/model/healing.md"

// aheadWeeks are how far ahead sizes are forecast.
var aheadWeeks = []int{2, 4}

// Forecasts says what is to be expected of the wound, from the instant on.
func (h *Healing) Forecasts(asOf time.Time) []Forecast {
	if h.Status == healing.Closed {
		return nil
	}
	var entries []string
	for _, z := range h.Sizes {
		if z.sized() {
			entries = append(entries, z.Entry)
		}
	}
	var out []Forecast
	add := func(f Forecast) {
		f.Wound, f.Model, f.Entries = h.Wound, healingModel, entries
		out = append(out, f)
	}
	why := h.cannotForecast(asOf)
	if why != "" {
		add(cannot(Forecast{ID: "wound.ahead", Name: "Size ahead"}, why))
		return out
	}
	for _, wk := range aheadWeeks {
		at := asOf.In(h.Sizes[0].At.Location()).AddDate(0, 0, 7*wk)
		a, ok := h.At(at)
		if !ok {
			continue
		}
		if a.Area != nil {
			add(sizeForecast(fmt.Sprintf("wound.area_%dwk", wk), fmt.Sprintf("Area in %d weeks", wk), at, *a.Area, "cm²"))
		}
		if a.Depth != nil {
			add(sizeForecast(fmt.Sprintf("wound.depth_%dwk", wk), fmt.Sprintf("Depth in %d weeks", wk), at, *a.Depth, "cm"))
		}
	}
	for _, wk := range aheadWeeks {
		at := asOf.In(h.Sizes[0].At.Location()).AddDate(0, 0, 7*wk)
		if a, ok := h.At(at); ok && a.Volume != nil {
			add(sizeForecast(fmt.Sprintf("wound.volume_%dwk", wk), fmt.Sprintf("Volume in %d weeks", wk), at, *a.Volume, "cm³"))
		}
	}
	add(h.dateForecast("wound.closure", "Closure", &h.Ahead().Closure, asOf))
	if g := h.GoalArrival(); g != nil && h.Goal.Kind != "closed" {
		add(h.dateForecast("wound.goal", "Goal: "+h.Goal.Words, g, asOf))
	}
	return out
}

// cannotForecast says why there is no forecast as of the instant.
func (h *Healing) cannotForecast(asOf time.Time) string {
	switch {
	case h.LastAt.IsZero():
		return "no size is recorded"
	case h.Status != healing.OK && h.Status != healing.OnlyDepth:
		return Lower(trimCannot(h.Sentence))
	case h.turnsAtOnce():
		return "the wound is larger than at the visit before (" + h.Grown.Words + "): another size is needed"
	case asOf.After(h.LastAt.Add(h.values.Span(value.SizeUsable))):
		return fmt.Sprintf("the last size is %d days old", int(asOf.Sub(h.LastAt).Hours()/24))
	}
	return ""
}

func trimCannot(s string) string {
	for _, head := range []string{"Cannot forecast: ", "Cannot tell: "} {
		if len(s) > len(head) && s[:len(head)] == head {
			return s[len(head):]
		}
	}
	return s
}

func sizeForecast(id, name string, at time.Time, b healing.Band, u string) Forecast {
	return Forecast{ID: id, Name: name, Median: &b.Median, Low: &b.P10, High: &b.P90, Unit: u,
		Text: fmt.Sprintf("%s %s on %s, %s", unit.Rough(b.Median, 1), u, at.Format("2 January 2006"), unit.Between(b.P10, b.P90, 1, u))}
}

// dateForecast turns days after the anchor into dates.
func (h *Healing) dateForecast(id, name string, a *healing.Arrival, asOf time.Time) Forecast {
	f := Forecast{ID: id, Name: name, Unit: "d"}
	if a.MedianDays == nil {
		return cannot(f, strings.TrimPrefix(a.Basis, "cannot tell: "))
	}
	zone := h.Sizes[0].At.Location()
	days := func(x float64) *float64 { d := addDays(h.Anchor, x).Sub(asOf).Hours() / 24; return &d }
	f.Median, f.Low, f.High = days(*a.MedianDays), days(*a.P10Days), days(*a.P90Days)
	day := func(x float64) string { return Expected(zone, addDays(h.Anchor, x), asOf) }
	from := asOf.UTC()
	f.From = &from
	f.Text = fmt.Sprintf("about %s, %s between %s and %s, if it comes within a year; the chance of that is %s",
		day(*a.MedianDays), unit.HowSure, day(*a.P10Days), day(*a.P90Days), unit.Chance(*a.Chance))
	return f
}

// GoalArrival is when the goal may be met; nil when there is no goal or none can be told.
func (h *Healing) GoalArrival() *healing.Arrival {
	switch {
	case h.Goal == nil || h.Status == healing.Closed:
		return nil
	case h.Goal.Kind != "closed" && len(h.input.Goals) == 0:
		return nil
	}
	return healingGoals.Of(h.input)
}

// At forecasts sizes at an instant between Anchor and the end of the grid; ok is false elsewhere.
func (h *Healing) At(t time.Time) (healing.Ahead, bool) {
	days := t.Sub(h.Anchor).Hours() / 24
	grid := h.Ahead().Ahead
	for i := 1; i < len(grid); i++ {
		a, b := grid[i-1], grid[i]
		if days < a.Days || days > b.Days {
			continue
		}
		x := (days - a.Days) / (b.Days - a.Days)
		return healing.Ahead{Days: days, Date: t, Area: between(a.Area, b.Area, x), Depth: between(a.Depth, b.Depth, x), Volume: between(a.Volume, b.Volume, x), Bare: between(a.Bare, b.Bare, x), Closed: a.Closed}, true
	}
	return healing.Ahead{}, false
}

func between(a, b *healing.Band, x float64) *healing.Band {
	if a == nil || b == nil {
		return nil
	}
	mix := func(p, q float64) float64 { return p + (q-p)*x }
	return &healing.Band{Median: mix(a.Median, b.Median), P10: mix(a.P10, b.P10), P90: mix(a.P90, b.P90)}
}
