// Package caseload keeps many cases in view: it lists their reviews for Rounds, the bag, the stores and the pumps, and
// reviews a case again only when its entries or the time can have changed what is said of it.
package caseload

import (
	"context"
	"errors"
	"sync"
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
	"lowtide/stock"
	"lowtide/week"
)

// Caseload keeps one short row for every case of a book. Its methods may be called from several goroutines: whoever
// asks for a list helps with the reviews that it needs, and nobody waits for a lock while a case is read or reviewed.
type Caseload struct {
	Book      casebook.Book
	Rules     *rule.Set
	Equipment *equipment.Set
	// Shelf keeps rows between two runs of the program; nil keeps none.
	Shelf Shelf
	// Program names this build: rows that another build left on the shelf are not looked at.
	Program string

	// feed is held while the book is asked for what is new; cursor is how far it was read.
	feed   sync.Mutex
	cursor int64
	// making is held while the stock is worked out: stores was made when the feed stood at storesAt.
	making   sync.Mutex
	stores   *Stores
	storesAt int64

	// planning is held while the week's register is read: planned was read when the feed stood at plannedAt.
	planning  sync.Mutex
	planned   *week.Roster
	plannedAt int64

	// mu guards what follows. Nothing is read or reviewed while it is held.
	mu   sync.Mutex
	kept map[string]*kept
	words
	order
	queue
	ends ends
	// latest is the latest instant of a review: a clock that was set back before it makes some of them come from the future.
	latest time.Time
	// erased are the cases that the ledger says were erased: they have no row.
	erased map[string]bool
	// ledger tells that the ledger has grown since erased was read, register that the stock's register has grown since
	// recalls was made of its entries.
	ledger, register bool
	recalls          *stock.Stock
	stock            []casebook.Entry
	// desk holds the calls that belong to no case.
	desk deskKept
	// unsaved are the cases whose row the shelf does not have as it is now; nil takes the row off.
	unsaved map[string]*kept
}

// New returns a caseload over the book; nothing is read yet.
func New(book casebook.Book, rules *rule.Set, eq *equipment.Set) *Caseload {
	return &Caseload{Book: book, Rules: rules, Equipment: eq, kept: map[string]*kept{}, queue: newQueue(), erased: map[string]bool{}, register: true,
		desk: deskKept{calls: map[string]callsKept{}, stale: map[string]int{}}, unsaved: map[string]*kept{}}
}

// Rows brings the list up to date as of now and returns it in the order of Rounds: by the level of the first finding, when
// it is due, what it is about, and name. When ctx ends first, the rows that are ready are returned with the number of
// cases still to be reviewed; a row is never shown after its time. The rows are shared: nobody may change them.
func (l *Caseload) Rows(ctx context.Context, now time.Time) (rows []*Row, pending int, err error) {
	v, err := l.upToDate(ctx, now)
	if err != nil {
		return nil, 0, err
	}
	return v.ready(), len(v.waiting), nil
}

// upToDate reads what is new and reviews what it changed, as far as ctx lets it, and returns what is known then. Whoever has
// no time left still sees what is ready.
func (l *Caseload) upToDate(ctx context.Context, now time.Time) (view, error) {
	if err := l.sync(ctx, now); err != nil {
		return view{}, err
	}
	l.refresh(ctx, now, true)
	return l.view(), nil
}

// Glance lists who the patients are, for whoever must not wait for reviews: only cases with new entries, and after a start
// those that were never read, are read as far as ctx lets it. unknown counts those that were not. The findings of these rows
// may have run out.
func (l *Caseload) Glance(ctx context.Context, now time.Time) (rows []*Row, unknown int, err error) {
	v, err := l.glance(ctx, now)
	if err != nil {
		return nil, 0, err
	}
	return v.rows, v.unknown, nil
}

// glance is upToDate without waiting for the cases that are known and have no new entries.
func (l *Caseload) glance(ctx context.Context, now time.Time) (view, error) {
	if err := l.sync(ctx, now); err != nil {
		return view{}, err
	}
	l.refresh(ctx, now, false)
	v := l.view()
	if v.unknown > 0 {
		l.refresh(ctx, now, true)
		v = l.view()
	}
	return v, nil
}

