package storetest

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"lowtide/casebook"
)

// Bench measures a store: append one entry, read one case of 300, list 10,000 cases, feed 100,000 records,
// keep and read a photo of 4 MB, verify 100,000 records.
func Bench(b *testing.B, open Open) {
	b.Run("Append/one", func(b *testing.B) { benchAppend(b, open(b)) })
	b.Run("Append/keyed", func(b *testing.B) {
		s := open(b)
		if k, ok := s.(Keyed); ok {
			if _, err := k.KeyChain(context.Background(), TestMAC); err != nil {
				b.Fatal(err)
			}
		}
		benchAppend(b, s)
	})
	b.Run("Case/300", func(b *testing.B) {
		s := open(b)
		Fill(b, s, 30, 300)
		for b.Loop() {
			if links, err := s.Case(context.Background(), FillCase(17)); err != nil || len(links) != 300 {
				b.Fatal(len(links), err)
			}
		}
	})
	b.Run("Cases/10000", func(b *testing.B) {
		s := open(b)
		Fill(b, s, 10_000, 3)
		for b.Loop() {
			if cases, err := s.Cases(context.Background()); err != nil || len(cases) != 10_000 {
				b.Fatal(len(cases), err)
			}
		}
	})
	full := open(b)
	Fill(b, full, 1000, 100)
	b.Run("Feed/100000", func(b *testing.B) {
		for b.Loop() {
			if feed, err := full.Feed(context.Background(), 0, 100_000); err != nil || len(feed) != 100_000 {
				b.Fatal(len(feed), err)
			}
		}
	})
	b.Run("Verify/100000", func(b *testing.B) {
		for b.Loop() {
			CheckWhole(b, full)
		}
	})
	b.Run("Blob/4MB", func(b *testing.B) { benchBlob(b, open(b)) })
}

func benchAppend(b *testing.B, s casebook.Store) {
	head, i := "", 0
	for b.Loop() {
		c := FillCase(i / 300)
		if i%300 == 0 {
			head = ""
		}
		head = mustAppend(b, s, c, head, fillRecord(c, i%300))
		i++
	}
}

func benchBlob(b *testing.B, s casebook.Store) {
	content := []byte(strings.Repeat("photo...", 4<<20/8))
	b.SetBytes(int64(len(content)))
	i := 0
	for b.Loop() {
		copy(content, fmt.Sprintf("%08d", i))
		i++
		hash, err := s.PutBlob(context.Background(), content)
		if err == nil {
			_, err = s.Blob(context.Background(), hash)
		}
		if err != nil {
			b.Fatal(err)
		}
	}
}

// Fill appends entries to cases, in batches of a case, and leaves the timer as it found it.
func Fill(tb testing.TB, s casebook.Store, cases, entries int) {
	tb.Helper()
	for c := range cases {
		batch := make([]casebook.Record, entries)
		for i := range batch {
			batch[i] = fillRecord(FillCase(c), i)
		}
		mustAppend(tb, s, FillCase(c), "", batch...)
	}
}

// FillCase is the ID of the i-th case that [Fill] makes.
func FillCase(i int) string { return fmt.Sprintf("0199a3c0-0000-7000-8000-%012d", i) }

func fillRecord(c string, i int) casebook.Record {
	return NewRecord(c, fmt.Sprintf("%s-%04d", c, i), strings.Repeat("some words of a note ", 12))
}
