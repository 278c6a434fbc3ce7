package state

import (
	"fmt"
	"math"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/healing"
	"lowtide/unit"
)

// recentSizes is among how many of the last measurements an odd one is asked about.
const recentSizes = 3

// healingFacts sets the terms that rest on the fit.
func healingFacts(c *casebook.Case, h *Healing, asOf time.Time, set Sink) {
	var by []string
	for _, z := range h.Sizes {
		if z.sized() {
			by = append(by, z.Entry)
		}
	}
	if h.Goal != nil {
		set("wound.goal", h.Goal.Words, h.Goal.Order)
	}
	if len(by) == 0 {
		return
	}
	set("wound.sized_from", h.Sizes[0].At, by...)
	set("wound.decided_since", decidedSince(c, h), decisionEntry(c)...)
	if h.Told(asOf) {
		// no model is sure of a wound: nothing above 99 % is said, and no rule asks for more
		set("wound.chance_not_improving_pct", math.Min(*h.NotImproving*100, 99), by...)
		set("wound.chance_growing_pct", math.Min(*h.Growing*100, 99), by...)
	}
	h.oddFacts(set)
	h.milestoneFacts(asOf, set)
	if met, known, entries := h.GoalMet(); known {
		set("wound.goal_met", met, append(entries, h.Goal.Order)...)
		if g := h.GoalArrival(); !met && g != nil && g.MedianDays != nil && !h.turnsAtOnce() && h.fresh(asOf) {
			// A forecast is of a day; its noon stands for it.
			noon := func(days float64) time.Time { return c.Day(addDays(h.Anchor, days)).Add(12 * time.Hour) }
			set("wound.goal_from", noon(*g.P10Days), by...)
			set("wound.goal_by", noon(*g.MedianDays), by...)
			set("wound.goal_to", noon(*g.P90Days), by...)
			day := func(days float64) string { return noon(days).Format("2 January") }
			set("wound.goal_when", "in the week of "+day(*g.MedianDays)+" ("+unit.HowSure+" between "+day(*g.P10Days)+" and "+day(*g.P90Days)+")", by...)
			set("wound.goal_chance_pct", *g.Chance*100, by...)
		}
	}
}

// oddFacts names the newest odd value, if it is among the last measurements.
func (h *Healing) oddFacts(set Sink) {
	set("wound.odd_measurement", "")
	if len(h.Odd) == 0 {
		return
	}
	o := h.Odd[len(h.Odd)-1]
	if o.At.Before(h.Sizes[max(0, len(h.Sizes)-recentSizes)].At) {
		return
	}
	var entries []string
	for _, z := range h.Sizes {
		if z.At.Equal(o.At) {
			entries = append(entries, z.Entry)
		}
	}
	set("wound.odd_measurement", oddWords(o), entries...)
	set("wound.odd_at", o.At, entries...)
}

// oddWords says what is odd.
func oddWords(o healing.Odd) string {
	name, unit := MeasureWords(o.Measure)
	words := fmt.Sprintf("%s %s %s", name, number(o.Value), unit)
	if o.Expected != nil {
		words += fmt.Sprintf(" where its neighbours say about %s %s", number(*o.Expected), unit)
	}
	return words
}

// MeasureWords names a measure with its unit.
func MeasureWords(m healing.Measure) (name, unit string) {
	switch m {
	case healing.Depth:
		return "depth", "cm"
	case healing.Volume:
		return "volume", "cm³"
	case healing.Bare:
		return "bed without granulation", "%"
	}
	return "area", "cm²"
}

// ownMilestone tells whether a marker is put to the nurse as a finding: those published for the wound's type, and
// where there is none the general one. Half of the area by week 4 was published for one type only.
func ownMilestone(all []healing.MilestoneResult, m healing.Milestone) bool {
	own := false
	for _, x := range all {
		own = own || len(x.WoundTypes) > 0
	}
	if own {
		return len(m.WoundTypes) > 0
	}
	return m.ID == healing.GeneralMarker
}

