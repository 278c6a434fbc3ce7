package web_test

import (
	"context"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"lowtide/accesslog"
	"lowtide/account"
	"lowtide/casebook"
	"lowtide/casebook/memory"
	"lowtide/web"
	"lowtide/web/page"
)

// ward is a server with accounts, and a client that may sign in.
type ward struct {
	*client
	dir    *account.Directory
	log    *accesslog.Log
	erased []string
	jar    map[string]*http.Cookie
	from   string
}

const longPassword = "three blue herons at dawn"

// people of the ward: n.east is nurse of team East, n.west of West; an administrator alone and one who is a nurse too.
var people = []struct {
	name  string
	roles []account.Role
	teams []string
}{
	{"n.east", []account.Role{account.Nurse}, []string{"East"}},
	{"n.west", []account.Role{account.Nurse}, []string{"West"}},
	{"p.east", []account.Role{account.Prescriber}, []string{"East"}},
	{"r.east", []account.Role{account.Reader}, []string{"East"}},
	{"stores", []account.Role{account.Stores}, []string{"East"}},
	{"admin", []account.Role{account.Admin}, []string{"East"}},
	{"an.east", []account.Role{account.Admin, account.Nurse}, []string{"East"}},
}

const codeSecret = "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"

func newWard(t testing.TB) *ward {
	t.Helper()
	c := newClient(t)
	wd := &ward{client: c, jar: map[string]*http.Cookie{}, from: "10.0.0.1:5000"}
	random := rand.NewChaCha8([32]byte{2})
	wd.dir = account.NewDirectory(c.book, random)
	wd.log = accesslog.New(casebook.Book{Store: memory.New()}, random)
	srv := &web.Server{Caseload: c.srv.Caseload, Rules: c.srv.Rules, Equipment: c.srv.Equipment, Now: c.srv.Now, Random: random, Zone: time.UTC,
		Accounts: wd.dir, Access: wd.log, Hasher: account.NewHasher(account.Cost{MemoryKiB: 64, Passes: 1, Lanes: 1}, 2, 10),
		Erase: func(_ context.Context, caseID, by, reason string) error {
			wd.erased = append(wd.erased, caseID+" "+by+" "+reason)
			return nil
		}}
	c.srv, c.h, c.cookie = srv, srv.Handler(), nil
	return wd
}

