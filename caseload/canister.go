package caseload

import (
	"time"

	"lowtide/casebook"
)

// fullBefore tells whether the canister was full before a visit: an alarm said so since the visit before, or at the visit
// it held what it takes. known is false where nobody read it and no alarm said so.
func fullBefore(c *casebook.Case, visit time.Time) (full, known bool) {
	var before time.Time
	for _, d := range c.Changes {
		if d.At.Before(visit) && d.At.After(before) {
			before = d.At
		}
	}
	since := func(at time.Time) bool { return at.After(before) && !at.After(visit) }
	for _, a := range c.Alarms {
		if a.Body.Alarm == "canister full" && since(a.At) {
			return true, true
		}
	}
	sizeML := 0.0
	for _, p := range c.Pumps {
		if p.Assigned.Body.CanisterML != nil && !p.Assigned.At.After(visit) {
			sizeML = *p.Assigned.Body.CanisterML
		}
	}
	for _, r := range c.Canister {
		if r.At.After(visit) {
			continue
		}
		if r.Body.VolumeML != nil && since(r.At) && sizeML > 0 {
			known = true
			full = full || *r.Body.VolumeML >= sizeML
		}
		if r.Body.SizeML != nil {
			sizeML = *r.Body.SizeML
		}
	}
	return full, known
}
