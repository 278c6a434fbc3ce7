package caseload

import (
	"container/heap"
	"context"
	"errors"
	"maps"
	"runtime"
	"sync"
	"time"

	"lowtide/casebook"
	"lowtide/stock"
)

// queue holds the cases that are to be reviewed: those with new entries first.
type queue struct {
	// dirty counts the marks of each case that waits: a mark that comes during its review asks for another one.
	dirty map[string]int
	// busy are the cases that somebody is reviewing.
	busy map[string]bool
	// urgent are the cases with new entries, later the others; both may hold cases that are done or busy.
	urgent, later []string
	// done is closed, and made anew, when a review ends.
	done chan struct{}
}

func newQueue() queue {
	return queue{dirty: map[string]int{}, busy: map[string]bool{}, done: make(chan struct{})}
}

func (q *queue) add(id string, urgent bool) {
	q.dirty[id]++
	if urgent {
		q.urgent = append(q.urgent, id)
	} else if q.dirty[id] == 1 {
		q.later = append(q.later, id)
	}
}

func (q *queue) drop(id string) { delete(q.dirty, id) }

// take hands out the next case, and how often it was marked; without all, only one with new entries.
func (q *queue) take(all bool) (id string, marks int, ok bool) {
	lists := []*[]string{&q.urgent, &q.later}
	if !all {
		lists = lists[:1]
	}
	for _, list := range lists {
		for len(*list) > 0 {
			id, *list = (*list)[0], (*list)[1:]
			if marks = q.dirty[id]; marks > 0 && !q.busy[id] {
				q.busy[id] = true
				return id, marks, true
			}
		}
	}
	return "", 0, false
}

// give ends the review of a case that had that many marks when it was taken; a case that was marked since, and one whose
// review came to nothing, goes back into the queue.
func (q *queue) give(id string, marks int, reviewed bool) {
	delete(q.busy, id)
	switch now := q.dirty[id]; {
	case reviewed && now == marks:
		delete(q.dirty, id)
	case now > 0:
		q.urgent = append(q.urgent, id)
	}
	close(q.done)
	q.done = make(chan struct{})
}

// ends orders the reviews by when they run out; it may hold some that were replaced.
type ends []*kept

func (e ends) Len() int           { return len(e) }
func (e ends) Less(i, j int) bool { return e[i].Until.Before(e[j].Until) }
func (e ends) Swap(i, j int)      { e[i], e[j] = e[j], e[i] }
func (e *ends) Push(x any)        { *e = append(*e, x.(*kept)) }
func (e *ends) Pop() any {
	old := *e
	k := old[len(old)-1]
	old[len(old)-1] = nil
	*e = old[:len(old)-1]
	return k
}

// feedPage is how many links are read at a time.
const feedPage = 5000

