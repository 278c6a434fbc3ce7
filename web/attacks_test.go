package web_test

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"lowtide/accesslog"
	"lowtide/account"
	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/web/page"
)

// givePasskey adds a passkey to an account, as its owner did before.
func (wd *ward) givePasskey(name string) {
	wd.t.Helper()
	_, err := wd.dir.Change(wd.t.Context(), wd.now, name, "", func(*account.Set) ([]casebook.Body, error) {
		return []casebook.Body{account.PasskeyAdded{Name: name, ID: "key-of-" + name, Label: "phone", Credential: []byte(`{}`)}}, nil
	})
	if err != nil {
		wd.t.Fatal(err)
	}
}

func (wd *ward) accountOf(name string) *account.Account {
	wd.t.Helper()
	set, err := account.NewDirectory(wd.book, wd.srv.Random).Set(wd.t.Context(), wd.now)
	if err != nil {
		wd.t.Fatal(err)
	}
	return set.Get(name)
}

// addCodes is what a thief does to make his session a strong one: he sets up codes of his own.
func (wd *ward) addCodes() (last int) {
	w := wd.post("/me/codes/new", nil)
	secret := strings.ReplaceAll(factText(w.Body.String(), "Key"), " ", "")
	if secret == "" {
		secret = codeSecret
	}
	return wd.post("/me/codes", url.Values{"secret": {secret}, "code": {account.CodeAt(secret, wd.now)}}).Code
}

// TestAttackFactorByPassword: whoever has the password of an account with a passkey cannot add a factor of his own,
// take hers away, or change the password.
func TestAttackFactorByPassword(t *testing.T) {
	wd := staffed(t)
	wd.givePasskey("n.east")
	wd.signIn("n.east") // with the password alone
	before := wd.accountOf("n.east")
	if code := wd.addCodes(); code != http.StatusForbidden {
		t.Errorf("codes of the thief's own: %d", code)
	}
	for path, form := range map[string]url.Values{"/me/passkey/begin": nil, "/me/passkey/finish": nil, "/me/passkey/remove": {"passkey": {"key-of-n.east"}}, "/me/codes/remove": nil, "/me/password": {"password": {"four grey geese at dusk"}}} {
		if w := wd.post(path, form); w.Code != http.StatusForbidden {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
	if after := wd.accountOf("n.east"); after.Code != "" || len(after.Passkeys) != 1 || after.Hash != before.Hash {
		t.Errorf("the account was changed: %+v", after)
	}
	// Proving again with the password does not do either, also when the form that nobody shows is sent.
	if w := wd.post("/again", url.Values{"password": {longPassword}}); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("proof by the password alone: %d", w.Code)
	}
	if code := wd.addCodes(); code != http.StatusForbidden {
		t.Errorf("codes after that proof: %d", code)
	}
}

// TestAttackFactorByLink: a stolen one-time link of an administrator gives a password, and with it no way to a factor.
func TestAttackFactorByLink(t *testing.T) {
	wd := staffed(t)
	wd.givePasskey("n.west")
	wd.signIn("admin")
	w := wd.post("/account/n.west/link", nil)
	_, key, _ := strings.Cut(factText(w.Body.String(), "Link"), "key=")
	wd.jar = map[string]*http.Cookie{}
	if w := wd.post("/link", url.Values{"key": {key}, "password": {longPassword}}); w.Code != http.StatusOK {
		t.Fatalf("the link: %d", w.Code)
	}
	wd.signIn("n.west")
	if code := wd.addCodes(); code != http.StatusForbidden || wd.accountOf("n.west").Code != "" {
		t.Errorf("codes of the thief's own: %d", code)
	}
}

// sometimes is a store that takes nothing for a while.
type sometimes struct {
	casebook.Store
	why error
}

func (s *sometimes) Append(ctx context.Context, caseID, head string, records ...casebook.Record) (string, error) {
	if s.why != nil {
		return "", fmt.Errorf("the medium: %w", s.why)
	}
	return s.Store.Append(ctx, caseID, head, records...)
}

// TestFullDisk: while the disk is full, the store busy or only to be read, the page says so, reading goes on, what was
// typed comes back in its form, and sent again it is saved once. The lines of the access log are not lost.
func TestFullDisk(t *testing.T) {
	for why, words := range map[error]string{casebook.ErrFull: "The disk is full", casebook.ErrReadOnly: "can only be read at this moment", casebook.ErrBusy: "The store is busy"} {
		wd := staffed(t)
		wd.signIn("n.east")
		store, lines := &sometimes{Store: wd.book.Store}, &sometimes{Store: memory.New()}
		wd.srv.Caseload.Book.Store = store
		wd.srv.Access = accesslog.New(casebook.Book{Store: lines}, wd.srv.Random)
		f := wd.parse(wd.get(page.CasePath(oneCase, "add", "note.written")).Body.String())
		f.values.Set("text", "hisses at the port, drape looks loose")
		n := len(wd.entries(oneCase))
		store.why, lines.why = why, why
		w := wd.post(f.action, f.values)
		if w.Code != http.StatusServiceUnavailable || !strings.Contains(w.Body.String(), words) || len(wd.entries(oneCase)) != n {
			t.Errorf("%v: %d %s", why, w.Code, said(w.Body.String()))
		}
		back := wd.parse(w.Body.String())
		if back.values.Get("text") != "hisses at the port, drape looks loose" || back.values.Get("-key") != f.values.Get("-key") {
			t.Errorf("%v: what was typed is gone: %v", why, back.values)
		}
		for _, path := range []string{"/", page.CasePath(oneCase), page.CasePath(oneCase, "log")} {
			if w := wd.get(path); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "Ann Case") || !strings.Contains(w.Body.String(), "saves nothing") {
				t.Errorf("%v: reading %s: %d", why, path, w.Code)
			}
		}
		// Somebody who signs in meanwhile gets in, to read.
		jar := wd.jar
		wd.jar = map[string]*http.Cookie{}
		wd.signIn("n.east")
		if w := wd.get(page.CasePath(oneCase)); w.Code != http.StatusOK {
			t.Errorf("%v: signed in meanwhile: %d", why, w.Code)
		}
		wd.jar = jar
		store.why, lines.why = nil, nil
		for range 2 {
			if w := wd.post(back.action, back.values); w.Code != http.StatusSeeOther {
				t.Errorf("%v: sent again: %d %s", why, w.Code, said(w.Body.String()))
			}
		}
		if len(wd.entries(oneCase)) != n+1 {
			t.Errorf("%v: %d new entries", why, len(wd.entries(oneCase))-n)
		}
		if body := wd.get("/").Body.String(); strings.Contains(body, "saves nothing") {
			t.Errorf("%v: it is still said", why)
		}
		kept, _, err := wd.srv.Access.Find(t.Context(), accesslog.Query{Account: "n.east"})
		if err != nil || len(kept) < 8 {
			t.Errorf("%v: %d lines are kept, %v", why, len(kept), err)
		}
	}
}

