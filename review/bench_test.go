package review_test

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/caseload"
	"lowtide/demo"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/state"
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
		review.Of(state.Of(c, rules, eq, nil, morning), rules)
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
