package sqlite

import (
	"context"
	"strconv"
	"testing"
)

// Pragma reads a setting from the connection that writes.
func Pragma(tb testing.TB, path, name string) string {
	tb.Helper()
	s, err := Open(context.Background(), path)
	if err != nil {
		tb.Fatal(err)
	}
	defer s.Close()
	var value string
	if err := s.write.QueryRow("PRAGMA " + name).Scan(&value); err != nil {
		tb.Fatal(err)
	}
	return value
}

// LimitPages makes the writer's file full at so many pages; 0 lifts the limit.
func LimitPages(tb testing.TB, s *Store, pages int) {
	tb.Helper()
	if pages == 0 {
		pages = 1 << 30
	}
	if _, err := s.write.Exec("PRAGMA max_page_count = " + strconv.Itoa(pages)); err != nil {
		tb.Fatal(err)
	}
}
