package sqlite_test

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"

	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/casebook/storetest"
)

// wantSentence expects an error of a sort whose text tells what to do.
func wantSentence(t *testing.T, err, sort error, parts ...string) {
	t.Helper()
	if !errors.Is(err, sort) {
		t.Fatalf("error %v, want %v", err, sort)
	}
	for _, part := range parts {
		if !strings.Contains(err.Error(), part) {
			t.Errorf("%q does not say %q", err, part)
		}
	}
}

func TestFilesAreForTheirOwnerAlone(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("Windows has no such rights")
	}
	path := filepath.Join(t.TempDir(), "store.db")
	s := openAt(t, path)
	if _, err := s.Append(context.Background(), "a", "", storetest.NewRecord("a", "a1", "one")); err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(path + "*")
	if err != nil || len(files) != 4 { // the file, its -wal and -shm, the lock
		t.Fatalf("%v, %v", files, err)
	}
	for _, f := range files {
		if info, err := os.Stat(f); err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("%s: %v, %v", f, info.Mode(), err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	// A copy that others may read is taken from them.
	if err := os.Chmod(path, 0o664); err != nil {
		t.Fatal(err)
	}
	openAt(t, path)
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("after opening: %v, %v", info.Mode(), err)
	}
}

func TestOneWriter(t *testing.T) {
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "store.db")
	writer := openAt(t, path)
	_, err := sqlite.Open(ctx, path)
	wantSentence(t, err, sqlite.ErrLocked, path, "stop the other one")

	reader, err := sqlite.OpenReader(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	defer reader.Close()
	head, err := writer.Append(ctx, "a", "", storetest.NewRecord("a", "a1", "one"))
	if err != nil {
		t.Fatal(err)
	}
	if links, err := reader.Case(ctx, "a"); err != nil || len(links) != 1 {
		t.Errorf("a reader beside the writer sees %v, %v", links, err)
	}
	if _, err := reader.Append(ctx, "a", head, storetest.NewRecord("a", "a2", "two")); err == nil {
		t.Errorf("a reader could append")
	}
	if _, err := reader.PutBlob(ctx, []byte("photo")); err == nil {
		t.Errorf("a reader could keep a blob")
	}
	if err := writer.Close(); err != nil {
		t.Fatal(err)
	}
	if links, err := reader.Case(ctx, "a"); err != nil || len(links) != 1 {
		t.Errorf("after the writer has gone, a reader sees %v, %v", links, err)
	}
	openAt(t, path)
}

func TestNewerStoreIsLeftAlone(t *testing.T) {
	ctx := context.Background()
	path := filled(t)
	db := raw(t, path)
	if _, err := db.Exec("INSERT INTO goose_db_version (version_id, is_applied) VALUES (99, 1); CREATE TABLE later (x)"); err != nil {
		t.Fatal(err)
	}
	db.Close()
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	_, err = sqlite.Open(ctx, path)
	wantSentence(t, err, sqlite.ErrNewer, "99", "use the version of Lowtide that wrote it, or a later one")
	_, err = sqlite.OpenReader(ctx, path)
	wantSentence(t, err, sqlite.ErrNewer, "99")
	if after, err := os.ReadFile(path); err != nil || string(after) != string(before) {
		t.Errorf("the refused store was changed (%v)", err)
	}
	// A refused store must not stay locked.
	_, err = sqlite.Open(ctx, path)
	wantSentence(t, err, sqlite.ErrNewer)
}

func TestForeignFilesAreLeftAlone(t *testing.T) {
	ctx := context.Background()
	for name, make := range map[string]func(path string) error{
		"text": func(path string) error {
			return os.WriteFile(path, []byte(strings.Repeat("Dear diary, ", 1000)), 0o600)
		},
		"another program's SQLite file": func(path string) error {
			_, err := raw(t, path).Exec("CREATE TABLE song (title TEXT)")
			return err
		},
		"another program's with the same migration tool": func(path string) error {
			_, err := raw(t, path).Exec("CREATE TABLE song (title TEXT); CREATE TABLE goose_db_version (id INTEGER, version_id INTEGER, is_applied INTEGER); INSERT INTO goose_db_version VALUES (1, 1, 1)")
			return err
		},
		"ours without its version": func(path string) error {
			if err := os.Rename(filled(t), path); err != nil {
				return err
			}
			_, err := raw(t, path).Exec("DROP TABLE goose_db_version")
			return err
		},
	} {
		path := filepath.Join(t.TempDir(), "file")
		if err := make(path); err != nil {
			t.Fatal(name, err)
		}
		before, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		_, err = sqlite.Open(ctx, path)
		wantSentence(t, err, sqlite.ErrForeign)
		_, err = sqlite.OpenReader(ctx, path)
		wantSentence(t, err, sqlite.ErrForeign)
		if after, err := os.ReadFile(path); err != nil || string(after[100:]) != string(before[100:]) {
			t.Errorf("%s: the file was changed (%v)", name, err)
		}
	}
}

func TestMissing(t *testing.T) {
	ctx := context.Background()
	_, err := sqlite.OpenReader(ctx, filepath.Join(t.TempDir(), "store.db"))
	wantSentence(t, err, fs.ErrNotExist)
	if _, err = sqlite.Open(ctx, filepath.Join(t.TempDir(), "no", "folder", "store.db")); err == nil || !strings.Contains(err.Error(), "make it first") {
		t.Errorf("a store in a folder that is not there: %v", err)
	}
	if _, err = sqlite.Open(ctx, t.TempDir()); err == nil {
		t.Errorf("a folder was opened as a store")
	}
}

