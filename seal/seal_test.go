package seal_test

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/seal"
)

var morning = time.Date(2026, 3, 4, 8, 30, 0, 0, time.UTC)

func newKeys(t testing.TB, s casebook.KeyStore) (*seal.Keys, seal.Key) {
	t.Helper()
	key, err := seal.NewKey(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	keys, err := seal.Start(context.Background(), s, key, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	return keys, key
}

func note(caseID, id, text string) casebook.Entry {
	return casebook.Entry{ID: id, Case: caseID, Kind: casebook.KindNoteWritten, Version: casebook.Version(casebook.KindNoteWritten),
		At: morning, Recorded: morning, Author: "a nurse", Body: casebook.NoteWritten{Text: text}}
}

// TestLawSealing: what was sealed opens to itself, the same gives the same bytes, and nothing of the plain bytes
// shows in them.
func TestLawSealing(t *testing.T) {
	ctx := context.Background()
	keys, _ := newKeys(t, memory.New())
	rapid.Check(t, func(t *rapid.T) {
		r := casebook.Record{Case: rapid.StringN(1, 30, -1).Draw(t, "case"), ID: rapid.StringN(1, 30, -1).Draw(t, "id"),
			Bytes: rapid.SliceOfN(rapid.Byte(), 0, 300).Draw(t, "plain")}
		one, err1 := keys.Seal(ctx, r)
		two, err2 := keys.Seal(ctx, r)
		if err1 != nil || err2 != nil || !bytes.Equal(one, two) || !casebook.IsSealed(one) {
			t.Fatalf("%v %v: %x and %x", err1, err2, one, two)
		}
		if len(r.Bytes) > 8 && bytes.Contains(one, r.Bytes) {
			t.Fatalf("the plain bytes show")
		}
		back, err := keys.Open(ctx, nil, casebook.Record{ID: r.ID, Case: r.Case, Bytes: one})
		if err != nil || !bytes.Equal(back, r.Bytes) {
			t.Fatalf("%x, %v", back, err)
		}
		// Another ID, another content: other bytes, other nonce.
		other := r
		other.ID += "x"
		three, err := keys.Seal(ctx, other)
		if err != nil || bytes.Equal(three[4:28], one[4:28]) {
			t.Fatalf("a nonce came twice")
		}
	})
}

// TestLawChangedBytes: any changed bit, and any other place, is refused as broken; never opened to something else.
func TestLawChangedBytes(t *testing.T) {
	ctx := context.Background()
	keys, _ := newKeys(t, memory.New())
	for _, c := range []string{"a", "b"} {
		if _, err := keys.Seal(ctx, casebook.Record{ID: "x", Case: c}); err != nil {
			t.Fatal(err)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		r := casebook.Record{ID: "e1", Case: "a", Bytes: rapid.SliceOfN(rapid.Byte(), 0, 60).Draw(t, "plain")}
		sealed, err := keys.Seal(ctx, r)
		if err != nil {
			t.Fatal(err)
		}
		bit := rapid.IntRange(0, len(sealed)*8-1).Draw(t, "bit")
		bent := bytes.Clone(sealed)
		bent[bit/8] ^= 1 << (bit % 8)
		cut := sealed[:rapid.IntRange(0, len(sealed)-1).Draw(t, "cut")]
		for name, bad := range map[string]casebook.Record{
			"bit": {ID: "e1", Case: "a", Bytes: bent}, "cut": {ID: "e1", Case: "a", Bytes: cut},
			"other ID": {ID: "e2", Case: "a", Bytes: sealed}, "other case": {ID: "e1", Case: "b", Bytes: sealed},
			"longer": {ID: "e1", Case: "a", Bytes: append(bytes.Clone(sealed), 0)},
		} {
			if plain, err := keys.Open(ctx, nil, bad); !errors.Is(err, casebook.ErrBroken) || plain != nil {
				t.Fatalf("%s: %x, %v", name, plain, err)
			}
		}
		if _, err := keys.OpenBlob(ctx, "a", sealed); !errors.Is(err, casebook.ErrBroken) {
			t.Fatalf("a record opened as a blob: %v", err)
		}
	})
}

func TestBlobOfAnotherCase(t *testing.T) {
	ctx := context.Background()
	s := memory.New()
	keys, _ := newKeys(t, s)
	book := casebook.Book{Store: s, Sealer: keys}
	photo := []byte("a photo of a wound, say")
	a, err1 := book.PutBlob(ctx, "a", photo)
	b, err2 := book.PutBlob(ctx, "b", photo)
	if err1 != nil || err2 != nil || a == b {
		t.Fatalf("%v %v: %s and %s", err1, err2, a, b)
	}
	if got, err := book.Blob(ctx, "a", a); err != nil || !bytes.Equal(got, photo) {
		t.Errorf("%q, %v", got, err)
	}
	if _, err := book.Blob(ctx, "b", a); !errors.Is(err, casebook.ErrBroken) {
		t.Errorf("the photo of a opened in b: %v", err)
	}
	if _, err := book.Blob(ctx, "c", a); !errors.Is(err, casebook.ErrSealed) {
		t.Errorf("the photo of a opened in c, which has no key: %v", err)
	}
}

func TestWrongKey(t *testing.T) {
	ctx := context.Background()
	s := memory.New()
	keys, key := newKeys(t, s)
	book := casebook.Book{Store: s, Sealer: keys}
	if _, err := book.Append(ctx, "", note("a", "a1", "granulating well")); err != nil {
		t.Fatal(err)
	}
	other, _ := seal.NewKey(rand.Reader)
	_, err := seal.Open(ctx, s, other, rand.Reader)
	if !errors.Is(err, seal.ErrWrongKey) || !strings.Contains(err.Error(), key.ID()) || !strings.Contains(err.Error(), other.ID()) {
		t.Errorf("another key: %v", err)
	}
	again, err := seal.Open(ctx, s, key, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	entries, _, err := (casebook.Book{Store: s, Sealer: again}).Entries(ctx, "a")
	if err != nil || len(entries) != 1 || entries[0].Body.(casebook.NoteWritten).Text != "granulating well" {
		t.Errorf("%v, %v", entries, err)
	}
	if _, _, err := (casebook.Book{Store: s}).Entries(ctx, "a"); !errors.Is(err, casebook.ErrSealed) {
		t.Errorf("without a key: %v", err)
	}
	if _, err := seal.Open(ctx, memory.New(), key, rand.Reader); !errors.Is(err, casebook.ErrPlain) {
		t.Errorf("a plain store: %v", err)
	}
}

func TestErase(t *testing.T) {
	ctx := context.Background()
	s := memory.New()
	keys, key := newKeys(t, s)
	book := casebook.Book{Store: s, Sealer: keys}
	for _, c := range []string{"a", "b"} {
		hash, err := book.PutBlob(ctx, c, []byte("photo of "+c))
		if err != nil {
			t.Fatal(err)
		}
		e := note(c, c+"1", "text")
		e.Blobs = []string{hash}
		if _, err := book.Append(ctx, "", e); err != nil {
			t.Fatal(err)
		}
	}
	deed := seal.Deed{At: morning, Author: "an administrator", Reason: "the patient asked for it"}
	for _, bad := range []struct {
		caseID string
		deed   seal.Deed
		want   error
	}{{"a", seal.Deed{At: morning, Author: "x"}, seal.ErrNoReason}, {"a", seal.Deed{At: morning, Reason: "x"}, seal.ErrNoReason},
		{casebook.Ledger, deed, casebook.ErrReserved}, {"nobody", deed, casebook.ErrNotFound}} {
		if err := keys.Erase(ctx, s, bad.caseID, bad.deed); !errors.Is(err, bad.want) {
			t.Errorf("%s: %v, want %v", bad.caseID, err, bad.want)
		}
	}
	if err := keys.Erase(ctx, s, "a", deed); err != nil {
		t.Fatal(err)
	}
	if err := keys.Erase(ctx, s, "a", deed); !errors.Is(err, casebook.ErrErased) {
		t.Errorf("again: %v", err)
	}
	fresh, err := seal.Open(ctx, s, key, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	for name, k := range map[string]*seal.Keys{"the running program": keys, "a new one": fresh} {
		book := casebook.Book{Store: s, Sealer: k}
		_, _, err := book.Entries(ctx, "a")
		var erased *casebook.ErasedError
		if !errors.As(err, &erased) || erased.By != "an administrator" || erased.Case != "a" ||
			!strings.Contains(err.Error(), "case a was erased on 4 March 2026 08:30 +00:00 by an administrator because: the patient asked for it") {
			t.Errorf("%s: %v", name, err)
		}
		if _, err := book.Append(ctx, "", note("a", "a2", "more")); !errors.Is(err, casebook.ErrErased) {
			t.Errorf("%s: appending: %v", name, err)
		}
		if _, err := book.PutBlob(ctx, "a", []byte("x")); !errors.Is(err, casebook.ErrErased) {
			t.Errorf("%s: a photo: %v", name, err)
		}
		if _, _, err := book.Entries(ctx, "b"); err != nil {
			t.Errorf("%s: the other case: %v", name, err)
		}
		report, err := book.Verify(ctx)
		if err != nil || !report.Sound() || report.Erased != 1 || report.Sealed != 3 || report.Cases != 2 {
			t.Errorf("%s: %+v, %v", name, report, err)
		}
	}
	if report, err := casebook.Verify(ctx, s); err != nil || !report.Sound() || report.Unopened != 3 {
		t.Errorf("without a key: %+v, %v", report, err)
	}
}

// lying gives other keys than the store has.
type lying struct {
	*memory.Store
	bend func(k casebook.CaseKey) (casebook.CaseKey, bool)
}

func (l lying) CaseKey(ctx context.Context, id string) (casebook.CaseKey, bool, error) {
	k, ok, err := l.Store.CaseKey(ctx, id)
	if ok {
		k, ok = l.bend(k)
	}
	return k, ok, err
}

func (l lying) CaseKeys(ctx context.Context) ([]casebook.CaseKey, error) {
	all, err := l.Store.CaseKeys(ctx)
	var out []casebook.CaseKey
	for _, k := range all {
		if k, ok := l.bend(k); ok {
			out = append(out, k)
		}
	}
	return out, err
}

// TestVerifyFindsKeyLies: what somebody with the database file could do to the keys shows.
func TestVerifyFindsKeyLies(t *testing.T) {
	ctx := context.Background()
	s := memory.New()
	keys, key := newKeys(t, s)
	book := casebook.Book{Store: s, Sealer: keys}
	var wrappedB []byte
	for _, c := range []string{"a", "b"} {
		if _, err := book.Append(ctx, "", note(c, c+"1", "text")); err != nil {
			t.Fatal(err)
		}
	}
	k, _, _ := s.CaseKey(ctx, "b")
	wrappedB = k.Wrapped
	kA, _, _ := s.CaseKey(ctx, "a")
	if err := keys.Erase(ctx, s, "a", seal.Deed{At: morning, Author: "x", Reason: "y"}); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		bend func(k casebook.CaseKey) (casebook.CaseKey, bool)
		want string
	}{
		{"key gone", func(k casebook.CaseKey) (casebook.CaseKey, bool) { return k, k.Case != "b" }, `case "b") does not open`},
		{"key destroyed past the ledger", func(k casebook.CaseKey) (casebook.CaseKey, bool) {
			if k.Case == "b" {
				k = casebook.CaseKey{Case: "b", ErasedBy: "nobody"}
			}
			return k, true
		}, "the ledger does not say"},
		{"another case's key", func(k casebook.CaseKey) (casebook.CaseKey, bool) {
			if k.Case == casebook.Ledger {
				k.Wrapped = wrappedB
			}
			return k, true
		}, "does not open"},
		{"an erased key put back", func(k casebook.CaseKey) (casebook.CaseKey, bool) {
			if k.Case == "a" {
				k = kA
			}
			return k, true
		}, `case "a" was erased, but its key is still there`},
	} {
		l := lying{s, c.bend}
		bent, err := seal.Open(ctx, l, key, rand.Reader)
		if err != nil {
			t.Fatal(err)
		}
		report, err := casebook.Book{Store: s, Sealer: bent}.Verify(ctx)
		if err != nil || !strings.Contains(strings.Join(report.Defects, "\n"), c.want) {
			t.Errorf("%s: no defect says %q: %v, %v", c.name, c.want, report.Defects, err)
		}
	}
}

func TestReserved(t *testing.T) {
	ctx := context.Background()
	s := memory.New()
	keys, _ := newKeys(t, s)
	book := casebook.Book{Store: s, Sealer: keys}
	if _, err := book.Append(ctx, "", note(casebook.Accounts, "x1", "x")); !errors.Is(err, casebook.ErrReserved) {
		t.Errorf("append: %v", err)
	}
	if _, _, err := book.Entries(ctx, casebook.Ledger); !errors.Is(err, casebook.ErrReserved) {
		t.Errorf("entries: %v", err)
	}
	r := casebook.Register{Book: book, ID: casebook.Ledger}
	head, err := r.Append(ctx, "", casebook.NewLedgerEntry("l1", morning, "x", "", casebook.StoreSealed{Head: "h", Records: 7}))
	entries, got, err2 := r.Entries(ctx)
	if err != nil || err2 != nil || got != head || len(entries) != 1 || entries[0].Body != (casebook.StoreSealed{Head: "h", Records: 7}) {
		t.Errorf("%v, %v, %v", entries, err, err2)
	}
}

func TestDerived(t *testing.T) {
	ctx := context.Background()
	s := memory.New()
	keys, _ := newKeys(t, s)
	one, err := keys.Derived(ctx, casebook.AccessLog)
	if err != nil {
		t.Fatal(err)
	}
	secret, err := keys.Secret(ctx, "drafts")
	if err != nil {
		t.Fatal(err)
	}
	to, _ := seal.NewKey(rand.Reader)
	if err := keys.Rotate(ctx, s, to, seal.Deed{At: morning, Author: "x", Reason: "y"}); err != nil {
		t.Fatal(err)
	}
	again, err := seal.Open(ctx, s, to, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	if kept, err := again.Secret(ctx, "drafts"); err != nil || len(kept) != 32 || !bytes.Equal(kept, secret) {
		t.Errorf("the secret is another one after a start: %v", err)
	}
	if other, err := again.Secret(ctx, "other"); err != nil || bytes.Equal(other, secret) {
		t.Errorf("two uses have one secret: %v", err)
	}
	two, err := again.Derived(ctx, casebook.AccessLog)
	if err != nil || one.ID() != two.ID() || one.ID() == to.ID() {
		t.Errorf("%s and %s, %v", one.ID(), two.ID(), err)
	}
	if _, err := keys.Derived(ctx, "a"); err == nil {
		t.Errorf("a key was derived from a patient's case")
	}
}

func TestKeyFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "k")
	key, _ := seal.NewKey(rand.Reader)
	if err := seal.WriteKeyFile(path, key); err != nil {
		t.Fatal(err)
	}
	if got, err := seal.ReadKeyFile(path); err != nil || got.ID() != key.ID() {
		t.Errorf("%v", err)
	}
	if err := seal.WriteKeyFile(path, key); !errors.Is(err, fs.ErrExist) {
		t.Errorf("a key file was overwritten: %v", err)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "*")); len(left) != 1 {
		t.Errorf("left behind: %v", left)
	}
	info, err := os.Stat(path)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("%v, %v", info, err)
	}
	for _, mode := range []fs.FileMode{0o640, 0o604, 0o620, 0o644} {
		os.Chmod(path, mode)
		if _, err := seal.ReadKeyFile(path); !errors.Is(err, seal.ErrOpenToOthers) || !strings.Contains(err.Error(), "chmod 600") {
			t.Errorf("with rights %o: %v", mode, err)
		}
	}
	os.Chmod(path, 0o600)
	os.Chmod(dir, 0o777)
	if _, err := seal.ReadKeyFile(path); !errors.Is(err, seal.ErrOpenToOthers) {
		t.Errorf("in a folder that all may write to: %v", err)
	}
	os.Chmod(dir, 0o700)
	if os.Geteuid() == 0 {
		os.Chown(path, 12345, 12345)
		if _, err := seal.ReadKeyFile(path); !errors.Is(err, seal.ErrOpenToOthers) || !strings.Contains(err.Error(), "another user") {
			t.Errorf("a key of another user: %v", err)
		}
	}
	if _, err := seal.ReadKeyFile(dir); err == nil {
		t.Errorf("a folder was read as a key")
	}
	if _, err := seal.ReadKeyFile(filepath.Join(dir, "none")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("%v", err)
	}
}

