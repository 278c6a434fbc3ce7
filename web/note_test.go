package web

import (
	"context"
	"crypto/rand"
	"net/http/httptest"
	"testing"
	"time"

	"lowtide/accesslog"
	"lowtide/casebook"
	"lowtide/casebook/memory"
)

// TestNoteWhenTimeRanOut: a request whose time ran out while the computer was busy still gets its line in the access log,
// and with it its page.
func TestNoteWhenTimeRanOut(t *testing.T) {
	log := accesslog.New(casebook.Book{Store: memory.New()}, rand.Reader)
	s := &Server{Access: log, Now: func() time.Time { return time.Date(2026, 3, 4, 8, 30, 0, 0, time.UTC) }}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := s.note(&Request{Request: httptest.NewRequest("GET", "/", nil).WithContext(ctx)}, accesslog.Noted{What: accesslog.Listed, Account: "n"}); err != nil {
		t.Error(err)
	}
	if lines, _, err := log.Find(t.Context(), accesslog.Query{What: accesslog.Listed}); err != nil || len(lines) != 1 {
		t.Errorf("%v, %v", lines, err)
	}
}
