package caseload_test

import (
	"context"
	"crypto/rand"
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/caseload"
	"lowtide/demo"
	"lowtide/equipment"
	"lowtide/seal"
	"lowtide/tests/processor"
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

// BenchmarkSealed: what sealing costs. Budget: under 20 % for Rounds cold, nothing warm. The two stores take turns, and
// the processor's time is compared, because a clock on the wall also measures whoever else uses the machine. The cost is
// the same for each case, so 1,000 cases tell it; LOWTIDE_DEEP=1 takes 10,000.
func BenchmarkSealed(b *testing.B) {
	ctx := context.Background()
	rules, eq := builtin(b), equipment.BuiltIn()
	n := 1000
	if os.Getenv("LOWTIDE_DEEP") == "1" {
		n = 10_000
	}
	fresh := sealedAndPlain(b, n)
	kinds := []string{"plain", "sealed"}
	loads, one := map[string]*caseload.Caseload{}, ""
	for _, kind := range kinds {
		loads[kind] = caseload.New(fresh[kind](), rules, eq)
		if _, _, err := loads[kind].Rows(ctx, morning); err != nil {
			b.Fatal(err)
		}
	}
	heads, err := fresh["plain"]().Store.Cases(ctx)
	if err != nil {
		b.Fatal(err)
	}
	longest := 0
	for _, h := range heads {
		if h.Count > longest {
			one, longest = h.Case, h.Count
		}
	}
	for _, what := range []struct {
		name  string
		times int
		do    func(kind string) error
	}{
		{"rounds_cold", 1, func(kind string) error {
			_, _, err := caseload.New(fresh[kind](), rules, eq).Rows(ctx, morning)
			return err
		}},
		{"rounds_warm", 100, func(kind string) error { _, _, err := loads[kind].Rows(ctx, morning); return err }},
		{"one_case", 1000, func(kind string) error { _, _, _, err := loads[kind].Case(ctx, one, morning); return err }},
		{"read_one_case", 5000, func(kind string) error { _, _, err := loads[kind].Book.Entries(ctx, one); return err }},
	} {
		b.Run(what.name, func(b *testing.B) {
			spent := map[string]time.Duration{}
			for i := 0; b.Loop(); i++ {
				for k := range kinds {
					kind := kinds[(i+k)%2]
					runtime.GC()
					before := processor.Time(b)
					for range what.times {
						if err := what.do(kind); err != nil {
							b.Fatal(err)
						}
					}
					spent[kind] += processor.Time(b) - before
				}
			}
			per := float64(b.N * what.times)
			b.ReportMetric(float64(longest), "entries-in-one")
			b.ReportMetric(spent["plain"].Seconds()*1e3/per, "cpu-ms-plain")
			b.ReportMetric(spent["sealed"].Seconds()*1e3/per, "cpu-ms-sealed")
			b.ReportMetric(100*(spent["sealed"].Seconds()/spent["plain"].Seconds()-1), "%-more")
		})
	}
}

// TestErasedHasNoRow: an erased case leaves the list, at once and in a new caseload, and is told apart.
func TestErasedHasNoRow(t *testing.T) {
	ctx := context.Background()
	rules, eq := builtin(t), equipment.BuiltIn()
	fresh := sealedAndPlain(t, 5)["sealed"]
	book := fresh()
	load := caseload.New(book, rules, eq)
	rows, _, err := load.Rows(ctx, morning)
	if err != nil || len(rows) != 5 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	gone := rows[2].Case
	if err := book.Sealer.(*seal.Keys).Erase(ctx, book.Store, gone, seal.Deed{At: morning, Author: "an administrator", Reason: "a test patient"}); err != nil {
		t.Fatal(err)
	}
	for name, l := range map[string]*caseload.Caseload{"the same": load, "a new one": caseload.New(fresh(), rules, eq)} {
		rows, pending, err := l.Rows(ctx, morning.Add(time.Minute))
		if err != nil || len(rows) != 4 || pending != 0 {
			t.Errorf("%s: %d rows, %d pending, %v", name, len(rows), pending, err)
		}
		for _, r := range rows {
			if r.Case == gone || casebook.Reserved(r.Case) {
				t.Errorf("%s: a row of %s", name, r.Case)
			}
		}
		erased, err := l.Book.Erased(ctx)
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
