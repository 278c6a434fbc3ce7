package storetest

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"lowtide/casebook"
)

// Keyed is a store that can keep keys.
type Keyed interface {
	casebook.Store
	casebook.KeyStore
}

// RunKeys runs the suite of [casebook.KeyStore]; every test gets a store of its own.
func RunKeys(t *testing.T, open func(tb testing.TB) Keyed) {
	for _, test := range []struct {
		name string
		run  func(*testing.T, Keyed)
	}{
		{"a plain store has no keys", testPlainKeys},
		{"sealed from its start or never", testStartKeys},
		{"a sealed store takes sealed bytes only", testOnlySealed},
		{"the first key of a case stays", testFirstKey},
		{"rewrap is whole or not at all", testRewrap},
		{"erase is whole, for good, and in the ledger", testErase},
		{"every link has its place in the keyed chain", testKeyChain},
	} {
		t.Run(test.name, func(t *testing.T) {
			s := open(t)
			defer func() {
				if err := s.Close(); err != nil {
					t.Errorf("close: %v", err)
				}
			}()
			test.run(t, s)
		})
	}
}

// TestMAC is a keyed chain for tests.
func TestMAC(seq int64, hash string) []byte {
	sum := sha256.Sum256([]byte(fmt.Sprint("key of the test ", seq, " ", hash)))
	return sum[:]
}

// checkChain wants every link to have its MAC.
func checkChain(tb testing.TB, s casebook.Store) {
	tb.Helper()
	feed, err := s.Feed(context.Background(), 0, 1<<20)
	if err != nil {
		tb.Fatal(err)
	}
	for _, l := range feed {
		if string(l.MAC) != string(TestMAC(l.Seq, l.Hash)) {
			tb.Errorf("record %d has the place %x in the keyed chain", l.Seq, l.MAC)
		}
	}
	m, err := s.Mark(context.Background())
	if n := len(feed); err != nil || m.Count != int64(n) || n > 0 && m.Head != feed[n-1].Hash {
		tb.Errorf("the end of %d links is marked as %+v, %v", n, m, err)
	}
}

func testKeyChain(t *testing.T, s Keyed) {
	ctx := context.Background()
	start(t, s, "a", casebook.Ledger)
	head := mustAppend(t, s, "a", "", sealedRecord("a", "a1"), sealedRecord("a", "a2"))
	if feed, _ := s.Feed(ctx, 0, 10); len(feed) != 2 || feed[0].MAC != nil {
		t.Errorf("before it was begun: %+v", feed)
	}
	for i, want := range []int64{2, 0} {
		if filled, err := s.KeyChain(ctx, TestMAC); err != nil || filled != want {
			t.Errorf("begun for the %d. time: %d filled, %v", i+1, filled, err)
		}
	}
	checkChain(t, s)
	head = mustAppend(t, s, "a", head, sealedRecord("a", "a3"), sealedRecord("a", "a4"))
	mustAppend(t, s, "a", head, sealedRecord("a", "a4")) // kept once
	if _, err := s.EraseKey(ctx, []string{"a"}, "", sealedRecord(casebook.Ledger, "l1")); err != nil && !errors.Is(err, casebook.ErrLingers) {
		t.Fatal(err)
	}
	links, err := s.Case(ctx, casebook.Ledger)
	if err != nil || len(links) != 1 {
		t.Fatal(links, err)
	}
	if _, err := s.Rewrap(ctx, meta.ID, casebook.KeyMeta{ID: "fedcba9876543210", Kind: "file", Salt: []byte{}}, func(k casebook.CaseKey) ([]byte, error) { return k.Wrapped, nil }, links[0].Hash, sealedRecord(casebook.Ledger, "l2")); err != nil && !errors.Is(err, casebook.ErrLingers) {
		t.Fatal(err)
	}
	checkChain(t, s)
	if feed, _ := s.Feed(ctx, 0, 10); len(feed) != 6 {
		t.Errorf("%d links", len(feed))
	}
	for _, c := range []struct {
		m    casebook.Mark
		want bool
	}{{casebook.Mark{}, true}, {casebook.Mark{Count: 6, Head: "other"}, false}, {casebook.Mark{Count: 7, Head: "x"}, false}} {
		if got, err := casebook.Holds(ctx, s, c.m); err != nil || got != c.want {
			t.Errorf("holds %+v: %v, %v", c.m, got, err)
		}
	}
}

