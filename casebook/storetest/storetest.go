// Package storetest holds the one suite that every [casebook.Store] passes, the crash test of those that
// outlive a process, and their benchmarks.
package storetest

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
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

func testAppendAndRead(t *testing.T, s casebook.Store) {
	a1, a2, a3 := NewRecord("a", "a1", "one"), NewRecord("a", "a2", "two"), NewRecord("a", "a3", "three")
	b1 := NewRecord("b", "b1", "other")
	headA := mustAppend(t, s, "a", "", a1, a2)
	headB := mustAppend(t, s, "b", "", b1)
	headA = mustAppend(t, s, "a", headA, a3)

	// The chain by hand: each hash over the one before it in the store, whatever the case.
	var links []casebook.Link
	prev := ""
	for i, r := range []casebook.Record{a1, a2, b1, a3} {
		prev = casebook.ChainHash(prev, r)
		links = append(links, casebook.Link{Record: r, Seq: int64(i) + 1, Hash: prev})
	}
	got := everything(t, s)
	if !reflect.DeepEqual(got.Feed, links) {
		t.Errorf("feed\n%v\nwant\n%v", got.Feed, links)
	}
	if headA != links[3].Hash || headB != links[2].Hash {
		t.Errorf("heads %q and %q, want %q and %q", headA, headB, links[3].Hash, links[2].Hash)
	}
	want := []casebook.CaseHead{{Case: "a", Head: headA, Count: 3}, {Case: "b", Head: headB, Count: 1}}
	if !reflect.DeepEqual(got.Cases, want) {
		t.Errorf("cases %v, want %v", got.Cases, want)
	}
	caseA, err := s.Case(context.Background(), "a")
	if err != nil || !reflect.DeepEqual(caseA, []casebook.Link{links[0], links[1], links[3]}) {
		t.Errorf("case a: %v, %v", caseA, err)
	}
}

func testIdempotent(t *testing.T, s casebook.Store) {
	a1, a2, a3 := NewRecord("a", "a1", "one"), NewRecord("a", "a2", "two"), NewRecord("a", "a3", "three")
	head := mustAppend(t, s, "a", "", a1, a1, a2)
	before := everything(t, s)
	if len(before.Feed) != 2 {
		t.Fatalf("a record twice in a batch: %d links", len(before.Feed))
	}
	for _, named := range []string{"", "no such head", before.Feed[0].Hash, head} {
		for _, batch := range [][]casebook.Record{{a1}, {a2, a1}, {a1, a2, a2}, {}} {
			if got := mustAppend(t, s, "a", named, batch...); got != head {
				t.Errorf("again with head %q: new head %q, want %q", named, got, head)
			}
		}
	}
	if after := everything(t, s); !reflect.DeepEqual(before, after) {
		t.Errorf("appending the same again changed the store")
	}
	// A batch that is half new goes in by its new half.
	mustAppend(t, s, "a", head, a1, a3, a2)
	if links, _ := s.Case(context.Background(), "a"); len(links) != 3 || links[2].ID != "a3" {
		t.Errorf("half-new batch: %v", links)
	}
}

func testConflict(t *testing.T, s casebook.Store) {
	a1, a2 := NewRecord("a", "a1", "one"), NewRecord("a", "a2", "two")
	head := mustAppend(t, s, "a", "", a1)
	other := NewRecord("a", "a1", "another text")
	moved := casebook.Record{ID: a1.ID, Case: "b", Bytes: a1.Bytes}
	wantRefused(t, s, casebook.ErrConflict, "a", head, other)
	wantRefused(t, s, casebook.ErrConflict, "a", "stale", other)
	wantRefused(t, s, casebook.ErrConflict, "a", head, a2, other)
	wantRefused(t, s, casebook.ErrConflict, "a", head, a2, NewRecord("a", "a2", "another text"))
	wantRefused(t, s, casebook.ErrConflict, "b", "", moved)
}

func testStale(t *testing.T, s casebook.Store) {
	a1, a2, a3 := NewRecord("a", "a1", "one"), NewRecord("a", "a2", "two"), NewRecord("a", "a3", "three")
	wantRefused(t, s, casebook.ErrStale, "a", "head of a case that is not there", a1)
	first := mustAppend(t, s, "a", "", a1)
	second := mustAppend(t, s, "a", first, a2)
	for _, head := range []string{"", first, strings.ToUpper(second), second + " "} {
		wantRefused(t, s, casebook.ErrStale, "a", head, a3)
		wantRefused(t, s, casebook.ErrStale, "a", head, a1, a3)
	}
	// Another case's appends do not move this one's head.
	mustAppend(t, s, "b", "", NewRecord("b", "b1", "other"))
	mustAppend(t, s, "a", second, a3)
}

func testAllOrNothing(t *testing.T, s casebook.Store) {
	head := mustAppend(t, s, "a", "", NewRecord("a", "a1", "one"))
	var batch []casebook.Record
	for i := range 50 {
		batch = append(batch, NewRecord("a", fmt.Sprintf("n%d", i), "new"))
	}
	wantRefused(t, s, casebook.ErrConflict, "a", head, append(batch, NewRecord("a", "a1", "other"))...)
	wantRefused(t, s, casebook.ErrBadRecord, "a", head, append(batch, NewRecord("b", "b1", "other"))...)
	mustAppend(t, s, "a", head, batch...)
}