// keep reads and reviews one case.
func (l *Caseload) keep(ctx context.Context, id string, recalls *stock.Stock, now time.Time) (*kept, error) {
	entries, head, err := l.Book.Entries(ctx, id)
	if err != nil {
		return nil, err
	}
	c := l.fold(ctx, id, entries)
	r := review.Of(state.Of(c, l.Rules, l.Equipment, recalls, now), l.Rules)
	row := Row{Case: id, Person: r.Person, Therapy: r.Therapy, Fill: review.FullOf(r), Glance: review.GlanceOf(r)}
	for _, f := range r.Findings {
		row.Findings = append(row.Findings, RowFinding{f.Rule, f.Area, f.Wound, f.Level, f.State, f.Headline, f.Due})
	}
	for _, s := range r.Plan {
		row.Plan = append(row.Plan, RowStep{s.Level, s.Do, r.Finding(s.Because[0]).Headline, s.DueApart(c.Zone), append(s.Forms, "")[0]})
	}
	if next := state.NextStart(state.StartOf(c), false); next != nil {
		row.Next = next.Kind
	}
	k := &kept{Row: row, From: now, Until: r.Until, Recalls: r.Recalls, Ended: state.EndedSizes(c), Calls: keepCalls(c.Calls), Read: mappingsOf(c), Pumps: pumpsOf(c, r.Person),
		Visit: madeVisitOf(c), Uses: stock.UsesOf(c, l.Equipment.ItemID), Needs: r.State.Needs(), head: head}
	k.Seen = seenOf(c, r.Person, now)
	k.key = placeOf(&k.Row)
	return k, nil
}

// tryAgain is how long the row of a case that could not be reviewed stands before the next try.
const tryAgain = time.Minute

// keepOrTell is [Caseload.keep], where a case that cannot be read or reviewed gives a row that says so: one broken case
// must neither hide the others nor vanish from the list. Errors: [casebook.ErrErased], and that of ctx.
func (l *Caseload) keepOrTell(ctx context.Context, id string, recalls *stock.Stock, now time.Time) (k *kept, err error) {
	failed := func(why string) *kept {
		row := Row{Case: id, Failed: true, Person: state.Person{Name: "Case " + id, Zone: "UTC"}, Therapy: state.Therapy{State: "open"}, Findings: []RowFinding{{Level: rule.ActNow, State: rule.CannotTell,
			Headline: "cannot tell: this case could not be reviewed, and nothing in it was checked. Look at the patient, and tell whoever looks after this computer: " + why}}}
		return &kept{Row: row, From: now, Until: now.Add(tryAgain), key: placeOf(&row)}
	}
	defer func() {
		if p := recover(); p != nil {
			k, err = failed("an error in the program."), nil
		}
	}()
	k, err = l.keep(ctx, id, recalls, now)
	switch {
	case err == nil || errors.Is(err, casebook.ErrErased):
		return k, err
	case ctx.Err() != nil:
		return nil, ctx.Err()
	}
	return failed("its entries cannot be read."), nil
}

// Case reads, folds and reviews one case, and returns the head that an append has to name. A case without
// entries, and one of the program's own, gives nil, nil and ""; an erased one gives [casebook.ErrErased].
func (l *Caseload) Case(ctx context.Context, id string, now time.Time) (*casebook.Case, *review.Review, string, error) {
	if casebook.Reserved(id) {
		return nil, nil, "", nil
	}
	entries, head, err := l.Book.Entries(ctx, id)
	if err != nil || len(entries) == 0 {
		return nil, nil, "", err
	}
	c := l.fold(ctx, id, entries)
	r, err := l.Review(ctx, c, now)
	return c, r, head, err
}

// fold makes the case, with the way to the logs that are kept beside its entries.
func (l *Caseload) fold(ctx context.Context, id string, entries []casebook.Entry) *casebook.Case {
	c := casebook.Fold(id, entries)
	reading := context.WithoutCancel(ctx) // pages look at logs after the review is done
	c.Blob = func(hash string) ([]byte, error) { return l.Book.Blob(reading, id, hash) }
	return c
}

// Review reviews a folded case with the recalls in force now.
func (l *Caseload) Review(ctx context.Context, c *casebook.Case, asOf time.Time) (*review.Review, error) {
	if !state.NamesLots(c) {
		return review.Of(state.Of(c, l.Rules, l.Equipment, nil, asOf), l.Rules), nil // no lot, no recall
	}
	recalls, err := l.Recalls(ctx)
	if err != nil {
		return nil, err
	}
	return review.Of(state.Of(c, l.Rules, l.Equipment, recalls, asOf), l.Rules), nil
}
