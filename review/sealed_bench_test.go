package review_test

import (
	"context"
	"crypto/rand"
	"path/filepath"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/demo"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/seal"
)

// sealedAndPlain is the same n cases in a sealed and in a plain store; fresh gives a book that has no key in memory.
func sealedAndPlain(tb testing.TB, n int) map[string]func() casebook.Book {
	tb.Helper()
	ctx := context.Background()
	fresh := map[string]func() casebook.Book{}
	for _, kind := range []string{"plain", "sealed"} {
		s, err := sqlite.Open(ctx, filepath.Join(tb.TempDir(), kind+".db"))
		if err != nil {
			tb.Fatal(err)
		}
		tb.Cleanup(func() { s.Close() })
		book := casebook.Book{Store: s}
		fresh[kind] = func() casebook.Book { return casebook.Book{Store: s} }
		if kind == "sealed" {
			key, err := seal.NewKey(rand.Reader)
			if err != nil {
				tb.Fatal(err)
			}
			keys, err := seal.Start(ctx, s, key, rand.Reader)
			if err != nil {
				tb.Fatal(err)
			}
			book.Sealer = keys
			fresh[kind] = func() casebook.Book {
				keys, err := seal.Open(ctx, s, key, rand.Reader)
				if err != nil {
					tb.Fatal(err)
				}
				return casebook.Book{Store: s, Sealer: keys}
			}
		}
		left := n
		for seed := uint64(1); left > 0; seed++ {
			byCase := map[string][]casebook.Entry{}
			var order []string
			for _, e := range demo.Entries(morning, seed) {
				if byCase[e.Case] == nil {
					order = append(order, e.Case)
				}
				byCase[e.Case] = append(byCase[e.Case], e)
			}
			for _, id := range order[:min(left, len(order))] {
				if _, err := book.Append(ctx, "", byCase[id]...); err != nil {
					tb.Fatal(err)
				}
				left--
			}
		}
	}
	return fresh
}

// BenchmarkSealedRounds10k: what sealing costs. Budget: under 20 % for Rounds over 10,000 cases cold, nothing warm.
func BenchmarkSealedRounds10k(b *testing.B) {
	ctx := context.Background()
	rules, eq := builtin(b), equipment.BuiltIn()
	for kind, fresh := range sealedAndPlain(b, 10_000) {
		b.Run("cold/"+kind, func(b *testing.B) {
			for b.Loop() {
				if _, _, err := review.NewCaseload(fresh(), rules, eq).Rows(ctx, morning); err != nil {
					b.Fatal(err)
				}
			}
		})
		load := review.NewCaseload(fresh(), rules, eq)
		rows, _, err := load.Rows(ctx, morning)
		if err != nil {
			b.Fatal(err)
		}
		b.Run("warm/"+kind, func(b *testing.B) {
			for b.Loop() {
				if _, _, err := load.Rows(ctx, morning); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run("one_case/"+kind, func(b *testing.B) {
			for b.Loop() {
				if _, _, _, err := load.Case(ctx, rows[17].Case, morning); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run("one_entries/"+kind, func(b *testing.B) {
			for b.Loop() {
				if _, _, err := load.Book.Entries(ctx, rows[17].Case); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// TestErasedHasNoRow: an erased case leaves the list, at once and in a new caseload, and is told apart.
func TestErasedHasNoRow(t *testing.T) {
	ctx := context.Background()
	rules, eq := builtin(t), equipment.BuiltIn()
	fresh := sealedAndPlain(t, 5)["sealed"]
	book := fresh()
	load := review.NewCaseload(book, rules, eq)
	rows, _, err := load.Rows(ctx, morning)
	if err != nil || len(rows) != 5 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	gone := rows[2].Case
	if err := book.Sealer.(*seal.Keys).Erase(ctx, book.Store, gone, seal.Deed{At: morning, Author: "an administrator", Reason: "a test patient"}); err != nil {
		t.Fatal(err)
	}
	for name, l := range map[string]*review.Caseload{"the same": load, "a new one": review.NewCaseload(fresh(), rules, eq)} {
		rows, pending, err := l.Rows(ctx, morning.Add(time.Minute))
		if err != nil || len(rows) != 4 || pending != 0 {
			t.Errorf("%s: %d rows, %d pending, %v", name, len(rows), pending, err)
		}
		for _, r := range rows {
			if r.Case == gone || casebook.Reserved(r.Case) {
				t.Errorf("%s: a row of %s", name, r.Case)
			}
		}
		erased, err := l.Erased(ctx)
		if err != nil || len(erased) != 1 || erased[0].Case != gone || erased[0].Reason != "a test patient" {
			t.Errorf("%s: %+v, %v", name, erased, err)
		}
		if _, _, _, err := l.Case(ctx, gone, morning); err == nil {
			t.Errorf("%s: the erased case reads", name)
		}
		if c, _, _, err := l.Case(ctx, casebook.Ledger, morning); c != nil || err != nil {
			t.Errorf("%s: the ledger reads as a case: %v", name, err)
		}
	}
}
