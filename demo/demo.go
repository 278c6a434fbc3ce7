// Package demo tells an invented caseload as entries: 24 patients of a service that does not exist, on a morning
// that is always now. Together their cases show every finding of the built-in rules that a store can hold. Cases that
// ended long ago stand behind them, for the service's own curve of healing.
//
// Every name, number, pump and place is made up. The same seed and clock tell the same story, byte for byte.
package demo

import (
	"context"
	"fmt"
	"math/rand/v2"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/stock"
	"lowtide/week"
)

// Zone is the time zone of the invented service.
const Zone = "Europe/London"

// Author is the nurse who wrote most of the entries.
const Author = "M. Thorne"

// Entries tells the whole caseload as of now. The contents of the blobs that entries name are those of [Blobs].
func Entries(now time.Time, seed uint64) []casebook.Entry {
	entries, _ := tell(now, seed)
	return entries
}

// Blobs are the contents that entries of [Entries] name, by their hash.
func Blobs(now time.Time, seed uint64) map[string][]byte {
	_, blobs := tell(now, seed)
	return blobs
}

func tell(now time.Time, seed uint64) ([]casebook.Entry, map[string][]byte) {
	zone, err := time.LoadLocation(Zone)
	if err != nil {
		panic("demo: " + err.Error()) // the zone data is compiled in
	}
	blobs := map[string][]byte{}
	var tellers []*teller
	for i, p := range patients {
		t := &teller{name: p.name, now: now.In(zone).Truncate(time.Minute), rnd: rand.New(rand.NewPCG(seed, uint64(i))), author: Author, n: i, blobs: blobs}
		t.bytes = rand.NewChaCha8([32]byte{byte(seed), byte(seed >> 8), byte(seed >> 16), byte(seed >> 24), byte(i), 'd', 'e', 'm', 'o'})
		t.caseID = t.id(t.now.Add(-200 * day))
		tellers = append(tellers, t)
	}
	var out []casebook.Entry
	for i, t := range tellers {
		t.others = tellers
		patients[i].story(t, patients[i])
		if more := supplies[patients[i].name]; more != nil {
			more(t)
		}
		if more := photos[patients[i].name]; more != nil {
			more(t)
		}
	}
	for _, t := range tellers {
		t.readsOut()
		out = append(out, t.entries...)
	}
	return out, blobs
}

// Fill writes the caseload, with the service's past cases and its stores, into a book that holds nothing yet.
func Fill(ctx context.Context, book casebook.Book, now time.Time, seed uint64) error {
	byCase := map[string][]casebook.Entry{}
	var order []string
	entries, blobs := tell(now, seed)
	for _, e := range append(entries, Past(now, seed)...) {
		if byCase[e.Case] == nil {
			order = append(order, e.Case)
		}
		byCase[e.Case] = append(byCase[e.Case], e)
	}
	for _, id := range order {
		if err := keepBlobs(ctx, book, byCase[id], blobs); err != nil {
			return fmt.Errorf("demo: %w", err)
		}
		if _, err := book.Append(ctx, "", byCase[id]...); err != nil {
			return fmt.Errorf("demo: %w", err)
		}
	}
	if _, err := (casebook.Register{Book: book, ID: stock.Register}).Append(ctx, "", Stock(now, seed)...); err != nil {
		return fmt.Errorf("demo: %w", err)
	}
	if _, err := (casebook.Register{Book: book, ID: week.Register}).Append(ctx, "", Week(now, seed)...); err != nil {
		return fmt.Errorf("demo: %w", err)
	}
	return nil
}

// keepBlobs writes the contents that the entries name, and names them by the hash under which the book keeps them.
func keepBlobs(ctx context.Context, book casebook.Book, entries []casebook.Entry, blobs map[string][]byte) error {
	for i := range entries {
		var names []string
		for _, hash := range entries[i].Blobs {
			name, err := book.PutBlob(ctx, entries[i].Case, blobs[hash])
			if err != nil {
				return err
			}
			names = append(names, name)
		}
		entries[i].Blobs = names
	}
	return nil
}

