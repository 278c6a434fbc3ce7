package sqlite_test

import (
	"context"
	"os"
	"testing"

	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/casebook/storetest"
)

func openForCrash(ctx context.Context, path string) (casebook.Store, error) {
	s, err := sqlite.Open(ctx, path)
	if err != nil {
		return nil, err
	}
	return s, nil
}

func TestMain(m *testing.M) {
	storetest.CrashChild(openForCrash)
	os.Exit(m.Run())
}

func TestCrash(t *testing.T) {
	rounds := 8
	if os.Getenv("LOWTIDE_DEEP") == "1" {
		rounds = 500
	}
	storetest.Crash(t, openForCrash, 1, rounds)
}