// sync asks the book for what is new, and marks the cases with new entries and those whose review has run out. It goes on
// when ctx ends: it is quick, and half of it would be of no use.
func (l *Caseload) sync(ctx context.Context, now time.Time) error {
	ctx = context.WithoutCancel(ctx)
	l.feed.Lock()
	defer l.feed.Unlock()
	if l.cursor == 0 {
		if err := l.first(ctx, now); err != nil {
			return err
		}
	}
	for {
		links, err := l.Book.Store.Feed(ctx, l.cursor, feedPage)
		if err != nil {
			return err
		}
		l.mu.Lock()
		for _, link := range links {
			l.mark(link.Case, true)
			l.cursor = link.Seq
		}
		l.mu.Unlock()
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
	l.mu.Lock()
	defer l.mu.Unlock()
	l.expire(now)
	return nil
}

// first lists the cases at the start; the feed is followed from there. Rows that the shelf has kept of a case as it stands
// are taken from it.
func (l *Caseload) first(ctx context.Context, now time.Time) error {
	heads, err := l.Book.Store.Cases(ctx)
	if err != nil {
		return err
	}
	l.mu.Lock()
	for _, h := range heads {
		l.mark(h.Case, false)
		l.cursor += int64(h.Count)
	}
	l.mu.Unlock()
	if l.Shelf == nil {
		return nil
	}
	// The recalls tell whether a kept row still holds.
	if err := l.syncErased(ctx); err != nil {
		return err
	}
	if err := l.syncRecalls(ctx); err != nil {
		return err
	}
	l.unshelve(ctx, heads, now)
	return nil
}

// mark notes that a case has to be reviewed; the program's own cases are none, but the ledger tells of erasures. The lock
// must be held.
func (l *Caseload) mark(id string, urgent bool) {
	if _, ok := casebook.DeskCallOf(id); ok {
		l.desk.marks++
		l.desk.stale[id] = l.desk.marks
		return
	}
	if c := casebook.BroughtFor(id); c != id {
		id = c // who took over what came by file stands beside the case, and is not in its head
	}
	switch {
	case id == casebook.Ledger:
		l.ledger = true
	case id == stock.Register:
		l.register = true
	case !casebook.Reserved(id) && !l.erased[id]:
		l.add(id, urgent)
	}
}

// expire marks the cases whose review has run out by now, or is of a time after it. The lock must be held.
func (l *Caseload) expire(now time.Time) {
	for len(l.ends) > 0 && !now.Before(l.ends[0].Until) {
		if k := heap.Pop(&l.ends).(*kept); l.kept[k.Row.Case] == k {
			l.add(k.Row.Case, false)
		}
	}
	if now.Before(l.latest) {
		for id, k := range l.kept {
			if now.Before(k.From) {
				l.add(id, false)
			}
		}
	}
	l.latest = now
}

// syncErased drops the rows of erased cases when the ledger has grown.
func (l *Caseload) syncErased(ctx context.Context) error {
	l.mu.Lock()
	grown := l.ledger
	l.ledger = false
	l.mu.Unlock()
	if !grown {
		return nil
	}
	list, err := l.Book.Erased(ctx)
	l.mu.Lock()
	defer l.mu.Unlock()
	if err != nil {
		l.ledger = true
		return err
	}
	for _, e := range list {
		l.erased[e.Case] = true
		l.remove(e.Case)
		for _, register := range e.Also {
			delete(l.desk.calls, register)
			delete(l.desk.stale, register)
		}
	}
	return nil
}

// refresh reviews the marked cases, in parallel and beside others who do the same, until none is left or ctx ends; without
// all, those with new entries only.
func (l *Caseload) refresh(ctx context.Context, now time.Time, all bool) {
	l.mu.Lock()
	workers := min(runtime.GOMAXPROCS(0), len(l.dirty))
	l.mu.Unlock()
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			for ctx.Err() == nil && l.reviewNext(ctx, now, all) {
			}
		})
	}
	wg.Wait()
	// What others have in hand is theirs to finish; a case that was marked meanwhile is for whoever comes next.
	l.mu.Lock()
	defer l.mu.Unlock()
	for id := range maps.Clone(l.busy) {
		for l.busy[id] && ctx.Err() == nil {
			done := l.done
			l.mu.Unlock()
			select {
			case <-done:
			case <-ctx.Done():
			}
			l.mu.Lock()
		}
	}
}

// reviewNext reviews one case of the queue; false is that none is left to take.
func (l *Caseload) reviewNext(ctx context.Context, now time.Time, all bool) bool {
	l.mu.Lock()
	id, marks, ok := l.take(all)
	recalls := l.recalls
	l.mu.Unlock()
	if !ok {
		return false
	}
	k, err := l.keepOrTell(ctx, id, recalls, now)
	l.mu.Lock()
	defer l.mu.Unlock()
	switch {
	case errors.Is(err, casebook.ErrErased):
		// Erased since the ledger was read; the next call finds it there.
		l.ledger = true
		l.remove(id)
	case err == nil && !l.erased[id]:
		if k.recallsDiffer(recalls, l.recalls) {
			l.dirty[id]++
		}
		if old := l.kept[id]; old != nil && k.Row.Failed {
			k.Row.Person, k.Row.Therapy = old.Row.Person, old.Row.Therapy
		}
		l.unsaved[id] = l.store(k)
	}
	l.give(id, marks, err == nil)
	return true
}

// store keeps a row, made compact, in place of the one before, and returns it. The lock must be held.
func (l *Caseload) store(k *kept) *kept {
	k = l.words.compact(k, len(l.kept))
	id := k.Row.Case
	l.put(l.kept[id], k)
	l.kept[id] = k
	if !k.Until.IsZero() {
		heap.Push(&l.ends, k)
	}
	if k.From.After(l.latest) {
		l.latest = k.From
	}
	return k
}

// remove forgets an erased case. The lock must be held.
func (l *Caseload) remove(id string) {
	l.put(l.kept[id], nil)
	delete(l.kept, id)
	l.drop(id)
	l.unsaved[id] = nil
}

// view is what is known now.
func (l *Caseload) view() view {
	l.mu.Lock()
	defer l.mu.Unlock()
	v := view{stock: l.stock, cursor: l.cursor}
	v.list, v.rows = l.current(l.kept)
	if len(l.dirty) > 0 {
		v.waiting = make(map[string]bool, len(l.dirty))
		for id := range l.dirty {
			v.waiting[id] = true
			if l.kept[id] == nil {
				v.unknown++
			}
		}
	}
	return v
}