// TestLawKeyText: a key's text reads back; any changed digit is found.
func TestLawKeyText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		key, _ := seal.NewKey(bytes.NewReader(rapid.SliceOfN(rapid.Byte(), 32, 32).Draw(t, "secret")))
		text := []byte(key.Text())
		if got, err := seal.ParseKey(text); err != nil || got.ID() != key.ID() || got.Text() != key.Text() {
			t.Fatalf("%v", err)
		}
		at := bytes.LastIndex(text, []byte("key ")) + 4 + rapid.IntRange(0, 63).Draw(t, "digit")
		text[at] = "0123456789abcdef"[(strings.IndexByte("0123456789abcdef", text[at])+rapid.IntRange(1, 15).Draw(t, "by"))%16]
		if _, err := seal.ParseKey(text); !errors.Is(err, seal.ErrNotAKey) {
			t.Fatalf("a changed digit was not found: %v", err)
		}
	})
}

// FuzzParseKey: any text gives a key that reads the same again, or a refusal.
func FuzzParseKey(f *testing.F) {
	key, _ := seal.NewKey(bytes.NewReader(make([]byte, 32)))
	f.Add([]byte(key.Text()))
	f.Add([]byte("lowtide store key 1\r\nkey 00\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		k, err := seal.ParseKey(text)
		if err != nil {
			if !errors.Is(err, seal.ErrNotAKey) {
				t.Fatal(err)
			}
			return
		}
		if again, err := seal.ParseKey([]byte(k.Text())); err != nil || again.ID() != k.ID() {
			t.Fatal(err)
		}
	})
}

