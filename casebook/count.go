package casebook

import (
	"fmt"
	"sort"
	"strings"
	"time"
)

// Count is the filler count of one wound: what is in it now, and what does not add up.
type Count struct {
	// InPlace counts the pieces put in at the last change, by filler. It does not hold missing pieces.
	InPlace map[string]int
	// Known is false when the last change did not say what went in, or the count at the start is not known.
	Known bool
	// Missing are pieces that went in and neither came out nor were accounted for, oldest first.
	Missing []Uncounted
	// Surplus are pieces that came out beyond those recorded as put in and were not accounted for.
	Surplus []Uncounted
	// Unsure are the moments at which pieces were not counted, so that nobody can tell whether all are out.
	Unsure []Uncounted
	// Told are surgeons who were told, oldest first: they look into it, and it stays open until they say.
	Told []Told
}

// Told is that a surgeon was told of pieces that do not add up.
type Told struct {
	Who, Entry string
	At         time.Time
}

// Uncounted is a part of a count that does not add up.
type Uncounted struct {
	Filler string
	Count  int
	// Entry is the change (or wound.found) at which it showed; At is its time.
	Entry string
	At    time.Time
}

// Open tells whether anything does not add up.
func (c Count) Open() bool { return len(c.Missing)+len(c.Surplus)+len(c.Unsure) > 0 }

// Total is the number of pieces put in at the last change.
func (c Count) Total() int {
	n := 0
	for _, k := range c.InPlace {
		n += k
	}
	return n
}

// Words prints the pieces in place, such as "2 foam, 1 gauze" or "none".
func (c Count) Words() string { return pieceWords(c.InPlace) }

func pieceWords(m map[string]int) string {
	var out []string
	for f, n := range m {
		if n != 0 {
			out = append(out, fmt.Sprintf("%d %s", n, f))
		}
	}
	if len(out) == 0 {
		return "none"
	}
	sort.Strings(out)
	return strings.Join(out, ", ")
}

// UncountedWords prints missing or surplus pieces summed by filler.
func UncountedWords(list []Uncounted) string {
	m := map[string]int{}
	for _, u := range list {
		m[u.Filler] += u.Count
	}
	return pieceWords(m)
}

// countFiller walks through a wound's changes and accounts in time order.
//
// A change compares what came out with what was in place, filler by filler: fewer is Missing, more is
// Surplus. Neither is ever netted off silently; only a pieces.accounted entry closes it. Where something was
// in place (or nobody knows) and the change does not say what came out, the change is Unsure.
func countFiller(w *Wound) Count {
	c := Count{InPlace: map[string]int{}, Known: true}
	if w.Found != nil {
		for _, p := range w.Found.Body.InPlace {
			c.InPlace[p.Filler] += p.Count
		}
		if w.Found.Body.InPlaceUnknown {
			c.Known = false
			c.Unsure = append(c.Unsure, Uncounted{Entry: w.Found.ID, At: w.Found.At})
		}
	}
	ai := 0
	for _, ch := range w.Changes {
		for ai < len(w.Accounts) && before(w.Accounts[ai], ch) {
			c.account(w.Accounts[ai])
			ai++
		}
		c.change(ch)
	}
	for ; ai < len(w.Accounts); ai++ {
		c.account(w.Accounts[ai])
	}
	return c
}

func before[A, B any](a Dated[A], b Dated[B]) bool {
	if !a.At.Equal(b.At) {
		return a.At.Before(b.At)
	}
	if !a.Recorded.Equal(b.Recorded) {
		return a.Recorded.Before(b.Recorded)
	}
	return a.ID < b.ID
}

func (c *Count) change(ch Dated[WoundChange]) {
	outKnown := len(ch.Body.Out) > 0 || ch.Body.NoneOut
	inKnown := len(ch.Body.In) > 0 || ch.Body.NoneIn
	out := map[string]int{}
	for _, p := range ch.Body.Out {
		out[p.Filler] += p.Count
	}
	switch {
	case !c.Known:
		// What was in place is not known, so what came out cannot be compared with it.
		c.Unsure = append(c.Unsure, Uncounted{Entry: ch.ID, At: ch.At})
	case !outKnown && c.Total() > 0:
		c.Unsure = append(c.Unsure, Uncounted{Entry: ch.ID, At: ch.At})
	case outKnown:
		for _, f := range fillers(c.InPlace, out) {
			switch d := c.InPlace[f] - out[f]; {
			case d > 0:
				c.Missing = append(c.Missing, Uncounted{f, d, ch.ID, ch.At})
			case d < 0:
				c.Surplus = append(c.Surplus, Uncounted{f, -d, ch.ID, ch.At})
			}
		}
	}
	c.InPlace = map[string]int{}
	for _, p := range ch.Body.In {
		c.InPlace[p.Filler] += p.Count
	}
	c.Known = inKnown
	if !inKnown {
		c.Unsure = append(c.Unsure, Uncounted{Entry: ch.ID, At: ch.At})
	}
}

// account applies one pieces.accounted, oldest pieces of the filler first. "Found and removed" closes both sides of the
// same piece, because the found piece is the surplus; it does not prove that no other is left, so what was not counted at
// all stays open. A picture or a surgeon's word that none is left closes missing and uncounted pieces. "Count was wrong"
// explains a surplus only, and "surgeon told" closes nothing.
func (c *Count) account(a Dated[PiecesAccounted]) {
	switch a.Body.Outcome {
	case "found and removed":
		settle(&c.Missing, a.Body.Filler, a.Body.Count)
		settle(&c.Surplus, a.Body.Filler, a.Body.Count)
	case "imaging shows none", "surgeon rules it out":
		if left := settle(&c.Missing, a.Body.Filler, a.Body.Count); left > 0 {
			settle(&c.Surplus, a.Body.Filler, left)
		}
		c.Unsure = nil
	case "count was wrong":
		settle(&c.Surplus, a.Body.Filler, a.Body.Count)
	case "surgeon told":
		c.Told = append(c.Told, Told{Who: a.Body.Note, Entry: a.ID, At: a.At})
	}
}

// settle takes n pieces of the filler off the list, oldest first, and returns how many were left over.
func settle(list *[]Uncounted, filler string, n int) int {
	var keep []Uncounted
	for _, u := range *list {
		if u.Filler == filler && n > 0 {
			d := min(n, u.Count)
			u.Count -= d
			n -= d
		}
		if u.Count > 0 {
			keep = append(keep, u)
		}
	}
	*list = keep
	return n
}

// fillers returns the keys of both maps, ordered.
func fillers(a, b map[string]int) []string {
	var out []string
	for f := range a {
		out = append(out, f)
	}
	for f := range b {
		if _, both := a[f]; !both {
			out = append(out, f)
		}
	}
	sort.Strings(out)
	return out
}
