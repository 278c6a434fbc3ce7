package stock

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"strconv"
	"strings"
	"time"

	"lowtide/casebook"
)

// Use is what a case says of the agency's supplies. Case is the patient's case; nothing else of the patient is here.
type Use struct {
	Case  string
	Entry string
	// Row tells several of one entry apart.
	Row     int
	Item    string
	Lot     string
	Expires string
	// Count is above zero for what came to the patient. Place is where it came from, or went back to; empty does not
	// touch the stock.
	Count int
	Place string
	// Used tells that a visit used it up at once: it is in the dressing or the canister, and no more with the patient
	// after the next change.
	Used bool
	At   time.Time
	// Recorded orders entries of the same moment.
	Recorded time.Time
}

// UsesOf lists what a case took, in supply entries and at visits. A correction of an entry has done its work in the fold of the case. An entry's car is
// that of its author. item turns what was written into an item of the list; what is not in the list does not touch the
// stock, so that no free text of a case comes to the Stores page as an item.
func UsesOf(c *casebook.Case, item func(string) (id string, listed bool)) []Use {
	var out []Use
	place := func(from, author string, listed bool) string {
		switch {
		case !listed:
		case from == "shelf":
			return Shelf
		case from == "car":
			return Car(author)
		}
		return ""
	}
	for _, s := range c.Supplies {
		id, listed := item(s.Body.Item)
		out = append(out, Use{Case: c.ID, Entry: s.ID, Item: id, Lot: clean(s.Body.Lot), Expires: s.Body.Expires, Count: s.Body.Count,
			Place: place(s.Body.From, s.Author, listed), At: s.At, Recorded: s.Recorded})
	}
	for _, d := range c.Changes {
		for i, b := range d.Body.Used {
			id, listed := item(b.Item)
			u := Use{Case: c.ID, Entry: d.ID, Row: i, Item: id, Lot: clean(b.Lot), Expires: b.Expires, Count: b.Count, Place: place(b.From, d.Author, listed), Used: true, At: d.At, Recorded: d.Recorded}
			out = append(out, u)
		}
	}
	return out
}

// clean makes two ways to write the same lot alike.
func clean(lot string) string { return strings.ToUpper(strings.TrimSpace(lot)) }

// Lot is what lies of one lot at one place. Count can be below zero when more was taken than ever came: then a count is
// due.
type Lot struct {
	Item, Lot, Place string
	// Expires is the day from which it may not be used; zero is not known.
	Expires time.Time
	Count   int
	// CountedAt is when it was last counted; zero is never.
	CountedAt time.Time
}

// Recall is a lot that must not be used.
type Recall struct {
	Item, Lot, By, Note string
	At                  time.Time
	Entry               string
}

// Names tells whether the recall is about a lot of an item.
func (r Recall) Names(item, lot string) bool {
	return r.Lot != "" && r.Lot == clean(lot) && (r.Item == "" || r.Item == item)
}

// Stock is what lies where.
type Stock struct {
	// Lots are ordered by item, day of expiry, lot and place; those of which nothing is left are not among them.
	Lots    []Lot
	Recalls []Recall
	// Plan is the newest [Planned]; nil when ordering was never set.
	Plan *Planned
	// Counted is the newest count of anything.
	Counted time.Time
	// Head is a hash over the recalls: reviews of cases depend on them and on nothing else here.
	Head string
	// Unknown counts entries of a newer program.
	Unknown int

	packed map[bagLine]bool
}

type bagLine struct{ account, day, item string }

// Packed tells whether a line lies in somebody's bag of a day.
func (s *Stock) Packed(account, day, item string) bool { return s.packed[bagLine{account, day, item}] }

// Recalled returns the recall that names a lot of an item.
func (s *Stock) Recalled(item, lot string) (Recall, bool) {
	for _, r := range s.Recalls {
		if r.Names(item, lot) {
			return r, true
		}
	}
	return Recall{}, false
}

// step is one thing that happened to the stock, from either side.
type step struct {
	at, recorded time.Time
	id           string
	body         casebook.Body
	author       string
	use          *Use
}

type slot struct{ item, lot, place string }

type heap struct {
	count   int
	counted time.Time
}

// Fold joins the register's entries and what cases took.
func Fold(entries []casebook.Entry, uses []Use) *Stock {
	var steps []step
	seen := map[string]bool{}
	out := &Stock{packed: map[bagLine]bool{}}
	for _, e := range distinct(entries) {
		if _, ok := e.Body.(casebook.Unknown); ok {
			out.Unknown++
			continue
		}
		steps = append(steps, step{e.At, e.Recorded, e.ID, e.Body, e.Author, nil})
	}
	for i := range uses {
		u := &uses[i]
		if key := u.Case + "/" + u.Entry + "/" + strconv.Itoa(u.Row); !seen[key] {
			seen[key] = true
			steps = append(steps, step{u.At, u.Recorded, key, nil, "", u})
		}
	}
	slices.SortFunc(steps, func(a, b step) int {
		return cmp.Or(a.at.Compare(b.at), a.recorded.Compare(b.recorded), cmp.Compare(a.id, b.id))
	})
	f := folding{out, map[slot]*heap{}, map[slot]string{}}
	for i := range steps {
		f.step(&steps[i])
	}
	f.finish()
	return out
}

