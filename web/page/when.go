package page

import (
	"net/url"
	"strings"
	"time"

	"lowtide/rule"
)

// Clock prints instants in one time zone as they are said on the day of Now.
type Clock struct {
	Zone *time.Location
	Now  time.Time
}

// At prints an instant: "Tue 24 Nov 09:10", with the year when it is not this one.
func (k Clock) At(t time.Time) string {
	t = t.In(k.Zone)
	if t.Year() != k.Now.In(k.Zone).Year() {
		return t.Format("Mon 2 Jan 2006 15:04")
	}
	return t.Format("Mon 2 Jan 15:04")
}

// Day prints the date of an instant.
func (k Clock) Day(t time.Time) string {
	t = t.In(k.Zone)
	if t.Year() != k.Now.In(k.Zone).Year() {
		return t.Format("Mon 2 Jan 2006")
	}
	return t.Format("Mon 2 Jan")
}

// Start returns the start of the calendar day that is n days after today.
func (k Clock) Start(n int) time.Time {
	y, m, d := k.Now.In(k.Zone).Date()
	return time.Date(y, m, d+n, 0, 0, 0, 0, k.Zone)
}

// Days returns how many calendar days after today an instant lies.
func (k Clock) Days(t time.Time) int {
	y, m, d := t.In(k.Zone).Date()
	y0, m0, d0 := k.Now.In(k.Zone).Date()
	return int(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Sub(time.Date(y0, m0, d0, 0, 0, 0, 0, time.UTC)).Hours() / 24)
}

// Due says when something is due: "overdue since…", "by 14:10", "by tomorrow 09:00", or what the level says when there
// is no time.
func (k Clock) Due(level rule.Level, due *time.Time) string {
	switch {
	case due == nil && level == rule.ActNow:
		return "now"
	case due == nil && level == rule.Today:
		return "today"
	case due == nil && level == rule.Plan:
		return "before the next visit"
	case due == nil:
		return ""
	case due.Before(k.Now):
		return "overdue since " + k.near(*due)
	}
	return "by " + k.near(*due)
}

// dueBeside is Due beside a sentence: nothing where the sentence or the level says when.
func (k Clock) dueBeside(sentence string, level rule.Level, due *time.Time) string {
	if due == nil || strings.Contains(sentence, " by "+due.In(k.Zone).Format("Mon 2 Jan")) {
		return ""
	}
	return k.Due(level, due)
}

// near prints an instant the shorter the nearer it is.
func (k Clock) near(t time.Time) string {
	switch k.Days(t) {
	case 0:
		return t.In(k.Zone).Format("15:04")
	case 1:
		return "tomorrow " + t.In(k.Zone).Format("15:04")
	case -1:
		return "yesterday " + t.In(k.Zone).Format("15:04")
	}
	return k.At(t)
}

// Planned says when the next visit is planned, that it is past, or that there is none.
func (k Clock) Planned(t *time.Time) string {
	switch {
	case t == nil:
		return "No next visit planned"
	case k.Days(*t) == 0 && t.Before(k.Now):
		return "The visit was planned for today " + k.near(*t)
	case t.Before(k.Now):
		return "The visit was planned for " + k.near(*t)
	case k.Days(*t) == 0:
		return "Next visit today " + k.near(*t)
	}
	return "Next visit " + k.near(*t)
}

// CasePath is the address of a case, with parts below it: CasePath(id, "log").
func CasePath(id string, below ...string) string {
	p := "/case/" + url.PathEscape(id)
	for _, b := range below {
		p += "/" + url.PathEscape(b)
	}
	return p
}

// LogPath is the address of an entry in the log of a case, on whichever page of the log it is.
func LogPath(caseID, entry string) string {
	return CasePath(caseID, "log") + "?entry=" + url.QueryEscape(entry) + "#" + Anchor(entry)
}

// Anchor is the ID that an entry has on the log page.
func Anchor(entry string) string { return "e-" + url.PathEscape(entry) }

// RulePath is the address of a rule.
func RulePath(id string) string { return "/rules/" + url.PathEscape(id) }

// Link is an address with words.
type Link struct{ Href, Words string }

// dayName prints a day the shorter the nearer it is: "today", "tomorrow", "Friday", "13 March".
func (k Clock) dayName(t time.Time) string {
	switch d := k.Days(t); {
	case d == 0:
		return "today"
	case d == 1:
		return "tomorrow"
	case d == -1:
		return "yesterday"
	case d > 1 && d < 7:
		return t.In(k.Zone).Format("Monday")
	case t.In(k.Zone).Year() != k.Now.In(k.Zone).Year():
		return t.In(k.Zone).Format("2 January 2006")
	}
	return t.In(k.Zone).Format("2 January")
}
