package sqlite

import (
	"context"
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
