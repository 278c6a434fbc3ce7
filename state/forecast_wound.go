package state

import (
	"fmt"
	"math"
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
	return Forecast{ID: id, Name: name, Median: b.Median, Low: b.P10, High: b.P90, Unit: u,
		Text: fmt.Sprintf("%s %s on %s, four times in five between %s and %s %s", unit.Number(b.Median, 1), u, at.Format("2 January 2006"), unit.Number(b.P10, 1), unit.Number(b.P90, 1), u)}
}

// dateForecast turns days after the anchor into dates.
func (h *Healing) dateForecast(id, name string, a *healing.Arrival, asOf time.Time) Forecast {
	f := Forecast{ID: id, Name: name, Unit: "d"}
	if a.MedianDays == nil {
		return cannot(f, strings.TrimPrefix(a.Basis, "cannot tell: "))
	}
	zone := h.Sizes[0].At.Location()
	days := func(x float64) float64 { return addDays(h.Anchor, x).Sub(asOf).Hours() / 24 }
	f.Median, f.Low, f.High = days(*a.MedianDays), days(*a.P10Days), days(*a.P90Days)
	day := func(x float64) string { return addDays(h.Anchor, x).In(zone).Format("2 January 2006") }
	from := asOf.UTC()
	f.From = &from
	f.Text = fmt.Sprintf("about %s, four times in five between %s and %s, if it comes within a year; the chance of that is %s",
		day(*a.MedianDays), day(*a.P10Days), day(*a.P90Days), unit.Chance(*a.Chance))
	return f
}

// halfEllipsoid is the volume of half an ellipsoid over an area with a depth: the shape that is taken where no
// volume was measured.
func halfEllipsoid(areaCm2, depthCm float64) float64 { return 2.0 / 3 * areaCm2 * depthCm }

// backwards says what a figure below zero means.
var backwards = map[string]string{"area_reduction": ": it grew", "area_reduction_14d": ": it grew", "depth_reduction": ": it grew deeper", "volume_reduction": ": it grew",
	"advance": ": it moved outwards", "bed_rise": ": it sank", "decay": ": it grew"}

// Plainly gives the plain figures between the first and the last size.
func (h *Healing) Plainly() []Figure {
	f := h.Figures
	var entries []string
	if n := len(h.Sizes); n > 0 {
		entries = entriesOf(h.Sizes[0].Entry, h.Sizes[n-1].Entry)
	}
	var out []Figure
	add := func(id, name string, v *float64, scale float64, u string, decimals int, method, source string) {
		if v == nil || math.IsNaN(*v) || math.IsInf(*v, 0) {
			return
		}
		x := *v * scale
		g := Figure{ID: "healing." + id, Name: name, Wound: h.Wound, Value: x, Unit: u, Text: unit.Number(x, decimals) + " " + u, Method: method, Source: source, Entries: entries}
		if strings.HasPrefix(g.Text, "-") {
			g.Text += backwards[id]
		}
		if f.To != nil {
			at := f.To.UTC()
			g.At = &at
		}
		out = append(out, g)
	}
	const scale = "; areas on the scale of a traced outline"
	add("area_reduction", "Fall of the area since the first size", f.AreaReduction, 100, "%", 1, "(A1 - A2) / A1, first and last area"+scale, "definition as in Sheehan 2003 (Diabetes Care 26:1879)")
	add("area_reduction_14d", "Fall of the area in the last two weeks", f.AreaReduction14d, 100, "%", 1, "(A1 - A2) / A1, sizes 10 to 18 days apart"+scale, "definition as in Sheehan 2003 (Diabetes Care 26:1879)")
	add("depth_reduction", "Fall of the depth since the first size", f.DepthReduction, 100, "%", 1, "(D1 - D2) / D1, first and last depth", "the same definition for depth")
	add("volume_reduction", "Fall of the volume since the first one", f.VolumeReduction, 100, "%", 1, "(V1 - V2) / V1, first and last volume that was measured", "the same definition for volume")
	add("advance", "Advance of the edge", f.LinearAdvance, 1, "cm/week", 2, "(A1 - A2) / mean perimeter / weeks; perimeter: "+f.PerimeterFrom, "Gilman 1990 (Wounds 2:95), as printed in Kecelj Leskovec 2008")
	if f.VerticalAdvance != nil {
		add("bed_rise", "Rise of the bed", f.VerticalAdvance, 1, "cm/week", 2, "(V1 - V2) / mean area / weeks, volumes as measured", "Kecelj Leskovec 2008 (Wound Repair Regen 16:507)")
	} else if v, ok := h.bedRise(); ok {
		add("bed_rise", "Rise of the bed", &v, 1, "cm/week", 2, "(V1 - V2) / mean area / weeks; volumes as half ellipsoids, 2/3 × area × depth, because none was measured", "Kecelj Leskovec 2008 (Wound Repair Regen 16:507); shape: geometry")
	}
	add("decay", "Decay constant of the area", f.DecayPerWk, 1, "per week", 3, "ln(A1 / A2) / weeks"+scale, "letter on Dermatol Surg 1997;23:1219 in Wounds 2003")
	// Beyond a year the rate is no rate: the number would look like knowledge.
	within := func(days *float64) *float64 {
		if days == nil || *days > 365 {
			return nil
		}
		return days
	}
	add("halving", "Time in which the area halves at this rate", within(f.HalvingDays), 1, "d", 0, "ln 2 / decay constant; not given beyond a year", "arithmetic")
	add("doubling", "Time in which the area doubles at this rate", within(f.DoublingDays), 1, "d", 0, "ln 2 / growth constant; not given beyond a year", "arithmetic")
	return out
}

// bedRise is the volume analogue of the edge's advance, over the sizes that have area and depth.
func (h *Healing) bedRise() (cmPerWk float64, ok bool) {
	var both []HealingSize
	for _, z := range h.Sizes {
		if z.AreaCm2 != nil && z.DepthCm != nil {
			both = append(both, z)
		}
	}
	if len(both) < 2 {
		return 0, false
	}
	a, b := both[0], both[len(both)-1]
	return healing.VerticalAdvance(halfEllipsoid(*a.AreaCm2, *a.DepthCm), *a.AreaCm2, halfEllipsoid(*b.AreaCm2, *b.DepthCm), *b.AreaCm2, b.At.Sub(a.At).Hours()/168)
}
