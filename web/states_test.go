package web_test

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"strings"
	"testing"
	"time"

	"lowtide/account"
	"lowtide/casebook"
	"lowtide/web/page"
)

// devices is a [web.Passkeys] that takes the name of an account for the device's answer.
type devices struct{}

func (devices) BeginAdd(string, *account.Account, time.Time) ([]byte, string, error) {
	return []byte(`{}`), "k", nil
}
func (devices) FinishAdd(_ string, a *account.Account, _ []byte, _ time.Time) (string, []byte, error) {
	return "new-key-of-" + a.Name, []byte(`{}`), nil
}
func (devices) BeginSignIn(string, time.Time) ([]byte, string, error) {
	return []byte(`{}`), "k", nil
}
func (devices) FinishSignIn(_ string, set *account.Set, answer []byte, _ time.Time) (*account.Account, error) {
	var name string
	if err := json.Unmarshal(answer, &name); err != nil || set.Get(name) == nil || len(set.Get(name).Passkeys) == 0 {
		return nil, http.ErrNoCookie
	}
	return set.Get(name), nil
}

// byPasskey signs somebody in with a passkey.
func (wd *ward) byPasskey(name string) {
	wd.t.Helper()
	if w := wd.postJSON("/passkey/finish", `{"key":"k","answer":"`+name+`"}`); w.Code != http.StatusOK {
		wd.t.Fatalf("%s by passkey: %d %s", name, w.Code, w.Body)
	}
}

func (wd *ward) postJSON(path, body string) *httptest.ResponseRecorder {
	r := httptest.NewRequest("POST", "http://127.0.0.1"+path, strings.NewReader(body))
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return wd.ask(r)
}

// inState makes the account of a state of testdata/sessions.txt; it has every role.
func (wd *ward) inState(state string) {
	wd.t.Helper()
	_, err := wd.dir.Change(wd.t.Context(), wd.now, "setup", "", func(s *account.Set) ([]casebook.Body, error) {
		out := []casebook.Body{account.Created{Name: state, Shown: "All Roles", Roles: account.Roles, Teams: []string{"East"}}, account.PasswordSet{Name: state, Hash: s.Get("n.east").Hash},
			account.PasskeysAsked{All: strings.HasPrefix(state, "asked-")}}
		if strings.Contains(state, "code") || state == "step" {
			out = append(out, account.CodeSet{Name: state, Secret: codeSecret})
		}
		if strings.Contains(state, "key") {
			out = append(out, account.PasskeyAdded{Name: state, ID: "key-" + state, Label: "phone", Credential: []byte(`{}`)})
		}
		return out, nil
	})
	if err != nil {
		wd.t.Fatal(err)
	}
}

// enterState brings the browser into a state.
func (wd *ward) enterState(state string) {
	wd.t.Helper()
	delete(wd.jar, "lowtide")
	switch {
	case state == "none":
	case state == "step":
		if w := wd.post("/sign-in", url.Values{"name": {state}, "password": {longPassword}}); field(w.Body.String(), "step") == "" {
			wd.t.Fatal("no code is asked for")
		}
	case strings.HasSuffix(state, "passkey"):
		wd.byPasskey(state)
	default:
		wd.signIn(state)
	}
	switch {
	case strings.HasSuffix(state, "-old"):
		wd.now = wd.now.Add(6 * time.Minute)
	case state == "ended":
		wd.now = wd.now.Add(31 * time.Minute)
	}
}

// answered is the word of testdata/sessions.txt for an answer.
func answered(w *httptest.ResponseRecorder) string {
	body := w.Body.String()
	switch {
	case w.Code == http.StatusUnauthorized:
		return "sign"
	case w.Code == http.StatusForbidden && strings.Contains(body, "Prove once more"):
		return "prove"
	case w.Code == http.StatusForbidden && strings.Contains(body, "Administrators need a second factor"):
		return "factor"
	case w.Code == http.StatusForbidden && strings.Contains(body, "asks everybody for a passkey"):
		return "key"
	case w.Code == http.StatusNotFound:
		return "gone"
	case w.Code >= 500:
		return "broken"
	}
	return "in"
}

