package sqlite

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"lowtide/casebook"
)

// TestFrozen: a store whose disk takes nothing is read whole, also what stands in its WAL only; nothing is made beside it,
// and nothing can be written.
func TestFrozen(t *testing.T) {
	ctx := t.Context()
	t.Setenv("TMPDIR", t.TempDir())
	path := filepath.Join(t.TempDir(), "store.db")
	s, err := Open(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Append(ctx, "a", "", casebook.Record{ID: "1", Case: "a", Bytes: []byte("one")}); err != nil {
		t.Fatal(err)
	}
	if _, err := OpenFrozen(ctx, path); !errors.Is(err, ErrLocked) {
		t.Errorf("while another writes: %v", err)
	}
	// What a program that was killed leaves: the file and its WAL, here in another folder.
	killed := filepath.Join(t.TempDir(), "store.db")
	for _, end := range []string{"", "-wal"} {
		if err := copyFile(path+end, killed+end); err != nil {
			t.Fatal(err)
		}
	}
	if wal, err := os.Stat(killed + "-wal"); err != nil || wal.Size() == 0 {
		t.Fatalf("no WAL to try it with: %v", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	for _, p := range []string{path, killed} {
		had := names(t, filepath.Dir(p))
		f, err := OpenFrozen(ctx, p)
		if err != nil {
			t.Fatal(err)
		}
		links, err := f.Case(ctx, "a")
		if err != nil || len(links) != 1 || string(links[0].Bytes) != "one" {
			t.Errorf("%s: %v %v", p, links, err)
		}
		if _, err := f.Append(ctx, "a", links[0].Hash, casebook.Record{ID: "2", Case: "a", Bytes: []byte("two")}); !errors.Is(err, casebook.ErrReadOnly) || !casebook.TakesNothing(err) {
			t.Errorf("writing: %v", err)
		}
		if err := f.Close(); err != nil {
			t.Error(err)
		}
		if got := names(t, filepath.Dir(p)); !slices.Equal(got, had) {
			t.Errorf("beside it: %v, was %v", got, had)
		}
	}
	if left := names(t, os.Getenv("TMPDIR")); len(left) > 0 {
		t.Errorf("the copy is still there: %v", left)
	}
	if _, err := OpenFrozen(ctx, path+".none"); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("no store: %v", err)
	}
}

func names(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	for _, e := range entries {
		all = append(all, e.Name())
	}
	return all
}
