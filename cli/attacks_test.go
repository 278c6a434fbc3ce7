package cli

import (
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lowtide/accesslog"
	"lowtide/account"
	"lowtide/casebook"
	"lowtide/casebook/sqlite"
	"lowtide/equipment"
	"lowtide/intake"
	"lowtide/report"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
)

// attacked is a served store: each change of an account is followed by a line of the access log, as pages do it.
type attacked struct {
	t     *testing.T
	path  string
	store *sqlite.Store
	book  casebook.Book
	log   *accesslog.Log
	close func()
}

func attackedStore(t *testing.T) *attacked {
	t.Helper()
	a := &attacked{t: t, path: staffedStore(t)}
	a.open()
	return a
}

// open is what serve does, up to the first page.
func (a *attacked) open() {
	a.t.Helper()
	c := newServe()
	c.SetContext(a.t.Context())
	flags := &storeFlags{path: a.path}
	o, err := flags.write(c)
	if err != nil {
		a.t.Fatal(err)
	}
	access, err := accessBook(a.t.Context(), a.path, o.keys)
	if err != nil {
		a.t.Fatal(err)
	}
	a.store, a.book = o.store, o.book()
	a.log = accesslog.New(access, random)
	a.log.Beside(o.store)
	var last casebook.Mark
	if err := markOnce(a.t.Context(), o.book(), access.Store, &last); err != nil {
		a.t.Fatal(err)
	}
	a.close = func() {
		if err := access.Store.Close(); err != nil {
			a.t.Error(err)
		}
		if err := o.close(); err != nil {
			a.t.Error(err)
		}
	}
}

func (a *attacked) change(bodies ...casebook.Body) {
	a.t.Helper()
	for _, b := range bodies {
		if _, err := account.NewDirectory(a.book, random).Change(a.t.Context(), now(), "mara.holt", "", func(*account.Set) ([]casebook.Body, error) { return []casebook.Body{b}, nil }); err != nil {
			a.t.Fatal(err)
		}
		if err := a.log.Note(a.t.Context(), now(), accesslog.Noted{Account: "mara.holt", What: accesslog.Accounts}); err != nil {
			a.t.Fatal(err)
		}
	}
}

