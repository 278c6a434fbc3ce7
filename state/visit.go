package state

import (
	"time"

	"lowtide/casebook"
)

func visitFacts(c *casebook.Case, set Sink) {
	if n := len(c.Changes); n > 0 {
		last := c.Changes[n-1]
		set("visit.last_at", last.At, last.ID)
		// An answer given after the visit, by telephone say, counts as well: it is newer.
		answered, by := false, last.ID
		for _, s := range c.Seen {
			if len(s.Body.Signs) > 0 && !s.At.Before(last.At) {
				answered, by = true, s.ID
			}
		}
		set("visit.signs_answered", answered, by)
	}
	if at, id, ok := NextVisit(c); ok {
		set("visit.next_at", at, id)
	}
	if d, pain := Newest(c.Seen, func(s casebook.Seen) *float64 { return s.Pain }); pain != nil {
		set("visit.pain", *pain, d.ID)
	}
	sealFacts(c, set)
	if d, t := Newest(c.Seen, func(s casebook.Seen) *float64 { return s.TemperatureC }); t != nil {
		set("seen.temperature_C", *t, d.ID)
		set("seen.temperature_at", d.At, d.ID)
	}
	usualBy, usual := Newest(c.Seen, func(s casebook.Seen) *float64 { return s.SystolicUsualMmHg })
	if d, p := Newest(c.Seen, func(s casebook.Seen) *float64 { return s.SystolicMmHg }); p != nil {
		set("seen.systolic_mmHg", *p, d.ID)
		set("seen.systolic_at", d.At, d.ID)
		if usual != nil {
			set("seen.systolic_rise_mmHg", *p-*usual, d.ID, usualBy.ID)
		}
	}
}

// NextVisit returns the visit planned by the newest entry that plans one. A plan is used up by a later visit
// that does not plan another.
func NextVisit(c *casebook.Case) (at time.Time, entry string, ok bool) {
	for _, l := range c.Log {
		switch b := l.Now.(type) {
		case casebook.DressingChanged:
			ok = false
			if b.NextVisit != nil {
				at, entry, ok = *b.NextVisit, l.Entry.ID, true
			}
		case casebook.NoteWritten:
			if b.NextVisit != nil {
				at, entry, ok = *b.NextVisit, l.Entry.ID, true
			}
		}
	}
	return at, entry, ok
}
