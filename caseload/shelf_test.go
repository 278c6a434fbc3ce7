package caseload_test

import (
	"bytes"
	"context"
	"crypto/rand"
	"database/sql"
	"encoding/json"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/caseload"
	"lowtide/demo"
	"lowtide/equipment"
	"lowtide/seal"
	"lowtide/state"
	"lowtide/stock"
)

// shelfStory is a sealed store with the invented caseload, and a place for its shelf.
type shelfStory struct {
	*testing.T
	store *sqlite.Store
	keys  *seal.Keys
	path  string
}

func newShelfStory(t *testing.T) shelfStory {
	t.Helper()
	path := filepath.Join(t.TempDir(), "s.db")
	store, err := sqlite.Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { store.Close() })
	key, err := seal.NewKey(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	keys, err := seal.Start(t.Context(), store, key, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	if err := demo.Fill(t.Context(), casebook.Book{Store: store, Sealer: keys}, morning, 1); err != nil {
		t.Fatal(err)
	}
	return shelfStory{t, store, keys, sqlite.ShelfOf(path)}
}

// counting counts how often a case is opened: what the shelf has need not be read again.
type counting struct {
	casebook.Store
	mu   sync.Mutex
	read map[string]int
}

func (c *counting) Case(ctx context.Context, id string) ([]casebook.Link, error) {
	c.mu.Lock()
	c.read[id]++
	c.mu.Unlock()
	return c.Store.Case(ctx, id)
}

// run starts the program once at an instant and returns its rows, and which cases it had to read.
func (s shelfStory) run(now time.Time, program string) (rows map[string]string, read map[string]int) {
	s.Helper()
	shelf, err := sqlite.OpenShelf(s.Context(), s.path)
	if err != nil {
		s.Fatal(err)
	}
	defer shelf.Close()
	c := &counting{Store: s.store, read: map[string]int{}}
	load := caseload.New(casebook.Book{Store: c, Sealer: s.keys}, builtin(s), equipment.BuiltIn())
	load.Shelf, load.Program = shelf, program
	rows = shown(s.T, load, now)
	for id := range c.read {
		if casebook.Reserved(id) {
			delete(c.read, id)
		}
	}
	if err := load.SaveRows(s.Context()); err != nil {
		s.Fatal(err)
	}
	return rows, c.read
}

// shown is all that the lists of a caseload say, in words that can be compared.
func shown(t *testing.T, load *caseload.Caseload, now time.Time) map[string]string {
	t.Helper()
	ctx := t.Context()
	rows, pending, err := load.Rows(ctx, now)
	if err != nil || pending != 0 {
		t.Fatalf("%d pending, %v", pending, err)
	}
	out := map[string]string{}
	say := func(what string, v any, err error) {
		t.Helper()
		b, e := json.Marshal(v)
		if err != nil || e != nil {
			t.Fatal(what, err, e)
		}
		out[what] += string(b)
	}
	for _, r := range rows {
		say(r.Case, r, nil)
	}
	say("order", func() (ids []string) {
		for _, r := range rows {
			ids = append(ids, r.Case)
		}
		return ids
	}(), nil)
	for day := range 3 {
		bag, err := load.Bag(ctx, now, day, func(state.Person) bool { return true })
		say("bag", bag, err)
	}
	stores, err := load.Stores(ctx, now, time.UTC)
	say("stores", stores, err)
	pumps, _, err := load.Pumps(ctx, now)
	say("pumps", pumps, err)
	calls, _, err := load.OpenCalls(ctx, now)
	say("calls", calls, err)
	used, err := load.Used(ctx, now, demo.Author, func(state.Person) bool { return true })
	say("used", used, err)
	lots, err := load.Lots(ctx, demo.Author, rows[0].Case, now)
	say("lots", lots, err)
	cohort, rates, _, err := load.Cohort(ctx, "surgical", now)
	say("cohort", []any{cohort, rates}, err)
	return out
}

// TestShelf: what the shelf keeps is what would be made again, whatever was done to its file.
func TestShelf(t *testing.T) {
	s := newShelfStory(t)
	_, read := s.run(morning, "one")
	if len(read) != 24+demo.PastCases {
		t.Fatalf("the first start read %d cases", len(read))
	}
	// What a program without a shelf shows, by the instant; made again when the store has changed.
	without := map[time.Time]map[string]string{}
	same := func(name string, now time.Time, program string, least, most int) {
		t.Helper()
		want := without[now]
		if want == nil {
			want = shown(t, caseload.New(casebook.Book{Store: s.store, Sealer: s.keys}, builtin(t), equipment.BuiltIn()), now)
			without[now] = want
		}
		got, read := s.run(now, program)
		if len(read) < least || len(read) > most {
			t.Errorf("%s: %d cases were read, not %d to %d", name, len(read), least, most)
		}
		for k := range want {
			if got[k] != want[k] {
				t.Errorf("%s: %s\n with shelf %.600s\n   without %.600s", name, k, got[k], want[k])
			}
		}
	}
	all := 24 + demo.PastCases
	same("a second start", morning, "one", 0, 0)
	same("a minute later", morning.Add(time.Minute), "one", 0, 12)
	same("two days later", morning.Add(48*time.Hour), "one", 1, all)
	same("a clock that was set back", morning.Add(-time.Hour), "one", all, all)
	same("another program", morning, "two", all, all)
	same("the other program again", morning, "two", 0, 0)

	files := map[string]func([]byte) []byte{
		"gone":     nil,
		"empty":    func([]byte) []byte { return nil },
		"nonsense": func(b []byte) []byte { return []byte("this is no shelf") },
		"cut":      func(b []byte) []byte { return b[:len(b)/2] },
		"flipped": func(b []byte) []byte {
			for i := 4096; i < len(b); i += 611 {
				b[i] ^= 0x40
			}
			return b
		},
	}
	for name, spoil := range files {
		s.run(morning, "two")
		b, err := os.ReadFile(s.path)
		if err != nil {
			t.Fatal(err)
		}
		if spoil == nil {
			err = os.Remove(s.path)
		} else {
			err = os.WriteFile(s.path, spoil(b), 0o600)
		}
		if err != nil {
			t.Fatal(err)
		}
		same(name, morning, "two", 1, all)
		same(name+", after that", morning, "two", 0, 0)
	}

	// Rows of one case under another, and of the same case before an entry.
	shelf := func(sql string, args ...any) {
		t.Helper()
		if _, err := s.open().ExecContext(t.Context(), sql, args...); err != nil {
			t.Fatal(err)
		}
	}
	shelf("CREATE TABLE old AS SELECT * FROM row")
	shelf("UPDATE row SET bytes = (SELECT bytes FROM old WHERE old.case_id > row.case_id ORDER BY case_id LIMIT 1) WHERE case_id < (SELECT max(case_id) FROM row)")
	same("swapped", morning, "two", all-1, all-1)
	heads, err := s.store.Cases(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	book := casebook.Book{Store: s.store, Sealer: s.keys}
	wrote := 0
	for i, h := range heads {
		if casebook.Reserved(h.Case) || i%5 != 0 {
			continue
		}
		wrote++
		e := entry(t, h.Case, casebook.NoteWritten{Text: "bleeds", Seen: casebook.Seen{Signs: []string{"bright red blood"}}})
		if _, err := book.Append(t.Context(), h.Head, e); err != nil {
			t.Fatal(err)
		}
	}
	clear(without)
	same("new entries", morning, "two", wrote, wrote)
	shelf("DELETE FROM row")
	shelf("INSERT INTO row SELECT * FROM old")
	same("rolled back", morning, "two", wrote, wrote)

	// An erased case leaves the shelf, and its old row opens no more.
	var gone string
	for _, h := range heads {
		if !casebook.Reserved(h.Case) {
			gone = h.Case
		}
	}
	if err := s.keys.Erase(t.Context(), s.store, gone, seal.Deed{At: morning, Author: "an administrator", Reason: "a test patient"}); err != nil {
		t.Fatal(err)
	}
	clear(without)
	same("erased", morning, "two", 0, 0)
	var left int
	if err := s.open().QueryRowContext(t.Context(), "SELECT count(*) FROM row WHERE case_id = ?", gone).Scan(&left); err != nil || left != 0 {
		t.Errorf("%d rows of the erased case are left, %v", left, err)
	}
	same("and after that", morning, "two", 0, 0)

	// A recall asks for the cases anew that it is about.
	addRecall(t, book, heads[len(heads)/2].Case)
	clear(without)
	same("recalled", morning.Add(time.Second), "two", 1, all)
	same("recalled, again", morning.Add(time.Second), "two", 0, 0)

	for _, leak := range []string{"Halina", "bleeds"} {
		b, err := os.ReadFile(s.path)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(b, []byte(leak)) {
			t.Errorf("the shelf says %q in the open", leak)
		}
	}
}

// open opens the shelf's file from outside.
func (s shelfStory) open() *sql.DB {
	s.Helper()
	db, err := sql.Open("sqlite", s.path)
	if err != nil {
		s.Fatal(err)
	}
	s.Cleanup(func() { db.Close() })
	return db
}

// addRecall recalls a lot of which the case got some.
func addRecall(t *testing.T, book casebook.Book, caseID string) {
	t.Helper()
	_, head, err := book.Entries(t.Context(), caseID)
	if err != nil {
		t.Fatal(err)
	}
	item := equipment.BuiltIn().Items[0].ID
	if _, err := book.Append(t.Context(), head, entry(t, caseID, casebook.SupplyMoved{Item: item, Count: 2, Lot: "L-17"})); err != nil {
		t.Fatal(err)
	}
	r := casebook.Register{Book: book, ID: stock.Register}
	if _, head, err = r.Entries(t.Context()); err != nil {
		t.Fatal(err)
	}
	if _, err := r.Append(t.Context(), head, entry(t, stock.Register, stock.Recalled{Item: item, Lot: "L-17", By: "the maker"})); err != nil {
		t.Fatal(err)
	}
}

func entry(t *testing.T, caseID string, body casebook.Body) casebook.Entry {
	t.Helper()
	id, err := casebook.NewID(morning, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	return casebook.Entry{ID: id, Case: caseID, Kind: body.Kind(), Version: 1, At: morning, Recorded: morning, Author: "n", Body: body}
}
