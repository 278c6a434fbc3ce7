package caseload

import (
	"context"
	"slices"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/state"
	"lowtide/stock"
	"lowtide/supply"
)

// Lots are those that may be used and lie in a person's car by the record, or on the shelf when there are none in the car,
// those that the case will use first.
func (l *Caseload) Lots(ctx context.Context, account, caseID string, now time.Time) ([]stock.Lot, error) {
	v, err := l.glance(ctx, now)
	if err != nil {
		return nil, err
	}
	var at []stock.Lot
	for _, place := range []string{stock.Car(account), stock.Shelf} {
		if at = v.lotsAt(place, now); len(at) > 0 {
			break
		}
	}
	var wanted []string
	for _, k := range v.list {
		if k.Row.Case == caseID && k.Needs != nil {
			wanted = k.Needs.Items()
		}
	}
	slices.SortStableFunc(at, func(a, b stock.Lot) int {
		rank := func(x stock.Lot) int {
			if slices.Contains(wanted, x.Item) {
				return 0
			}
			return 1
		}
		return rank(a) - rank(b)
	})
	return at, nil
}

// lotsAt folds what belongs to one place: the whole stock would take as long as the Stores page.
func (v view) lotsAt(place string, now time.Time) []stock.Lot {
	var uses []stock.Use
	for _, k := range v.list {
		for _, u := range k.Uses {
			if u.Place == place {
				uses = append(uses, u)
			}
		}
	}
	day := time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, time.UTC)
	st := stock.Fold(v.stock, uses)
	var out []stock.Lot
	for _, x := range st.Lots {
		_, recalled := st.Recalled(x.Item, x.Lot)
		if x.Place == place && x.Count > 0 && !recalled && !(supply.Lot{Expires: x.Expires}).Expired(day) {
			out = append(out, x)
		}
	}
	return out
}

// madeVisit is the newest change of dressing of a case.
type madeVisit struct {
	Entry, Author string
	At            time.Time
	Wounds        []string              `json:",omitempty"`
	Canister      bool                  // a new one went in
	Used          []casebook.SupplyUsed `json:",omitempty"`
}

func madeVisitOf(c *casebook.Case) madeVisit {
	n := len(c.Changes)
	if n == 0 {
		return madeVisit{}
	}
	d := c.Changes[n-1]
	out := madeVisit{Entry: d.ID, Author: d.Author, At: d.At, Used: d.Body.Used}
	for _, w := range d.Body.Wounds {
		out.Wounds = append(out.Wounds, w.Wound)
	}
	k := d.Body.Canister
	out.Canister = k != nil && k.Changed != nil && *k.Changed
	return out
}

// VisitUse is a visit of the day with what it used, or, when it does not say, with what it takes by the list.
type VisitUse struct {
	Case   string
	Person state.Person
	Entry  string
	At     time.Time
	Used   []casebook.SupplyUsed
	// Expected is filled when Used is empty: what the list says that such a visit takes.
	Expected []state.BagLine
}

// Used lists the visits that a person made on the day of now, by what they used. Days are those of each patient.
func (l *Caseload) Used(ctx context.Context, now time.Time, account string, mine func(state.Person) bool) ([]VisitUse, error) {
	known, err := l.upToDate(ctx, now)
	if err != nil {
		return nil, err
	}
	var out []VisitUse
	for _, k := range known.list {
		v := k.Visit
		if v.Entry == "" || v.Author != account || !mine(k.Row.Person) || dayDistance(k.Row.Person.Zone, now, v.At) != 0 {
			continue
		}
		u := VisitUse{Case: k.Row.Case, Person: k.Row.Person, Entry: v.Entry, At: v.At, Used: v.Used}
		if len(v.Used) == 0 && k.Needs != nil {
			u.Expected = k.Needs.Taken(v.Wounds, v.Canister)
		}
		out = append(out, u)
	}
	slices.SortFunc(out, func(a, b VisitUse) int {
		if c := a.At.Compare(b.At); c != 0 {
			return c
		}
		return strings.Compare(a.Case, b.Case)
	})
	return out, nil
}