func TestPassphrase(t *testing.T) {
	ctx := context.Background()
	if _, err := seal.NewPassphraseKey("fourteen chars", rand.Reader); !errors.Is(err, seal.ErrShort) {
		t.Errorf("%v", err)
	}
	s := memory.New()
	key, err := seal.NewPassphraseKey("Möwen über dem Watt", rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := seal.Start(ctx, s, key, rand.Reader); err != nil {
		t.Fatal(err)
	}
	meta, _, _ := s.KeyMeta(ctx)
	if _, err := seal.PassphraseKey("Moewen ueber dem Watt", meta); !errors.Is(err, seal.ErrWrongKey) {
		t.Errorf("a wrong passphrase: %v", err)
	}
	// The same words with letters and marks apart, as some systems type them.
	if _, err := seal.PassphraseKey("Mo\u0308wen u\u0308ber dem Watt", meta); err != nil {
		t.Errorf("the same words in decomposed form: %v", err)
	}
	huge := meta
	huge.MemoryKiB = 1 << 31
	if _, err := seal.PassphraseKey("Möwen über dem Watt", huge); !errors.Is(err, casebook.ErrBroken) {
		t.Errorf("a store that asks for 2 TiB: %v", err)
	}
	if err := seal.WriteKeyFile(filepath.Join(t.TempDir(), "k"), key); err == nil {
		t.Errorf("a passphrase's key was written to a file")
	}
}

// TestSource: a start makes a key file; a rotation is finished whatever was cut short; keys that do not fit are
// refused in words.
func TestSource(t *testing.T) {
	ctx := context.Background()
	s := memory.New()
	src := seal.Source{File: filepath.Join(t.TempDir(), "s.key"), Prefer: seal.FromFile, Random: rand.Reader}
	keys, err := src.Begin(ctx, s)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := (casebook.Book{Store: s, Sealer: keys}).Append(ctx, "", note("a", "a1", "text")); err != nil {
		t.Fatal(err)
	}
	opens := func(name string) {
		t.Helper()
		ways := []bool{false, true}
		if meta, _, _ := s.KeyMeta(ctx); meta.Kind == seal.FromPassphrase {
			ways = ways[1:] // Argon2id takes its time, and there are no files to bring into order
		}
		for _, finish := range ways {
			k, err := src.Unlock(ctx, s, finish)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if _, _, err := (casebook.Book{Store: s, Sealer: k}).Entries(ctx, "a"); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
		if _, err := os.Stat(src.File + ".next"); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%s: the next key file is still there", name)
		}
	}
	d := seal.Deed{At: morning, Author: "x", Reason: "y"}
	first := keys.Key()
	if err := src.Rotate(ctx, s, keys, seal.FromFile, d); err != nil {
		t.Fatal(err)
	}
	opens("after a rotation")
	if old, err := seal.ReadKeyFile(src.Old(first.ID())); err != nil || old.ID() != first.ID() {
		t.Errorf("the old key is not kept aside: %v", err)
	}

	// Cut short before the store: FILE.next is of no use.
	unused, _ := seal.NewKey(rand.Reader)
	if err := seal.WriteKeyFile(src.File+".next", unused); err != nil {
		t.Fatal(err)
	}
	opens("a key file that was never used")

	// Cut short after the store, before and after the old file was put aside.
	for _, aside := range []bool{false, true} {
		next, _ := seal.NewKey(rand.Reader)
		if err := seal.WriteKeyFile(src.File+".next", next); err != nil {
			t.Fatal(err)
		}
		keys, err := src.Unlock(ctx, s, false)
		if err != nil {
			t.Fatal(err)
		}
		was := keys.Key()
		if err := keys.Rotate(ctx, s, next, d); err != nil {
			t.Fatal(err)
		}
		if aside {
			if err := os.Rename(src.File, src.Old(was.ID())); err != nil {
				t.Fatal(err)
			}
		}
		opens(fmt.Sprintf("a key file that is not yet in its place, the old one aside: %v", aside))
		if got, err := seal.ReadKeyFile(src.File); err != nil || got.ID() != next.ID() {
			t.Errorf("the key file holds another key: %v", err)
		}
	}

	// To a passphrase and back.
	src.Passphrase = func(bool) (string, error) { return "seven grey herons at low water", nil }
	keys, _ = src.Unlock(ctx, s, true)
	if err := src.Rotate(ctx, s, keys, seal.FromPassphrase, d); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(src.File); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("the key file is still in its place")
	}
	opens("with a passphrase")
	mute := src
	mute.Passphrase = nil
	if _, err := mute.Unlock(ctx, s, false); !errors.Is(err, seal.ErrNoKey) || !strings.Contains(err.Error(), "--passphrase") {
		t.Errorf("nobody to ask: %v", err)
	}
	if err := src.Rotate(ctx, s, keys, seal.FromFile, d); err != nil {
		t.Fatal(err)
	}
	opens("with a file again")

	key, _ := seal.ReadKeyFile(src.File)
	other := src
	other.File = filepath.Join(t.TempDir(), "other.key")
	if _, err := other.Unlock(ctx, s, false); !errors.Is(err, seal.ErrNoKey) || !strings.Contains(err.Error(), key.ID()) {
		t.Errorf("no key file: %v", err)
	}
	if err := seal.WriteKeyFile(other.File, unused); err != nil {
		t.Fatal(err)
	}
	if _, err := other.Unlock(ctx, s, true); !errors.Is(err, seal.ErrWrongKey) || !strings.Contains(err.Error(), unused.ID()) {
		t.Errorf("another key file: %v", err)
	}
	plain := memory.New()
	if _, err := (casebook.Book{Store: plain}).Append(ctx, "", note("a", "a1", "text")); err != nil {
		t.Fatal(err)
	}
	if _, err := src.Begin(ctx, plain); !errors.Is(err, casebook.ErrPlain) {
		t.Errorf("a plain store: %v", err)
	}
}
