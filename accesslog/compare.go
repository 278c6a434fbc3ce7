package accesslog

import (
	"context"
	"fmt"
	"slices"
	"time"

	"lowtide/casebook"
)

// The store and its access log watch each other: each line of the log says how far the store had come, and the store's
// ledger says now and then how far the log had come. Both are sealed, so whoever has no key can put an older copy of
// either in its place, but not one that fits the other.

// Beside has the log note in each line how far the store has come. It is called before the first line.
func (l *Log) Beside(store casebook.Store) { l.beside = store }

// Mark is the end of the log's own chain.
func (l *Log) Mark(ctx context.Context) (casebook.Mark, error) { return l.book.Store.Mark(ctx) }

// recent is how many of the log's last lines a quick comparison looks at.
const recent = 500

// Compare tells in which ways a store and its access log do not fit, also those that the ledger has as found and nobody
// settled; none when they fit. It goes through the whole log
// when all is asked for, and otherwise through its last lines. until, if not zero, leaves out what the ledger noted at
// that time or later: for a backup, in which the log is copied first.
//
// The store must be read before the log is: whoever writes meanwhile must not look like a difference. Compare does so.
func Compare(ctx context.Context, store casebook.Book, log casebook.Book, all bool, until time.Time) ([]casebook.DifferenceFound, error) {
	ledger, _, err := casebook.Register{Book: store, ID: casebook.Ledger}.Entries(ctx)
	if err != nil {
		return nil, fmt.Errorf("accesslog: compare: %w", err)
	}
	var settled casebook.DifferenceSettled
	var marked []casebook.Entry
	var found []casebook.DifferenceFound
	for _, e := range ledger {
		switch b := e.Body.(type) {
		case casebook.DifferenceSettled:
			settled, marked, found = b, nil, nil
		case casebook.DifferenceFound:
			found = append(found, b)
		case casebook.AccessMarked:
			if until.IsZero() || e.At.Before(until) {
				marked = append(marked, e)
			}
		}
	}
	ofLog, err := marksOfLog(ctx, marked, log.Store, all)
	if err != nil {
		return nil, err
	}
	ofStore, err := marksOfStore(ctx, store.Store, log, settled.Access.Count, all)
	if err != nil {
		return nil, err
	}
	for _, d := range append(ofLog, ofStore...) {
		known := func(k casebook.DifferenceFound) bool { return k.Older == d.Older && k.Seen.Equal(d.Seen) }
		if !slices.ContainsFunc(found, known) {
			found = append(found, d)
		}
	}
	return found, nil
}

// Missing tells what [Compare] does when there is no access log beside the store at all.
func Missing(ctx context.Context, store casebook.Book) ([]casebook.DifferenceFound, error) {
	return Compare(ctx, store, casebook.Book{Store: nothing{}}, false, time.Time{})
}

// nothing is a log without a line.
type nothing struct{ casebook.Store }

func (nothing) Mark(context.Context) (casebook.Mark, error) { return casebook.Mark{}, nil }

func (nothing) Feed(context.Context, int64, int) ([]casebook.Link, error) { return nil, nil }

// marksOfLog looks for what the ledger noted of the log; the newest note that does not hold is told.
func marksOfLog(ctx context.Context, marked []casebook.Entry, log casebook.Store, all bool) ([]casebook.DifferenceFound, error) {
	if len(marked) == 0 {
		return nil, nil
	}
	end, err := log.Mark(ctx)
	if err != nil {
		return nil, fmt.Errorf("accesslog: compare: %w", err)
	}
	if !all {
		marked = marked[len(marked)-1:]
	}
	for i := len(marked) - 1; i >= 0; i-- {
		m, at := marked[i].Body.(casebook.AccessMarked).Access, marked[i].At
		holds, err := casebook.Holds(ctx, log, m)
		switch {
		case err != nil:
			return nil, fmt.Errorf("accesslog: compare: %w", err)
		case holds:
		case end.Count < m.Count:
			return []casebook.DifferenceFound{{Older: "access log", Seen: at, Words: fmt.Sprintf("The access log is older than the store: it holds %d lines, and on %s the store's ledger noted %d. An older copy of it was put in its place, or its last lines were lost.", end.Count, clock(at), m.Count)}}, nil
		default:
			return []casebook.DifferenceFound{{Seen: at, Words: fmt.Sprintf("The access log does not hold line %d as the store's ledger noted it on %s: it was made anew, or belongs to another store.", m.Count, clock(at))}}, nil
		}
	}
	return nil, nil
}

// marksOfStore looks for what the lines noted of the store; the newest line that does not hold is told.
func marksOfStore(ctx context.Context, store casebook.Store, log casebook.Book, after int64, all bool) ([]casebook.DifferenceFound, error) {
	end, err := log.Store.Mark(ctx)
	if err != nil {
		return nil, fmt.Errorf("accesslog: compare: %w", err)
	}
	if !all {
		after = max(after, end.Count-recent)
	}
	// The last line that saw each place: many lines see the same.
	seen := map[casebook.Mark]time.Time{}
	for at := after; ; {
		links, err := log.Store.Feed(ctx, at, 1000)
		if err != nil {
			return nil, fmt.Errorf("accesslog: compare: %w", err)
		}
		if len(links) == 0 {
			break
		}
		for _, l := range links {
			e, err := log.Decode(ctx, l.Record)
			if err != nil {
				return nil, fmt.Errorf("accesslog: compare: %w", err)
			}
			if n, ok := e.Body.(Noted); ok && n.Store != nil {
				seen[*n.Store] = e.At
			}
		}
		at = links[len(links)-1].Seq
	}
	now, err := store.Mark(ctx)
	if err != nil {
		return nil, fmt.Errorf("accesslog: compare: %w", err)
	}
	var worst *casebook.DifferenceFound
	for m, at := range seen {
		holds, err := casebook.Holds(ctx, store, m)
		if err != nil {
			return nil, fmt.Errorf("accesslog: compare: %w", err)
		}
		if holds || worst != nil && !at.After(worst.Seen) {
			continue
		}
		worst = &casebook.DifferenceFound{Seen: at, Words: fmt.Sprintf("The store does not hold record %d as the access log saw it on %s: its chain was made anew, or it is another store.", m.Count, clock(at))}
		if now.Count < m.Count {
			worst.Older = "store"
			worst.Words = fmt.Sprintf("The store is older than its access log: it holds %d records, and on %s the access log saw %d. An older copy was put in its place, or its last entries were lost: by a damaged disk or file, say.", now.Count, clock(at), m.Count)
		}
	}
	if worst == nil {
		return nil, nil
	}
	return []casebook.DifferenceFound{*worst}, nil
}

func clock(at time.Time) string { return at.UTC().Format("2 January 2006 15:04 UTC") }
