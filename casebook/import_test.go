package casebook_test

import (
	"errors"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/memory"
)

// TestByFile: what came by file says so, with the file and who brought it; a signature in it is none here, and an order
// is claimed, until somebody takes it over. What was written here before stays its author's own.
func TestByFile(t *testing.T) {
	ctx := t.Context()
	at := time.Date(2026, 3, 10, 12, 0, 0, 0, time.UTC)
	book := casebook.Book{Store: memory.New()}
	entry := func(id, author string, b casebook.Body) casebook.Entry {
		return casebook.Entry{ID: id, Case: "c", Kind: b.Kind(), Version: 1, At: at, Recorded: at, Author: author, Body: b}
	}
	own := entry("own", "n.east", casebook.NoteWritten{Text: "mine"})
	head, err := book.Append(ctx, "", own)
	if err != nil {
		t.Fatal(err)
	}
	if err := book.Imported(ctx, "c", casebook.CaseImported{File: "case.json", SHA256: "ab", Entries: []string{"order", "sign"}}, at, "A. Admin"); err != nil {
		t.Fatal(err)
	}
	order, sign := entry("order", "p.east", casebook.OrderWritten{Prescriber: "p.east", Filler: "foam"}), entry("sign", "n.east", casebook.ReviewSigned{Hash: "x"})
	if _, err = book.Append(ctx, head, order, sign); err != nil {
		t.Fatal(err)
	}
	read := func() *casebook.Case {
		t.Helper()
		list, _, err := book.Entries(ctx, "c")
		if err != nil {
			t.Fatal(err)
		}
		return casebook.Fold("c", list)
	}
	c := read()
	if came := c.Order().Came; !came.Claimed() || came.File != "case.json" || came.By != "A. Admin" || !came.At.Equal(at) {
		t.Errorf("the order: %+v", came)
	}
	if len(c.Signed) != 0 || !c.Line("sign").Entry.Came.Claimed() {
		t.Errorf("the signature counts: %+v", c.Signed)
	}
	if c.Line("own").Entry.Came != nil {
		t.Errorf("what was written here: %+v", c.Line("own").Entry.Came)
	}
	// The mark is the store's, not the entry's: the bytes, and so the hash, are those of the entry.
	if c.Line("order").Entry.Hash() != order.Hash() {
		t.Error("the mark changed the entry")
	}
	if err := book.TakeOver(ctx, "c", "own", "x", at, "n.west"); !errors.Is(err, casebook.ErrNotFound) {
		t.Errorf("taking over what was written here: %v", err)
	}
	for i, by := range []string{"p.west", "n.west"} {
		if err := book.TakeOver(ctx, "c", "sign", "compared with the paper", at.Add(time.Hour*time.Duration(i+1)), by); err != nil {
			t.Fatal(err)
		}
	}
	c = read()
	if came := c.Line("sign").Entry.Came; len(c.Signed) != 1 || came.Claimed() || came.TakenBy != "p.west" || came.TakenWhy != "compared with the paper" {
		t.Errorf("after it was taken over: %+v, %+v", c.Signed, came)
	}
	ledger, _, err := casebook.Register{Book: book, ID: casebook.Ledger}.Entries(ctx)
	if err != nil || len(ledger) != 1 || ledger[0].Author != "A. Admin" {
		t.Fatal(ledger, err)
	}
	if b := ledger[0].Body.(casebook.CaseImported); b.Case != "c" || b.Count != 2 || b.File != "" || b.Entries != nil {
		t.Errorf("the ledger names the file, whose name may be a patient's: %+v", b)
	}
	if r, err := book.Verify(ctx); err != nil || !r.Sound() || r.Unread != 0 {
		t.Errorf("%+v, %v", r, err)
	}
	if err := book.Imported(ctx, "c", casebook.CaseImported{File: "again.json", SHA256: "ab", Entries: []string{"order"}}, at, "somebody"); err != nil {
		t.Fatal(err)
	}
	if came := read().Order().Came; came.File != "case.json" {
		t.Errorf("brought twice: %+v", came)
	}
}