// An empty file, and what a first start leaves behind that was killed before its first migration: the table of
// versions with version 0, which the migration tool makes in one transaction.
func TestCutShort(t *testing.T) {
	ctx := context.Background()
	for _, left := range []string{
		"",
		"CREATE TABLE goose_db_version (id INTEGER PRIMARY KEY AUTOINCREMENT, version_id INTEGER NOT NULL, is_applied INTEGER NOT NULL, tstamp TIMESTAMP DEFAULT (datetime('now'))); INSERT INTO goose_db_version (version_id, is_applied) VALUES (0, 1)",
	} {
		path := filepath.Join(t.TempDir(), "store.db")
		if err := os.WriteFile(path, nil, 0o600); err != nil {
			t.Fatal(err)
		}
		if left != "" {
			if _, err := raw(t, path).Exec(left); err != nil {
				t.Fatal(err)
			}
		}
		_, err := sqlite.OpenReader(ctx, path)
		wantSentence(t, err, sqlite.ErrOlder, "open it once with a program that writes")
		s := openAt(t, path)
		if _, err := s.Append(ctx, "a", "", storetest.NewRecord("a", "a1", "one")); err != nil {
			t.Errorf("after %q: %v", left, err)
		}
	}
}

// Names with what means something in a URL or in SQL.
func TestOddPaths(t *testing.T) {
	for _, name := range []string{"a b.db", "50%.db", "%41.db", "what?mode=memory.db", "no#3.db", "it's.db", "fälle.db", "file:x.db"} {
		path := filepath.Join(t.TempDir(), name)
		s := openAt(t, path)
		if _, err := s.Append(context.Background(), "a", "", storetest.NewRecord("a", "a1", "one")); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if err := s.Close(); err != nil {
			t.Error(err)
		}
		if info, err := os.Stat(path); err != nil || info.Size() == 0 {
			t.Errorf("%s: the store is not where it was asked to be: %v", name, err)
		}
	}
}

// Settings that durability leans on are as asked for, on the connection that writes.
func TestSettings(t *testing.T) {
	path := filled(t)
	for pragma, want := range map[string]string{"journal_mode": "wal", "synchronous": "2", "fullfsync": "1"} {
		if got := sqlite.Pragma(t, path, pragma); got != want {
			t.Errorf("%s is %s, want %s", pragma, got, want)
		}
	}
}

// A store that the first schema wrote opens, verifies and grows, for ever.
func TestStoreOfVersion1(t *testing.T) {
	ctx := context.Background()
	content, err := os.ReadFile("testdata/store-v1.db")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "store.db")
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	s := openAt(t, path)
	report := storetest.CheckWhole(t, s)
	want := casebook.Report{Records: 3, Cases: 2, Blobs: 2, BlobBytes: 36, Unread: 3, Defects: []string{},
		Head: "1d23c27fc23a3b94c0c5d7128c488f1ca73811762893e8f4fd17136ba9ab8764"}
	if fmt.Sprint(report) != fmt.Sprint(want) {
		t.Errorf("%+v, want %+v", report, want)
	}
	if _, err := s.Append(ctx, "c", "", storetest.NewRecord("c", "c1", "new")); err != nil {
		t.Error(err)
	}
}

// Every column says what it holds, in the schema itself.
func TestColumnsAreCommented(t *testing.T) {
	files, err := filepath.Glob("migrations/*.sql")
	if err != nil || len(files) == 0 {
		t.Fatal("no migrations", err)
	}
	table := regexp.MustCompile(`(?s)CREATE TABLE (\w+) \((.*?)\n\)`)
	column := regexp.MustCompile(`^  [a-z_]+ [A-Z]`)
	columns := 0
	for i, file := range files {
		if want := fmt.Sprintf("%05d_", i+1); !strings.HasPrefix(filepath.Base(file), want) {
			t.Errorf("%s: the next migration is %s…", file, want)
		}
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(string(text), "+goose Down") {
			t.Errorf("%s: migrations only add; there is no way down", file)
		}
		for _, m := range table.FindAllStringSubmatch(string(text), -1) {
			lines := strings.Split(m[2], "\n")
			for k, line := range lines {
				if !column.MatchString(line) {
					continue
				}
				columns++
				if !strings.HasPrefix(strings.TrimSpace(lines[k-1]), "-- ") {
					t.Errorf("%s, table %s: no comment above %q", file, m[1], line)
				}
			}
		}
	}
	if columns < 11 {
		t.Errorf("only %d columns found: the test looks past them", columns)
	}
}

// TestSecondName: a store is one however it is called. A link to it leads to the same lock; a second hard link is refused.
func TestSecondName(t *testing.T) {
	ctx := t.Context()
	dir := t.TempDir()
	path := filepath.Join(dir, "ward.db")
	s, err := sqlite.Open(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	soft, hard := filepath.Join(dir, "soft.db"), filepath.Join(dir, "hard.db")
	if err := os.Symlink(path, soft); err != nil {
		t.Fatal(err)
	}
	if _, err := sqlite.Open(ctx, soft); !errors.Is(err, sqlite.ErrLocked) {
		t.Errorf("by a link while it is open: %v", err)
	}
	if err := os.Link(path, hard); err != nil {
		t.Fatal(err)
	}
	if _, err := sqlite.Open(ctx, hard); !errors.Is(err, sqlite.ErrManyNames) {
		t.Errorf("by a hard link while it is open: %v", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := sqlite.Open(ctx, path); !errors.Is(err, sqlite.ErrManyNames) || !strings.Contains(err.Error(), "find / -samefile") {
		t.Errorf("with a second name: %v", err)
	}
	if err := os.Remove(hard); err != nil {
		t.Fatal(err)
	}
	if s, err = sqlite.Open(ctx, soft); err != nil {
		t.Fatalf("by a link alone: %v", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
}