// TestUnsavedIsKept: a form without a key of its own, and one with a file, stand on the page that says that nothing was
// saved, and can be sent again; a password never does.
func TestUnsavedIsKept(t *testing.T) {
	wd := staffed(t)
	wd.signIn("n.east")
	store := &sometimes{Store: wd.book.Store, why: casebook.ErrFull}
	wd.srv.Caseload.Book.Store = store
	w := wd.post("/stores/recalled", url.Values{"item": {"foam kit 1"}, "lot": {"L-77"}, "by": {"the maker"}, "note": {"send it back"}})
	for _, want := range []string{"The disk is full", "kept on this page", `action="/stores/recalled"`, `name="item" value="foam kit 1"`, "<bdi>send it back</bdi>"} {
		if w.Code != http.StatusServiceUnavailable || !strings.Contains(w.Body.String(), want) {
			t.Errorf("%d, no %s in %s", w.Code, want, said(w.Body.String()))
		}
	}
	wd.srv.Accounts = account.NewDirectory(casebook.Book{Store: store, Sealer: wd.book.Sealer}, wd.srv.Random)
	w = wd.post("/me/password", url.Values{"password": {"four grey geese at dusk"}})
	if body := w.Body.String(); w.Code != http.StatusServiceUnavailable || strings.Contains(body, "grey geese") || strings.Contains(body, "kept on this page") {
		t.Errorf("a password: %d %s", w.Code, said(body))
	}
	wd.srv.Frozen = true
	for _, path := range []string{"/", page.CasePath(oneCase), "/sign-in"} {
		if body := wd.get(path).Body.String(); !strings.Contains(body, "Lowtide can only be read: when it was started") {
			t.Errorf("%s does not say it", path)
		}
	}
}