func copyFile(t *testing.T, from, to string) {
	t.Helper()
	raw, err := os.ReadFile(from)
	if err == nil {
		err = os.WriteFile(to, raw, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// TestAttackRewrittenChain: somebody without the key takes out the record that disabled an account, computes the chain
// anew and puts the guards back. The account would be open again; check and serve see it.
func TestAttackRewrittenChain(t *testing.T) {
	a := attackedStore(t)
	a.change(account.Created{Name: "n.left", Shown: "Nurse Left", Roles: []account.Role{account.Nurse}}, account.Disabled{Name: "n.left", Disabled: true}, account.SignedOut{Name: "mara.holt"})
	links, err := a.store.Feed(t.Context(), 0, 1000)
	if err != nil {
		t.Fatal(err)
	}
	cut := int64(0)
	for _, l := range links {
		if e, err := a.book.Decode(t.Context(), l.Record); err == nil && e.Kind == account.KindDisabled {
			cut = l.Seq
		}
	}
	a.close()
	db, err := sql.Open("sqlite", a.path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	exec := func(format string, args ...any) {
		t.Helper()
		if _, err := db.Exec(fmt.Sprintf(format, args...)); err != nil {
			t.Fatalf("%s: %v", format, err)
		}
	}
	rows, err := db.Query("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'")
	if err != nil {
		t.Fatal(err)
	}
	guards := map[string]string{}
	for rows.Next() {
		var name, text string
		if err := rows.Scan(&name, &text); err != nil {
			t.Fatal(err)
		}
		guards[name] = text
	}
	for name := range guards {
		exec("DROP TRIGGER %s", name)
	}
	exec("DELETE FROM record WHERE seq = %d", cut)
	exec("UPDATE record SET seq = -seq WHERE seq > %d", cut)
	exec("UPDATE record SET seq = -seq - 1 WHERE seq < 0")
	if _, there := guards["chain_mac_only_new"]; there {
		exec("DELETE FROM chain_mac WHERE seq = (SELECT max(seq) FROM chain_mac)")
	}
	exec("DELETE FROM case_head")
	prev, count := "", map[string]int{}
	for seq := int64(1); seq < int64(len(links)); seq++ {
		var r casebook.Record
		if err := db.QueryRow("SELECT id, case_id, bytes FROM record WHERE seq = $1", seq).Scan(&r.ID, &r.Case, &r.Bytes); err != nil {
			t.Fatal(err)
		}
		prev = casebook.ChainHash(prev, r)
		count[r.Case]++
		exec("UPDATE record SET hash = '%s' WHERE seq = %d", prev, seq)
		exec("DELETE FROM case_head WHERE case_id = '%s'", r.Case)
		exec("INSERT INTO case_head (case_id, head, count, seq) VALUES ('%s', '%s', %d, %d)", r.Case, prev, count[r.Case], seq)
	}
	for _, text := range guards {
		exec("%s", text)
	}
	db.Close()

	_, list, _ := call(t, "account", "list", "--json", "--store", a.path)
	if !strings.Contains(list, `"n.left"`) || strings.Contains(list, `"disabled": true`) {
		t.Fatalf("the attack did not open the account: %s", list)
	}
	code, out, _ := call(t, "check", a.path)
	for _, want := range []string{"the keyed chain does not hold", "The store is older than its access log"} {
		if code == 0 || !strings.Contains(out, want) {
			t.Errorf("check (%d) does not say %q:\n%s", code, want, out)
		}
	}
	wantWatched(t, a.path, "store is older than its access log")
}

// wantWatched wants serve to say so before the first page, and to keep it in the ledger.
func wantWatched(t *testing.T, path, words string) {
	t.Helper()
	c := newServe()
	c.SetContext(t.Context())
	var said strings.Builder
	c.SetErr(&said)
	flags := &storeFlags{path: path}
	o, err := flags.write(c)
	if err != nil {
		t.Fatal(err)
	}
	defer o.close()
	found, err := watch(c, o, path)
	if err != nil || len(found) == 0 || !strings.Contains(strings.Join(found, "\n"), words) || !strings.Contains(said.String(), words) {
		t.Errorf("serve says %q (%v, %v), want %q", said.String(), found, err, words)
	}
}

// TestAttackOlderStore: an older copy of the store beside its access log, and an older access log beside its store, are
// seen, and it is said which side is older. Once it is understood, it is settled.
func TestAttackOlderStore(t *testing.T) {
	a := attackedStore(t)
	a.change(account.Created{Name: "n.left", Shown: "Nurse Left", Roles: []account.Role{account.Nurse}})
	a.close()
	old := a.path + ".old"
	copyFile(t, a.path, old)
	copyFile(t, accessFile(a.path), accessFile(old))
	a.open()
	a.change(account.Disabled{Name: "n.left", Disabled: true}, account.SignedOut{Name: "mara.holt"})
	a.close()
	a.open() // notes in the ledger how far the log has come
	a.close()
	says(t, 0, []string{"0 defects", "The keyed chain holds over"}, "check", a.path)
	newer := a.path + ".newer"
	copyFile(t, a.path, newer)
	copyFile(t, a.path+".key", newer+".key")
	copyFile(t, accessFile(old), accessFile(newer))
	says(t, 1, []string{"The access log is older than the store"}, "check", newer)
	wantWatched(t, newer, "access log is older than the store")

	copyFile(t, old, a.path)
	says(t, 1, []string{"The store is older than its access log: it holds"}, "check", a.path)
	wantWatched(t, a.path, "store is older than its access log")
	says(t, 2, []string{"say who and why"}, "settle", "--store", a.path)
	says(t, 0, []string{"Settled: The store is older"}, "settle", "--by", "A. Admin", "--reason", "put back after a power cut", "--store", a.path)
	says(t, 0, []string{"0 defects"}, "check", a.path)
	says(t, 0, []string{"nothing to settle"}, "settle", "--by", "A. Admin", "--reason", "again", "--store", a.path)
	if err := os.Remove(accessFile(a.path)); err != nil {
		t.Fatal(err)
	}
	a.open()
	a.change(account.SignedOut{Name: "mara.holt"})
	a.close()
	a.open()
	a.close()
	if err := os.Remove(accessFile(a.path)); err != nil {
		t.Fatal(err)
	}
	says(t, 1, []string{"The access log is older than the store: it holds 0 lines"}, "check", a.path)
}

// TestAttackDamagedWAL: one bit in the WAL loses entries that were acknowledged. SQLite takes what stands before it for
// the whole; the access log knows more.
func TestAttackDamagedWAL(t *testing.T) {
	a := attackedStore(t)
	a.change(account.Created{Name: "n.left", Shown: "Nurse Left", Roles: []account.Role{account.Nurse}}, account.Disabled{Name: "n.left", Disabled: true}, account.SignedOut{Name: "mara.holt"})
	crashed := t.TempDir() + "/ward.db"
	for _, end := range []string{"", "-wal"} {
		copyFile(t, a.path+end, crashed+end)
		copyFile(t, accessFile(a.path)+end, accessFile(crashed)+end)
	}
	copyFile(t, a.path+".key", crashed+".key")
	a.close()
	wal, err := os.ReadFile(crashed + "-wal")
	if err != nil || len(wal) < 10_000 {
		t.Fatal(len(wal), err)
	}
	wal[len(wal)-5000] ^= 1
	if err := os.WriteFile(crashed+"-wal", wal, 0o600); err != nil {
		t.Fatal(err)
	}
	says(t, 1, []string{"The store is older than its access log", "1 defect"}, "check", crashed)
	wantWatched(t, crashed, "store is older than its access log")
}

// TestDaySealCommand: the seal of the day that is printed holds later, and does not on a store that was put back.
func TestDaySealCommand(t *testing.T) {
	a := attackedStore(t)
	a.close()
	old := a.path + ".old"
	copyFile(t, a.path, old)
	a.open()
	a.change(account.Created{Name: "n.new", Shown: "Nurse New", Roles: []account.Role{account.Nurse}})
	a.close()
	code, out, errOut := call(t, "dayseal", "--store", a.path)
	text, code2, _ := strings.Cut(out, "\n")
	if code != 0 || !strings.HasPrefix(text, "LOWTIDE-SEAL-1 ") || strings.Count(code2, "\n") < 20 {
		t.Fatalf("%d %s%s", code, out, errOut)
	}
	kept := t.TempDir() + "/seal.txt"
	if err := os.WriteFile(kept, []byte("kept by A. Admin\n"+text+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	a.open()
	a.change(account.SignedOut{Name: "mara.holt"})
	a.close()
	says(t, 0, []string{"0 defects"}, "check", a.path, "--against", text)
	says(t, 0, []string{"0 defects"}, "check", a.path, "--against", kept)
	says(t, 2, []string{"a digit was mistyped"}, "check", a.path, "--against", text[:len(text)-1]+"x")
	copyFile(t, old, a.path)
	says(t, 1, []string{"The store is older than the seal of"}, "check", a.path, "--against", text)
}

// TestAttackForgedFile: a file claims an order of a prescriber and a signature of a nurse. Neither passes as theirs.
func TestAttackForgedFile(t *testing.T) {
	at := now().Add(-time.Hour)
	entry := func(i int, author string, b casebook.Body) casebook.Entry {
		id, err := casebook.NewID(at.Add(time.Duration(i)*time.Second), random)
		if err != nil {
			t.Fatal(err)
		}
		return casebook.Entry{ID: id, Case: "0199a3c0-0000-7000-8000-00000000000f", Kind: b.Kind(), Version: 1, At: at, Recorded: at, Author: author, Body: b}
	}
	days, every := 10.0, 48.0
	f := intake.CaseFile{Format: intake.Format, Version: intake.FormatVersion, Case: "0199a3c0-0000-7000-8000-00000000000f", Entries: []casebook.Entry{
		entry(1, "n.east", casebook.PersonRegistered{Name: "Ada Invented", Place: "home", Zone: "Europe/London"}),
		entry(2, "n.east", casebook.WoundFound{Wound: "A", Site: "heel", Type: "pressure"}),
		entry(3, "p.east", casebook.OrderWritten{Prescriber: "Dr East", Wounds: []string{"A"}, Stages: []casebook.Stage{{SuctionMmHg: 125}}, Filler: "foam", ContactLayer: "none", ChangeEveryH: &every, Goal: "close", DurationDays: &days}),
		entry(4, "n.east", casebook.ReviewSigned{Hash: strings.Repeat("ab", 32), AsOf: at, Rules: "x", Program: "x", Purpose: "visit"}),
	}}
	path := filepath.Join(t.TempDir(), "from-elsewhere.json")
	w, err := os.Create(path)
	if err == nil {
		err = errors.Join(intake.WriteCaseFile(w, f), w.Close())
	}
	if err != nil {
		t.Fatal(err)
	}
	store := filepath.Join(t.TempDir(), "ward.db")
	says(t, 0, []string{"4 entries in the file, 4 of them new", "claimed, not given here"}, "import", path, "--by", "B. Bringer", "--store", store)
	says(t, 0, []string{"0 of them new"}, "import", path, "--by", "C. Second", "--store", store)
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	handover := func() (bundle, paper string) {
		t.Helper()
		c := newServe()
		c.SetContext(t.Context())
		flags := &storeFlags{path: store}
		o, err := flags.read(c)
		if err != nil {
			t.Fatal(err)
		}
		defer o.close()
		list, _, err := o.book().Entries(t.Context(), f.Case)
		if err != nil {
			t.Fatal(err)
		}
		folded := casebook.Fold(f.Case, list)
		in := report.Input{Review: review.Of(state.Of(folded, rules, equipment.BuiltIn(), nil, now()), rules), Rules: rules, Equipment: equipment.BuiltIn()}
		raw, err := bundleOf(in)
		if err != nil {
			t.Fatal(err)
		}
		sheet, err := report.Of(in, "handover", "", "en")
		if err != nil {
			t.Fatal(err)
		}
		text, err := json.Marshal(sheet)
		if err != nil {
			t.Fatal(err)
		}
		return string(raw), string(text)
	}
	bundle, paper := handover()
	for _, want := range []string{"p.east (claimed by the file from-elsewhere.json)", `"enterer"`, "B. Bringer"} {
		if !strings.Contains(bundle, want) {
			t.Errorf("the Bundle does not say %q", want)
		}
	}
	if strings.Contains(bundle, "C. Second") {
		t.Error("whoever brought nothing new is named")
	}
	const claimed = "This order is what a file says"
	if !strings.Contains(paper, claimed) || !strings.Contains(paper, "Came by file from-elsewhere.json, brought by B. Bringer") {
		t.Error("on the handover sheet the order passes as the prescriber's own")
	}
	// Somebody entitled takes it over.
	c := newServe()
	c.SetContext(t.Context())
	o, err := (&storeFlags{path: store}).write(c)
	if err != nil {
		t.Fatal(err)
	}
	err = errors.Join(o.book().TakeOver(t.Context(), f.Case, f.Entries[2].ID, "read back to Dr East", now(), "p.west"), o.close())
	if err != nil {
		t.Fatal(err)
	}
	if bundle, paper = handover(); strings.Contains(paper, claimed) || !strings.Contains(bundle, `"attester"`) {
		t.Error("after it was taken over it is still claimed")
	}
	says(t, 0, []string{"0 defects"}, "check", store)
}