func (h *Healing) milestoneFacts(asOf time.Time, set Sink) {
	if len(h.Milestones) == 0 {
		return
	}
	set("wound.milestone_missed", "")
	var missed *healing.MilestoneResult
	for i := range h.Milestones {
		m := &h.Milestones[i]
		if m.State != healing.StateNotMet || m.Due.After(asOf) || !ownMilestone(h.Milestones, m.Milestone) {
			continue
		}
		// Later sizes that reach the marker make up for it.
		if r := h.Figures.AreaReduction; r != nil && *r >= m.Reduction {
			continue
		}
		if missed == nil || m.Due.After(missed.Due) {
			missed = m
		}
	}
	if missed == nil {
		return
	}
	var by []string
	for _, z := range h.Sizes {
		if z.AreaReadCm2 != nil {
			by = append(by, z.Entry)
		}
	}
	set("wound.milestone_missed", missed.Title, by...)
	set("wound.milestone_due_at", missed.Due, by...)
	set("wound.milestone_right", missed.Right)
	if missed.Seen != nil {
		set("wound.milestone_seen_pct", *missed.Seen*100, by...)
	}
}

// halfEllipsoid is the volume of half an ellipsoid over an area with a depth: the shape that is taken where no
// volume was measured.
func halfEllipsoid(areaCm2, depthCm float64) float64 { return 2.0 / 3 * areaCm2 * depthCm }

// backwards says what a figure below zero means.
var backwards = map[string]string{"area_reduction": "it grew", "area_reduction_14d": "it grew", "depth_reduction": "it grew deeper", "volume_reduction": "it grew",
	"advance": "it moved outwards", "bed_rise": "it sank", "decay": "it grew"}

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
			g.Text = "none: " + backwards[id] + " by " + g.Text[1:]
		}
		if f.To != nil {
			at := f.To.UTC()
			g.At = &at
		}
		out = append(out, g)
	}
	const scale = "; areas on the scale of a traced outline"
	add("area_reduction", "Fall of the area since the first size", f.AreaReduction, 100, "%", 0, "(A1 - A2) / A1, first and last area"+scale, "definition as in Sheehan 2003 (Diabetes Care 26:1879)")
	add("area_reduction_14d", "Fall of the area in the last two weeks", f.AreaReduction14d, 100, "%", 0, "(A1 - A2) / A1, sizes 10 to 18 days apart"+scale, "definition as in Sheehan 2003 (Diabetes Care 26:1879)")
	add("depth_reduction", "Fall of the depth since the first size", f.DepthReduction, 100, "%", 0, "(D1 - D2) / D1, first and last depth", "the same definition for depth")
	add("volume_reduction", "Fall of the volume since the first one", f.VolumeReduction, 100, "%", 0, "(V1 - V2) / V1, first and last volume that was measured", "the same definition for volume")
	add("advance", "Advance of the edge", f.LinearAdvance, 1, "cm a week", 1, "(A1 - A2) / mean perimeter / weeks; perimeter: "+f.PerimeterFrom, "Gilman 1990 (Wounds 2:95), as printed in Kecelj Leskovec 2008")
	if f.VerticalAdvance != nil {
		add("bed_rise", "Rise of the bed", f.VerticalAdvance, 1, "cm a week", 1, "(V1 - V2) / mean area / weeks, volumes as measured", "Kecelj Leskovec 2008 (Wound Repair Regen 16:507)")
	} else if v, ok := h.bedRise(); ok {
		add("bed_rise", "Rise of the bed", &v, 1, "cm a week", 1, "(V1 - V2) / mean area / weeks; volumes as half ellipsoids, 2/3 × area × depth, because none was measured", "Kecelj Leskovec 2008 (Wound Repair Regen 16:507); shape: geometry")
	}
	add("decay", "Decay constant of the area", f.DecayPerWk, 1, "per week", 2, "ln(A1 / A2) / weeks"+scale, "letter on Dermatol Surg 1997;23:1219 in Wounds 2003")
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