// TestSessionList: a person sees where she is signed in and ends one of the sessions; nobody else's.
func TestSessionList(t *testing.T) {
	wd := staffed(t)
	wd.signIn("n.east")
	phone := wd.jar
	wd.jar = map[string]*http.Cookie{}
	wd.signIn("n.east")
	body := wd.get("/me").Body.String()
	id := field(body, "session")
	if !strings.Contains(body, "(this one)") || len(id) != 16 || strings.Contains(body, wd.jar["lowtide"].Value) {
		t.Fatalf("the list of sessions: id %q", id)
	}
	mine := wd.jar
	wd.jar = map[string]*http.Cookie{}
	wd.signIn("n.west")
	wd.post("/me/session", url.Values{"session": {id}})
	wd.jar = phone
	if w := wd.get("/"); w.Code != http.StatusOK {
		t.Errorf("a colleague ended it: %d", w.Code)
	}
	wd.jar = mine
	if w := wd.post("/me/session", url.Values{"session": {id}}); w.Code != http.StatusSeeOther {
		t.Errorf("end: %d", w.Code)
	}
	if w := wd.get("/"); w.Code != http.StatusOK {
		t.Errorf("the one that asked: %d", w.Code)
	}
	wd.jar = phone
	if w := wd.get("/"); w.Code != http.StatusUnauthorized {
		t.Errorf("the one that was ended: %d", w.Code)
	}
	// An administrator ends sessions of others.
	wd.signIn("n.east")
	phone = wd.jar
	wd.jar = map[string]*http.Cookie{}
	wd.signIn("admin")
	if w := wd.post("/account/n.east/session", url.Values{"session": {account.SessionID(phone["lowtide"].Value)}}); w.Code != http.StatusSeeOther {
		t.Errorf("an administrator: %d", w.Code)
	}
	wd.jar = phone
	if w := wd.get("/"); w.Code != http.StatusUnauthorized {
		t.Errorf("after the administrator: %d", w.Code)
	}
}

// TestPasskeysForEverybody: an administrator who came by a passkey asks everybody for one; then a password opens one's
// own account and nothing else, until a passkey is added there.
func TestPasskeysForEverybody(t *testing.T) {
	wd := staffed(t)
	wd.srv.Passkeys = devices{}
	wd.signIn("admin")
	if w := wd.post("/accounts/passkeys", url.Values{"all": {"yes"}}); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "did not sign in with a passkey yourself") {
		t.Errorf("asked by somebody without one: %d", w.Code)
	}
	if w := wd.postJSON("/me/passkey/finish", `{"key":"k","label":"phone","answer":"x"}`); w.Code != http.StatusOK {
		t.Fatalf("add: %d %s", w.Code, w.Body)
	}
	if w := wd.post("/accounts/passkeys", url.Values{"all": {"yes"}}); w.Code != http.StatusSeeOther {
		t.Errorf("asked: %d %s", w.Code, said(w.Body.String()))
	}
	if body := wd.get("/accounts").Body.String(); !strings.Contains(body, "Still without one: Person an.east, Person n.east") {
		t.Error("it is not said who has none yet")
	}
	wd.jar = map[string]*http.Cookie{}
	wd.signIn("n.east")
	if w := wd.get(page.CasePath(oneCase)); w.Code != http.StatusForbidden || strings.Contains(w.Body.String(), "Ann") {
		t.Errorf("by the password: %d", w.Code)
	}
	if body := wd.get("/me").Body.String(); !strings.Contains(body, "asks everybody for a passkey") {
		t.Error("her own page does not say what is asked")
	}
	if w := wd.postJSON("/me/passkey/finish", `{"key":"k","label":"phone","answer":"x"}`); w.Code != http.StatusOK {
		t.Fatalf("add: %d %s", w.Code, w.Body)
	}
	if w := wd.get(page.CasePath(oneCase)); w.Code != http.StatusOK {
		t.Errorf("by the passkey: %d", w.Code)
	}
}

