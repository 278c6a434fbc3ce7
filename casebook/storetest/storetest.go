// Package storetest holds the one suite that every [casebook.Store] passes, the crash test of those that
// outlive a process, and their benchmarks.
package storetest

import (
	"context"
	"encoding/json"
	"errors"
	"reflect"
	"strings"
	"sync"
	"testing"
	"time"

	"lowtide/casebook"
)

// Open gives a new, empty store; it is closed by the suite.
type Open func(tb testing.TB) casebook.Store

// Run runs the suite; every test gets a store of its own and verifies it at its end.
func Run(t *testing.T, open Open) {
	for _, test := range []struct {
		name string
		run  func(*testing.T, casebook.Store)
	}{
		{"empty", testEmpty},
		{"append and read", testAppendAndRead},
		{"same record twice is kept once", testIdempotent},
		{"same ID with other content is refused", testConflict},
		{"a head that moved is refused", testStale},
		{"all or nothing", testAllOrNothing},
		{"records that no store keeps", testBadRecords},
		{"bytes are opaque", testOpaque},
		{"readers cannot change what is kept", testNoAliasing},
		{"feed", testFeed},
		{"blobs", testBlobs},
		{"large blobs", testLargeBlobs},
		{"ended context", testContext},
		{"many writers, many cases", testConcurrentCases},
		{"many writers, one case", testConcurrentHeads},
		{"many writers, same record", testConcurrentSame},
		{"law: behaves as the model", testModel},
	} {
		t.Run(test.name, func(t *testing.T) {
			s := open(t)
			defer func() {
				if err := s.Close(); err != nil {
					t.Errorf("close: %v", err)
				}
			}()
			test.run(t, s)
			if !t.Failed() {
				CheckWhole(t, s)
			}
		})
	}
	t.Run("closed", func(t *testing.T) { testClosed(t, open(t)) })
}

// NewRecord makes a record whose bytes read as an entry, of a kind that no program knows.
func NewRecord(caseID, id, text string, blobs ...string) casebook.Record {
	raw, err := json.Marshal(map[string]string{"text": text})
	if err != nil {
		panic("storetest: " + err.Error())
	}
	at := time.Date(2026, 3, 2, 8, 30, 0, 0, time.FixedZone("", 3600))
	e := casebook.Entry{ID: id, Case: caseID, Kind: "storetest.noted", Version: 1, At: at, Recorded: at.Add(time.Minute),
		Author: "storetest", Body: casebook.Unknown{Of: "storetest.noted", Raw: raw}, Blobs: blobs}
	bytes, err := e.MarshalJSON()
	if err != nil {
		panic("storetest: " + err.Error())
	}
	return casebook.Record{ID: id, Case: caseID, Bytes: bytes}
}

// CheckWhole verifies the whole store, down to the last blob. Records that do not read as entries are no
// concern of a store and left out.
func CheckWhole(tb testing.TB, s casebook.Store) casebook.Report {
	tb.Helper()
	report, err := casebook.Verify(context.Background(), s)
	if err != nil {
		tb.Fatalf("verify: %v", err)
	}
	for _, d := range report.Defects {
		if !strings.Contains(d, "does not read as an entry") {
			tb.Errorf("verify: %s", d)
		}
	}
	return report
}

func mustAppend(tb testing.TB, s casebook.Store, caseID, head string, records ...casebook.Record) string {
	tb.Helper()
	head, err := s.Append(context.Background(), caseID, head, records...)
	if err != nil {
		tb.Fatalf("append to %q: %v", caseID, err)
	}
	return head
}

// wantRefused appends and expects the error, and that nothing at all has changed.
func wantRefused(t *testing.T, s casebook.Store, want error, caseID, head string, records ...casebook.Record) {
	t.Helper()
	before := everything(t, s)
	got, err := s.Append(context.Background(), caseID, head, records...)
	if !errors.Is(err, want) {
		t.Errorf("append to %q: error %v, want %v", caseID, err, want)
	}
	if got != "" {
		t.Errorf("append to %q: a head came back with an error", caseID)
	}
	if after := everything(t, s); !reflect.DeepEqual(before, after) {
		t.Errorf("append to %q was refused but changed the store:\n%v\n%v", caseID, before, after)
	}
}

type contents struct {
	Feed  []casebook.Link
	Cases []casebook.CaseHead
	Blobs []string
}

func everything(tb testing.TB, s casebook.Store) contents {
	tb.Helper()
	ctx := context.Background()
	feed, err1 := s.Feed(ctx, 0, 1<<20)
	cases, err2 := s.Cases(ctx)
	blobs, err3 := s.BlobHashes(ctx)
	if err := errors.Join(err1, err2, err3); err != nil {
		tb.Fatal(err)
	}
	return contents{feed, cases, blobs}
}

func testEmpty(t *testing.T, s casebook.Store) {
	ctx := context.Background()
	if links, err := s.Case(ctx, "nobody"); err != nil || len(links) != 0 {
		t.Errorf("a case without records: %v, %v", links, err)
	}
	if c := everything(t, s); len(c.Feed)+len(c.Cases)+len(c.Blobs) != 0 {
		t.Errorf("a new store holds %v", c)
	}
	if head, err := s.Append(ctx, "nobody", "whatever"); err != nil || head != "" {
		t.Errorf("an empty batch: %q, %v", head, err)
	}
}

func testClosed(t *testing.T, s casebook.Store) {
	ctx := context.Background()
	mustAppend(t, s, "a", "", NewRecord("a", "a1", "one"))
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Errorf("closing twice: %v", err)
	}
	_, err1 := s.Append(ctx, "a", "", NewRecord("a", "a2", "two"))
	_, err2 := s.Case(ctx, "a")
	_, err3 := s.Cases(ctx)
	_, err4 := s.Feed(ctx, 0, 1)
	_, err5 := s.PutBlob(ctx, []byte("x"))
	_, err6 := s.Blob(ctx, casebook.BlobHash([]byte("x")))
	_, err7 := s.BlobHashes(ctx)
	for i, err := range []error{err1, err2, err3, err4, err5, err6, err7} {
		if err == nil {
			t.Errorf("method %d of a closed store gave no error", i+1)
		}
	}
}

// each runs f in n goroutines and waits.
func each(n int, f func(i int)) {
	var wg sync.WaitGroup
	for i := range n {
		wg.Go(func() { f(i) })
	}
	wg.Wait()
}