var meta = casebook.KeyMeta{ID: "0123456789abcdef", Kind: "file", Salt: []byte{}}

// sealedRecord only looks sealed: stores do not look further.
func sealedRecord(caseID, id string) casebook.Record {
	return casebook.Record{ID: id, Case: caseID, Bytes: []byte(casebook.SealTag + id)}
}

func start(t *testing.T, s Keyed, cases ...string) {
	t.Helper()
	if err := s.StartKeys(context.Background(), meta); err != nil {
		t.Fatal(err)
	}
	for _, c := range cases {
		if _, err := s.AddCaseKey(context.Background(), meta.ID, casebook.CaseKey{Case: c, Wrapped: []byte("wrapped key of " + c)}); err != nil {
			t.Fatal(err)
		}
	}
}

func keys(t *testing.T, s Keyed) string {
	t.Helper()
	m, ok, err := s.KeyMeta(context.Background())
	all, err2 := s.CaseKeys(context.Background())
	if err := errors.Join(err, err2); err != nil {
		t.Fatal(err)
	}
	out := fmt.Sprintf("%v %s %s:", ok, m.ID, m.Kind)
	for _, k := range all {
		out += fmt.Sprintf(" %s=%s%s", k.Case, k.Wrapped, k.ErasedBy)
	}
	return out
}

func testPlainKeys(t *testing.T, s Keyed) {
	ctx := context.Background()
	if got := keys(t, s); got != "false  :" {
		t.Errorf("a new store: %q", got)
	}
	if _, err := s.AddCaseKey(ctx, "", casebook.CaseKey{Case: "a", Wrapped: []byte("x")}); err == nil {
		t.Errorf("a plain store kept a key")
	}
	if _, err := s.EraseKey(ctx, []string{"a"}, "", sealedRecord(casebook.Ledger, "l1")); !errors.Is(err, casebook.ErrNotFound) {
		t.Errorf("erasing where there are no keys: %v", err)
	}
	if _, err := s.Rewrap(ctx, "", meta, nil, "", sealedRecord(casebook.Ledger, "l1")); !errors.Is(err, casebook.ErrStale) {
		t.Errorf("rewrapping where there are no keys: %v", err)
	}
}

func testStartKeys(t *testing.T, s Keyed) {
	ctx := context.Background()
	mustAppend(t, s, "a", "", NewRecord("a", "a1", "plain"))
	if err := s.StartKeys(ctx, meta); !errors.Is(err, casebook.ErrPlain) {
		t.Errorf("a store with plain records: %v", err)
	}
	if got := keys(t, s); got != "false  :" {
		t.Errorf("after the refusal: %q", got)
	}
}

func testOnlySealed(t *testing.T, s Keyed) {
	ctx := context.Background()
	start(t, s, "a")
	if err := s.StartKeys(ctx, casebook.KeyMeta{ID: "fedcba9876543210", Kind: "file"}); err == nil {
		t.Errorf("a second key was taken")
	}
	if _, err := s.Append(ctx, "a", "", NewRecord("a", "a1", "plain")); err == nil {
		t.Errorf("a plain record was taken")
	}
	if _, err := s.PutBlob(ctx, []byte("plain photo")); err == nil {
		t.Errorf("a plain blob was taken")
	}
	if c := everything(t, s); len(c.Feed)+len(c.Cases)+len(c.Blobs) != 0 {
		t.Errorf("something was kept: %v", c)
	}
	mustAppend(t, s, "a", "", sealedRecord("a", "a1"))
	if _, err := s.PutBlob(ctx, []byte(casebook.SealTag+"photo")); err != nil {
		t.Error(err)
	}
	CheckWhole(t, s)
}

