package sqlite_test

import (
	"context"
	"path/filepath"
	"testing"

	"lowtide/casebook/sqlite"
	"lowtide/casebook/storetest"
)

func BenchmarkStore(b *testing.B) { storetest.Bench(b, open) }

// BenchmarkOpen opens and closes a store of 100,000 records. Budget: 50 ms.
func BenchmarkOpen(b *testing.B) {
	path := filepath.Join(b.TempDir(), "store.db")
	s := openAt(b, path)
	storetest.Fill(b, s, 1000, 100)
	if err := s.Close(); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		s, err := sqlite.Open(context.Background(), path)
		if err != nil {
			b.Fatal(err)
		}
		if err := s.Close(); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkOpenNew makes a new store: the migrations run.
func BenchmarkOpenNew(b *testing.B) {
	for b.Loop() {
		s, err := sqlite.Open(context.Background(), filepath.Join(b.TempDir(), "store.db"))
		if err != nil {
			b.Fatal(err)
		}
		if err := s.Close(); err != nil {
			b.Fatal(err)
		}
	}
}
