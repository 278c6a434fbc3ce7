// Package caseload keeps many cases in view: it lists their reviews for Rounds, the bag, the stores and the pumps, and
// reviews a case again only when its entries or the time can have changed what is said of it.
package caseload

import (
	"context"
	"errors"
	"runtime"
	"sort"
	"sync"
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/healing"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/stock"
)

// Caseload keeps one short row for every case of a book, and reviews a case again only when entries arrived or
// when a rule's answer can have changed since. Its methods may be called from several goroutines.
type Caseload struct {
	Book      casebook.Book
	Rules     *rule.Set
	Equipment *equipment.Set

	mu     sync.Mutex
	cursor int64
	kept   map[string]*kept
	dirty  map[string]bool
	// erased are the cases that the ledger says were erased: they have no row.
	erased map[string]bool
	// ledger tells that the ledger has grown since erased was read.
	ledger bool
	// desk holds the calls that belong to no case.
	desk deskKept
	// register tells that the stock's register has grown since recalls was read.
	register bool
	recalls  *stock.Stock
	// stock are the register's entries, as they were when recalls was made.
	stock []casebook.Entry
	// stores was made when the feed stood at storesAt.
	stores   *Stores
	storesAt int64
}

// kept is what stays in memory of a case.
type kept struct {
	row   Row
	from  time.Time // the instant of the review
	until time.Time // zero is never
	// ended are the sizes of the wounds of an ended case, for the agency's own curves.
	ended []healing.ClosedCase
	calls callsKept
	// read is how pump logs were read, by kind of table.
	read map[string]readAs
	// uses are what the case took of the agency's supplies, needs what it will use.
	uses  []stock.Use
	needs *review.Needs
	visit madeVisit
	pumps []PumpHeld
}

// Row is a case in a list.
type Row struct {
	Case    string
	Person  review.Person
	Therapy review.Therapy
	// Fill is when the canister in place may be full.
	Fill review.CanisterFull
	// Failed tells that the case could not be read or reviewed: its one finding says so, and its person may be missing.
	Failed bool
	// Findings are in the order of the review, without the parts that only a case's own page shows.
	Findings []RowFinding
}

// RowFinding is a finding in a list.
type RowFinding struct {
	Rule     string
	Area     rule.Area
	Wound    string
	Level    rule.Level
	State    rule.State
	Headline string
	Due      *time.Time
}

// feedPage is how many links are read at a time.
const feedPage = 5000

// New returns a caseload over the book; nothing is read yet.
func New(book casebook.Book, rules *rule.Set, eq *equipment.Set) *Caseload {
	return &Caseload{Book: book, Rules: rules, Equipment: eq, kept: map[string]*kept{}, dirty: map[string]bool{}, erased: map[string]bool{}, register: true,
		desk: deskKept{calls: map[string]callsKept{}, stale: map[string]bool{}}}
}

// Rows brings the list up to date as of now and returns it ordered by case ID. When ctx ends first, the rows that
// are ready are returned with the number of cases still to be reviewed; a row is never shown after its time.
func (l *Caseload) Rows(ctx context.Context, now time.Time) (rows []Row, pending int, err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.upToDate(ctx, now); err != nil {
		return nil, 0, err
	}
	rows = make([]Row, 0, len(l.kept))
	for id, k := range l.kept {
		if !l.dirty[id] {
			rows = append(rows, k.row)
		}
	}
	sort.Slice(rows, func(i, j int) bool { return rows[i].Case < rows[j].Case })
	return rows, len(l.dirty), nil
}

// upToDate reads what is new and reviews what it changed, as far as ctx lets it. Whoever waited here for somebody else's
// reviews may have no time left; what is ready is still shown.
func (l *Caseload) upToDate(ctx context.Context, now time.Time) error {
	if err := l.sync(context.WithoutCancel(ctx), now); err != nil {
		return err
	}
	return l.refresh(ctx, now)
}

// sync reads the feed and marks the cases with new entries, and those whose review has run out.
func (l *Caseload) sync(ctx context.Context, now time.Time) error {
	if l.cursor == 0 && len(l.kept) == 0 && len(l.dirty) == 0 {
		// The first time, the list of cases is enough; the feed is followed from there.
		heads, err := l.Book.Store.Cases(ctx)
		if err != nil {
			return err
		}
		for _, h := range heads {
			l.mark(h.Case)
			l.cursor += int64(h.Count)
		}
	}
	for {
		links, err := l.Book.Store.Feed(ctx, l.cursor, feedPage)
		if err != nil {
			return err
		}
		for _, link := range links {
			l.mark(link.Case)
			l.cursor = link.Seq
		}
		if len(links) < feedPage {
			break
		}
	}
	if err := l.syncErased(ctx); err != nil {
		return err
	}
	if err := l.syncRecalls(ctx); err != nil {
		return err
	}
	for id, k := range l.kept {
		// A review holds from its instant to its end; a clock that was set back asks for a new one too.
		if now.Before(k.from) || (!k.until.IsZero() && !now.Before(k.until)) {
			l.dirty[id] = true
		}
	}
	return nil
}

