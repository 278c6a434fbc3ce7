package sqlite_test

import (
	"context"
	"crypto/rand"
	"os"
	"path/filepath"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/seal"
)

// LOWTIDE_SEALED_FIXTURE=path writes the sealed store that testdata/sealed-vN.db holds, and its key beside it, once
// for each schema version, with the program that makes that version. The key is a test key: it guards nothing.
func TestWriteSealedFixture(t *testing.T) {
	to := os.Getenv("LOWTIDE_SEALED_FIXTURE")
	if to == "" {
		t.Skip("only on request")
	}
	ctx := context.Background()
	s, err := sqlite.Open(ctx, to)
	if err != nil {
		t.Fatal(err)
	}
	keys, err := seal.Source{File: to + ".key", Random: rand.Reader}.Begin(ctx, s)
	if err != nil {
		t.Fatal(err)
	}
	book := casebook.Book{Store: s, Sealer: keys}
	at := time.Date(2026, 3, 4, 8, 30, 0, 0, time.UTC)
	for _, c := range []string{"a", "b"} {
		photo, err := book.PutBlob(ctx, c, []byte("a photo of "+c))
		if err != nil {
			t.Fatal(err)
		}
		e := casebook.Entry{ID: c + "1", Case: c, Kind: casebook.KindNoteWritten, Version: 1, At: at, Recorded: at, Author: "a nurse",
			Body: casebook.NoteWritten{Text: "text of " + c}, Blobs: []string{photo}}
		if _, err := book.Append(ctx, "", e); err != nil {
			t.Fatal(err)
		}
	}
	if err := keys.Erase(ctx, s, "b", seal.Deed{At: at, Author: "an administrator", Reason: "a test patient"}); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
}

// A sealed store that schema 2 wrote opens with its key, verifies, shows what was erased, and grows, for ever.
func TestSealedStoreOfVersion2(t *testing.T) {
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "store.db")
	for _, end := range []string{"", ".key"} {
		content, err := os.ReadFile("testdata/sealed-v2.db" + end)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path+end, content, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	s := openAt(t, path)
	keys, err := seal.Source{File: path + ".key", Random: rand.Reader}.Begin(ctx, s)
	if err != nil {
		t.Fatal(err)
	}
	book := casebook.Book{Store: s, Sealer: keys}
	report, err := book.Verify(ctx)
	if err != nil || !report.Sound() || report.Records != 3 || report.Sealed != 3 || report.Erased != 1 || report.Cases != 2 || report.Blobs != 2 {
		t.Errorf("%+v, %v", report, err)
	}
	entries, head, err := book.Entries(ctx, "a")
	if err != nil || len(entries) != 1 || entries[0].Body.(casebook.NoteWritten).Text != "text of a" {
		t.Fatalf("%v, %v", entries, err)
	}
	if got, err := book.Blob(ctx, "a", entries[0].Blobs[0]); err != nil || string(got) != "a photo of a" {
		t.Errorf("%q, %v", got, err)
	}
	if list, err := book.Erased(ctx); err != nil || len(list) != 1 || list[0].Case != "b" || list[0].Reason != "a test patient" {
		t.Errorf("%v, %v", list, err)
	}
	// The same entry again gives the same bytes: sealing has not changed.
	if again, err := book.Append(ctx, "some other head", entries...); err != nil || again != head {
		t.Errorf("%s, %v", again, err)
	}
}

// What an SQLite tool must not get past the guards of the keys.
func TestDatabaseRefusesKeyTampering(t *testing.T) {
	path := filepath.Join(t.TempDir(), "store.db")
	content, err := os.ReadFile("testdata/sealed-v2.db")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	db := raw(t, path)
	for _, statement := range []string{
		"DELETE FROM case_key", "DELETE FROM key_meta",
		"UPDATE case_key SET wrapped = X'41', erased_by = NULL WHERE case_id = 'b'",
		"UPDATE case_key SET case_id = 'c' WHERE case_id = 'a'",
		"UPDATE case_key SET wrapped = NULL WHERE case_id = 'a'",
		"INSERT INTO case_key (case_id, wrapped) VALUES ('a', X'41')",
		"INSERT OR REPLACE INTO case_key (case_id, wrapped) VALUES ('b', X'41')",
		"INSERT INTO case_key (case_id, wrapped) VALUES ('b', X'41') ON CONFLICT DO UPDATE SET wrapped = excluded.wrapped, erased_by = NULL",
		"INSERT OR REPLACE INTO key_meta VALUES (1, 'x', 'file', X'', 0, 0, 0)",
		"INSERT INTO record (seq, id, case_id, bytes, hash) VALUES (4, 'n', 'a', X'7B7D', '" + zeros64 + "')",
		"INSERT INTO record (seq, id, case_id, bytes, hash) VALUES (4, 'n', 'b', X'4C7453317B7D', '" + zeros64 + "')",
		"INSERT INTO blob (hash, bytes) VALUES ('" + zeros64 + "', X'41')",
	} {
		if _, err := db.Exec(statement); err == nil {
			t.Errorf("the database took: %s", statement)
		}
	}
}

const zeros64 = "0000000000000000000000000000000000000000000000000000000000000000"
