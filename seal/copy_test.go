package seal_test

import (
	"context"
	"crypto/rand"
	"errors"
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
