package state

import (
	"fmt"
	"math"
	"time"

	"lowtide/casebook"
)

// Therapy is where the therapy stands.
type Therapy struct {
	// State is "not started", "open" or "ended".
	State     string     `json:"state"`
	StartedAt *time.Time `json:"started_at,omitempty"`
	EndedAt   *time.Time `json:"ended_at,omitempty"`
	NextVisit *time.Time `json:"next_visit,omitempty"`
	LastVisit *time.Time `json:"last_visit,omitempty"`
	Pump      string     `json:"pump,omitempty"`
	Wounds    []string   `json:"wounds"`
	// CountOpen tells that a filler count does not add up: handover and end of therapy cannot be signed.
	CountOpen bool `json:"count_open"`
	// Suction is what suction is doing: on, off, off on purpose, or not known; Since and Why belong to it. Suction that is
	// on is believed to be so until BelievedUntil.
	Suction       Doing      `json:"suction"`
	Since         *time.Time `json:"since,omitempty"`
	Why           string     `json:"why,omitempty"`
	BelievedUntil *time.Time `json:"believed_until,omitempty"`
}

// Tell takes over what suction is doing.
func (t *Therapy) Tell(s Suction) {
	utc := func(at time.Time) *time.Time {
		if at.IsZero() {
			return nil
		}
		at = at.UTC()
		return &at
	}
	t.Suction, t.Since, t.Why = s.Doing, utc(s.From), s.Why
	if s.Doing == SuctionOn {
		t.BelievedUntil = utc(s.BelievedUntil)
	}
}

func therapyOf(c *casebook.Case) Therapy {
	t := Therapy{State: "not started", Wounds: []string{}}
	if at, _, ok := Started(c); ok {
		at = at.UTC()
		t.State, t.StartedAt = "open", &at
	}
	if c.Ended != nil {
		at := c.Ended.At.UTC()
		t.State, t.EndedAt = "ended", &at
	}
	if at, _, ok := NextVisit(c); ok && c.Ended == nil {
		at = at.UTC()
		t.NextVisit = &at
	}
	if n := len(c.Changes); n > 0 {
		at := c.Changes[n-1].At.UTC()
		t.LastVisit = &at
	}
	if open := OpenPumps(c); len(open) > 0 {
		t.Pump = open[len(open)-1].Assigned.Body.Pump
	}
	for _, w := range c.Wounds {
		t.Wounds = append(t.Wounds, w.Name)
		t.CountOpen = t.CountOpen || w.Count.Open()
	}
	return t
}

// Started returns when therapy began: the first order, pump or filling. ok is false when none is recorded.
func Started(c *casebook.Case) (at time.Time, entry string, ok bool) {
	first := func(t time.Time, id string) {
		if !ok || t.Before(at) {
			at, entry, ok = t, id, true
		}
	}
	if len(c.Orders) > 0 {
		first(c.Orders[0].At, c.Orders[0].ID)
	}
	if len(c.Pumps) > 0 {
		first(c.Pumps[0].Assigned.At, c.Pumps[0].Assigned.ID)
	}
	if len(c.Changes) > 0 {
		first(c.Changes[0].At, c.Changes[0].ID)
	}
	for _, w := range c.Wounds {
		if w.Found != nil && (len(w.Found.Body.InPlace) > 0 || w.Found.Body.InPlaceUnknown) {
			first(w.Found.At, w.Found.ID)
		}
	}
	return at, entry, ok
}

func therapyFacts(c *casebook.Case, s Suction, set Sink) {
	started, id, ok := Started(c)
	set("therapy.open", ok && c.Ended == nil)
	if ok {
		set("therapy.started_at", started, id)
	}
	if c.Ended != nil {
		set("therapy.ended_at", c.Ended.At, c.Ended.ID)
	}
	s.facts(set)
	in, known := false, true
	for _, w := range c.Wounds {
		in = in || w.Count.Total() > 0
		known = known && w.Count.Known
	}
	if in || known {
		set("therapy.dressing_in_place", in)
	}
}

func therapyFigures(s *State, add func(Figure)) {
	c := s.Case
	at, id, ok := Started(c)
	if !ok {
		return
	}
	end := s.AsOf
	if c.Ended != nil {
		end = c.Ended.At
	}
	// Counted in the patient's calendar days: the day of the start is day 1.
	days := int(math.Round(c.Day(end).Sub(c.Day(at)).Hours()/24)) + 1
	add(Figure{ID: "therapy.day", Name: "Day of therapy", Value: float64(days), Unit: "d", Text: fmt.Sprintf("day %d", days),
		Method: "calendar days in the patient's time zone, the first counted as 1", Source: "counting", Entries: []string{id}})
}
