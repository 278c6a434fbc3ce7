package caseload

import (
	"context"
	"slices"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/rule"
	"lowtide/state"
	"lowtide/week"
)

// madeDays is how far back visits are kept for learning and for looking back.
const madeDays = 28

// visitSpan is how far from a change of dressing an entry of the same author still belongs to that visit.
const visitSpan = 2 * time.Hour

// seenOf lists the visits that were made in the last weeks: a change of dressing with what its author wrote around it.
func seenOf(c *casebook.Case, p state.Person, now time.Time) (out []week.Seen) {
	for _, d := range c.Changes {
		if now.Sub(d.At) > madeDays*24*time.Hour || d.At.After(now) {
			continue
		}
		s := week.Seen{Case: c.ID, Place: VisitPlace(p), By: d.Author, Start: d.At, End: d.At, Wounds: len(d.Body.Wounds), Change: true}
		for _, l := range c.Log {
			if l.Now == nil || l.Entry.Author != d.Author || l.At.Sub(d.At).Abs() > visitSpan {
				continue
			}
			switch l.Now.Kind() {
			case casebook.KindWoundMeasured, casebook.KindPhotoTaken, casebook.KindCanisterRead, casebook.KindPowerNoted, casebook.KindReviewSigned, casebook.KindTeachingGiven, casebook.KindNoteWritten:
				if l.At.Before(s.Start) {
					s.Start = l.At
				}
				if l.At.After(s.End) {
					s.End = l.At
				}
			}
		}
		s.Full, s.FullKnown = fullBefore(c, d.At)
		out = append(out, s)
	}
	return out
}

// VisitPlace names where a patient is visited. On a ward or in a nursing home what follows the last comma of the address, such
// as the bed, is left out, so that everybody there is at one place.
func VisitPlace(p state.Person) string {
	address := strings.TrimSpace(p.Address)
	if i := strings.LastIndex(address, ","); i > 0 && p.Place != "home" {
		address = address[:i]
	}
	if address == "" {
		return strings.TrimSpace(p.Place)
	}
	return address
}

// WeekCases lists what the open cases need of visits, ordered by case, and the visits that were made in the last weeks.
// pending counts cases that are still to be read.
func (l *Caseload) WeekCases(ctx context.Context, now time.Time) (cases []week.Case, seen []week.Seen, pending int, err error) {
	v, err := l.upToDate(ctx, now)
	if err != nil {
		return nil, nil, 0, err
	}
	for _, k := range v.list {
		seen = append(seen, k.Seen...)
		if k.Needs != nil && k.Needs.Why == "" && !k.Row.Failed {
			cases = append(cases, weekCase(k, now))
		}
	}
	slices.SortFunc(cases, func(a, b week.Case) int { return strings.Compare(a.ID, b.ID) })
	return cases, seen, len(v.waiting), nil
}

func weekCase(k *kept, now time.Time) week.Case {
	p := k.Row.Person
	c := week.Case{ID: k.Row.Case, Name: p.Name, Place: VisitPlace(p), Nurse: p.Nurse, Team: p.Team, Next: k.Needs.Next, Planned: k.Row.Therapy.NextVisit != nil, EveryH: k.Needs.EveryH, Wounds: len(k.Needs.Wounds)}
	if k.Row.Therapy.LastVisit != nil {
		c.Last = *k.Row.Therapy.LastVisit
	}
	for _, s := range k.Seen {
		if !s.Start.Before(c.Last.Add(-visitSpan)) {
			c.LastBy = s.By
		}
	}
	c.Full = k.Row.Fill.FullAt
	endOfDay := func(days int) time.Time {
		y, m, d := now.Date()
		return time.Date(y, m, d+days, 18, 0, 0, 0, now.Location())
	}
	for _, f := range k.Row.Findings {
		if f.State != rule.Yes || f.Area == rule.Area("payer") && f.Due == nil {
			continue
		}
		d := week.Due{What: f.Headline, Measure: strings.HasPrefix(f.Rule, "MEA") || strings.HasPrefix(f.Rule, "OUT")}
		switch {
		case f.Level == rule.ActNow || f.Level == rule.Today:
			d.Urgent, d.By = true, endOfDay(0)
			if f.Due != nil && f.Due.After(now) && f.Due.Before(d.By) {
				d.By = *f.Due
			}
		case f.Due != nil:
			d.By = *f.Due
		default:
			continue
		}
		c.Dues = append(c.Dues, d)
	}
	return c
}

// Promise is a visit by the plan of the week that was taken.
type Promise struct {
	At    time.Time
	Nurse string
}

// plannedWeek reads the week's register, or gives what was read when the book stood as it does.
func (l *Caseload) plannedWeek(ctx context.Context) (*week.Roster, error) {
	l.feed.Lock()
	at := l.cursor
	l.feed.Unlock()
	l.planning.Lock()
	defer l.planning.Unlock()
	if l.planned != nil && l.plannedAt == at {
		return l.planned, nil
	}
	entries, _, err := casebook.Register{Book: l.Book, ID: week.Register}.Entries(ctx)
	if err != nil {
		return nil, err
	}
	l.planned, l.plannedAt = week.Fold(entries), at
	return l.planned, nil
}

// promised is a promise with its time in a zone.
func promised(r *week.Roster, p week.Promise, zone *time.Location) (Promise, bool) {
	day, err := time.ParseInLocation(time.DateOnly, p.Day, zone)
	n, _ := r.Nurse(p.Account)
	return Promise{time.Date(day.Year(), day.Month(), day.Day(), 0, p.Start, 0, 0, zone), n.Name}, err == nil
}

// promises are the visits of a day by the plan of the week that was taken, by case. The day is that of its zone.
func (l *Caseload) promises(ctx context.Context, day time.Time) (map[string]Promise, error) {
	r, err := l.plannedWeek(ctx)
	if err != nil {
		return nil, err
	}
	out := map[string]Promise{}
	for _, p := range r.Promises {
		if at, ok := promised(r, p, day.Location()); ok && p.Day == day.Format(time.DateOnly) {
			out[p.Case] = at
		}
	}
	return out, nil
}

// Coming says for each case who comes next and when, by the plan of the week that was taken, from today on in now's zone. A
// day on which the case was visited is over.
func (l *Caseload) Coming(ctx context.Context, rows []*Row, now time.Time) (map[string]Promise, error) {
	r, err := l.plannedWeek(ctx)
	if err != nil || len(r.Promises) == 0 {
		return nil, err
	}
	visited := map[string]string{}
	for _, x := range rows {
		if x.Therapy.LastVisit != nil {
			visited[x.Case] = x.Therapy.LastVisit.In(now.Location()).Format(time.DateOnly)
		}
	}
	out := map[string]Promise{}
	for _, p := range r.Promises { // by day
		at, ok := promised(r, p, now.Location())
		if _, sooner := out[p.Case]; ok && !sooner && p.Day >= now.Format(time.DateOnly) && p.Day != visited[p.Case] {
			out[p.Case] = at
		}
	}
	return out, nil
}
