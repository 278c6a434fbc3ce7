package intake

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"lowtide/casebook"
)

// clockTolerance is how far the clocks of two devices may differ before a time counts as the future.
const clockTolerance = 5 * time.Minute

// CheckEntries checks new entries of one case: each by itself against the tags, and all of them together
// with the entries already known. Pointers are /entries/<position in list>/...; see [Problems.Form].
// Known entries are taken as they are. The order of the entries does not matter.
func CheckEntries(known, list []casebook.Entry, now time.Time) Problems {
	out := newCollector(DefaultLimits.Problems)
	for i, e := range list {
		n := len(out.list)
		checkTags(i, e, out)
		for j := n; j < len(out.list); j++ {
			out.list[j].at = i
		}
	}
	c := checker{out: out, known: known, list: list, now: now}
	c.run()
	return out.done(nil)
}

// idAhead is how far the time in an ID may be ahead of the clock. A device with a wrong clock makes such IDs; a year that
// is far off would stand at the end of the store for ever.
const idAhead = 24 * time.Hour

// idTime reports an ID that claims to be made in the future.
func (c *checker) idTime(i int, e casebook.Entry) {
	if at, ok := casebook.IDTime(e.ID); ok && at.After(c.now.Add(idAhead)) {
		c.at(i, "/id", CodeFuture, e.ID, fmt.Sprintf("The entry's ID says that it was made at %s; it is now %s.", stamp(at.UTC()), stamp(c.now.UTC())), "Set the clock of the device that made it, and write the entry there once more; in a file the id can be left out, then a new one is made.")
	}
}

// checkTags reads the body's own JSON as if it came from outside.
func checkTags(i int, e casebook.Entry, out *collector) {
	d := &decoder{out: out, entry: e.ID, path: []string{"entries", strconv.Itoa(i), "body"}}
	if e.Body == nil {
		d.report(i, CodeMissing, "", "The entry has no content.", "Give a body of its kind.")
		return
	}
	if _, ok := e.Body.(casebook.Unknown); ok {
		return
	}
	raw, err := json.Marshal(e.Body)
	into := casebook.NewBody(e.Kind)
	if err != nil || into == nil || e.Body.Kind() != e.Kind {
		d.report(i, CodeType, string(e.Body.Kind()), fmt.Sprintf("The content does not fit the kind %q.", e.Kind), "Give a body of its kind.")
		return
	}
	d.read(raw, into)
}

// read fills a body from JSON that has no place in a file.
func (d *decoder) read(raw []byte, into any) {
	inner := newCollector(d.out.max)
	root, ok := scan(raw, DefaultLimits, inner)
	for _, p := range inner.list {
		d.report(0, p.Code, p.Value, p.Message, p.Remedy)
	}
	if !ok {
		return
	}
	d.src = raw
	v := reflect.ValueOf(into).Elem()
	d.object(v, &root, fieldsOf(v.Type()), "Content")
}

// checker looks at entries together.
type checker struct {
	out         *collector
	known, list []casebook.Entry
	now         time.Time
	// tree is the file's, when there is one: it gives problems their place.
	tree *node
	// incomplete says that entries may be missing because the file broke off: nothing is called unknown then.
	incomplete bool

	byID    map[string]casebook.Entry
	twice   map[string]bool
	place   map[string]int
	dormant map[string]bool
	wounds  map[string]time.Time
	names   []string
	sizes   []sizeEvent
	moves   []pumpMove
}

// at reports a problem of entry i; the pointer starts within the entry.
func (c *checker) at(i int, pointer string, code Code, value, message, remedy string) {
	p := Problem{Pointer: "/entries/" + strconv.Itoa(i) + pointer, Entry: c.list[i].ID, Code: code, Value: value, Message: message, Remedy: remedy, at: i}
	if c.tree != nil {
		p.at, _ = c.tree.trace(p.Pointer)
	}
	c.out.add(p)
}

func (c *checker) run() {
	c.index()
	c.findWounds()
	c.findSizes()
	for i, e := range c.list {
		c.identity(i, e)
		c.idTime(i, e)
		c.times(i, e)
		if e.Body != nil {
			checkBody(e.Body, func(pointer string, code Code, value, message, remedy string) {
				c.at(i, "/body"+pointer, code, value, message, remedy)
			})
		}
		c.correction(i, e)
		if c.dormant[e.ID] {
			continue // it no longer counts, and what replaces it is checked in the correction
		}
		c.content(i, e, "/body")
	}
}

