package caseload

import (
	"context"
	"errors"
	"sort"
	"time"

	"lowtide/casebook"
	"lowtide/review"
	"lowtide/trouble"
)

// callsKept is what stays in memory of the calls of a case: those without an end, and what was found in the others.
type callsKept struct {
	open  []casebook.Call
	found []trouble.Ended
}

func keepCalls(calls []casebook.Call) (k callsKept) {
	for i := range calls {
		c := &calls[i]
		switch {
		case c.Ended == "":
			k.open = append(k.open, casebook.Call{ID: c.ID, Began: c.Began, Last: c.Last, Author: c.Author, CallTaken: casebook.CallTaken{Caller: c.Caller, Phone: c.Phone, Patient: c.Patient}})
		case c.Found != "" && c.GoesOn == "":
			e := trouble.Ended{Found: c.Found}
			for _, x := range c.Checks {
				e.Checks = append(e.Checks, trouble.Outcome{Check: x.Check, Result: x.Result})
			}
			k.found = append(k.found, e)
		}
	}
	return k
}

// OpenCall is a call without an end. Case is empty for one that belongs to no case yet.
type OpenCall struct {
	Case   string
	Person review.Person
	Call   casebook.Call
}

// OpenCalls lists the calls without an end, newest word first. pending is how many cases were not read before ctx ended.
func (l *Caseload) OpenCalls(ctx context.Context, now time.Time) (out []OpenCall, pending int, err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.syncCalls(ctx, now); err != nil {
		return nil, 0, err
	}
	for _, k := range l.desk.calls {
		for _, c := range k.open {
			out = append(out, OpenCall{Call: c})
		}
	}
	for id, k := range l.kept {
		for _, c := range k.calls.open {
			out = append(out, OpenCall{id, k.row.Person, c})
		}
	}
	newestFirst(out)
	return out, len(l.dirty) + len(l.desk.stale), nil
}

// CallTally counts what ended calls found, over every case and the desk's own calls, as the model names causes.
func (l *Caseload) CallTally(ctx context.Context, m *review.CallModel, now time.Time) (t review.CallTally, pending int, err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.syncCalls(ctx, now); err != nil {
		return t, 0, err
	}
	count := func(k callsKept) {
		for _, e := range k.found {
			t.Count(m, e)
		}
	}
	for _, k := range l.desk.calls {
		count(k)
	}
	for _, k := range l.kept {
		count(k.calls)
	}
	return t, len(l.dirty) + len(l.desk.stale), nil
}

// syncCalls brings cases and the desk's calls up to date, as far as ctx lets it.
func (l *Caseload) syncCalls(ctx context.Context, now time.Time) error {
	if err := l.sync(context.WithoutCancel(ctx), now); err != nil {
		return err
	}
	if err := l.readDesk(ctx); err != nil {
		return err
	}
	return l.refresh(ctx, now)
}

// readDesk reads the desk's calls that changed, as far as ctx lets it.
func (l *Caseload) readDesk(ctx context.Context) error {
	for register := range l.desk.stale {
		if ctx.Err() != nil {
			break // the rest is told as still to be read
		}
		entries, _, err := casebook.Register{Book: l.Book, ID: register}.Entries(ctx)
		switch k := keepCalls(casebook.FoldCalls(register, entries)); {
		case err != nil && ctx.Err() != nil:
			continue
		case err != nil && !errors.Is(err, casebook.ErrErased):
			return err
		case len(k.open)+len(k.found) > 0:
			l.desk.calls[register] = k
		default:
			delete(l.desk.calls, register)
		}
		delete(l.desk.stale, register)
	}
	return nil
}

// DeskCalls are the open calls that belong to no case, newest word first, as of the last sync of the caseload.
// pending is how many calls were not read before ctx ended.
func (l *Caseload) DeskCalls(ctx context.Context) (out []OpenCall, pending int, err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := l.readDesk(ctx); err != nil {
		return nil, 0, err
	}
	for _, k := range l.desk.calls {
		for _, c := range k.open {
			out = append(out, OpenCall{Call: c})
		}
	}
	newestFirst(out)
	return out, len(l.desk.stale), nil
}

func newestFirst(list []OpenCall) {
	sort.Slice(list, func(i, j int) bool {
		if a, b := list[i].Call.Last, list[j].Call.Last; !a.Equal(b) {
			return a.After(b)
		}
		return list[i].Call.ID < list[j].Call.ID
	})
}

// deskKept is what stays in memory of the calls that belong to no case, by register.
type deskKept struct {
	calls map[string]callsKept
	stale map[string]bool
}

// DeskBook is the register of a call that belongs to no case.
func (l *Caseload) DeskBook(call string) casebook.Register {
	return casebook.Register{Book: l.Book, ID: casebook.DeskCall(call)}
}

// DeskCall reads a call that belongs to no case; nil when there is none, or none any more.
func (l *Caseload) DeskCall(ctx context.Context, id string) (*casebook.Call, error) {
	desk := l.DeskBook(id)
	entries, _, err := desk.Entries(ctx)
	if errors.Is(err, casebook.ErrErased) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	calls := casebook.FoldCalls(desk.ID, entries)
	for i := range calls {
		if calls[i].ID == id {
			return &calls[i], nil
		}
	}
	return nil, nil
}

// callsOf are the calls of a case that may not be there.
func callsOf(c *casebook.Case) []casebook.Call {
	if c == nil {
		return nil
	}
	return c.Calls
}
