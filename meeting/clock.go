package meeting

import (
	"context"
	"encoding/json"
	"time"

	"lowtide/casebook"
	"lowtide/unit"
)

const (
	// clockOff is how far a device's clock may be off without anybody minding: the tolerance of a form is larger.
	clockOff = 2 * time.Minute
	// byClock is how long before it was written an entry may have happened so that its time comes from the clock: a form
	// that is filled in on a visit. What a person typed as longer ago she read from another clock.
	byClock = 12 * time.Hour
)

// met is what a device remembers of its last meeting.
type met struct {
	Ahead time.Duration `json:"ahead_ns"`
	At    time.Time     `json:"at"`
}

const noteMet = "met"

// Recall reads when the device last met the server, and how far its clock was off.
func (d *Device) Recall(ctx context.Context) error {
	m := met{d.Ahead, d.Met}
	err := d.note(ctx, noteMet, &m)
	d.Ahead, d.Met = m.Ahead, m.At
	return err
}

// Now is the time by the device's clock, set right by what the server last said.
func (d *Device) Now() time.Time { return d.Clock().Add(-d.Ahead) }

// setRight corrects the times of entries that wait, when the clock was changed since the last meeting. Both times stay to be
// read: a correction is an entry. Where the clock may have been changed after the entry as well as before, nothing is
// guessed; that the clock was off is told of the entry all the same (see [casebook.EntriesMet]).
func (d *Device) setRight(ctx context.Context, ahead time.Duration, now time.Time) error {
	off := ahead - d.Ahead
	if off.Abs() > clockOff {
		waits, err := d.Waiting(ctx)
		if err != nil {
			return err
		}
		byCase := map[string]bool{}
		for _, w := range waits {
			if w.Entry != nil && !casebook.Reserved(w.Case) {
				byCase[w.Case] = true
			}
		}
		for caseID := range byCase {
			if err := d.setRightIn(ctx, caseID, waits, off, now); err != nil {
				return err
			}
		}
	}
	return d.putNote(ctx, noteMet, met{ahead, now})
}

func (d *Device) setRightIn(ctx context.Context, caseID string, waits []Wait, off time.Duration, now time.Time) error {
	for try := 0; ; try++ {
		entries, head, err := d.read().Entries(ctx, caseID)
		if err != nil {
			return err
		}
		c := casebook.Fold(caseID, entries)
		var fixes []casebook.Entry
		for _, w := range waits {
			if w.Entry == nil || w.Case != caseID || !d.wrongTime(*w.Entry, off, now) {
				continue
			}
			l := c.Line(w.Entry.ID)
			if l == nil || l.State != casebook.InForce || len(l.By) > 0 {
				continue // somebody corrected it already, or it is a correction
			}
			id, err := casebook.NewID(now, d.Random)
			if err != nil {
				return err
			}
			body := casebook.EntryCorrected{Action: "replace", At: w.Entry.At.Add(-off).Format(time.RFC3339Nano)}
			at := now.In(w.Entry.At.Location()).Truncate(time.Millisecond)
			fixes = append(fixes, casebook.Entry{ID: id, Case: caseID, Kind: body.Kind(), Version: casebook.Version(body.Kind()), At: at, Recorded: at, Author: d.Account,
				Body: body, Corrects: w.Entry.ID, Reason: "The phone's clock was " + unit.Off(off) + ". The time was set right when the phone met the server."})
		}
		if len(fixes) == 0 {
			return nil
		}
		_, err = d.Book().Append(ctx, head, fixes...)
		if try < maxTries && isStale(err) {
			continue
		}
		return err
	}
}

// wrongTime tells whether a waiting entry was surely written while the clock was off, and took its time from it.
func (d *Device) wrongTime(e casebook.Entry, off time.Duration, now time.Time) bool {
	between := func(t time.Time) bool {
		return !t.Before(d.Met.Add(-clockOff)) && !t.After(now.Add(clockOff))
	}
	gap := e.Recorded.Sub(e.At)
	return !between(e.Recorded) && between(e.Recorded.Add(-off)) && gap >= -clockOff && gap <= byClock
}

// Wait is something that waits on the device, and what the server said of it, if it did.
type Wait struct {
	Name string
	Case string
	// Entry is nil for a file, and for an entry that cannot be read here any more. File is the file's name.
	Entry *casebook.Entry
	File  string
	// What and Next say why the server did not take it; empty while it was not asked.
	What, Next string
}

// Waiting lists what waits, in the order in which it is sent.
func (d *Device) Waiting(ctx context.Context) ([]Wait, error) {
	names, err := d.Shelf.NoteNames(ctx, "out/")
	if err != nil {
		return nil, err
	}
	entries := map[string]map[string]casebook.Entry{}
	out := make([]Wait, 0, len(names))
	for _, name := range names {
		w := Wait{Name: name}
		var id string
		w.Case, id = nameParts(name)
		if len(name) > len(outFile) && name[:len(outFile)] == outFile {
			w.File = id
		} else {
			if entries[w.Case] == nil {
				list, err := d.all(ctx, w.Case)
				if err != nil {
					return nil, err
				}
				entries[w.Case] = list
			}
			if e, ok := entries[w.Case][id]; ok {
				w.Entry = &e
			}
		}
		if err := d.readNo(ctx, name, &w); err != nil {
			return nil, err
		}
		out = append(out, w)
	}
	return out, nil
}

// all are the entries of a case, or of a call at the Call desk, by ID.
func (d *Device) all(ctx context.Context, caseID string) (map[string]casebook.Entry, error) {
	var list []casebook.Entry
	var err error
	if casebook.Reserved(caseID) {
		list, _, err = casebook.Register{Book: d.read(), ID: caseID}.Entries(ctx)
	} else {
		list, _, err = d.read().Entries(ctx, caseID)
	}
	by := make(map[string]casebook.Entry, len(list))
	for _, e := range list {
		by[e.ID] = e
	}
	return by, err
}

// readNo reads what the server said of something that waits.
func (d *Device) readNo(ctx context.Context, name string, w *Wait) error {
	raw, err := d.Shelf.Note(ctx, noteNo+name)
	if err != nil || raw == nil || d.Self == nil {
		return err
	}
	plain, err := openFor(raw, d.Self)
	if err != nil {
		return err
	}
	var o Outcome
	if err := json.Unmarshal(plain, &o); err != nil {
		return err
	}
	w.What, w.Next = o.What, o.Next
	return nil
}