// content checks what a body says against the other entries; prefix leads to the body.
func (c *checker) content(i int, e casebook.Entry, prefix string) {
	c.woundsOf(i, prefix, e)
	switch b := e.Body.(type) {
	case casebook.DecisionMade:
		if b.NextAt != nil && !b.NextAt.After(e.At) {
			c.at(i, prefix+"/next_at", CodeOrder, stamp(*b.NextAt), "The next decision is due before this one was made.", "Correct one of the two times.")
		}
	case casebook.DressingChanged:
		if b.Canister != nil {
			c.volume(i, prefix+"/canister", *b.Canister, e.At)
		}
		c.nextVisit(i, prefix, b.NextVisit, e.At)
	case casebook.PhotoTaken:
		c.photo(i, strings.TrimSuffix(prefix, "/body"), e)
	case casebook.OutlineTraced:
		c.outline(i, prefix, b)
	case casebook.CanisterRead:
		c.volume(i, prefix, b, e.At)
	case casebook.NoteWritten:
		c.nextVisit(i, prefix, b.NextVisit, e.At)
	case casebook.AlarmReported:
		if b.OffSince != nil && b.OffSince.After(e.At.Add(clockTolerance)) {
			c.at(i, prefix+"/off_since", CodeOrder, stamp(*b.OffSince), "Therapy is said to be off since a time after the alarm was reported.", "Correct one of the two times.")
		}
	case casebook.ReviewSigned:
		c.future(i, prefix+"/as_of", "Review as of", b.AsOf)
	case casebook.PersonRegistered:
		c.pastDay(i, prefix+"/born", b.Born)
	case casebook.WoundFound:
		c.pastDay(i, prefix+"/since", b.Since)
	case casebook.PayerNoted:
		c.pastDay(i, prefix+"/start", b.Start)
		c.pastDay(i, prefix+"/home_since", b.HomeSince)
		if b.Start != "" && b.HomeSince != "" && b.HomeSince < b.Start {
			c.at(i, prefix+"/home_since", CodeOrder, b.HomeSince, "Therapy at home is said to begin before therapy began at all.", "Correct one of the two days.")
		}
	}
}

// index finds entries by ID and those that a correction has taken out of force.
func (c *checker) index() {
	c.byID = make(map[string]casebook.Entry, len(c.known)+len(c.list))
	c.twice, c.place = map[string]bool{}, map[string]int{}
	corrections := map[string][]casebook.Entry{}
	for _, e := range slices.Concat(c.known, c.list) {
		if _, twice := c.byID[e.ID]; twice {
			c.twice[e.ID] = true
		} else {
			c.byID[e.ID] = e
		}
		if _, ok := e.Body.(casebook.EntryCorrected); ok && e.Corrects != "" {
			corrections[e.Corrects] = append(corrections[e.Corrects], e)
		}
	}
	c.dormant = map[string]bool{}
	var active func(id string, depth int) bool
	active = func(id string, depth int) bool {
		if depth > 20 {
			return true
		}
		for _, k := range corrections[id] {
			if k.Body.(casebook.EntryCorrected).Action != "moved in" && k.ID != id && active(k.ID, depth+1) {
				return false
			}
		}
		return true
	}
	for id := range corrections {
		c.dormant[id] = !active(id, 0)
	}
}

// identity checks that an ID stands for one content.
func (c *checker) identity(i int, e casebook.Entry) {
	if e.ID == "" || !c.twice[e.ID] {
		return
	}
	first := c.byID[e.ID]
	if c.tree != nil && c.out.bad[i] {
		return // its content was not read whole, so nothing can be said
	}
	if first.Hash() != e.Hash() {
		c.at(i, "/id", CodeDuplicateID, e.ID, "Another entry has the same ID and other content.", "Give the newer one an ID of its own; to change an entry write an entry.corrected.")
		return
	}
	j, before := c.place[e.ID]
	if !before {
		c.place[e.ID] = i
		return
	}
	c.out.add(Problem{Pointer: "/entries/" + strconv.Itoa(i), Entry: e.ID, Code: CodeSameEntry, Notice: true, at: c.placeOf(i),
		Message: fmt.Sprintf("This is the same as entry %d of the list: it is kept once.", j), Remedy: "Nothing to do, unless two different events are meant: then give each an id."})
}

func (c *checker) placeOf(i int) int {
	if c.tree == nil {
		return i
	}
	at, _ := c.tree.trace("/entries/" + strconv.Itoa(i))
	return at
}

func (c *checker) times(i int, e casebook.Entry) {
	if c.dormant[e.ID] {
		return
	}
	c.future(i, "/at", "When it happened", e.At)
	if !e.Recorded.Equal(e.At) {
		c.future(i, "/recorded", "When it was written", e.Recorded)
	}
}

func (c *checker) future(i int, pointer, words string, t time.Time) {
	if t.After(c.now.Add(clockTolerance)) {
		c.at(i, pointer, CodeFuture, stamp(t), fmt.Sprintf("%s: %s is in the future; it is now %s.", words, stamp(t), stamp(c.now.In(t.Location()))), "Check the date, the time and the offset. A coming visit is planned with next_visit.")
	}
}

func (c *checker) pastDay(i int, pointer, day string) {
	// A day may already have begun in a zone ahead of the clock's.
	if t, err := time.Parse(time.DateOnly, day); err == nil && t.After(c.now.Add(14*time.Hour)) {
		c.at(i, pointer, CodeFuture, day, fmt.Sprintf("%s is in the future.", day), "Check the date.")
	}
}

func (c *checker) nextVisit(i int, prefix string, next *time.Time, at time.Time) {
	if next != nil && !next.After(at) && !at.IsZero() {
		c.at(i, prefix+"/next_visit", CodeOrder, stamp(*next), fmt.Sprintf("The next visit, %s, is not after this one, %s.", stamp(*next), stamp(at)), "Check the date; leave it out when no visit is planned.")
	}
}

func stamp(t time.Time) string { return t.Format(time.RFC3339) }
