package caseload

import (
	"context"
	"slices"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/review"
	"lowtide/stock"
	"lowtide/supply"
)

// mostStale is how many cases may wait to be read anew before a list of lots is made without them: it only makes
// suggestions, and must not wait for a whole caseload.
const mostStale = 20

// Lots are those that may be used and lie in a person's car by the record, or on the shelf when there are none in the car,
// those that the case will use first.
func (l *Caseload) Lots(ctx context.Context, account, caseID string, now time.Time) ([]stock.Lot, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.sync(context.WithoutCancel(ctx), now); err != nil {
		return nil, err
	}
	if len(l.dirty) <= mostStale {
		if err := l.refresh(ctx, now); err != nil {
			return nil, err
		}
	}
	var at []stock.Lot
	for _, place := range []string{stock.Car(account), stock.Shelf} {
		if at = l.lotsAt(place, now); len(at) > 0 {
			break
		}
	}
	var wanted []string
	if k := l.kept[caseID]; k != nil && k.needs != nil {
		wanted = k.needs.Items()
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
func (l *Caseload) lotsAt(place string, now time.Time) []stock.Lot {
	var uses []stock.Use
	for _, k := range l.kept {
		for _, u := range k.uses {
			if u.Place == place {
				uses = append(uses, u)
			}
		}
	}
	day := time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, time.UTC)
	st := stock.Fold(l.stock, uses)
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
	entry, author string
	at            time.Time
	wounds        []string
	canister      bool // a new one went in
	used          []casebook.SupplyUsed
}

func madeVisitOf(c *casebook.Case) madeVisit {
	n := len(c.Changes)
	if n == 0 {
		return madeVisit{}
	}
	d := c.Changes[n-1]
	out := madeVisit{entry: d.ID, author: d.Author, at: d.At, used: d.Body.Used}
	for _, w := range d.Body.Wounds {
		out.wounds = append(out.wounds, w.Wound)
	}
	k := d.Body.Canister
	out.canister = k != nil && k.Changed != nil && *k.Changed
	return out
}

// VisitUse is a visit of the day with what it used, or, when it does not say, with what it takes by the list.
type VisitUse struct {
	Case   string
	Person review.Person
	Entry  string
	At     time.Time
	Used   []casebook.SupplyUsed
	// Expected is filled when Used is empty: what the list says that such a visit takes.
	Expected []review.BagLine
}

// Used lists the visits that a person made on the day of now, by what they used. Days are those of each patient.
func (l *Caseload) Used(ctx context.Context, now time.Time, account string, mine func(review.Person) bool) ([]VisitUse, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.upToDate(ctx, now); err != nil {
		return nil, err
	}
	var out []VisitUse
	for id, k := range l.kept {
		v := k.visit
		if v.entry == "" || v.author != account || !mine(k.row.Person) || dayDistance(k.row.Person.Zone, now, v.at) != 0 {
			continue
		}
		u := VisitUse{Case: id, Person: k.row.Person, Entry: v.entry, At: v.at, Used: v.used}
		if len(v.used) == 0 && k.needs != nil {
			u.Expected = k.needs.Taken(v.wounds, v.canister)
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
