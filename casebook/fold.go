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
	wounds := map[string]*Wound{}
	for i := range c.Log {
		l := &c.Log[i]
		// A correction may have moved an entry past the instant: then it has not happened yet.
		if !until.IsZero() && l.At.After(until) {
			continue
		}
		c.apply(l, wounds)
	}
	c.finish(wounds)
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

func dated[T any](l *Line, body T) Dated[T] {
	return Dated[T]{ID: l.Entry.ID, At: l.At, Recorded: l.Entry.Recorded, Author: l.Entry.Author, Body: body}
}

// apply adds one line to the case; lines come in time order. It is one switch over the kinds, and long for
// that reason alone.
func (c *Case) apply(l *Line, wounds map[string]*Wound) {
	wound := func(name string) *Wound {
		if wounds[name] == nil {
			wounds[name] = &Wound{Name: name}
		}
		return wounds[name]
	}
	switch b := l.Now.(type) {
	case PersonRegistered:
		d := dated(l, b)
		c.Person = &d
		if zone, err := time.LoadLocation(b.Zone); err == nil && b.Zone != "" {
			c.Zone, c.ZoneKnown = zone, true
		}
	case WoundFound:
		d := dated(l, b)
		wound(b.Wound).Found = &d
	case ScreeningDone:
		add(&c.Screenings, l, b)
	case OrderWritten:
		c.endOrder(l)
		c.Orders = append(c.Orders, Order{Dated: dated(l, b)})
		c.Ended = nil
	case OrderStopped:
		c.endOrder(l)
	case PumpAssigned:
		c.Pumps = append(c.Pumps, PumpUse{Assigned: dated(l, b)})
	case PumpReturned:
		for i := range c.Pumps {
			if c.Pumps[i].Assigned.Body.Pump == b.Pump && c.Pumps[i].Returned == nil {
				d := dated(l, b)
				c.Pumps[i].Returned = &d
			}
		}
	case DressingChanged:
		add(&c.Changes, l, b)
		for _, w := range b.Wounds {
			add(&wound(w.Wound).Changes, l, w)
		}
		if b.Canister != nil {
			add(&c.Canister, l, *b.Canister)
		}
		if b.Power != nil {
			add(&c.Power, l, *b.Power)
		}
		add(&c.Seen, l, b.Seen)
	case PiecesAccounted:
		add(&wound(b.Wound).Accounts, l, b)
	case WoundMeasured:
		add(&wound(b.Wound).Measured, l, b)
	case PhotoTaken:
		p := Photo{Dated: dated(l, b), First: firstID(l)}
		if len(l.Entry.Blobs) > 0 {
			p.Blob = l.Entry.Blobs[0]
		}
		c.Photos = append(c.Photos, p)
	case OutlineTraced:
		w := wound(b.Wound)
		w.Outlines = append(w.Outlines, Outline{Dated: dated(l, b), First: firstID(l)})
	case CanisterRead:
		add(&c.Canister, l, b)
	case AlarmReported:
		add(&c.Alarms, l, b)
	case PowerNoted:
		add(&c.Power, l, b)
	case LogImported:
		log := ImportedLog{Dated: dated(l, b)}
		if len(l.Entry.Blobs) > 0 {
			log.Blob = l.Entry.Blobs[0]
		}
		c.Logs = append(c.Logs, log)
	case SupplyMoved:
		add(&c.Supplies, l, b)
	case TeachingGiven:
		add(&c.Teaching, l, b)
	case NoteWritten:
		add(&c.Notes, l, b)
		if !b.Seen.empty() {
			add(&c.Seen, l, b.Seen)
		}
	case ReviewSigned:
		add(&c.Signed, l, b)
	case DecisionMade:
		add(&c.Decisions, l, b)
	case CallTaken:
		c.Calls = addCall(c.Calls, dated(l, b))
	case PayerNoted:
		d := dated(l, b)
		c.Payer = &d
	case TherapyEnded:
		c.endOrder(l)
		d := dated(l, b)
		c.Ended = &d
	case Unknown:
		c.UnknownEntries++
	}
}

func (s Seen) empty() bool {
	return len(s.Signs) == 0 && len(s.Settles) == 0 && s.TemperatureC == nil && s.SystolicMmHg == nil && s.Pain == nil && s.SystolicUsualMmHg == nil
}

func (c *Case) endOrder(l *Line) {
	if o := c.Order(); o != nil {
		at := l.At
		o.EndedAt, o.EndedBy = &at, l.Entry.ID
	}
}

// finish orders the wounds by name and counts their filler.
func (c *Case) finish(wounds map[string]*Wound) {
	for _, w := range wounds {
		w.Count = countFiller(w)
		drawn := w.Outlines
		w.Outlines = nil
		c.joinOutlines(w, drawn)
		c.Wounds = append(c.Wounds, *w)
	}
	sort.Slice(c.Wounds, func(i, j int) bool { return c.Wounds[i].Name < c.Wounds[j].Name })
}
