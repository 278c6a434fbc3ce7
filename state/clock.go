package state

import (
	"fmt"
	"time"

	"lowtide/unit"
)

// Clock prints an instant as a nurse says it, in the patient's time zone.
func Clock(zone *time.Location, t time.Time) string { return t.In(zone).Format("Mon 2 Jan 15:04") }

// yearAfter is how far from the newest entry a day is printed with its year: within it the month tells the year.
const yearAfter = 180 * 24 * time.Hour

// ClockAt is Clock with the year, for an instant so far from another that the year is not plain.
func ClockAt(zone *time.Location, t, from time.Time) string {
	if t.Sub(from).Abs() > yearAfter {
		return t.In(zone).Format("Mon 2 Jan 2006 15:04")
	}
	return Clock(zone, t)
}

// Zone is the zone in which the patient's days are counted.
func (s *State) Zone() *time.Location { return s.Case.Zone }

// Day is the start of the patient's calendar day that holds t.
func (s *State) Day(t time.Time) time.Time { return s.Case.Day(t) }

// NextDay is the start of the calendar day after the one that holds t.
func (s *State) NextDay(t time.Time) time.Time { return s.Case.NextDay(t) }

// Clock prints an instant with its year where that is not plain. Not AsOf but the newest entry says which year is, so that
// a printed day changes with an entry only.
func (s *State) Clock(t time.Time) string {
	newest := s.AsOf
	if n := len(s.Case.Log); n > 0 {
		newest = s.Case.Log[n-1].At
	}
	return ClockAt(s.Case.Zone, t, newest)
}

// Expected says a forecast instant as far as it can be known: with its hour within two days, else its day, its date from ten
// days on, and the part of a month from two months on.
func Expected(zone *time.Location, t, asOf time.Time) string {
	t = t.In(zone)
	switch hours := t.Sub(asOf).Hours(); {
	case hours < 48:
		return Clock(zone, t)
	case hours < 10*24:
		return t.Format("Mon 2 Jan")
	case hours < 60*24:
		return t.Format("2 January")
	}
	return []string{"early ", "mid ", "late "}[min(2, (t.Day()-1)/10)] + t.Format("January 2006")
}

// Earliest moves t forward to u if u is earlier; a zero time means never.
func Earliest(t *time.Time, u time.Time) {
	if !u.IsZero() && (t.IsZero() || u.Before(*t)) {
		*t = u.UTC()
	}
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// spanWords prints a time between two readings.
func spanWords(d time.Duration) string {
	if d < 2*time.Hour {
		return fmt.Sprintf("%.0f minutes", d.Minutes())
	}
	return unit.Number(d.Hours(), 1) + " h"
}
