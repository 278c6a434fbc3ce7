package review_test

import (
	"context"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
)

// TestRowsWithoutTime: a reader whose time ran out while she waited is told what is still to come; it is no failure.
func TestRowsWithoutTime(t *testing.T) {
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 3, 10, 12, 0, 0, 0, time.UTC)
	book := casebook.Book{Store: memory.New()}
	body := casebook.PersonRegistered{Name: "Ann Case", Place: "home", Zone: "Europe/London"}
	e := casebook.Entry{ID: "e1", Case: "c1", Kind: body.Kind(), Version: 1, At: at, Recorded: at, Author: "n", Body: body}
	if _, err := book.Append(t.Context(), "", e); err != nil {
		t.Fatal(err)
	}
	load := review.NewCaseload(book, rules, equipment.BuiltIn())
	late, cancel := context.WithCancel(t.Context())
	cancel()
	rows, pending, err := load.Rows(late, at)
	if err != nil || len(rows) != 0 || pending != 1 {
		t.Errorf("%d rows, %d pending, %v", len(rows), pending, err)
	}
	rows, pending, err = load.Rows(t.Context(), at)
	if err != nil || len(rows) != 1 || pending != 0 {
		t.Errorf("with time: %d rows, %d pending, %v", len(rows), pending, err)
	}
}
