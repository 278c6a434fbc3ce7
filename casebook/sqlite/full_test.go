package sqlite_test

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"lowtide/casebook/sqlite"
	"lowtide/casebook/storetest"
)

// A store that cannot grow says so, loses nothing, and goes on once there is room. (SQLite's own limit on pages
// stands in for a full disk: it gives the same code from the same place.)
func TestFull(t *testing.T) {
	ctx := context.Background()
	s := openAt(t, filepath.Join(t.TempDir(), "store.db"))
	sqlite.LimitPages(t, s, 60)
	head, kept := "", 0
	var full error
	for i := 0; i < 5000 && full == nil; i++ {
		var newHead string
		if newHead, full = s.Append(ctx, "a", head, storetest.NewRecord("a", fmt.Sprint(i), strings.Repeat("text ", 20))); full == nil {
			head, kept = newHead, kept+1
		}
	}
	if full == nil || !strings.Contains(full.Error(), "the disk is full and nothing was written: make room and try again") {
		t.Fatalf("after %d records: %v", kept, full)
	}
	if _, err := s.PutBlob(ctx, make([]byte, 1<<20)); err == nil || !strings.Contains(err.Error(), "the disk is full") {
		t.Errorf("a photo: %v", err)
	}
	if report := storetest.CheckWhole(t, s); report.Records != int64(kept) || report.Blobs != 0 || report.Head != head {
		t.Errorf("%d records and %d blobs are kept, head %s; want %d, 0, %s", report.Records, report.Blobs, report.Head, kept, head)
	}
	sqlite.LimitPages(t, s, 0)
	if _, err := s.Append(ctx, "a", head, storetest.NewRecord("a", fmt.Sprint(kept), strings.Repeat("text ", 20))); err != nil {
		t.Errorf("with room again: %v", err)
	}
}
