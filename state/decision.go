package state

import (
	"time"

	"lowtide/casebook"
)

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

func decisionEntry(c *casebook.Case) []string {
	if n := len(c.Decisions); n > 0 {
		return []string{c.Decisions[n-1].ID}
	}
	return nil
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
