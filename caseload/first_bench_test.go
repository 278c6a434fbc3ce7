package caseload_test

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/caseload"
	"lowtide/demo"
	"lowtide/equipment"
)

var morning = time.Date(2026, 3, 4, 8, 30, 0, 0, time.UTC)

// fill writes n cases into the book by telling the demo again and again under other IDs.
func fill(tb testing.TB, book casebook.Book, n int) {
	tb.Helper()
	for seed := uint64(1); n > 0; seed++ {
		byCase := map[string][]casebook.Entry{}
		var order []string
		for _, e := range demo.Entries(morning, seed) {
			if byCase[e.Case] == nil {
				order = append(order, e.Case)
			}
			byCase[e.Case] = append(byCase[e.Case], e)
		}
		for _, id := range order[:min(n, len(order))] {
			if _, err := book.Append(context.Background(), "", byCase[id]...); err != nil {
				tb.Fatal(err)
			}
			n--
		}
	}
}

// BenchmarkFirstRounds is the first list of 1,000 cases after a start.
func BenchmarkFirstRounds(b *testing.B) {
	s, err := sqlite.Open(b.Context(), filepath.Join(b.TempDir(), "s.db"))
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	book := casebook.Book{Store: s}
	fill(b, book, 1000)
	for b.Loop() {
		load := caseload.New(book, builtin(b), equipment.BuiltIn())
		if _, _, err := load.Rows(b.Context(), morning); err != nil {
			b.Fatal(err)
		}
	}
}
