//go:build js && wasm

// These tests run in a browser: tests/browser/store.test.mjs builds and opens them.
package browser_test

import (
	"errors"
	"fmt"
	"testing"

	"lowtide/casebook"
	"lowtide/casebook/browser"
	"lowtide/casebook/memory"
	"lowtide/casebook/storetest"
)

var made int

// open gives a store over a new database.
func open(tb testing.TB) *memory.Store {
	tb.Helper()
	made++
	name := fmt.Sprint("test-", made)
	return through(tb, name)
}

func through(tb testing.TB, name string) *memory.Store {
	tb.Helper()
	held, keeper, err := browser.Open(name)
	if err != nil {
		tb.Fatal(err)
	}
	s, err := memory.Through(held, keeper)
	if err != nil {
		tb.Fatal(err)
	}
	return s
}

func TestStore(t *testing.T) {
	storetest.Run(t, func(tb testing.TB) casebook.Store { return open(tb) })
}

func TestKeys(t *testing.T) {
	storetest.RunKeys(t, func(tb testing.TB) storetest.Keyed { return open(tb) })
}

// TestAgain: what was kept is there when the database is opened again, and only what was kept.
func TestAgain(t *testing.T) {
	ctx := t.Context()
	s := through(t, "again")
	head, err := s.Append(ctx, "c", "", casebook.Record{ID: "one", Case: "c", Bytes: []byte("1")})
	if err == nil {
		_, err = s.Append(ctx, "c", head, casebook.Record{ID: "two", Case: "c", Bytes: []byte("2")})
	}
	hash, blobErr := s.PutBlob(ctx, []byte("photo"))
	large := make([]byte, 40<<10)
	large[7] = 7
	noteErr := s.PutNotes(ctx, map[string][]byte{"n": []byte("note"), "large": large})
	if err := errors.Join(err, blobErr, noteErr, s.Close()); err != nil {
		t.Fatal(err)
	}
	s = through(t, "again")
	links, err := s.Case(ctx, "c")
	blob, blobErr := s.Blob(ctx, hash)
	note, noteErr := s.Note(ctx, "n")
	big, bigErr := s.Note(ctx, "large")
	if err := errors.Join(err, blobErr, noteErr, bigErr); err != nil {
		t.Fatal(err)
	}
	if len(links) != 2 || string(links[1].Bytes) != "2" || string(blob) != "photo" || string(note) != "note" || len(big) != len(large) || big[7] != 7 {
		t.Errorf("%v, %q, %q, %d", links, blob, note, len(big))
	}
	storetest.CheckWhole(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if err := browser.Remove("again"); err != nil {
		t.Fatal(err)
	}
	if held, keeper, err := browser.Open("again"); err != nil || len(held.Links)+len(held.Notes)+len(held.Blobs) > 0 {
		t.Errorf("removed: %+v, %v", held, err)
	} else {
		keeper.Close()
	}
}

// TestDeletedMeanwhile: where somebody clears the browser's storage, writing says so and claims nothing.
func TestDeletedMeanwhile(t *testing.T) {
	s := through(t, "cleared")
	if err := browser.Remove("cleared"); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Append(t.Context(), "c", "", casebook.Record{ID: "one", Case: "c", Bytes: []byte("1")}); !errors.Is(err, casebook.ErrReadOnly) {
		t.Errorf("%v", err)
	}
	if links, err := s.Case(t.Context(), "c"); err != nil || len(links) > 0 {
		t.Errorf("%v, %v", links, err)
	}
}
