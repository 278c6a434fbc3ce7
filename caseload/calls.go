package caseload

import (
	"context"
	"errors"
	"maps"
	"sort"
	"sync"
	"time"

	"lowtide/casebook"
	"lowtide/state"
	"lowtide/trouble"
)

// callsKept is what stays in memory of the calls of a case: those without an end, and what was found in the others.
type callsKept struct {
	Open  []casebook.Call `json:",omitempty"`
	Found []trouble.Ended `json:",omitempty"`
}

func keepCalls(calls []casebook.Call) (k callsKept) {
	for i := range calls {
		c := &calls[i]
		switch {
		case c.Ended == "":
			k.Open = append(k.Open, casebook.Call{ID: c.ID, Began: c.Began, Last: c.Last, Author: c.Author, CallTaken: casebook.CallTaken{Caller: c.Caller, Phone: c.Phone, Patient: c.Patient}})
		case c.Found != "" && c.GoesOn == "":
			e := trouble.Ended{Found: c.Found}
			for _, x := range c.Checks {
				e.Checks = append(e.Checks, trouble.Outcome{Check: x.Check, Result: x.Result})
			}
			k.Found = append(k.Found, e)
		}
	}
	return k
}

// OpenCall is a call without an end. Case is empty for one that belongs to no case yet.
type OpenCall struct {
	Case   string
	Person state.Person
	Call   casebook.Call
}

// OpenCalls lists the calls without an end, newest word first. pending is how many cases were not read before ctx ended.
func (l *Caseload) OpenCalls(ctx context.Context, now time.Time) (out []OpenCall, pending int, err error) {
	v, desk, pending, err := l.syncCalls(ctx, now)
	if err != nil {
		return nil, 0, err
	}
	for _, k := range desk {
		for _, c := range k.Open {
			out = append(out, OpenCall{Call: c})
		}
	}
	for _, k := range v.list {
		for _, c := range k.Calls.Open {
			out = append(out, OpenCall{k.Row.Case, k.Row.Person, c})
		}
	}
	newestFirst(out)
	return out, pending, nil
}

// CallTally counts what ended calls found, over every case and the desk's own calls, as the model names causes.
func (l *Caseload) CallTally(ctx context.Context, m *state.CallModel, now time.Time) (t state.CallTally, pending int, err error) {
	v, desk, pending, err := l.syncCalls(ctx, now)
	if err != nil {
		return t, 0, err
	}
	count := func(k callsKept) {
		for _, e := range k.Found {
			t.Count(m, e)
		}
	}
	for _, k := range desk {
		count(k)
	}
	for _, k := range v.list {
		count(k.Calls)
	}
	return t, pending, nil
}

// syncCalls brings the cases with new entries and the desk's calls up to date, as far as ctx lets it; pending is how many
// cases and calls of the desk are still to be read.
func (l *Caseload) syncCalls(ctx context.Context, now time.Time) (v view, desk []callsKept, pending int, err error) {
	if v, err = l.glance(ctx, now); err != nil {
		return v, nil, 0, err
	}
	desk, pending, err = l.readDesk(ctx)
	return v, desk, pending + len(v.waiting), err
}

// readDesk reads the desk's calls that changed, as far as ctx lets it, and returns all of them with the number of those that
// are still to be read.
func (l *Caseload) readDesk(ctx context.Context) (all []callsKept, pending int, err error) {
	l.mu.Lock()
	stale := maps.Clone(l.desk.stale)
	l.mu.Unlock()
	for register, mark := range stale {
		if ctx.Err() != nil {
			break // the rest is told as still to be read
		}
		entries, _, err := casebook.Register{Book: l.Book, ID: register}.Entries(ctx)
		if err != nil && ctx.Err() != nil {
			break
		}
		if err != nil && !errors.Is(err, casebook.ErrErased) {
			return nil, 0, err
		}
		l.desk.read(&l.mu, register, mark, keepCalls(casebook.FoldCalls(register, entries)))
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, k := range l.desk.calls {
		all = append(all, k)
	}
	return all, len(l.desk.stale), nil
}

// read keeps what was read of a register, unless it was marked, or read by somebody else, since.
func (d *deskKept) read(mu *sync.Mutex, register string, mark int, k callsKept) {
	mu.Lock()
	defer mu.Unlock()
	if d.stale[register] != mark {
		return
	}
	delete(d.stale, register)
	delete(d.calls, register)
	if len(k.Open)+len(k.Found) > 0 {
		d.calls[register] = k
	}
}

// DeskCalls are the open calls that belong to no case, newest word first, as of the last sync of the caseload.
// pending is how many calls were not read before ctx ended.
func (l *Caseload) DeskCalls(ctx context.Context) (out []OpenCall, pending int, err error) {
	desk, pending, err := l.readDesk(ctx)
	if err != nil {
		return nil, 0, err
	}
	for _, k := range desk {
		for _, c := range k.Open {
			out = append(out, OpenCall{Call: c})
		}
	}
	newestFirst(out)
	return out, pending, nil
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
	// stale are the registers that have grown since they were read, by the number of the newest mark; marks counts all marks.
	stale map[string]int
	marks int
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