// staffed has everybody, each with the same password; administrators with one-time codes.
func staffed(t testing.TB) *ward {
	t.Helper()
	wd := newWard(t)
	hash, err := wd.srv.Hasher.Hash(t.Context(), wd.srv.Random, longPassword)
	if err != nil {
		t.Fatal(err)
	}
	_, err = wd.dir.Change(t.Context(), noon, "setup", "", func(s *account.Set) (out []casebook.Body, err error) {
		for _, p := range people {
			b, err := s.Create(p.name, "Person "+p.name, p.roles, p.teams)
			if err != nil {
				return nil, err
			}
			out = append(out, b, account.PasswordSet{Name: p.name, Hash: hash})
			if slices.Contains(p.roles, account.Admin) {
				out = append(out, account.CodeSet{Name: p.name, Secret: codeSecret})
			}
		}
		return out, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	patients(wd.client)
	wd.add(oneCase, 3*day, casebook.PersonRegistered{Name: "Ann Case", Place: "home", Zone: "Europe/London", Team: "East"})
	wd.add(otherCase, 3*day, casebook.PersonRegistered{Name: "Bea Other", Record: "R-2", Place: "ward", Zone: "Europe/London", Team: "West"})
	return wd
}

// ask sends a request with the cookies and keeps those that come back.
func (wd *ward) ask(r *http.Request) *httptest.ResponseRecorder {
	r.RemoteAddr = wd.from
	for _, c := range wd.jar {
		r.AddCookie(c)
	}
	w := httptest.NewRecorder()
	wd.h.ServeHTTP(w, r)
	for _, c := range w.Result().Cookies() {
		if c.MaxAge < 0 {
			delete(wd.jar, c.Name)
		} else {
			wd.jar[c.Name] = c
		}
	}
	return w
}

func (wd *ward) get(path string) *httptest.ResponseRecorder {
	return wd.ask(httptest.NewRequest("GET", "http://127.0.0.1"+path, nil))
}

func (wd *ward) post(path string, form url.Values) *httptest.ResponseRecorder {
	r := httptest.NewRequest("POST", "http://127.0.0.1"+path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return wd.ask(r)
}

var hiddenStep = "name=\"step\" value=\""

// signIn signs somebody in, with the one-time code when it is asked for.
func (wd *ward) signIn(name string) {
	wd.t.Helper()
	w := wd.post("/sign-in", url.Values{"name": {name}, "password": {longPassword}})
	if w.Code == http.StatusOK {
		_, rest, ok := strings.Cut(w.Body.String(), hiddenStep)
		if !ok {
			wd.t.Fatalf("%s: no code is asked for: %s", name, said(w.Body.String()))
		}
		step, _, _ := strings.Cut(rest, `"`)
		// Each code counts once, so the clock goes on.
		wd.now = wd.now.Add(90 * time.Second)
		w = wd.post("/sign-in/code", url.Values{"step": {step}, "code": {account.CodeAt(codeSecret, wd.now)}})
	}
	if w.Code != http.StatusSeeOther {
		wd.t.Fatalf("%s: %d %s", name, w.Code, said(w.Body.String()))
	}
}

// TestEveryRouteHasARule: a line of the table without a rule, or with one that lets in nobody or everybody by
// mistake, fails here.
func TestEveryRouteHasARule(t *testing.T) {
	open := map[string]bool{"GET /open": true, "GET /static/{mark}/{file}": true, "GET /worker.js": true, "GET /program/{mark}/{file}": true, "GET /manifest.webmanifest": true, "GET /icon/{size}": true, "GET /sign-in": true, "POST /sign-in": true, "POST /sign-in/code": true, "POST /passkey/begin": true, "POST /passkey/finish": true, "GET /link": true, "POST /link": true,
		// other systems carry a token, which the handlers judge: TestFHIRAddresses
		"GET /fhir/metadata": true, "GET /fhir/{type}": true, "GET /fhir/{type}/{id}": true,
		// a calendar program carries a secret address, which the handler judges: TestWeekCalendar
		"GET /calendar/{token}": true,
		// a phone that nobody can unlock any more asks whether it was lost; it learns nothing else: TestMeetWord
		"POST /meet/word": true}
	seen := map[string]bool{}
	for _, r := range newWard(t).srv.Routes() {
		line := r.Method + " " + r.Path
		n := r.Needs
		if seen[line] {
			t.Errorf("%s stands twice", line)
		}
		seen[line] = true
		switch {
		case n.Rule == "":
			t.Errorf("%s has no rule", line)
		case n.Open != open[line]:
			t.Errorf("%s open: %v; the list of this test says %v", line, n.Open, open[line])
		case !n.Open && !n.SetUp && len(n.Roles) == 0:
			t.Errorf("%s lets nobody in", line)
		case strings.Contains(r.Path, "{case}") && (slices.Contains(n.Roles, account.Stores) || !n.Kept && slices.Contains(n.Roles, account.Admin)):
			t.Errorf("%s shows a case to stores or to an administrator", line)
		case n.Kept && !strings.HasSuffix(r.Path, "/why") && !strings.HasSuffix(r.Path, "/erase"):
			t.Errorf("%s does not ask for a reason", line)
		case strings.HasPrefix(r.Path, "/account") && (!n.Strong || r.Method == "POST" && !n.Fresh):
			t.Errorf("%s does not ask an administrator who she is", line)
		case r.Method != "GET" && r.Method != "POST":
			t.Errorf("%s has a method that no browser's form sends", line)
		case r.Method == "GET" && r.Takes.Limit != 0, r.Method == "POST" && r.Takes.Limit == 0:
			t.Errorf("%s: body of %d", line, r.Takes.Limit)
		case r.Method == "POST" && (r.Takes.What == "" || r.Takes.Next == ""):
			t.Errorf("%s has no words for a body that is too large", line)
		}
	}
}

// may says by path, without looking at the table, which roles get in. It is the second opinion.
func may(method, path string) []account.Role {
	switch {
	case method == "POST" && strings.HasSuffix(path, "/asked"):
		return []account.Role{account.Nurse}
	case strings.HasPrefix(path, "/set-up"):
		return nil
	case strings.HasPrefix(path, "/account"), strings.HasPrefix(path, "/tokens"), strings.HasPrefix(path, "/access"), strings.HasSuffix(path, "/erase"):
		return []account.Role{account.Admin}
	case strings.HasPrefix(path, "/meet/") && path != "/meet/push" && path != "/meet/phone":
		return account.Clinical
	case strings.HasPrefix(path, "/call"), strings.HasSuffix(path, "/call"), strings.Contains(path, "/call/"):
		return []account.Role{account.Nurse}
	case strings.HasPrefix(path, "/pumps"):
		return []account.Role{account.Nurse, account.Prescriber, account.Reader, account.Stores}
	case strings.HasSuffix(path, "/bring"), strings.Contains(path, "/bring/"):
		return []account.Role{account.Nurse}
	case path == "/seal":
		return []account.Role{account.Nurse, account.Admin}
	case path == "/stores/lot":
		return account.Clinical
	case strings.HasPrefix(path, "/stores"):
		return []account.Role{account.Nurse, account.Stores}
	case path == "/bag", path == "/bag/pdf", strings.HasPrefix(path, "/week"), path == "/case/new", strings.HasSuffix(path, "/visit"), strings.Contains(path, "/visit/"), strings.Contains(path, "/correct/"):
		return []account.Role{account.Nurse}
	case strings.HasSuffix(path, "/photo"), strings.Contains(path, "/outline/") && (strings.HasSuffix(path, "/confirm") || strings.HasSuffix(path, "/edge") || strings.HasSuffix(path, "/measure")):
		return []account.Role{account.Nurse}
	case strings.Contains(path, "/pump-log/"):
		return []account.Role{account.Nurse}
	case strings.Contains(path, "/add"), strings.HasSuffix(path, "/sign"), strings.Contains(path, "/take/"):
		return []account.Role{account.Nurse, account.Prescriber}
	case strings.HasPrefix(path, "/case/"), path == "/others":
		return account.Clinical
	}
	return account.Roles
}

// TestRolesOnEveryRoute tries every account, and nobody, on every route and method. Whoever is kept out is answered
// 401 or 403 and learns no patient's name.
func TestRolesOnEveryRoute(t *testing.T) {
	wd := staffed(t)
	entry := wd.entries(oneCase)[0].ID
	jars := map[string]map[string]*http.Cookie{"": {}}
	for _, p := range people {
		wd.jar = map[string]*http.Cookie{}
		wd.signIn(p.name)
		jars[p.name] = wd.jar
	}
	tried := 0
	for _, r := range wd.srv.Routes() {
		if r.Needs.Open || r.Path == "/leave" || r.Path == "/switch" || strings.HasPrefix(r.Path, "/me") || r.Path == "/again" {
			continue // the door, and what ends or changes the session that the next line needs; they have tests of their own
		}
		path := strings.NewReplacer("{$}", "", "{case}", oneCase, "{kind}", "order.written", "{entry}", entry, "{wound}", "A", "{name}", "nobody.here", "{call}", "c-1", "{rule}", "VIS-OFF-01").Replace(r.Path)
		for _, p := range append([]struct {
			name  string
			roles []account.Role
			teams []string
		}{{name: ""}}, people...) {
			wd.jar = jars[p.name]
			var w *httptest.ResponseRecorder
			if r.Method == "GET" {
				w = wd.get(path)
			} else {
				w = wd.post(path, url.Values{})
			}
			tried++
			allowed := slices.ContainsFunc(may(r.Method, path), func(role account.Role) bool { return slices.Contains(p.roles, role) })
			body := w.Body.String()
			line := fmt.Sprintf("%s %s as %q: %d", r.Method, r.Path, p.name, w.Code)
			switch {
			case p.name == "n.west" && strings.HasPrefix(path, "/case/0") && allowed && !r.Needs.Kept:
				// Of another team: the role would do, the list does not.
				if w.Code != http.StatusForbidden || !strings.Contains(body, "not on your list") {
					t.Error(line)
				}
				allowed = false
			case may(r.Method, path) == nil:
				if w.Code != http.StatusNotFound {
					t.Error(line)
				}
			case p.name == "" && w.Code != http.StatusUnauthorized:
				t.Error(line)
			case p.name != "" && !allowed && w.Code != http.StatusForbidden:
				t.Error(line)
			case allowed && (w.Code == http.StatusForbidden || w.Code == http.StatusUnauthorized || w.Code >= 500):
				t.Error(line, said(body))
			}
			if (!allowed || p.name == "stores" || p.name == "admin") && (strings.Contains(body, "Ann Case") || strings.Contains(body, "Bea Other")) {
				t.Errorf("%s names a patient", line)
			}
		}
		if len(wd.erased) > 0 {
			t.Fatalf("an empty form erased: %v", wd.erased)
		}
	}
	refused, _, err := wd.log.Find(t.Context(), accesslog.Query{What: accesslog.Refused, Account: "stores"})
	if err != nil || len(refused) < 20 {
		t.Errorf("%d refusals of stores are in the access log, %v", len(refused), err)
	}
	if tried < 250 {
		t.Errorf("%d requests were tried", tried)
	}
}

// TestPrescriberKinds: a prescriber writes orders and decisions and signs, and nothing else.
func TestPrescriberKinds(t *testing.T) {
	wd := staffed(t)
	wd.signIn("p.east")
	for _, kind := range casebook.Kinds() {
		if kind == casebook.KindDressingChanged || kind == casebook.KindReviewSigned || kind == casebook.KindEntryCorrected || kind == casebook.KindPhotoTaken || kind == casebook.KindOutlineTraced || kind == casebook.KindLogImported ||
			kind == casebook.KindContradictionSettled {
			continue
		}
		want := http.StatusForbidden
		if kind == casebook.KindOrderWritten || kind == casebook.KindOrderStopped || kind == casebook.KindDecisionMade {
			want = http.StatusOK
		}
		if w := wd.get(page.CasePath(oneCase, "add", string(kind))); w.Code != want {
			t.Errorf("%s: %d", kind, w.Code)
		}
		if want == http.StatusForbidden {
			n := len(wd.entries(oneCase))
			if w := wd.post(page.CasePath(oneCase, "add", string(kind)), url.Values{"text": {"x"}}); w.Code != want || len(wd.entries(oneCase)) != n {
				t.Errorf("POST %s: %d", kind, w.Code)
			}
		}
	}
	body := wd.get(page.CasePath(oneCase, "add")).Body.String()
	if strings.Contains(body, "/visit\"") || !strings.Contains(body, "order.written") {
		t.Error("the menu offers what she may not write, or not what she may")
	}
}

// TestReasonOutsideTheList: a nurse of the east gets nothing of a western patient before she says why; then every
// page is in the access log with her reason.
func TestReasonOutsideTheList(t *testing.T) {
	wd := staffed(t)
	wd.signIn("n.east")
	if body := wd.get("/").Body.String(); !strings.Contains(body, "Ann Case") || strings.Contains(body, "Bea Other") {
		t.Error("Rounds shows another list than hers")
	}
	for _, path := range []string{"", "/log", "/visit", "/add", "/add/note.written", "/sign"} {
		w := wd.get(page.CasePath(otherCase) + path)
		if w.Code != http.StatusForbidden || strings.Contains(w.Body.String(), "Bea") || strings.Contains(w.Body.String(), "shin") {
			t.Errorf("%s without a reason: %d", path, w.Code)
		}
	}
	n := len(wd.entries(otherCase))
	if w := wd.post(page.CasePath(otherCase, "add", "note.written"), url.Values{"text": {"x"}}); w.Code != http.StatusForbidden || len(wd.entries(otherCase)) != n {
		t.Errorf("written without a reason: %d", w.Code)
	}
	// Moving an entry there is writing there.
	f := wd.parse(wd.get(page.CasePath(oneCase, "correct", wd.entries(oneCase)[3].ID) + "?do=move").Body.String())
	f.values.Set("other_case", otherCase)
	f.values.Set("reason", "wrong patient")
	if w := wd.post(f.action, f.values); w.Code != http.StatusUnprocessableEntity || len(wd.entries(otherCase)) != n {
		t.Errorf("moved without a reason: %d %s", w.Code, said(w.Body.String()))
	}
	for _, short := range []string{"", " x ", strings.Repeat("x", 201)} {
		if w := wd.post(page.CasePath(otherCase, "why"), url.Values{"why": {short}}); w.Code != http.StatusUnprocessableEntity {
			t.Errorf("the reason %.5q: %d", short, w.Code)
		}
	}
	w := wd.post(page.CasePath(otherCase, "why"), url.Values{"why": {"on call tonight"}, "to": {page.CasePath(otherCase, "log")}})
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != page.CasePath(otherCase, "log") {
		t.Errorf("with a reason: %d to %s", w.Code, w.Header().Get("Location"))
	}
	if w := wd.get(page.CasePath(otherCase)); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "Bea Other") {
		t.Errorf("after the reason: %d", w.Code)
	}
	lines, _, err := wd.log.Find(t.Context(), accesslog.Query{Case: otherCase, Account: "n.east"})
	if err != nil || len(lines) != 1 || !lines[0].Outside || lines[0].Why != "on call tonight" || lines[0].What != accesslog.Read || lines[0].From != "10.0.0.1" {
		t.Errorf("%+v, %v", lines, err)
	}
	// The reason ends with the session.
	wd.post("/leave", nil)
	wd.signIn("n.east")
	if w := wd.get(page.CasePath(otherCase)); w.Code != http.StatusForbidden {
		t.Errorf("in a new session: %d", w.Code)
	}
	// And the address it leads to stays on this server and this case.
	for _, to := range []string{"//evil.example", "https://evil.example/", "/accounts", "/\\evil.example"} {
		if w := wd.post(page.CasePath(otherCase, "why"), url.Values{"why": {"on call"}, "to": {to}}); w.Header().Get("Location") != page.CasePath(otherCase) {
			t.Errorf("led to %s", w.Header().Get("Location"))
		}
	}
}

// brokenStore takes nothing.
type brokenStore struct{ casebook.Store }

func (brokenStore) Append(context.Context, string, string, ...casebook.Record) (string, error) {
	return "", fmt.Errorf("disk full")
}

// TestNoPageWithoutItsLine: where the access log cannot be written, no case is shown and nothing is written.
func TestNoPageWithoutItsLine(t *testing.T) {
	wd := staffed(t)
	wd.signIn("n.east")
	wd.srv.Access = accesslog.New(casebook.Book{Store: brokenStore{memory.New()}}, wd.srv.Random)
	var said strings.Builder
	wd.srv.Log = slog.New(slog.NewTextHandler(&said, nil))
	n := len(wd.entries(oneCase))
	for _, path := range []string{"/", page.CasePath(oneCase), page.CasePath(oneCase, "log"), page.CasePath(oneCase, "visit")} {
		if w := wd.get(path); w.Code != http.StatusInternalServerError || strings.Contains(w.Body.String(), "Ann") {
			t.Errorf("GET %s: %d", path, w.Code)
		}
	}
	if w := wd.post(page.CasePath(oneCase, "add", "note.written"), url.Values{"text": {"x"}}); w.Code != http.StatusInternalServerError || len(wd.entries(oneCase)) != n {
		t.Errorf("POST: %d", w.Code)
	}
	wd.jar = map[string]*http.Cookie{}
	if w := wd.post("/sign-in", url.Values{"name": {"n.west"}, "password": {longPassword}}); w.Code != http.StatusInternalServerError || len(wd.jar) != 0 {
		t.Errorf("signed in without a line: %d", w.Code)
	}
	// What the server's own log has of all this: a reference and a pattern, and neither a patient nor a person.
	if text := said.String(); strings.Count(text, "disk full") != 6 || strings.Contains(text, "Ann") || strings.Contains(text, oneCase) || strings.Contains(text, "n.east") || strings.Contains(text, "n.west") {
		t.Errorf("the server's log: %s", text)
	}
}

// TestAuthor: entries carry the account that is signed in, whatever the form says.
func TestAuthor(t *testing.T) {
	wd := staffed(t)
	wd.signIn("n.east")
	f := wd.parse(wd.get(page.CasePath(oneCase, "add", "note.written")).Body.String())
	f.values.Set("text", "hello")
	f.values.Set("author", "n.west")
	if w := wd.post(f.action, f.values); w.Code != http.StatusSeeOther {
		t.Fatalf("%d %s", w.Code, said(w.Body.String()))
	}
	list := wd.entries(oneCase)
	if got := list[len(list)-1].Author; got != "n.east" {
		t.Errorf("author %q", got)
	}
}