const (
	hour = time.Hour
	day  = 24 * time.Hour
)

// patient is one invented person and how their story is told.
type patient struct {
	name    string
	born    string
	place   string
	address string
	// about says what the case is there to show.
	about string
	story func(*teller, patient)
}

// teller writes the entries of one case.
type teller struct {
	now     time.Time
	rnd     *rand.Rand
	bytes   *rand.ChaCha8
	name    string
	caseID  string
	author  string
	n       int
	entries []casebook.Entry
	blobs   map[string][]byte
	// others are the tellers of all patients, in their order.
	others []*teller
}

// of returns the teller of another patient's case.
func (t *teller) of(name string) *teller {
	for _, o := range t.others {
		if o.name == name {
			return o
		}
	}
	panic("demo: nobody is called " + name) // a slip in a story
}

// move takes an entry out of this case and into another patient's, that long before now. Both show it.
func (t *teller) move(d time.Duration, id string, to *teller, reason string) {
	for i := range t.entries {
		if e := t.entries[i]; e.ID == id {
			t.correct(d, id, reason, casebook.EntryCorrected{Action: "moved out", OtherCase: to.caseID})
			to.correct(d, id, reason, casebook.EntryCorrected{Action: "moved in", OtherCase: t.caseID, Original: &e})
		}
	}
}

func (t *teller) id(at time.Time) string {
	id, err := casebook.NewID(at, t.bytes)
	if err != nil {
		panic("demo: " + err.Error()) // a seeded source never ends
	}
	return id
}

// ago writes an entry that happened that long before now, and returns its ID.
func (t *teller) ago(d time.Duration, b casebook.Body) string {
	if w, ok := b.(casebook.WoundFound); ok {
		w.Spot, w.Side = onBody(w.Site)
		b = w
	}
	at := t.now.Add(-d)
	e := casebook.Entry{ID: t.id(at), Case: t.caseID, Kind: b.Kind(), Version: casebook.Version(b.Kind()), At: at,
		Recorded: at.Add(time.Duration(1+t.rnd.IntN(4)) * time.Minute), Author: t.author, Body: b}
	if e.Recorded.After(t.now) {
		e.Recorded = t.now
	}
	t.entries = append(t.entries, e)
	return e.ID
}

// correct writes a correction of an entry.
func (t *teller) correct(d time.Duration, target, reason string, b casebook.EntryCorrected) string {
	id := t.ago(d, b)
	e := &t.entries[len(t.entries)-1]
	e.Corrects, e.Reason = target, reason
	return id
}

// about draws a number near x, so that readings do not look made up.
func (t *teller) near(x, spread float64) float64 { return x + spread*(2*t.rnd.Float64()-1) }

func num(x float64) *float64 { return &x }
func yes() *bool             { b := true; return &b }
func no() *bool              { b := false; return &b }

// round rounds to a step, as one reads a scale.
func round(x, step float64) *float64 {
	n := float64(int(x/step+0.5)) * step
	return &n
}

// onBody places the sites of the stories on the body map.
func onBody(site string) (spot, side string) {
	side = "middle"
	words := strings.Fields(site)
	if len(words) > 0 && (words[0] == "left" || words[0] == "right") {
		side = words[0]
	}
	for _, x := range [][2]string{{"sacrum", "sacrum"}, {"heel", "heel"}, {"hip", "hip"}, {"ankle", "ankle"}, {"forearm", "forearm"}, {"buttock", "buttock"}, {"lower leg", "shin"}, {"shin", "shin"}, {"calf", "calf"},
		{"thigh", "front of the thigh"}, {"groin", "groin"}, {"abdomen", "belly"}, {"belly", "belly"}, {"chest", "chest"}, {"breast", "chest"}, {"foot", "sole"}, {"sole", "sole"}, {"toe", "toe"}, {"back", "upper back"}, {"knee", "knee"}, {"elbow", "elbow"}} {
		if strings.Contains(site, x[0]) {
			return x[1], side
		}
	}
	return "", ""
}
