package state

import (
	"fmt"
	"math"
	"time"

	"lowtide/casebook"
	"lowtide/healing"
	"lowtide/rule/value"
)

// healings reads every wound of the case, in its order. A case whose therapy ended has no finding that rests on a fit,
// so none is made there; its wounds' own pages make theirs.
func healings(c *casebook.Case, v value.Values, asOf time.Time) []*Healing {
	out := make([]*Healing, len(c.Wounds))
	for i := range c.Wounds {
		out[i] = &Healing{Wound: c.Wounds[i].Name, values: v}
		if c.Ended == nil {
			out[i] = HealingOf(c, &c.Wounds[i], v, asOf)
		}
	}
	return out
}

// changes are the instants after asOf at which what healing says can change without an entry.
func (h *Healing) changes(asOf time.Time) []time.Time {
	var out []time.Time
	for _, t := range []time.Time{h.NextDueAt, h.LastAt.Add(h.values.Span(value.SizeFresh) + time.Nanosecond)} {
		if t.After(asOf) {
			out = append(out, t)
		}
	}
	return out
}

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
			set("wound.goal_chance_pct", *g.Chance*100, by...)
		}
	}
}

func addDays(t time.Time, days float64) time.Time {
	return t.Add(time.Duration(days * 24 * float64(time.Hour))).Round(time.Minute)
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

// decidedSince tells whether a decision about the wound was made after its last size.
func decidedSince(c *casebook.Case, h *Healing) bool {
	for _, d := range c.Decisions {
		if d.At.After(h.LastAt) && (len(d.Body.Wounds) == 0 || contains(d.Body.Wounds, h.Wound)) {
			return true
		}
	}
	return false
}

func decisionEntry(c *casebook.Case) []string {
	if n := len(c.Decisions); n > 0 {
		return []string{c.Decisions[n-1].ID}
	}
	return nil
}

// DecisionDue is when the next decision is due by the newest decision; ok is false when none says so.
func DecisionDue(c *casebook.Case) (at time.Time, entry string, ok bool) {
	if n := len(c.Decisions); n > 0 && c.Decisions[n-1].Body.NextAt != nil {
		return *c.Decisions[n-1].Body.NextAt, c.Decisions[n-1].ID, true
	}
	return time.Time{}, "", false
}

func decisionFacts(c *casebook.Case, set Sink) {
	n := len(c.Decisions)
	if n == 0 {
		return
	}
	d := c.Decisions[n-1]
	set("decision.made_at", d.At, d.ID)
	set("decision.choice", d.Body.Choice, d.ID)
	if at, id, ok := DecisionDue(c); ok {
		set("decision.due_at", at, id)
	}
}
