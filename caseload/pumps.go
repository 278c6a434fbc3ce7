package caseload

import (
	"context"
	"sort"
	"time"

	"lowtide/casebook"
	"lowtide/state"
)

// PumpHeld is one spell of a pump with a patient.
type PumpHeld struct {
	Pump, Class string
	Case        string
	Person      state.Person
	Since       time.Time
	// Until is nil while the patient has it.
	Until *time.Time
	// Cleaned is nil when nobody wrote whether it was cleaned.
	Cleaned *bool
	// Also tells that another spell of the same pump overlaps: two patients cannot have one pump.
	Also bool
}

// pumpsOf lists the spells of a case's pumps.
func pumpsOf(c *casebook.Case, p state.Person) []PumpHeld {
	var out []PumpHeld
	for _, u := range c.Pumps {
		h := PumpHeld{Pump: u.Assigned.Body.Pump, Class: u.Assigned.Body.Class, Case: c.ID, Person: p, Since: u.Assigned.At}
		if u.Returned != nil {
			at := u.Returned.At
			h.Until, h.Cleaned = &at, u.Returned.Body.Cleaned
		}
		out = append(out, h)
	}
	return out
}

// Pumps lists every spell of every pump: by pump, the newest spell of each first. pending counts cases that are
// still to be read.
func (l *Caseload) Pumps(ctx context.Context, now time.Time) (list []PumpHeld, pending int, err error) {
	v, err := l.upToDate(ctx, now)
	if err != nil {
		return nil, 0, err
	}
	for _, k := range v.list {
		list = append(list, k.Pumps...)
	}
	return orderPumps(list), len(v.waiting), nil
}

func orderPumps(list []PumpHeld) []PumpHeld {
	sort.Slice(list, func(i, j int) bool {
		a, b := &list[i], &list[j]
		if a.Pump != b.Pump {
			return a.Pump < b.Pump
		}
		if !a.Since.Equal(b.Since) {
			return a.Since.After(b.Since)
		}
		return a.Case < b.Case
	})
	// within a pump the spells are newest first; a spell overlaps when an older one ends after it began
	for i := range list {
		for j := i + 1; j < len(list) && list[j].Pump == list[i].Pump; j++ {
			if list[j].Until == nil || list[j].Until.After(list[i].Since) {
				list[i].Also, list[j].Also = true, true
			}
		}
	}
	return list
}