// TestAttackLogFlood: somebody without an account makes up names, keys and tokens; the access log grows by a few lines.
func TestAttackLogFlood(t *testing.T) {
	wd := staffed(t)
	wd.srv.Exchange = system{}
	count := func() int {
		lines, _, err := wd.log.Find(t.Context(), accesslog.Query{})
		if err != nil {
			t.Fatal(err)
		}
		return len(lines)
	}
	before, waits := count(), 0
	for i := range 400 {
		r := httptest.NewRequest("GET", "http://127.0.0.1/fhir/Patient", nil)
		r.Header.Set("Authorization", fmt.Sprint("Bearer made-up-", i))
		if w := wd.ask(r); w.Code == http.StatusTooManyRequests {
			waits++
		} else if w.Code != http.StatusUnauthorized {
			t.Fatalf("%d", w.Code)
		}
		wd.now = wd.now.Add(time.Second / 20)
	}
	if n := count() - before; n > 25 || waits < 300 {
		t.Errorf("%d lines for 400 made-up tokens, %d had to wait", n, waits)
	}
	before = count()
	for i := range 400 {
		wd.from = fmt.Sprintf("10.9.%d.%d:1", i/50, i%50)
		wd.post("/sign-in", url.Values{"name": {fmt.Sprint("nobody", i)}, "password": {"x"}})
	}
	for i := range 100 {
		wd.from = "10.8.0.1:1"
		wd.post("/sign-in", url.Values{"name": {fmt.Sprint("nobody", i)}, "password": {"x"}})
	}
	if n := count() - before; n > 400+25 {
		t.Errorf("%d lines for 500 wrong tries from 401 addresses", n)
	}
	if err := wd.log.Flush(t.Context(), wd.now); err != nil {
		t.Fatal(err)
	}
	lines, _, _ := wd.log.Find(t.Context(), accesslog.Query{What: accesslog.WrongTry})
	more := 0
	for _, l := range lines {
		if l.From == "10.8.0.1" {
			more += l.Times
		}
	}
	if more < 60 {
		t.Errorf("the summary tells of %d more", more)
	}
}

// TestAttackSharedAddress: sixty wrong passwords from an address do not hold up a colleague in another browser there.
func TestAttackSharedAddress(t *testing.T) {
	wd := staffed(t)
	for i := range 80 {
		wd.jar = map[string]*http.Cookie{}
		wd.post("/sign-in", url.Values{"name": {fmt.Sprint("guess", i%12)}, "password": {"x"}})
	}
	wd.jar = map[string]*http.Cookie{}
	wd.signIn("n.east")
}

// TestAttackParallelGuesses: of sixty wrong passwords at one moment no more are judged than one after the other.
func TestAttackParallelGuesses(t *testing.T) {
	wd := staffed(t)
	wd.srv.Hasher = account.NewHasher(account.Cost{MemoryKiB: 64, Passes: 1, Lanes: 1}, 2, 100)
	var judged atomic.Int64
	var wg sync.WaitGroup
	for range 60 {
		wg.Go(func() {
			r := httptest.NewRequest("POST", "http://127.0.0.1/sign-in", strings.NewReader(url.Values{"name": {"n.east"}, "password": {"guess"}}.Encode()))
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			r.Header.Set("Sec-Fetch-Site", "same-origin")
			r.RemoteAddr = "10.0.0.9:1"
			w := httptest.NewRecorder()
			wd.h.ServeHTTP(w, r)
			if w.Code == http.StatusUnprocessableEntity {
				judged.Add(1)
			}
		})
	}
	wg.Wait()
	if n := judged.Load(); n > 6 {
		t.Errorf("%d of 60 were judged", n)
	}
}

// TestAttackKeyOfAnotherCase: a form's key that was used in another case is told, and is no failure inside.
func TestAttackKeyOfAnotherCase(t *testing.T) {
	wd := staffed(t)
	wd.signIn("an.east")
	f := wd.parse(wd.get(page.CasePath(oneCase, "add", "note.written")).Body.String())
	f.values.Set("text", "one")
	if w := wd.post(f.action, f.values); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code)
	}
	wd.post(page.CasePath(otherCase, "why"), url.Values{"why": {"on call"}})
	n := len(wd.entries(otherCase))
	f.values.Set("text", "two")
	w := wd.post(page.CasePath(otherCase, "add", "note.written"), f.values)
	if w.Code >= 500 || w.Code == http.StatusSeeOther || len(wd.entries(otherCase)) != n || w.Code != http.StatusConflict {
		t.Errorf("%d %s", w.Code, said(w.Body.String()))
	}
	// A key that claims another year is asked about too.
	far := wd.parse(wd.get(page.CasePath(oneCase, "add", "note.written")).Body.String())
	far.values.Set("text", "three")
	far.values.Set("-key", strconv.FormatInt(1<<48-1, 36)+".0123456789abcdefghij")
	n = len(wd.entries(oneCase))
	if w := wd.post(far.action, far.values); w.Code != http.StatusUnprocessableEntity || len(wd.entries(oneCase)) != n {
		t.Errorf("a key of the year 10889: %d %s", w.Code, said(w.Body.String()))
	}
}

