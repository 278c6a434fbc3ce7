package casebook_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/memory"
)

func photoEntry(id string, names ...string) casebook.Entry {
	at := time.Date(2026, 3, 4, 8, 30, 0, 0, time.UTC)
	return casebook.Entry{ID: id, Case: "x", Kind: casebook.KindPhotoTaken, Version: 1, At: at, Recorded: at, Author: "a nurse", Blobs: names,
		Body: casebook.PhotoTaken{Wound: "A", WidthPx: 1, HeightPx: 1}}
}

// TestFilesFromElsewhere: a file that came from another store is found under the name that its entry gives it; one that
// never came is told from one that was lost; what is there under a name is not replaced.
func TestFilesFromElsewhere(t *testing.T) {
	ctx, at := t.Context(), time.Date(2026, 3, 4, 9, 0, 0, 0, time.UTC)
	book := casebook.Book{Store: memory.New()}
	moved, awaited, lost := strings.Repeat("a", 64), strings.Repeat("b", 64), strings.Repeat("c", 64)
	if fresh, err := book.Bring(ctx, "x", moved, []byte("photo"), at, "me"); err != nil || !fresh {
		t.Fatal(fresh, err)
	}
	for range 2 {
		if err := book.Await(ctx, "x", awaited, at, "me"); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := book.Append(ctx, "", photoEntry("e1", moved), photoEntry("e2", awaited), photoEntry("e3", lost)); err != nil {
		t.Fatal(err)
	}
	if got, err := book.Blob(ctx, "x", moved); err != nil || string(got) != "photo" {
		t.Errorf("%q, %v", got, err)
	}
	for name, want := range map[string]error{awaited: casebook.ErrNotBrought, lost: casebook.ErrNotFound} {
		if _, err := book.Blob(ctx, "x", name); !errors.Is(err, want) || !errors.Is(err, casebook.ErrNotFound) || errors.Is(err, casebook.ErrNotBrought) != (name == awaited) {
			t.Errorf("%.3s: %v", name, err)
		}
	}
	if fresh, err := book.Bring(ctx, "x", moved, []byte("photo"), at, "me"); err != nil || fresh {
		t.Errorf("the same again: %v, %v", fresh, err)
	}
	if _, err := book.Bring(ctx, "x", moved, []byte("another photo"), at, "me"); !errors.Is(err, casebook.ErrConflict) {
		t.Errorf("another content: %v", err)
	}
	if _, err := book.Blob(ctx, "y", moved); !errors.Is(err, casebook.ErrNotFound) {
		t.Errorf("from another case: %v", err)
	}
	r, err := book.Verify(ctx)
	if err != nil || len(r.Defects) != 1 || !strings.Contains(r.Defects[0], lost) || len(r.NotBrought) != 1 || !strings.Contains(r.NotBrought[0], awaited) {
		t.Errorf("%v, %v, %v", r.Defects, r.NotBrought, err)
	}
	for _, name := range []string{awaited, lost} {
		if _, err := book.Bring(ctx, "x", name, []byte("found again"), at, "me"); err != nil {
			t.Fatal(err)
		}
	}
	if r, err := book.Verify(ctx); err != nil || !r.Sound() || len(r.NotBrought) != 0 {
		t.Errorf("%v, %v, %v", r.Defects, r.NotBrought, err)
	}
}
