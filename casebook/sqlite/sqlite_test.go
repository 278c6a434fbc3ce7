package sqlite_test

import (
	"context"
	"path/filepath"
	"testing"

	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/casebook/storetest"
)

func open(tb testing.TB) casebook.Store {
	return openAt(tb, filepath.Join(tb.TempDir(), "store.db"))
}

func openAt(tb testing.TB, path string) *sqlite.Store {
	tb.Helper()
	s, err := sqlite.Open(context.Background(), path)
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() {
		if err := s.Close(); err != nil {
			tb.Errorf("close: %v", err)
		}
	})
	return s
}

func TestStore(t *testing.T) { storetest.Run(t, open) }

func TestKeys(t *testing.T) {
	storetest.RunKeys(t, func(tb testing.TB) storetest.Keyed { return openAt(tb, filepath.Join(tb.TempDir(), "store.db")) })
}
