package storetest

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"lowtide/casebook"
)

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