// mark notes that a case has to be reviewed; the program's own cases are none, but the ledger tells of erasures.
func (l *Caseload) mark(id string) {
	if _, ok := casebook.DeskCallOf(id); ok {
		l.desk.stale[id] = true
		return
	}
	switch {
	case id == casebook.Ledger:
		l.ledger = true
	case id == stock.Register:
		l.register = true
	case !casebook.Reserved(id) && !l.erased[id]:
		l.dirty[id] = true
	}
}

// syncErased drops the rows of erased cases when the ledger has grown.
func (l *Caseload) syncErased(ctx context.Context) error {
	if !l.ledger {
		return nil
	}
	list, err := l.Book.Erased(ctx)
	if err != nil {
		return err
	}
	for _, e := range list {
		l.erased[e.Case] = true
		delete(l.kept, e.Case)
		delete(l.dirty, e.Case)
		for _, register := range e.Also {
			delete(l.desk.calls, register)
			delete(l.desk.stale, register)
		}
	}
	l.ledger = false
	return nil
}

// Erased lists the erased cases, which have no row, oldest erasure first.
func (l *Caseload) Erased(ctx context.Context) ([]casebook.Erasure, error) { return l.Book.Erased(ctx) }

// refresh reviews the marked cases, in parallel, until done or until ctx ends.
func (l *Caseload) refresh(ctx context.Context, now time.Time) error {
	ids := make([]string, 0, len(l.dirty))
	for id := range l.dirty {
		ids = append(ids, id)
	}
	sort.Strings(ids)
	type result struct {
		id  string
		k   *kept
		err error
	}
	work, done := make(chan string), make(chan result)
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), max(1, len(ids))) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for id := range work {
				k, err := l.keepOrTell(ctx, id, now)
				done <- result{id, k, err}
			}
		}()
	}
	go func() {
		defer func() { close(work); wg.Wait(); close(done) }()
		for _, id := range ids {
			select {
			case work <- id:
			case <-ctx.Done():
				return
			}
		}
	}()
	var first error
	for r := range done {
		switch {
		case r.err == nil:
			if old := l.kept[r.id]; old != nil && r.k.row.Failed {
				r.k.row.Person, r.k.row.Therapy = old.row.Person, old.row.Therapy
			}
			l.kept[r.id] = r.k
			delete(l.dirty, r.id)
		case errors.Is(r.err, casebook.ErrErased):
			// Erased since the ledger was read; the next call finds it there.
			l.ledger = true
			delete(l.kept, r.id)
			delete(l.dirty, r.id)
		case ctx.Err() == nil && first == nil:
			first = r.err
		}
	}
	return first
}

// tryAgain is how long the row of a case that could not be reviewed stands before the next try.
const tryAgain = time.Minute

// keepOrTell is [Caseload.keep], where a case that cannot be read or reviewed gives a row that says so: one broken case
// must neither hide the others nor vanish from the list.
func (l *Caseload) keepOrTell(ctx context.Context, id string, now time.Time) (k *kept, err error) {
	failed := func(why string) *kept {
		row := Row{Case: id, Failed: true, Person: review.Person{Name: "Case " + id, Zone: "UTC"}, Therapy: review.Therapy{State: "open"}, Findings: []RowFinding{{Level: rule.ActNow, State: rule.CannotTell,
			Headline: "cannot tell: this case could not be reviewed, and nothing in it was checked. Look at the patient, and tell whoever looks after this computer: " + why}}}
		return &kept{row: row, from: now, until: now.Add(tryAgain)}
	}
	defer func() {
		if p := recover(); p != nil {
			k, err = failed("an error in the program."), nil
		}
	}()
	k, err = l.keep(ctx, id, now)
	if err != nil && !errors.Is(err, casebook.ErrErased) && ctx.Err() == nil {
		return failed("its entries cannot be read."), nil
	}
	return k, err
}

// unread counts the cases that no list beside Rounds tells of: those still to be reviewed, and those that cannot be.
func (l *Caseload) unread() int {
	n := len(l.dirty)
	for id, k := range l.kept {
		if k.row.Failed && !l.dirty[id] {
			n++
		}
	}
	return n
}

func (l *Caseload) keep(ctx context.Context, id string, now time.Time) (*kept, error) {
	entries, _, err := l.Book.Entries(ctx, id)
	if err != nil {
		return nil, err
	}
	c := l.fold(ctx, id, entries)
	r := review.OfWith(c, l.Rules, l.Equipment, l.recalls, now)
	row := Row{Case: id, Person: r.Person, Therapy: r.Therapy, Fill: review.FullOf(r)}
	for _, f := range r.Findings {
		row.Findings = append(row.Findings, RowFinding{f.Rule, f.Area, f.Wound, f.Level, f.State, f.Headline, f.Due})
	}
	return &kept{row: row, from: now, until: r.Until, ended: review.EndedSizes(c), calls: keepCalls(callsOf(c)), read: mappingsOf(c), pumps: pumpsOf(c, r.Person), visit: madeVisitOf(c),
		uses: stock.UsesOf(c, l.Equipment.ItemID), needs: review.NeedsOf(c, l.Equipment, review.FluidsOf(c, l.Equipment, l.Rules, now))}, nil
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
	if !review.NamesLots(c) {
		return review.OfWith(c, l.Rules, l.Equipment, nil, asOf), nil // no lot, no recall
	}
	recalls, err := l.Recalls(ctx)
	if err != nil {
		return nil, err
	}
	return review.OfWith(c, l.Rules, l.Equipment, recalls, asOf), nil
}
