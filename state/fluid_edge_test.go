package state

import (
	"fmt"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/rule"
)

// readDaily is a case whose canister of 800 mL is read and changed every morning with these volumes, one after the other.
func readDaily(start time.Time, volumes ...float64) *casebook.Case {
	size, yes := 800.0, true
	entries := []casebook.Entry{{ID: "pump", At: start, Body: casebook.PumpAssigned{Pump: "P-1", CanisterML: &size}}}
	for i, v := range volumes {
		entries = append(entries, casebook.Entry{ID: fmt.Sprintf("read-%02d", i), At: start.AddDate(0, 0, i+1), Body: casebook.CanisterRead{VolumeML: &v, Changed: &yes}})
	}
	for i := range entries {
		e := &entries[i]
		e.Case, e.Kind, e.Version, e.Recorded, e.Author = "c", e.Body.Kind(), 1, e.At, "n"
	}
	return casebook.Fold("c", entries)
}

// TestBlockageThatWasCleared: output that comes back after a sudden drop is no new rise up to 1.3 times what it was before
// the drop, and is one above that. A rise without a drop before it is always one.
func TestBlockageThatWasCleared(t *testing.T) {
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	start := time.Date(2026, 2, 1, 8, 0, 0, 0, time.UTC)
	for _, x := range []struct {
		name          string
		before, drop  float64
		after         float64
		rise, changed bool
	}{
		{"back to what it was", 100, 12, 100, false, false},
		{"a little more than it was", 100, 12, 116, false, false},
		{"well above what it was", 100, 12, 152, true, true},
		{"twice what it was", 100, 12, 200, true, true},
		{"a rise without a drop", 60, 60, 240, true, true},
		{"a drop alone", 100, 12, 12, false, true},
	} {
		var v []float64
		for range 8 {
			v = append(v, x.before)
		}
		for range 5 {
			v = append(v, x.drop)
		}
		for range 5 {
			v = append(v, x.after)
		}
		asOf := start.AddDate(0, 0, len(v))
		k, changed := FluidOf(readDaily(start, v...), equipment.BuiltIn(), rules.Values(asOf), asOf).newestChange()
		if changed != x.changed || changed && k.Rise() != x.rise {
			t.Errorf("%s: %v %+v", x.name, changed, k)
		}
	}
}
