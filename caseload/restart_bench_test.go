package caseload_test

import (
	"crypto/rand"
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/caseload"
	"lowtide/equipment"
	"lowtide/seal"
	"lowtide/tests/processor"
)

// BenchmarkRestart is a sealed store with LOWTIDE_CASES cases (10,000) on SQLite, started again and again. Budgets at
// 10,000: the first Rounds takes under 15 CPU s where every case is reviewed anew and under 3 where the shelf has its rows;
// a new entry shows on Rounds within 10 ms (95th percentile; 50 ms at 50,000); under 200 MB resident. LOWTIDE_BENCH_DIR
// keeps the store between two runs: only the second one's memory is without the making of it.
func BenchmarkRestart(b *testing.B) {
	ctx := b.Context()
	n, _ := strconv.Atoi(os.Getenv("LOWTIDE_CASES"))
	if n == 0 {
		n = 10_000
	}
	dir := os.Getenv("LOWTIDE_BENCH_DIR")
	if dir == "" {
		dir = b.TempDir()
	}
	path, keyFile := filepath.Join(dir, fmt.Sprintf("%d.db", n)), filepath.Join(dir, fmt.Sprintf("%d.key", n))
	s, err := sqlite.Open(ctx, path)
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	var keys *seal.Keys
	if key, err := seal.ReadKeyFile(keyFile); err == nil {
		if keys, err = seal.Open(ctx, s, key, rand.Reader); err != nil {
			b.Fatal(err)
		}
	} else {
		key, err := seal.NewKey(rand.Reader)
		if err != nil {
			b.Fatal(err)
		}
		if keys, err = seal.Start(ctx, s, key, rand.Reader); err != nil {
			b.Fatal(err)
		}
		fill(b, casebook.Book{Store: s, Sealer: keys}, n)
		if err := seal.WriteKeyFile(keyFile, key); err != nil {
			b.Fatal(err)
		}
		debug.FreeOSMemory()
	}
	shelf, err := sqlite.OpenShelf(ctx, sqlite.ShelfOf(path))
	if err != nil {
		b.Fatal(err)
	}
	defer shelf.Close()
	book := casebook.Book{Store: s, Sealer: keys}
	start := func() *caseload.Caseload {
		load := caseload.New(book, builtin(b), equipment.BuiltIn())
		load.Shelf = shelf
		return load
	}
	rounds := func(load *caseload.Caseload) []*caseload.Row {
		rows, pending, err := load.Rows(ctx, morning)
		if err != nil || pending != 0 || len(rows) == 0 {
			b.Fatal(len(rows), pending, err)
		}
		return rows
	}
	for b.Loop() {
		anew := caseload.New(book, builtin(b), equipment.BuiltIn())
		anew.Shelf, anew.Program = shelf, "before" // an older program's rows are made again
		spent := processor.Time(b)
		rounds(anew)
		b.ReportMetric((processor.Time(b) - spent).Seconds(), "cpu-s/all-anew")
		if err := anew.SaveRows(ctx); err != nil {
			b.Fatal(err)
		}
		anew = start()
		rounds(anew)
		if err := anew.SaveRows(ctx); err != nil {
			b.Fatal(err)
		}
		anew = nil
		debug.FreeOSMemory()
		load := start()
		began := time.Now()
		spent = processor.Time(b)
		rows := rounds(load)
		b.ReportMetric((processor.Time(b) - spent).Seconds(), "cpu-s/from-shelf")
		b.ReportMetric(time.Since(began).Seconds(), "s/from-shelf")
		b.ReportMetric(resident(b), "MB-resident")
		debug.FreeOSMemory()
		b.ReportMetric(resident(b), "MB-resident-least")
		var took []float64
		for i := range 400 {
			id := rows[i*7919%len(rows)].Case
			_, head, err := book.Entries(ctx, id)
			if err != nil {
				b.Fatal(err)
			}
			at := time.Now() // a store that is kept has the entries of earlier runs
			eid, err := casebook.NewID(at, rand.Reader)
			if err != nil {
				b.Fatal(err)
			}
			e := casebook.Entry{ID: eid, Case: id, Kind: casebook.KindNoteWritten, Version: 1, At: morning, Recorded: morning, Author: "x", Body: casebook.NoteWritten{Text: "x"}}
			if _, err := book.Append(ctx, head, e); err != nil {
				b.Fatal(err)
			}
			at = time.Now()
			rounds(load)
			took = append(took, float64(time.Since(at).Microseconds())/1000)
		}
		slices.Sort(took)
		b.ReportMetric(took[len(took)/2], "ms/entry-p50")
		b.ReportMetric(took[len(took)*95/100], "ms/entry-p95")
		b.ReportMetric(took[len(took)-1], "ms/entry-max")
	}
}

// resident is what the process holds in memory, in MB; zero where the system does not tell.
func resident(b *testing.B) float64 {
	raw, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0
	}
	_, rest, _ := strings.Cut(string(raw), "VmRSS:")
	fields := strings.Fields(rest)
	if len(fields) == 0 {
		return 0
	}
	kb, err := strconv.ParseFloat(fields[0], 64)
	if err != nil {
		b.Fatal(err)
	}
	return kb * 1024 / 1e6
}