func testFirstKey(t *testing.T, s Keyed) {
	ctx := context.Background()
	start(t, s, "b", "a")
	again, err := s.AddCaseKey(ctx, meta.ID, casebook.CaseKey{Case: "a", Wrapped: []byte("another")})
	if err != nil || string(again.Wrapped) != "wrapped key of a" {
		t.Errorf("a second key: %s, %v", again.Wrapped, err)
	}
	clear(again.Wrapped)
	if k, ok, err := s.CaseKey(ctx, "a"); err != nil || !ok || string(k.Wrapped) != "wrapped key of a" {
		t.Errorf("%+v, %v, %v", k, ok, err)
	}
	if _, ok, err := s.CaseKey(ctx, "nobody"); ok || err != nil {
		t.Errorf("a case without a key: %v, %v", ok, err)
	}
	if _, err := s.AddCaseKey(ctx, "fedcba9876543210", casebook.CaseKey{Case: "c", Wrapped: []byte("x")}); !errors.Is(err, casebook.ErrStale) {
		t.Errorf("a key wrapped by another store key: %v", err)
	}
	if got := keys(t, s); got != "true 0123456789abcdef file: a=wrapped key of a b=wrapped key of b" {
		t.Error(got)
	}
	// Many at once agree on one.
	won := make([]string, 8)
	each(len(won), func(i int) {
		k, err := s.AddCaseKey(ctx, meta.ID, casebook.CaseKey{Case: "c", Wrapped: fmt.Appendf(nil, "key %d", i)})
		if err != nil {
			t.Error(err)
		}
		won[i] = string(k.Wrapped)
	})
	for _, w := range won {
		if w != won[0] {
			t.Errorf("several keys for one case: %q", won)
		}
	}
}

func testRewrap(t *testing.T, s Keyed) {
	ctx := context.Background()
	start(t, s, "a", "b", casebook.Ledger)
	mustAppend(t, s, "a", "", sealedRecord("a", "a1"))
	to := casebook.KeyMeta{ID: "fedcba9876543210", Kind: "passphrase", Salt: []byte("salt"), Passes: 3, MemoryKiB: 64, Lanes: 4}
	note := sealedRecord(casebook.Ledger, "l1")
	wrap := func(k casebook.CaseKey) ([]byte, error) { return []byte(strings.ToUpper(string(k.Wrapped))), nil }
	fail := func(k casebook.CaseKey) ([]byte, error) {
		if k.Case == "b" {
			return nil, errors.New("the second one fails")
		}
		return []byte("x"), nil
	}
	before, content := keys(t, s), everything(t, s)
	for name, try := range map[string]func() error{
		"wrap fails":   func() error { _, err := s.Rewrap(ctx, meta.ID, to, fail, "", note); return err },
		"other key":    func() error { _, err := s.Rewrap(ctx, to.ID, to, wrap, "", note); return err },
		"ledger moved": func() error { _, err := s.Rewrap(ctx, meta.ID, to, wrap, "no such head", note); return err },
		"plain note": func() error {
			_, err := s.Rewrap(ctx, meta.ID, to, wrap, "", NewRecord(casebook.Ledger, "l1", "x"))
			return err
		},
		"known ID": func() error {
			_, err := s.Rewrap(ctx, meta.ID, to, wrap, "", sealedRecord(casebook.Ledger, ""))
			return err
		},
		"ended context": func() error { _, err := s.Rewrap(ended(), meta.ID, to, wrap, "", note); return err },
	} {
		if err := try(); err == nil {
			t.Errorf("%s: no error", name)
		}
		if keys(t, s) != before || !reflect.DeepEqual(everything(t, s), content) {
			t.Errorf("%s: the store has changed", name)
		}
	}
	head, err := s.Rewrap(ctx, meta.ID, to, wrap, "", note)
	if err != nil {
		t.Fatal(err)
	}
	if got := keys(t, s); got != "true fedcba9876543210 passphrase: a=WRAPPED KEY OF A b=WRAPPED KEY OF B ~ledger=WRAPPED KEY OF ~LEDGER" {
		t.Error(got)
	}
	if m, _, _ := s.KeyMeta(ctx); !reflect.DeepEqual(m, to) {
		t.Errorf("%+v, want %+v", m, to)
	}
	if links, _ := s.Case(ctx, casebook.Ledger); len(links) != 1 || links[0].ID != "l1" || links[0].Hash != head {
		t.Errorf("the ledger: %v", links)
	}
	CheckWhole(t, s)
}