// TestEverywhereIsNoProof: signing out everywhere else keeps the session, and does not count as a proof of who one is.
func TestEverywhereIsNoProof(t *testing.T) {
	wd := staffed(t)
	wd.signIn("n.east")
	wd.now = wd.now.Add(6 * time.Minute)
	if w := wd.post("/me/everywhere", nil); w.Code != http.StatusSeeOther {
		t.Fatalf("%d", w.Code)
	}
	if w := wd.post("/me/password", url.Values{"password": {"four grey geese at dusk"}}); answered(w) != "prove" {
		t.Errorf("the password was changed without a proof: %d", w.Code)
	}
}

// TestLostFactors: another administrator takes the second factors away, says why, and the accounts' log has it.
func TestLostFactors(t *testing.T) {
	wd := staffed(t)
	wd.givePasskey("n.east")
	wd.signIn("admin")
	if w := wd.post("/account/n.east/second", nil); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("without a reason: %d", w.Code)
	}
	if w := wd.post("/account/admin/second", url.Values{"lost": {"my phone"}}); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("her own: %d", w.Code)
	}
	if w := wd.post("/account/n.east/second", url.Values{"lost": {"phone stolen; she stood here"}}); w.Code != http.StatusSeeOther {
		t.Errorf("with a reason: %d", w.Code)
	}
	if a := wd.accountOf("n.east"); a.SecondFactor() {
		t.Error("the factors are still there")
	}
	list, _, err := casebook.Register{Book: wd.book, ID: casebook.Accounts}.Entries(t.Context())
	if last := list[len(list)-1]; err != nil || last.Kind != account.KindSecondReset || last.Author != "admin" || last.Reason != "phone stolen; she stood here" {
		t.Errorf("%+v, %v", last, err)
	}
}

// TestStatesOfASession tries every route in every state of a session against the table that was written by hand.
func TestStatesOfASession(t *testing.T) {
	raw, err := os.ReadFile("testdata/sessions.txt")
	if err != nil {
		t.Fatal(err)
	}
	var states []string
	rows, classOf := map[string][]string{}, map[string]string{}
	for line := range strings.Lines(string(raw)) {
		f := strings.Fields(line)
		switch {
		case len(f) == 0 || f[0] == "#":
		case f[0] == "states":
			states = f[1:]
		case f[0] == "GET" || f[0] == "POST":
			classOf[f[0]+" "+f[1]] = f[2]
		default:
			rows[f[0]] = f[1:]
		}
	}
	// The rule about passkeys is for all accounts, so each of its two states has a ward.
	plain, asked := staffed(t), staffed(t)
	in := func(state string) *ward {
		if strings.HasPrefix(state, "asked-") {
			return asked
		}
		return plain
	}
	plain.srv.Passkeys, asked.srv.Passkeys = devices{}, devices{}
	for _, state := range states {
		in(state).inState(state)
	}
	entry := plain.entries(oneCase)[0].ID
	tried := 0
	for _, r := range plain.srv.Routes() {
		line := r.Method + " " + r.Path
		class, listed := classOf[line]
		if !listed || len(rows[class]) != len(states) {
			t.Errorf("%s is not in testdata/sessions.txt, or its row %q is not whole", line, class)
			continue
		}
		delete(classOf, line)
		path := strings.NewReplacer("{$}", "", "{case}", oneCase, "{kind}", "order.written", "{entry}", entry, "{wound}", "A", "{name}", "n.east", "{call}", "c-1", "{rule}", "VIS-OFF-01").Replace(r.Path)
		for i, state := range states {
			wd := in(state)
			wd.enterState(state)
			var w *httptest.ResponseRecorder
			if r.Method == "GET" {
				w = wd.get(path)
			} else {
				w = wd.post(path, url.Values{})
			}
			tried++
			got, want := answered(w), rows[class][i]
			if got == "gone" && want == "in" {
				got = "in" // it came to the handler, which knows no such thing
			}
			if got != want {
				t.Errorf("%s in state %s: %s (%d), want %s", line, state, got, w.Code, want)
			}
		}
	}
	if len(plain.erased)+len(asked.erased) > 0 {
		t.Errorf("erased: %v %v", plain.erased, asked.erased)
	}
	for line := range classOf {
		t.Errorf("testdata/sessions.txt has %s, which is no route", line)
	}
	if len(states) != 14 || tried < 1300 {
		t.Errorf("%d states, %d requests", len(states), tried)
	}
}
