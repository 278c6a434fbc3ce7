package main

import (
	"testing"

	"lowtide/trouble"
)

// TestSimulatedCalls is the short form of the table: 2,000 calls of the bench, which shares no number with the model, and
// of tables stirred by 0.5. The true cause is first or second in at least 85 %, and a call is at least a quarter shorter
// than a fixed checklist.
func TestSimulatedCalls(t *testing.T) {
	for _, g := range generators {
		if g.name == "tables stirred by 0.8" {
			continue // shown in the table; the model's numbers are then too wrong for the share to be promised
		}
		r := run(trouble.BuiltIn(), g.make, 2000, 1)
		share, saved := float64(r.second)/float64(r.calls), 1-r.minutes/r.taught
		t.Logf("%s: first or second in %.1f %%, %.1f %% fewer minutes than the taught list, %.1f %% than the best fixed order", g.name, 100*share, 100*saved, 100*(1-r.minutes/r.ordered))
		if share < 0.85 || saved < 0.25 {
			t.Errorf("%s: first or second in %.1f %%, saved %.1f %%", g.name, 100*share, 100*saved)
		}
	}
}
