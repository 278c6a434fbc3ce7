package review_test

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
	"lowtide/review"
)

// longCase is a demo case stretched to four months by repeating its visits: about 300 entries.
func longCase(tb testing.TB) (string, []casebook.Entry) {
	tb.Helper()
	all := demo.Entries(morning, 1)
	id := all[0].Case
	var base, out []casebook.Entry
	for _, e := range all {
		if e.Case == id {
			base = append(base, e)
		}
	}
	for k := range 9 {
		back := time.Duration(k) * 14 * 24 * time.Hour
		for i, e := range base {
			if k > 0 && e.Kind == casebook.KindPersonRegistered {
				continue
			}
			e.ID = fmt.Sprintf("%08d-0000-7000-8000-%012d", k, i)
			e.At, e.Recorded = e.At.Add(-back), e.Recorded.Add(-back)
			out = append(out, e)
		}
	}
	return id, out
}

// BenchmarkReviewWarm: budget 2 ms for a four-month case that is in memory.
func BenchmarkReviewWarm(b *testing.B) {
	rules, eq := builtin(b), equipment.BuiltIn()
	id, entries := longCase(b)
	c := casebook.Fold(id, entries)
	b.ReportAllocs()
	for b.Loop() {
		review.Of(c, rules, eq, morning)
	}
	b.ReportMetric(float64(len(entries)), "entries")
}

// BenchmarkReviewCold: budget 50 ms from the bytes of the store to the review.
func BenchmarkReviewCold(b *testing.B) {
	ctx := context.Background()
	rules, eq := builtin(b), equipment.BuiltIn()
	id, entries := longCase(b)
	s, err := sqlite.Open(ctx, filepath.Join(b.TempDir(), "s.db"))
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	book := casebook.Book{Store: s}
	if _, err := book.Append(ctx, "", entries...); err != nil {
		b.Fatal(err)
	}
	load := caseload.New(book, rules, eq)
	b.ReportAllocs()
	for b.Loop() {
		if _, _, _, err := load.Case(ctx, id, morning); err != nil {
			b.Fatal(err)
		}
	}
}

// manyCases writes n cases by telling the demo again and again under other IDs.
func manyCases(tb testing.TB, n int) (casebook.Book, func()) {
	tb.Helper()
	ctx := context.Background()
	s, err := sqlite.Open(ctx, filepath.Join(tb.TempDir(), "s.db"))
	if err != nil {
		tb.Fatal(err)
	}
	book := casebook.Book{Store: s}
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
			if _, err := book.Append(ctx, "", byCase[id]...); err != nil {
				tb.Fatal(err)
			}
			n--
		}
	}
	return book, func() { s.Close() }
}

// BenchmarkRounds10k: budget 200 ms warm for the rows of 10,000 cases on sqlite, 50 ms until a new entry shows,
// 150 MiB of memory.
func BenchmarkRounds10k(b *testing.B) {
	ctx := context.Background()
	book, done := manyCases(b, 10_000)
	defer done()
	load := caseload.New(book, builtin(b), equipment.BuiltIn())
	start := time.Now()
	if _, _, err := load.Rows(ctx, morning); err != nil {
		b.Fatal(err)
	}
	cold := time.Since(start)
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
		mine := func(p review.Person) bool { return p.Nurse == demo.Author }
		for b.Loop() {
			if _, err := load.Bag(ctx, morning, 0, mine); err != nil {
				b.Fatal(err)
			}
		}
	})
}
