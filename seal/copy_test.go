package seal_test

import (
	"context"
	"crypto/rand"
	"errors"
	"strings"
	"testing"

	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/seal"
)

// TestCopy: every entry and photo of a plain store is in the sealed copy, in the same order; one photo of two cases
// belongs to both; a photo of nobody is not lost.
func TestCopy(t *testing.T) {
	ctx := context.Background()
	plain := memory.New()
	book := casebook.Book{Store: plain}
	shared, _ := plain.PutBlob(ctx, []byte("shared photo"))
	plain.PutBlob(ctx, []byte("photo that nobody names"))
	heads := map[string]string{}
	var err error
	for i, e := range []casebook.Entry{note("a", "1", "one"), note("a", "2", "two"), note("b", "3", "three"), note("a", "4", "four")} {
		if i == 1 || i == 2 {
			e.Blobs = []string{shared}
		}
		if heads[e.Case], err = book.Append(ctx, heads[e.Case], e); err != nil {
			t.Fatal(err)
		}
	}
	report, _ := casebook.Verify(ctx, plain)
	s := memory.New()
	keys, _ := newKeys(t, s)
	to := casebook.Book{Store: s, Sealer: keys}
	done, err := seal.Copy(ctx, to, plain, morning, rand.Reader)
	if err != nil || done != (seal.Copied{Entries: 4, Blobs: 3, Unclaimed: 1, Head: report.Head}) {
		t.Fatalf("%+v, %v", done, err)
	}
	feed, _ := s.Feed(ctx, 0, 10)
	order := ""
	for _, l := range feed {
		order += l.ID[:1]
	}
	if order[:4] != "1234" || len(feed) != 5 || feed[4].Case != casebook.Ledger {
		t.Errorf("order %s", order)
	}
	for _, c := range []string{"a", "b"} {
		entries, _, err := to.Entries(ctx, c)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			for _, hash := range e.Blobs {
				if got, err := to.Blob(ctx, c, hash); err != nil || string(got) != "shared photo" {
					t.Errorf("case %s: %q, %v", c, got, err)
				}
			}
		}
	}
	// A copy of what does not verify is refused.
	broken := memory.New()
	if _, err := (casebook.Book{Store: broken}).Append(ctx, "", func() casebook.Entry {
		e := note("a", "1", "one")
		e.Blobs = []string{casebook.BlobHash([]byte("not there"))}
		return e
	}()); err != nil {
		t.Fatal(err)
	}
	s2 := memory.New()
	keys2, _ := newKeys(t, s2)
	if _, err := seal.Copy(ctx, casebook.Book{Store: s2, Sealer: keys2}, broken, morning, rand.Reader); !errors.Is(err, casebook.ErrBroken) {
		t.Errorf("%v", err)
	}
}

// TestCopyOfTheProgramsOwn: what the program keeps for itself is copied too: the ledger, a call at the desk, and files that
// came from elsewhere or are still awaited.
func TestCopyOfTheProgramsOwn(t *testing.T) {
	ctx := context.Background()
	plain := memory.New()
	book := casebook.Book{Store: plain}
	moved, awaited := strings.Repeat("a", 64), strings.Repeat("b", 64)
	if _, err := book.Bring(ctx, "x", moved, []byte("photo"), morning, "me"); err != nil {
		t.Fatal(err)
	}
	if err := book.Await(ctx, "x", awaited, morning, "me"); err != nil {
		t.Fatal(err)
	}
	own, _ := plain.PutBlob(ctx, []byte("own photo"))
	e := note("x", "x1", "three photos")
	e.Blobs = []string{moved, awaited, own}
	put(t, book, e,
		part(casebook.DeskCall("c1"), "p1", "c1", casebook.CallTaken{Caller: "Ada Invented"}),
		casebook.NewLedgerEntry("l1", morning, "me", "", casebook.BackupMade{File: "b"}),
		casebook.NewLedgerEntry("l2", morning, "me", "", casebook.BackupMade{File: "c"}))
	s := memory.New()
	keys, _ := newKeys(t, s)
	to := casebook.Book{Store: s, Sealer: keys}
	done, err := seal.Copy(ctx, to, plain, morning, rand.Reader)
	if err != nil || done.Entries != 6 || done.Blobs != 2 || done.Unclaimed != 0 {
		t.Fatalf("%+v, %v", done, err)
	}
	entries, _, err := to.Entries(ctx, "x")
	if err != nil || len(entries) != 1 || entries[0].Blobs[0] != moved || entries[0].Blobs[1] != awaited || entries[0].Blobs[2] == own {
		t.Fatalf("%+v, %v", entries, err)
	}
	for i, want := range []string{"photo", "", "own photo"} {
		got, err := to.Blob(ctx, "x", entries[0].Blobs[i])
		if string(got) != want || (want == "") != errors.Is(err, casebook.ErrNotBrought) {
			t.Errorf("file %d: %q, %v", i, got, err)
		}
	}
	if calls, err := words(t, to, "c1"); err != nil || len(calls) != 1 || calls[0].Caller != "Ada Invented" {
		t.Errorf("%v, %v", calls, err)
	}
	ledger, _, err := casebook.Register{Book: to, ID: casebook.Ledger}.Entries(ctx)
	if err != nil || len(ledger) != 3 || ledger[2].Kind != casebook.KindStoreSealed {
		t.Errorf("%v, %v", ledger, err)
	}
	if r, err := to.Verify(ctx); err != nil || !r.Sound() || len(r.NotBrought) != 1 {
		t.Errorf("%v, %v, %v", r.Defects, r.NotBrought, err)
	}
}
