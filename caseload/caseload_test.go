package caseload_test

import (
	"context"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/caseload"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
)

func builtin(t testing.TB) *rule.Set {
	t.Helper()
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	return rules
}

// TestRowsWithoutTime: a reader whose time ran out while she waited is told what is still to come; it is no failure.
func TestRowsWithoutTime(t *testing.T) {
	rules := builtin(t)
	at := time.Date(2026, 3, 10, 12, 0, 0, 0, time.UTC)
	book := casebook.Book{Store: memory.New()}
	body := casebook.PersonRegistered{Name: "Ann Case", Place: "home", Zone: "Europe/London"}
	e := casebook.Entry{ID: "e1", Case: "c1", Kind: body.Kind(), Version: 1, At: at, Recorded: at, Author: "n", Body: body}
	if _, err := book.Append(t.Context(), "", e); err != nil {
		t.Fatal(err)
	}
	load := caseload.New(book, rules, equipment.BuiltIn())
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

// TestRowsWithABrokenCase: a case that cannot be read says so in its row, and hides no other.
func TestRowsWithABrokenCase(t *testing.T) {
	at := time.Date(2026, 3, 10, 12, 0, 0, 0, time.UTC)
	book := casebook.Book{Store: memory.New()}
	body := casebook.PersonRegistered{Name: "Ann Case", Place: "home", Zone: "Europe/London"}
	e := casebook.Entry{ID: "e1", Case: "c1", Kind: body.Kind(), Version: 1, At: at, Recorded: at, Author: "n", Body: body}
	if _, err := book.Append(t.Context(), "", e); err != nil {
		t.Fatal(err)
	}
	if _, err := book.Store.Append(t.Context(), "c2", "", casebook.Record{ID: "e2", Case: "c2", Bytes: []byte("no entry")}); err != nil {
		t.Fatal(err)
	}
	// Without equipment the review itself fails on the first case that needs it.
	for name, load := range map[string]*caseload.Caseload{"bytes": caseload.New(book, builtin(t), equipment.BuiltIn()), "program": caseload.New(book, nil, nil)} {
		rows, pending, err := load.Rows(t.Context(), at)
		if err != nil || len(rows) != 2 || pending != 0 {
			t.Fatalf("%s: %d rows, %d pending, %v", name, len(rows), pending, err)
		}
		broken := rows[0] // what nobody can tell stands first
		if good := rows[1]; good.Failed != (name == "program") {
			t.Errorf("%s: the good case failed: %v", name, good.Failed)
		}
		if !broken.Failed || len(broken.Findings) != 1 || broken.Findings[0].Level != rule.ActNow || broken.Findings[0].State != rule.CannotTell {
			t.Errorf("%s: the broken case: %+v", name, broken)
		}
		if name == "bytes" {
			bag, err := load.Bag(t.Context(), at, 0, func(review.Person) bool { return true })
			if err != nil || bag.Pending != 1 {
				t.Errorf("the bag leaves the broken case out without a word: %+v, %v", bag, err)
			}
			if _, unread, err := load.Who(t.Context(), "", "D-77", at); err != nil || unread != 1 {
				t.Errorf("the recall look-up leaves the broken case out without a word: %d, %v", unread, err)
			}
		}
	}
}