func ended() context.Context {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	return ctx
}

func testErase(t *testing.T, s Keyed) {
	ctx := context.Background()
	start(t, s, "a", "b", casebook.Ledger)
	headA := mustAppend(t, s, "a", "", sealedRecord("a", "a1"))
	mustAppend(t, s, "b", "", sealedRecord("b", "b1"))
	note := sealedRecord(casebook.Ledger, "l1")
	before, content := keys(t, s), everything(t, s)
	for name, try := range map[string]func() error{
		"no key":       func() error { _, err := s.EraseKey(ctx, []string{"c"}, "", note); return err },
		"one of two":   func() error { _, err := s.EraseKey(ctx, []string{"a", "c"}, "", note); return err },
		"ledger moved": func() error { _, err := s.EraseKey(ctx, []string{"a"}, "no such head", note); return err },
		"plain note": func() error {
			_, err := s.EraseKey(ctx, []string{"a"}, "", NewRecord(casebook.Ledger, "l1", "x"))
			return err
		},
		"ended context": func() error { _, err := s.EraseKey(ended(), []string{"a"}, "", note); return err },
	} {
		if err := try(); err == nil {
			t.Errorf("%s: no error", name)
		}
		if keys(t, s) != before || !reflect.DeepEqual(everything(t, s), content) {
			t.Errorf("%s: the store has changed", name)
		}
	}
	headL, err := s.EraseKey(ctx, []string{"a"}, "", note)
	if err != nil {
		t.Fatal(err)
	}
	if got := keys(t, s); got != "true 0123456789abcdef file: a=l1 b=wrapped key of b ~ledger=wrapped key of ~ledger" {
		t.Error(got)
	}
	if _, err := s.EraseKey(ctx, []string{"a"}, headL, sealedRecord(casebook.Ledger, "l2")); !errors.Is(err, casebook.ErrErased) {
		t.Errorf("erasing again: %v", err)
	}
	if _, err := s.Append(ctx, "a", headA, sealedRecord("a", "a2")); !errors.Is(err, casebook.ErrErased) {
		t.Errorf("appending to an erased case: %v", err)
	}
	// What is kept already stays kept, and is no new record.
	if _, err := s.Append(ctx, "a", headA, sealedRecord("a", "a1")); err != nil {
		t.Errorf("the same record again: %v", err)
	}
	if k, err := s.AddCaseKey(ctx, meta.ID, casebook.CaseKey{Case: "a", Wrapped: []byte("new")}); err != nil || k.ErasedBy != "l1" {
		t.Errorf("a new key for an erased case: %+v, %v", k, err)
	}
	// A rotation leaves an erased case erased.
	to := casebook.KeyMeta{ID: "fedcba9876543210", Kind: "file", Salt: []byte{}}
	if _, err := s.Rewrap(ctx, meta.ID, to, func(k casebook.CaseKey) ([]byte, error) {
		if k.Case == "a" {
			t.Errorf("an erased key came to be rewrapped")
		}
		return k.Wrapped, nil
	}, headL, sealedRecord(casebook.Ledger, "l3")); err != nil {
		t.Fatal(err)
	}
	if k, _, _ := s.CaseKey(ctx, "a"); k.ErasedBy != "l1" || k.Wrapped != nil {
		t.Errorf("after a rotation: %+v", k)
	}
	CheckWhole(t, s)
}
