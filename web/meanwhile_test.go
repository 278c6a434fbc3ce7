package web_test

import (
	"context"
	"math/rand/v2"
	"net/http"
	"net/url"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/review"
	"lowtide/state"
	"lowtide/web/page"
)

// meanwhile is a store into which somebody else writes just before each of the next appends.
type meanwhile struct {
	casebook.Store
	left   int
	before func()
}

func (m *meanwhile) Append(ctx context.Context, id, head string, records ...casebook.Record) (string, error) {
	if m.left > 0 {
		m.left--
		m.before()
	}
	return m.Store.Append(ctx, id, head, records...)
}

// late puts a meanwhile store under the server's caseload.
func (c *client) late(times int, bodies ...casebook.Body) {
	m := &meanwhile{Store: c.book.Store, left: times}
	m.before = func() { c.add(oneCase, time.Hour, bodies...) }
	c.srv.Caseload.Book = casebook.Book{Store: m}
}

// TestAppendRaced: an entry is written although the case moves on between reading and writing, three times in a row.
func TestAppendRaced(t *testing.T) {
	c := newClient(t)
	patients(c)
	f := c.fill(c.open(page.CasePath(oneCase, "add", "note.written")), url.Values{"text": {"late"}})
	n := len(c.entries(oneCase))
	c.late(3, casebook.NoteWritten{Text: "meanwhile"})
	c.send(f)
	if got := len(c.entries(oneCase)) - n; got != 4 {
		t.Errorf("%d entries more, want 4", got)
	}
}

// TestSignOffRaced: an entry that comes in between reading the case and writing the signature stops the signature.
func TestSignOffRaced(t *testing.T) {
	c := newClient(t)
	patients(c)
	f := c.fill(c.open(page.CasePath(oneCase, "sign")), url.Values{"purpose": {"visit"}})
	n := len(c.entries(oneCase))
	c.late(1, casebook.CanisterRead{VolumeML: p(280.0)})
	if w := c.post(f.action, f.values); w.Code != http.StatusConflict || len(c.entries(oneCase)) != n+1 {
		t.Errorf("%d, %d entries more", w.Code, len(c.entries(oneCase))-n)
	}
}

// TestSignOffLaterEntry: an entry of after the review's moment stops the signature also when the review as of that
// moment would come out the same, because its own end comes before the entry.
func TestSignOffLaterEntry(t *testing.T) {
	c := newClient(t)
	patients(c)
	// A canister that will be a week old in 10 minutes ends the review then.
	c.add(oneCase, 7*day-10*time.Minute, casebook.CanisterRead{VolumeML: p(10.0), Changed: p(true)})
	f := c.fill(c.open(page.CasePath(oneCase, "sign")), url.Values{"purpose": {"visit"}})
	c.now = noon.Add(30 * time.Minute)
	if until := review.Of(state.Of(c.fold(oneCase), c.srv.Rules, c.srv.Equipment, nil, noon), c.srv.Rules).Until; until.After(noon.Add(20 * time.Minute)) {
		t.Fatalf("the review holds until %s: this test shows nothing", until)
	}
	as := func() string {
		return review.Of(state.Of(c.fold(oneCase), c.srv.Rules, c.srv.Equipment, nil, noon), c.srv.Rules).Hash()
	}
	was := as()
	at := noon.Add(25 * time.Minute)
	id, _ := casebook.NewID(at, rand.NewChaCha8([32]byte{99}))
	_, head, _ := c.book.Entries(context.Background(), oneCase)
	if _, err := c.book.Append(context.Background(), head, casebook.Entry{ID: id, Case: oneCase, Kind: casebook.KindNoteWritten, Version: 1, At: at, Recorded: at, Author: "x", Body: casebook.NoteWritten{Text: "later"}}); err != nil {
		t.Fatal(err)
	}
	if as() != was {
		t.Fatal("the entry changes the review as of then: this test shows nothing")
	}
	n := len(c.entries(oneCase))
	if w := c.post(f.action, f.values); w.Code != http.StatusConflict || len(c.entries(oneCase)) != n {
		t.Errorf("%d, %d entries more", w.Code, len(c.entries(oneCase))-n)
	}
}
