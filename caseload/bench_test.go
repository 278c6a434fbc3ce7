package caseload_test

import (
	"context"
	"fmt"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/caseload"
	"lowtide/demo"
	"lowtide/equipment"
	"lowtide/state"
	"lowtide/tests/processor"
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

// BenchmarkRounds10k: budget 200 ms warm for the rows of 10,000 cases on sqlite, 50 ms until a new entry shows,
// 150 MiB of memory.
func BenchmarkRounds10k(b *testing.B) {
	ctx := context.Background()
	s, err := sqlite.Open(ctx, filepath.Join(b.TempDir(), "s.db"))
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	book := casebook.Book{Store: s}
	fill(b, book, 10_000)
	load := caseload.New(book, builtin(b), equipment.BuiltIn())
	start, spent := time.Now(), processor.Time(b)
	if _, _, err := load.Rows(ctx, morning); err != nil {
		b.Fatal(err)
	}
	cold, spent := time.Since(start), processor.Time(b)-spent
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	b.Run("warm", func(b *testing.B) {
		for b.Loop() {
			if _, _, err := load.Rows(ctx, morning); err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(cold.Seconds(), "s/cold")
		b.ReportMetric(spent.Seconds(), "cpu-s/cold")
		b.ReportMetric(float64(m.HeapAlloc)/(1<<20), "MiB-heap")
	})
	b.Run("minute_later", func(b *testing.B) {
		now := morning
		for b.Loop() {
			now = now.Add(time.Minute)
			if _, _, err := load.Rows(ctx, now); err != nil {
				b.Fatal(err)
			}
		}
	})
	rows, _, _ := load.Rows(ctx, morning)
	b.Run("new_entry", func(b *testing.B) {
		i := 0
		for b.Loop() {
			id := rows[i%len(rows)].Case
			_, head, err := book.Entries(ctx, id)
			if err != nil {
				b.Fatal(err)
			}
			e := casebook.Entry{ID: fmt.Sprintf("%08d-1111-7000-8000-000000000000", i), Case: id, Kind: casebook.KindNoteWritten, Version: 1, At: morning, Recorded: morning, Author: "x", Body: casebook.NoteWritten{Text: "x"}}
			if _, err := book.Append(ctx, head, e); err != nil {
				b.Fatal(err)
			}
			if _, _, err := load.Rows(ctx, morning); err != nil {
				b.Fatal(err)
			}
			i++
		}
	})
	// The pages that rest on all cases: the stock is worked out anew when an entry arrived, the bag of one nurse each time.
	b.Run("stores", func(b *testing.B) {
		for i := 0; b.Loop(); i++ {
			b.StopTimer()
			id := rows[i%len(rows)].Case
			_, head, err := book.Entries(ctx, id)
			if err != nil {
				b.Fatal(err)
			}
			e := casebook.Entry{ID: fmt.Sprintf("%08d-2222-7000-8000-000000000000", i), Case: id, Kind: casebook.KindNoteWritten, Version: 1, At: morning, Recorded: morning, Author: "x", Body: casebook.NoteWritten{Text: "x"}}
			if _, err := book.Append(ctx, head, e); err != nil {
				b.Fatal(err)
			}
			b.StartTimer()
			if _, err := load.Stores(ctx, morning, time.UTC); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("bag", func(b *testing.B) {
		mine := func(p state.Person) bool { return p.Nurse == demo.Author }
		for b.Loop() {
			if _, err := load.Bag(ctx, morning, 0, mine); err != nil {
				b.Fatal(err)
			}
		}
	})
}
