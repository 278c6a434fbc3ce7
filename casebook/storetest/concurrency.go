package storetest

import (
	"context"
	"errors"
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"lowtide/casebook"
)

func testContext(t *testing.T, s casebook.Store) {
	head := mustAppend(t, s, "a", "", NewRecord("a", "a1", "one"))
	hash, err := s.PutBlob(context.Background(), []byte("photo"))
	if err != nil {
		t.Fatal(err)
	}
	before := everything(t, s)
	cancelled, cancel := context.WithCancel(context.Background())
	cancel()
	expired, cancel := context.WithDeadline(context.Background(), time.Unix(0, 0))
	defer cancel()
	for ctx, want := range map[context.Context]error{cancelled: context.Canceled, expired: context.DeadlineExceeded} {
		_, err1 := s.Append(ctx, "a", head, NewRecord("a", "a2", "two"))
		_, err2 := s.Case(ctx, "a")
		_, err3 := s.Cases(ctx)
		_, err4 := s.Feed(ctx, 0, 1)
		_, err5 := s.PutBlob(ctx, []byte("another photo"))
		_, err6 := s.Blob(ctx, hash)
		_, err7 := s.BlobHashes(ctx)
		for i, err := range []error{err1, err2, err3, err4, err5, err6, err7} {
			if !errors.Is(err, want) {
				t.Errorf("method %d with an ended context: %v, want %v", i+1, err, want)
			}
		}
	}
	if after := everything(t, s); len(after.Feed) != len(before.Feed) || len(after.Blobs) != len(before.Blobs) {
		t.Errorf("something was written with an ended context")
	}
	testCancelMidway(t, s, head)
}

// testCancelMidway ends contexts while large batches go in: each batch is there whole or not at all, and the
// store goes on working. An error leaves it open which of the two; trying again settles it.
func testCancelMidway(t *testing.T, s casebook.Store, head string) {
	for round := range 12 {
		batch := make([]casebook.Record, 200)
		for i := range batch {
			batch[i] = NewRecord("a", fmt.Sprintf("r%d-%d", round, i), "text")
		}
		ctx, cancel := context.WithTimeout(context.Background(), time.Duration(round)*300*time.Microsecond)
		newHead, err := s.Append(ctx, "a", head, batch...)
		cancel()
		if err != nil && !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("round %d: %v", round, err)
		}
		links, readErr := s.Case(context.Background(), "a")
		if readErr != nil {
			t.Fatal(readErr)
		}
		// The first record and round times 200 from the rounds before.
		switch got := len(links) - 1 - 200*round; {
		case err == nil && got != 200, got != 0 && got != 200:
			t.Fatalf("round %d: %d of 200 records are kept, error %v", round, got, err)
		}
		if again := mustAppend(t, s, "a", head, batch...); err == nil && again != newHead {
			t.Fatalf("round %d: trying again moved the head", round)
		} else {
			head = again
		}
	}
}

func testConcurrentCases(t *testing.T, s casebook.Store) {
	const writers, entries = 8, 20
	var failures atomic.Value
	each(writers, func(w int) {
		c, head := fmt.Sprintf("case %d", w), ""
		for i := range entries {
			var err error
			if head, err = s.Append(context.Background(), c, head, NewRecord(c, fmt.Sprintf("%d-%d", w, i), "text")); err != nil {
				failures.Store(err)
				return
			}
			if links, err := s.Case(context.Background(), c); err != nil || len(links) != i+1 || links[i].Hash != head {
				failures.Store(fmt.Errorf("case %q does not read back what was just appended: %d links, %v", c, len(links), err))
				return
			}
		}
	})
	if err := failures.Load(); err != nil {
		t.Fatal(err)
	}
	if c := everything(t, s); len(c.Feed) != writers*entries || len(c.Cases) != writers {
		t.Errorf("%d records of %d cases", len(c.Feed), len(c.Cases))
	}
}

// testConcurrentHeads lets writers race for one case's head: each round exactly one wins.
func testConcurrentHeads(t *testing.T, s casebook.Store) {
	const writers, entries = 6, 10
	var wins, stales atomic.Int64
	var failures atomic.Value
	each(writers, func(w int) {
		for i := range entries {
			for {
				links, err := s.Case(context.Background(), "a")
				if err != nil {
					failures.Store(err)
					return
				}
				head := ""
				if n := len(links); n > 0 {
					head = links[n-1].Hash
				}
				_, err = s.Append(context.Background(), "a", head, NewRecord("a", fmt.Sprintf("%d-%d", w, i), "text"))
				if err == nil {
					wins.Add(1)
					break
				}
				if !errors.Is(err, casebook.ErrStale) {
					failures.Store(err)
					return
				}
				stales.Add(1)
			}
		}
	})
	if err := failures.Load(); err != nil {
		t.Fatal(err)
	}
	links, err := s.Case(context.Background(), "a")
	if err != nil || len(links) != writers*entries || wins.Load() != writers*entries {
		t.Errorf("%d links, %d wins, %v; want %d", len(links), wins.Load(), err, writers*entries)
	}
	t.Logf("%d appends went in, %d were stale", wins.Load(), stales.Load())
}

// testConcurrentSame: a phone that sends the same visit twice at once.
func testConcurrentSame(t *testing.T, s casebook.Store) {
	photo := []byte("the same photo")
	var failures atomic.Value
	heads := make([]string, 10)
	each(len(heads), func(w int) {
		hash, err := s.PutBlob(context.Background(), photo)
		if err == nil {
			heads[w], err = s.Append(context.Background(), "a", "", NewRecord("a", "a1", "one", hash), NewRecord("a", "a2", "two"))
		}
		if err != nil {
			failures.Store(err)
		}
	})
	if err := failures.Load(); err != nil {
		t.Fatal(err)
	}
	for _, head := range heads {
		if head == "" || head != heads[0] {
			t.Errorf("heads differ: %q and %q", head, heads[0])
		}
	}
	if c := everything(t, s); len(c.Feed) != 2 || len(c.Blobs) != 1 {
		t.Errorf("%d records, %d blobs", len(c.Feed), len(c.Blobs))
	}
}
