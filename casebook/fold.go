package casebook

import (
	"crypto/sha256"
	"encoding/hex"
	"sort"
	"time"
)

// Fold makes a case of its entries. The result depends on the set of entries only: not on their order, and
// not on how often one is given. Entries of other cases are ignored.
func Fold(id string, entries []Entry) *Case {
	return fold(id, entries, time.Time{})
}

// FoldAt is Fold of the entries that happened at or before the instant.
func FoldAt(id string, entries []Entry, instant time.Time) *Case {
	return fold(id, entries, instant)
}

func fold(id string, entries []Entry, until time.Time) *Case {
	c := &Case{ID: id, Zone: time.UTC}
	set, hashes := distinct(id, entries, until, c)
	sum := sha256.New()
	for _, h := range hashes {
		sum.Write([]byte(h))
	}
	c.Head = hex.EncodeToString(sum.Sum(nil))

	c.Log = correct(set)
	sort.Slice(c.Log, func(i, j int) bool {
		a, b := &c.Log[i], &c.Log[j]
		if !a.At.Equal(b.At) {
			return a.At.Before(b.At)
		}
		if !a.Entry.Recorded.Equal(b.Entry.Recorded) {
			return a.Entry.Recorded.Before(b.Entry.Recorded)
		}
		return a.Entry.ID < b.Entry.ID
	})
	f := &Folding{c, map[string]*Wound{}}
	for i := range c.Log {
		l := &c.Log[i]
		// A correction may have moved an entry past the instant: then it has not happened yet.
		if !until.IsZero() && l.At.After(until) {
			continue
		}
		f.apply(l)
	}
	f.finish()
	return c
}

// item is one distinct entry, with its conflict mark.
type item struct {
	Entry
	conflict bool
}

// distinct keeps one entry of each ID. When an ID arrived with different contents, the one with the smallest
// hash is kept, so that every device keeps the same one, and the line is marked.
func distinct(id string, entries []Entry, until time.Time, c *Case) (set map[string]*item, hashes []string) {
	set = make(map[string]*item, len(entries))
	first := make(map[string]string, len(entries))
	for _, e := range entries {
		if e.Case != id || (!until.IsZero() && e.At.After(until)) {
			continue
		}
		h := e.Hash()
		kept, seen := first[e.ID]
		switch {
		case !seen:
			set[e.ID], first[e.ID] = &item{Entry: e}, h
			hashes = append(hashes, h)
		case kept == h:
		default:
			if h < kept {
				set[e.ID].Entry, first[e.ID] = e, h
			}
			if !contains(hashes, h) {
				hashes = append(hashes, h)
			}
			if !set[e.ID].conflict {
				set[e.ID].conflict = true
				c.Conflicts++
			}
		}
	}
	sort.Strings(hashes)
	return set, hashes
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// correct makes the log: every entry with what the corrections in force did to it.
func correct(set map[string]*item) []Line {
	// byTarget lists the corrections of each entry in the order in which they were recorded.
	byTarget := map[string][]*item{}
	for _, it := range set {
		if it.Kind == KindEntryCorrected && it.Corrects != "" && it.Corrects != it.ID {
			byTarget[it.Corrects] = append(byTarget[it.Corrects], it)
		}
	}
	for _, list := range byTarget {
		sort.Slice(list, func(i, j int) bool {
			if !list[i].Recorded.Equal(list[j].Recorded) {
				return list[i].Recorded.Before(list[j].Recorded)
			}
			return list[i].ID < list[j].ID
		})
	}
	// counts tells whether an entry still counts. A ring of corrections can only come from forged IDs; every
	// member of a ring is then taken not to count. The visited set, not the call order, decides that.
	var counts func(id string, path map[string]bool) bool
	counts = func(id string, path map[string]bool) bool {
		if path[id] {
			return false
		}
		path[id] = true
		defer delete(path, id)
		on := true
		for _, by := range byTarget[id] {
			body, ok := by.Body.(EntryCorrected)
			if ok && (body.Action == "withdraw" || body.Action == "moved out") && counts(by.ID, path) {
				on = false
			} else if ok && body.Action == "replace" && counts(by.ID, path) {
				on = true
			}
		}
		return on
	}

	var log []Line
	for _, it := range set {
		l := Line{Entry: it.Entry, State: InForce, Now: it.Body, At: it.At, Conflict: it.conflict}
		if body, ok := it.Body.(EntryCorrected); ok {
			l.State, l.Now = Correction, nil
			if body.Action == "moved in" && body.Original != nil && body.Original.ID != it.ID {
				l.State, l.Now, l.At = MovedIn, body.Original.Body, body.Original.At
				// Corrections may name the moved entry by its own ID or by that of the move.
				for _, by := range byTarget[body.Original.ID] {
					l.apply(by, counts(by.ID, map[string]bool{}))
				}
			}
		}
		for _, by := range byTarget[it.ID] {
			l.apply(by, counts(by.ID, map[string]bool{}))
		}
		log = append(log, l)
	}
	return log
}

// apply lets one correction act on the line; inForce is false when the correction itself was withdrawn.
func (l *Line) apply(by *item, inForce bool) {
	if !inForce {
		return
	}
	body, ok := by.Body.(EntryCorrected)
	if !ok {
		return
	}
	l.By = append(l.By, by.ID)
	switch body.Action {
	case "withdraw":
		l.State, l.Now = Withdrawn, nil
	case "moved out":
		l.State, l.Now = MovedOut, nil
	case "replace":
		kind, version := l.Entry.Kind, l.Entry.Version
		if c, moved := l.Entry.Body.(EntryCorrected); moved && c.Original != nil {
			kind, version = c.Original.Kind, c.Original.Version
		}
		if len(body.Body) > 0 {
			l.Now = decodeBody(kind, version, body.Body)
		} else if l.Now == nil {
			l.Now = l.Entry.Body
		}
		if t, err := time.Parse(time.RFC3339Nano, body.At); err == nil {
			l.At = t
		}
		l.State = Replaced
	}
}

// add appends a dated body.
func add[T any](list *[]Dated[T], l *Line, body T) {
	*list = append(*list, dated(l, body))
}

func datedP[T any](l *Line, body T) *Dated[T] {
	d := dated(l, body)
	return &d
}

func dated[T any](l *Line, body T) Dated[T] {
	return Dated[T]{ID: l.Entry.ID, At: l.At, Recorded: l.Entry.Recorded, Author: l.Entry.Author, Came: l.Entry.Came, Body: body}
}

// Folding is a case while its entries are folded into it.
type Folding struct {
	*Case
	wounds map[string]*Wound
}

// wound returns the wound of the name, and begins it at the first entry that names it.
func (f *Folding) wound(name string) *Wound {
	if f.wounds[name] == nil {
		f.wounds[name] = &Wound{Name: name}
	}
	return f.wounds[name]
}

// apply adds one line to the case; lines come in time order.
func (f *Folding) apply(l *Line) {
	if l.Now == nil {
		return
	}
	if _, unknown := l.Now.(Unknown); unknown {
		f.UnknownEntries++
	} else if k := Find(l.Now.Kind()); k != nil {
		k.Fold(f, l, l.Now)
	}
}

// finish orders the wounds by name and counts their filler.
func (f *Folding) finish() {
	c := f.Case
	for _, w := range f.wounds {
		w.Count = countFiller(w)
		drawn := w.Outlines
		w.Outlines = nil
		c.joinOutlines(w, drawn)
		c.Wounds = append(c.Wounds, *w)
	}
	sort.Slice(c.Wounds, func(i, j int) bool { return c.Wounds[i].Name < c.Wounds[j].Name })
}