func testBadRecords(t *testing.T, s casebook.Store) {
	long := strings.Repeat("x", casebook.MaxKeyLen)
	mustAppend(t, s, long, "", NewRecord(long, long, "the longest IDs"))
	mustAppend(t, s, "fall ä 例", "", NewRecord("fall ä 例", "ä' \"; -- 例", "text beyond ASCII"))
	for _, bad := range []string{"", long + "x", "a\x00b", "line\nbreak", "\xff\xfe"} {
		wantRefused(t, s, casebook.ErrBadRecord, "a", "", casebook.Record{ID: bad, Case: "a", Bytes: []byte("{}")})
		wantRefused(t, s, casebook.ErrBadRecord, bad, "", casebook.Record{ID: "x", Case: bad, Bytes: []byte("{}")})
	}
	wantRefused(t, s, casebook.ErrBadRecord, "a", "", NewRecord("b", "b1", "of another case"))
}

func testOpaque(t *testing.T, s casebook.Store) {
	all := make([]byte, 256)
	for i := range all {
		all[i] = byte(i)
	}
	records := []casebook.Record{
		{ID: "all", Case: "a", Bytes: all}, {ID: "none", Case: "a"}, {ID: "empty", Case: "a", Bytes: []byte{}},
		{ID: "not text", Case: "a", Bytes: []byte("\xff\x00'; DROP TABLE record; --")},
	}
	head := mustAppend(t, s, "a", "", records...)
	links, err := s.Case(context.Background(), "a")
	if err != nil || len(links) != len(records) {
		t.Fatalf("%v, %v", links, err)
	}
	for i, l := range links {
		if string(l.Bytes) != string(records[i].Bytes) {
			t.Errorf("record %q came back with %x", l.ID, l.Bytes)
		}
	}
	// No bytes and nil are the same content.
	if again := mustAppend(t, s, "a", "", casebook.Record{ID: "none", Case: "a", Bytes: []byte{}}, casebook.Record{ID: "empty", Case: "a"}); again != head {
		t.Errorf("no bytes and nil are told apart")
	}
}

func testNoAliasing(t *testing.T, s casebook.Store) {
	ctx := context.Background()
	r := NewRecord("a", "a1", "one")
	handed := casebook.Record{ID: r.ID, Case: r.Case, Bytes: append([]byte(nil), r.Bytes...)}
	mustAppend(t, s, "a", "", handed)
	photo := []byte("a photo")
	hash, err := s.PutBlob(ctx, photo)
	if err != nil {
		t.Fatal(err)
	}
	handed.Bytes[0], photo[0] = '!', '!'
	for range 2 {
		links, err1 := s.Case(ctx, "a")
		feed, err2 := s.Feed(ctx, 0, 10)
		content, err3 := s.Blob(ctx, hash)
		if err := errors.Join(err1, err2, err3); err != nil {
			t.Fatal(err)
		}
		if string(links[0].Bytes) != string(r.Bytes) || string(feed[0].Bytes) != string(r.Bytes) || string(content) != "a photo" {
			t.Fatalf("what is kept was changed through a slice that the store handed out or took in")
		}
		links[0].Bytes[0], feed[0].Bytes[1], content[0] = '!', '!', '!'
	}
}

func testFeed(t *testing.T, s casebook.Store) {
	ctx := context.Background()
	heads := map[string]string{}
	const n = 25
	for i := range n {
		c := fmt.Sprintf("case %d", i%3)
		heads[c] = mustAppend(t, s, c, heads[c], NewRecord(c, fmt.Sprintf("e%02d", i), "text"))
	}
	for _, limit := range []int{1, 7, n, 1000} {
		var after int64
		var ids []string
		for {
			page, err := s.Feed(ctx, after, limit)
			if err != nil {
				t.Fatal(err)
			}
			if len(page) == 0 {
				break
			}
			if len(page) > limit {
				t.Fatalf("a page of %d for a limit of %d", len(page), limit)
			}
			for _, l := range page {
				if l.Seq != after+1 {
					t.Fatalf("record %d after %d", l.Seq, after)
				}
				after = l.Seq
				ids = append(ids, l.ID)
			}
		}
		if len(ids) != n || ids[0] != "e00" || ids[n-1] != "e24" {
			t.Errorf("in pages of %d: %v", limit, ids)
		}
	}
	for _, c := range []struct {
		after int64
		limit int
		want  int
	}{{0, 0, 0}, {0, -1, 0}, {-5, 3, 3}, {n, 10, 0}, {n + 100, 10, 0}, {n - 1, 10, 1}} {
		if page, err := s.Feed(ctx, c.after, c.limit); err != nil || len(page) != c.want {
			t.Errorf("Feed(%d, %d): %d links, %v; want %d", c.after, c.limit, len(page), err, c.want)
		}
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
