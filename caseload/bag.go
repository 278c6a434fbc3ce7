package caseload

import (
	"context"
	"sort"
	"time"

	"lowtide/state"
	"lowtide/unit"
)

// Bag is what is brought to the visits of one day.
type Bag struct {
	// Day is the calendar day, such as 2026-03-04, in each patient's own zone.
	Day    string     `json:"day"`
	Lines  []BagTotal `json:"lines"`
	Visits []BagVisit `json:"visits"`
	// Pending cases were not read yet, or cannot be.
	Pending int `json:"pending"`
}

// BagTotal is one item for all visits of the day.
type BagTotal struct {
	Item  string   `json:"item"`
	Words string   `json:"words"`
	Count int      `json:"count"`
	For   []BagFor `json:"for"`
}

// BagFor says for whom and why.
type BagFor struct {
	Case  string `json:"case"`
	Name  string `json:"name"`
	Count int    `json:"count"`
	Why   string `json:"why"`
}

// BagVisit is a visit of the day.
type BagVisit struct {
	Case   string       `json:"case"`
	Person state.Person `json:"person"`
	At     time.Time    `json:"at"`
	// Planned is false when no visit is planned and the time follows from the interval; Late visits were due before the
	// day.
	Planned bool `json:"planned"`
	// Nurse comes by the plan of the week that was taken; empty where it says nothing of this day.
	Nurse string `json:"nurse,omitempty"`
	Late  bool   `json:"late"`
	// Cannot says what cannot be told.
	Cannot []string `json:"cannot_tell,omitempty"`
}

// Bag gives what to bring to the visits on the day that is ahead days after now's, of the patients for whom mine is
// true. On the day of now (ahead 0) visits that were due before and not made are among them.
func (l *Caseload) Bag(ctx context.Context, now time.Time, ahead int, mine func(state.Person) bool) (*Bag, error) {
	v, err := l.upToDate(ctx, now)
	if err != nil {
		return nil, err
	}
	told, err := l.promises(ctx, now.AddDate(0, 0, ahead))
	if err != nil {
		return nil, err
	}
	out := &Bag{Day: now.AddDate(0, 0, ahead).Format(time.DateOnly), Pending: v.unread(), Lines: []BagTotal{}, Visits: []BagVisit{}}
	totals := map[string]*BagTotal{}
	for _, k := range v.byCase() {
		id := k.Row.Case
		if k.Needs == nil || k.Needs.Why != "" || !mine(k.Row.Person) {
			continue
		}
		visit := BagVisit{Case: id, Person: k.Row.Person, At: k.Needs.Next, Planned: k.Row.Therapy.NextVisit != nil}
		if p, ok := told[id]; ok {
			visit.At, visit.Planned, visit.Nurse = p.At, true, p.Nurse
		}
		switch days := dayDistance(k.Row.Person.Zone, now, visit.At); {
		case days < 0 && ahead == 0:
			visit.Late = true
		case days != ahead:
			continue
		}
		at := visit.At
		if at.Before(now) {
			at = now
		}
		lines, cannot := k.Needs.Bag(at)
		visit.Cannot = cannot
		out.Visits = append(out.Visits, visit)
		for _, x := range lines {
			t := totals[x.Item]
			if t == nil {
				t = &BagTotal{Item: x.Item, Words: l.Equipment.ItemWords(x.Item)}
				totals[x.Item] = t
			}
			t.Count += x.Count
			t.For = append(t.For, BagFor{id, k.Row.Person.Name, x.Count, x.Why})
		}
	}
	sort.SliceStable(out.Visits, func(i, j int) bool { return out.Visits[i].At.Before(out.Visits[j].At) })
	for _, i := range l.Equipment.Items {
		if t := totals[i.ID]; t != nil {
			out.Lines = append(out.Lines, *t)
		}
	}
	return out, nil
}

// dayDistance counts calendar days from one instant to another in a zone.
func dayDistance(zone string, from, to time.Time) int {
	loc, ok := unit.Zone(zone)
	if !ok {
		loc = time.UTC
	}
	return int(state.DayOf(loc, to).Sub(state.DayOf(loc, from)).Hours() / 24)
}