// distinct keeps one entry of each ID: of different contents that with the smallest hash, so that every device keeps
// the same one.
func distinct(entries []casebook.Entry) map[string]casebook.Entry {
	by := map[string]casebook.Entry{}
	for _, e := range entries {
		if old, twice := by[e.ID]; e.Case == Register && (!twice || e.Hash() < old.Hash()) {
			by[e.ID] = e
		}
	}
	return by
}

type folding struct {
	out   *Stock
	heaps map[slot]*heap
	// expires is the newest word on a lot's date, by item and lot.
	expires map[slot]string
}

func (f *folding) heap(item, lot, place string) *heap {
	k := slot{item, lot, place}
	if f.heaps[k] == nil {
		f.heaps[k] = &heap{}
	}
	return f.heaps[k]
}

func (f *folding) dated(item, lot, expires string) {
	if expires != "" {
		f.expires[slot{item: item, lot: lot}] = expires
	}
}

func (f *folding) step(s *step) {
	if u := s.use; u != nil {
		if u.Place != "" {
			f.heap(u.Item, u.Lot, u.Place).count -= u.Count
			f.dated(u.Item, u.Lot, u.Expires)
		}
		return
	}
	switch b := s.body.(type) {
	case Moved:
		lot := clean(b.Lot)
		if b.From != Outside {
			f.heap(b.Item, lot, b.From).count -= b.Count
		}
		if b.To != Outside {
			f.heap(b.Item, lot, b.To).count += b.Count
		}
		f.dated(b.Item, lot, b.Expires)
	case Counted:
		lot := clean(b.Lot)
		h := f.heap(b.Item, lot, b.Place)
		h.count, h.counted = b.Count, s.at
		f.dated(b.Item, lot, b.Expires)
		f.out.Counted = s.at
	case Recalled:
		lot := clean(b.Lot)
		f.out.Recalls = slices.DeleteFunc(f.out.Recalls, func(r Recall) bool { return r.Lot == lot && r.Item == b.Item })
		if !b.Lifted {
			f.out.Recalls = append(f.out.Recalls, Recall{b.Item, lot, b.By, b.Note, s.at, s.id})
		}
	case Planned:
		f.out.Plan = &b
	case Packed:
		k := bagLine{s.author, b.Day, b.Item}
		if delete(f.out.packed, k); !b.Out {
			f.out.packed[k] = true
		}
	}
}

func (f *folding) finish() {
	for k, h := range f.heaps {
		if h.count == 0 {
			continue
		}
		day, _ := time.Parse(time.DateOnly, f.expires[slot{item: k.item, lot: k.lot}])
		f.out.Lots = append(f.out.Lots, Lot{k.item, k.lot, k.place, day, h.count, h.counted})
	}
	slices.SortFunc(f.out.Lots, func(a, b Lot) int {
		return cmp.Or(cmp.Compare(a.Item, b.Item), a.Expires.Compare(b.Expires), cmp.Compare(a.Lot, b.Lot), cmp.Compare(a.Place, b.Place))
	})
	slices.SortFunc(f.out.Recalls, func(a, b Recall) int { return cmp.Or(cmp.Compare(a.Lot, b.Lot), cmp.Compare(a.Item, b.Item)) })
	if len(f.out.Recalls) == 0 {
		return
	}
	sum := sha256.New()
	for _, r := range f.out.Recalls {
		sum.Write([]byte(r.Entry + "\x00"))
	}
	f.out.Head = hex.EncodeToString(sum.Sum(nil))
}

// Given is a lot that a patient got.
type Given struct {
	Case string
	Item string
	Lot  string
	// Count is what is still with the patient, Used how much visits used up.
	Count, Used int
	// Last is when the newest of it came.
	Last    time.Time
	Entries []string
}

// Who lists the cases that got a lot, ordered by case: the recall look-up. An empty item looks at every item. What was
// brought back is taken off; a case that brought all of it back is still listed, with a count of 0 or less.
func Who(uses []Use, item, lot string) []Given {
	by := map[slot]*Given{}
	type row struct {
		entry string
		n     int
	}
	seen := map[slot]map[row]bool{}
	for _, u := range uses {
		if u.Lot == "" || u.Lot != clean(lot) || item != "" && u.Item != item {
			continue
		}
		k := slot{u.Item, u.Lot, u.Case}
		if by[k] == nil {
			by[k] = &Given{Case: u.Case, Item: u.Item, Lot: u.Lot}
		}
		g := by[k]
		if seen[k] == nil {
			seen[k] = map[row]bool{}
		}
		if seen[k][row{u.Entry, u.Row}] {
			continue
		}
		seen[k][row{u.Entry, u.Row}] = true
		switch {
		case !u.Used:
			g.Count += u.Count
		case u.Place != "":
			g.Used += u.Count // out of the stock and into the dressing
		default:
			g.Used += u.Count
			g.Count -= u.Count // it lay with the patient before
		}
		if !slices.Contains(g.Entries, u.Entry) {
			g.Entries = append(g.Entries, u.Entry)
		}
		if u.At.After(g.Last) {
			g.Last = u.At
		}
	}
	out := make([]Given, 0, len(by))
	for _, g := range by {
		slices.Sort(g.Entries)
		out = append(out, *g)
	}
	slices.SortFunc(out, func(a, b Given) int { return cmp.Or(cmp.Compare(a.Case, b.Case), cmp.Compare(a.Item, b.Item)) })
	return out
}
