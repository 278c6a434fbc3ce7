package caseload_test

import (
	"context"
	"slices"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/caseload"
	"lowtide/demo"
	"lowtide/equipment"
	"lowtide/rule"
	"lowtide/state"

	"pgregory.net/rapid"
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
			bag, err := load.Bag(t.Context(), at, 0, func(state.Person) bool { return true })
			if err != nil || bag.Pending != 1 {
				t.Errorf("the bag leaves the broken case out without a word: %+v, %v", bag, err)
			}
			if _, unread, err := load.Who(t.Context(), "", "D-77", at); err != nil || unread != 1 {
				t.Errorf("the recall look-up leaves the broken case out without a word: %d, %v", unread, err)
			}
		}
	}
}

// slow is a store in which reading one case takes until it is let go.
type slow struct {
	casebook.Store
	id      string
	reading chan struct{}
	letGo   chan struct{}
}

func (s slow) Case(ctx context.Context, id string) ([]casebook.Link, error) {
	if id == s.id {
		s.reading <- struct{}{}
		<-s.letGo
	}
	return s.Store.Case(ctx, id)
}

// TestNobodyWaitsForOthersReviews: while one case is being read, the others' lists, pages and new entries go on.
func TestNobodyWaitsForOthersReviews(t *testing.T) {
	plain := casebook.Book{Store: memory.New()}
	if err := demo.Fill(t.Context(), plain, morning, 1); err != nil {
		t.Fatal(err)
	}
	heads, err := plain.Store.Cases(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var stuck, other casebook.CaseHead
	for _, h := range heads {
		if !casebook.Reserved(h.Case) {
			stuck, other = other, h
		}
	}
	s := slow{plain.Store, stuck.Case, make(chan struct{}), make(chan struct{})}
	load := caseload.New(casebook.Book{Store: s}, builtin(t), equipment.BuiltIn())
	first := make(chan int)
	go func() {
		rows, _, _ := load.Rows(context.WithoutCancel(t.Context()), morning)
		first <- len(rows)
	}()
	<-s.reading
	if _, err := plain.Append(t.Context(), other.Head, entry(t, other.Case, casebook.NoteWritten{Text: "bleeds", Seen: casebook.Seen{Signs: []string{"bright red blood"}}})); err != nil {
		t.Fatal(err)
	}
	if c, r, _, err := load.Case(t.Context(), other.Case, morning); err != nil || c == nil || r == nil {
		t.Errorf("the page of another case: %v", err)
	}
	brief, cancel := context.WithTimeout(t.Context(), 5*time.Second)
	defer cancel()
	done := make(chan struct{})
	go func() {
		defer close(done)
		if rows, unknown, err := load.Glance(brief, morning); err != nil || unknown != 1 || len(rows) != 24+demo.PastCases-1 {
			t.Errorf("names: %d rows, %d unknown, %v", len(rows), unknown, err)
		}
		if _, pending, err := load.OpenCalls(brief, morning); err != nil || pending != 1 {
			t.Errorf("Call desk: %d pending, %v", pending, err)
		}
		rows, pending, err := load.Rows(brief, morning)
		if err != nil || pending != 1 || rows[0].Findings[0].Level != rule.ActNow {
			t.Errorf("Rounds: %d pending, %v", pending, err)
		}
		for _, r := range rows {
			if r.Case == other.Case && (len(r.Findings) == 0 || r.Findings[0].Level != rule.ActNow) {
				t.Errorf("the new entry does not show: %+v", r.Findings)
			}
		}
	}()
	<-done
	close(s.letGo)
	if n := <-first; n != 24+demo.PastCases {
		t.Errorf("the first list has %d rows", n)
	}
}

// TestOrder: whatever changes, the rows stand in the order of Rounds, and a list that somebody holds does not change.
func TestOrder(t *testing.T) {
	book := casebook.Book{Store: memory.New()}
	if err := demo.Fill(t.Context(), book, morning, 1); err != nil {
		t.Fatal(err)
	}
	load := caseload.New(book, builtin(t), equipment.BuiltIn())
	rank := func(r *caseload.Row) (level int, due time.Time) {
		if len(r.Findings) == 0 {
			return 9, time.Time{}
		}
		f := r.Findings[0]
		if due = morning.AddDate(1000, 0, 0); f.Due != nil {
			due = *f.Due
		} else if f.Level == rule.ActNow {
			due = time.Time{}
		}
		return f.Level.Rank(), due
	}
	bodies := []casebook.Body{
		casebook.NoteWritten{Text: "bleeds", Seen: casebook.Seen{Signs: []string{"bright red blood"}}}, casebook.NoteWritten{Text: "nothing"},
		casebook.NoteWritten{Text: "settled", Seen: casebook.Seen{Signs: []string{"none"}}}, casebook.TherapyEnded{Why: "goal met"},
	}
	rapid.Check(t, func(rt *rapid.T) {
		before, _, err := load.Rows(t.Context(), morning)
		if err != nil {
			rt.Fatal(err)
		}
		held, was := before, slices.Clone(before)
		for range rapid.IntRange(1, 3).Draw(rt, "entries") {
			id := before[rapid.IntRange(0, len(before)-1).Draw(rt, "case")].Case
			_, head, err := book.Entries(t.Context(), id)
			if err != nil {
				rt.Fatal(err)
			}
			if _, err := book.Append(t.Context(), head, entry(t, id, rapid.SampledFrom(bodies).Draw(rt, "body"))); err != nil {
				rt.Fatal(err)
			}
		}
		now := morning.Add(time.Duration(rapid.IntRange(0, 72).Draw(rt, "hours")) * time.Hour)
		after, pending, err := load.Rows(t.Context(), now)
		if err != nil || pending != 0 || len(after) != len(was) {
			rt.Fatalf("%d rows of %d, %d pending, %v", len(after), len(was), pending, err)
		}
		seen := map[string]bool{}
		for i, r := range after {
			seen[r.Case] = true
			if i == 0 {
				continue
			}
			a, due := rank(after[i-1])
			b, next := rank(r)
			if a > b || a == b && due.After(next) {
				rt.Errorf("row %d (level %d, %v) stands before row %d (level %d, %v)", i-1, a, due, i, b, next)
			}
		}
		if len(seen) != len(after) || !slices.Equal(held, was) {
			rt.Errorf("%d cases in %d rows, or the old list has changed", len(seen), len(after))
		}
	})
}