// TestTakeOver: the log says what came by file; a prescriber takes an order over, and nobody signs for somebody else.
func TestTakeOver(t *testing.T) {
	wd := staffed(t)
	bring := func(id, author string, b casebook.Body) {
		t.Helper()
		at := wd.now.Add(-time.Hour)
		if err := wd.book.Imported(t.Context(), oneCase, casebook.CaseImported{File: "ann.json", SHA256: "ab", Entries: []string{id}}, at, "B. Bringer"); err != nil {
			t.Fatal(err)
		}
		_, head, err := wd.book.Entries(t.Context(), oneCase)
		if err == nil {
			_, err = wd.book.Append(t.Context(), head, casebook.Entry{ID: id, Case: oneCase, Kind: b.Kind(), Version: 1, At: at, Recorded: at, Author: author, Body: b})
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	bring("0199a3c0-0000-7000-8000-000000000001", "p.other", casebook.OrderWritten{Prescriber: "Dr Other", Wounds: []string{"A"}, Stages: []casebook.Stage{{SuctionMmHg: 125}}, Filler: "foam", ContactLayer: "none", Goal: "close"})
	bring("0199a3c0-0000-7000-8000-000000000002", "n.east", casebook.ReviewSigned{Hash: "x", AsOf: wd.now, Rules: "x", Program: "x", Purpose: "visit"})
	order, sign := page.TakePath(oneCase, "0199a3c0-0000-7000-8000-000000000001"), page.TakePath(oneCase, "0199a3c0-0000-7000-8000-000000000002")
	wd.signIn("p.east")
	body := wd.get(page.CasePath(oneCase, "log")).Body.String()
	if !strings.Contains(body, "Came by file ann.json, brought by B. Bringer") || !strings.Contains(body, "said to be by") || !strings.Contains(body, order) || strings.Contains(body, sign) {
		t.Error("the log does not say what came by file, or offers a signature to somebody else")
	}
	if body := wd.get(page.CasePath(oneCase)).Body.String(); !strings.Contains(body, "Claimed by a file") {
		t.Error("the case shows the order as given here")
	}
	const mark = "(By file: nobody here has taken it over.)"
	for _, path := range []string{"/", page.CasePath(oneCase), page.CasePath(oneCase, "paper", "progress")} {
		if !strings.Contains(wd.get(path).Body.String(), mark) {
			t.Errorf("%s: no finding says that it rests on a file", path)
		}
	}
	if w := wd.get(sign); w.Code != http.StatusForbidden {
		t.Errorf("somebody else's signature: %d", w.Code)
	}
	if w := wd.post(order, url.Values{"why": {" "}}); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("without a word: %d", w.Code)
	}
	if w := wd.get(order); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "Dr Other") {
		t.Errorf("the question: %d", w.Code)
	}
	if w := wd.post(order, url.Values{"why": {"read back to Dr Other"}}); w.Code != http.StatusSeeOther {
		t.Errorf("taken over: %d %s", w.Code, said(w.Body.String()))
	}
	if body := wd.get(page.CasePath(oneCase)).Body.String(); strings.Contains(body, "Claimed by a file") {
		t.Error("it is still claimed")
	}
	for _, path := range []string{"/", page.CasePath(oneCase)} {
		if strings.Contains(wd.get(path).Body.String(), mark) {
			t.Errorf("%s: a finding still says that it rests on a file", path)
		}
	}
	if body := wd.get(page.CasePath(oneCase, "log")).Body.String(); !strings.Contains(body, "Taken over by p.east") {
		t.Error("the log does not say who took it over")
	}
	if w := wd.post(order, url.Values{"why": {"again"}}); w.Code != http.StatusNotFound {
		t.Errorf("a second time: %d", w.Code)
	}
	wd.jar = map[string]*http.Cookie{}
	wd.signIn("n.east")
	if w := wd.post(sign, url.Values{"why": {"I signed it there"}}); w.Code != http.StatusSeeOther || len(wd.fold(oneCase).Signed) != 1 {
		t.Errorf("her own signature: %d", w.Code)
	}
}
