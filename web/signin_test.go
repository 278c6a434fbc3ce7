package web_test

import (
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"strings"
	"testing"
	"time"

	"lowtide/accesslog"
	"lowtide/account"
	"lowtide/web/page"
	"lowtide/web/static"
)

// field is the value of a hidden field.
func field(body, name string) string {
	_, rest, _ := strings.Cut(body, `name="`+name+`" value="`)
	v, _, _ := strings.Cut(rest, `"`)
	return v
}

// TestSetUp: the link makes the first account once; nobody else can, before or after.
func TestSetUp(t *testing.T) {
	wd := newWard(t)
	path, err := wd.srv.NewSetUp()
	if err != nil {
		t.Fatal(err)
	}
	if w := wd.get("/"); w.Code != http.StatusUnauthorized || !strings.Contains(w.Body.String(), "no account yet") {
		t.Errorf("before: %d", w.Code)
	}
	form := url.Values{"shown": {"Mara Holt"}, "name": {"M.Holt"}, "teams": {"East\n\n West "}, "nurse": {"yes"}, "password": {longPassword}, "key": {"wrong"}}
	if w := wd.post("/set-up", form); w.Code != http.StatusForbidden {
		t.Errorf("another key: %d", w.Code)
	}
	w := wd.get(path)
	form.Set("key", field(w.Body.String(), "key"))
	for name, bad := range map[string]string{"password": "mara holt lowtide", "name": "m h", "shown": " "} {
		old := form.Get(name)
		form.Set(name, bad)
		if w := wd.post("/set-up", form); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), `href="#f-`+name) || strings.Contains(w.Body.String(), longPassword) {
			t.Errorf("%s %q: %d", name, bad, w.Code)
		}
		form.Set(name, old)
	}
	if w := wd.post("/set-up", form); w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/me?done=set-up" {
		t.Fatalf("%d %s", w.Code, said(w.Body.String()))
	}
	set, _ := wd.dir.Set(t.Context(), wd.now)
	a := set.Get("m.holt")
	if a == nil || !a.Is(account.Admin) || !a.Is(account.Nurse) || len(a.Teams) != 2 || strings.Contains(a.Hash, longPassword) || !strings.HasPrefix(a.Hash, "$argon2id$") {
		t.Fatalf("%+v", a)
	}
	if w := wd.post("/set-up", form); w.Code != http.StatusNotFound {
		t.Errorf("a second time: %d", w.Code)
	}
	// Nursing works at once; administering takes a second factor.
	if w := wd.get("/"); w.Code != http.StatusOK {
		t.Errorf("Rounds: %d", w.Code)
	}
	if w := wd.get("/accounts"); w.Code != http.StatusForbidden || !strings.Contains(w.Body.String(), "second factor") {
		t.Errorf("accounts without a second factor: %d", w.Code)
	}
	secret := strings.ReplaceAll(factText(wd.post("/me/codes/new", nil).Body.String(), "Key"), " ", "")
	if w := wd.post("/me/codes", url.Values{"secret": {secret}, "code": {"000000"}}); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a wrong code: %d", w.Code)
	}
	if w := wd.post("/me/codes", url.Values{"secret": {secret}, "code": {account.CodeAt(secret, wd.now)}}); w.Code != http.StatusSeeOther {
		t.Errorf("the code: %d %s", w.Code, said(w.Body.String()))
	}
	if w := wd.get("/accounts"); w.Code != http.StatusOK {
		t.Errorf("accounts with a second factor: %d", w.Code)
	}
}

// factText is the text of a fact on a page.
func factText(body, label string) string {
	_, rest, _ := strings.Cut(body, "<dt>"+label+"</dt><dd>")
	v, _, _ := strings.Cut(rest, "<")
	return v
}

// TestSignIn: the right password opens, wrong ones and unknown names are answered alike, and the session's cookie is
// out of reach of scripts and other sites.
func TestSignIn(t *testing.T) {
	wd := staffed(t)
	answers := map[string]string{}
	for name, form := range map[string]url.Values{
		"wrong password": {"name": {"n.east"}, "password": {longPassword + "!"}},
		"unknown name":   {"name": {"nobody"}, "password": {longPassword}},
		"empty":          {"name": {"n.east"}, "password": {""}},
		"too long":       {"name": {"n.east"}, "password": {strings.Repeat("x", 5000)}},
	} {
		w := wd.post("/sign-in", form)
		if w.Code != http.StatusUnprocessableEntity || wd.jar["lowtide"] != nil {
			t.Errorf("%s: %d", name, w.Code)
		}
		answers[said(strings.ReplaceAll(w.Body.String(), form.Get("name"), "NAME"))] = name
	}
	if len(answers) != 1 {
		t.Errorf("answers differ: %v", answers)
	}
	wd.signIn("n.east")
	c := wd.jar["lowtide"]
	if !c.HttpOnly || c.SameSite != http.SameSiteStrictMode || c.Path != "/" || c.MaxAge != 0 || len(c.Value) < 30 {
		t.Errorf("%+v", c)
	}
	first := c.Value
	wd.signIn("n.east")
	if wd.jar["lowtide"].Value == first {
		t.Error("the key did not change")
	}
	wd.jar["lowtide"].Value = first
	if w := wd.get("/"); w.Code != http.StatusUnauthorized {
		t.Errorf("the key before: %d", w.Code)
	}
	lines, _, _ := wd.log.Find(t.Context(), accesslog.Query{What: accesslog.WrongTry})
	if len(lines) != 4 {
		t.Errorf("%d wrong tries are in the access log", len(lines))
	}
	for _, l := range lines {
		if l.Account != "n.east" && l.Account != "not known" {
			t.Errorf("the log has what was typed: %q", l.Account)
		}
	}
}

// TestSecureCookies: over TLS the cookies carry the prefix and the mark.
func TestSecureCookies(t *testing.T) {
	wd := staffed(t)
	wd.srv.Secure = true
	wd.srv.Hosts = []string{"ward.example"}
	r := httptest.NewRequest("POST", "https://ward.example/sign-in", strings.NewReader(url.Values{"name": {"n.east"}, "password": {longPassword}}.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	w := wd.ask(r)
	if len(wd.jar) != 2 || w.Header().Get("Strict-Transport-Security") == "" {
		t.Errorf("%d cookies, %q", len(wd.jar), w.Header().Get("Strict-Transport-Security"))
	}
	for name, c := range wd.jar {
		if !strings.HasPrefix(name, "__Host-") || !c.Secure || !c.HttpOnly || c.Domain != "" {
			t.Errorf("%s: %+v", name, c)
		}
	}
}

// TestGuessing: guesses from elsewhere slow down, and do not keep the colleague from her own computer.
func TestGuessing(t *testing.T) {
	wd := staffed(t)
	wd.signIn("n.east")
	wd.post("/leave", nil)
	hers := wd.jar
	if hers["lowtide-computer"] == nil {
		t.Fatal("the computer is not known")
	}
	wd.jar = map[string]*http.Cookie{} // another computer behind the same address
	judged := 0
	for range 40 {
		w := wd.post("/sign-in", url.Values{"name": {"n.east"}, "password": {"guess"}})
		switch w.Code {
		case http.StatusUnprocessableEntity:
			judged++
		case http.StatusTooManyRequests:
			if w.Header().Get("Retry-After") == "" {
				t.Error("it is not said how long to wait")
			}
		default:
			t.Errorf("%d", w.Code)
		}
	}
	if judged > 6 {
		t.Errorf("%d guesses were judged at one moment", judged)
	}
	if w := wd.post("/sign-in", url.Values{"name": {"n.east"}, "password": {longPassword}}); w.Code != http.StatusTooManyRequests {
		t.Errorf("the right one in between: %d", w.Code)
	}
	wd.jar = hers
	wd.signIn("n.east")
}

// TestIdle: a session ends by itself, and what was sent after it is not saved.
func TestIdle(t *testing.T) {
	wd := staffed(t)
	wd.signIn("n.east")
	f := wd.parse(wd.get(page.CasePath(oneCase, "add", "note.written")).Body.String())
	f.values.Set("text", "late")
	wd.now = wd.now.Add(29 * time.Minute)
	if w := wd.post("/stay", nil); w.Code != http.StatusNoContent {
		t.Errorf("stay: %d", w.Code)
	}
	wd.now = wd.now.Add(29 * time.Minute)
	if w := wd.get("/"); w.Code != http.StatusOK {
		t.Errorf("after typing for an hour: %d", w.Code)
	}
	wd.now = wd.now.Add(31 * time.Minute)
	n := len(wd.entries(oneCase))
	if w := wd.post(f.action, f.values); w.Code != http.StatusUnauthorized || len(wd.entries(oneCase)) != n || !strings.Contains(w.Body.String(), "nothing was saved") {
		t.Errorf("after idling: %d", w.Code)
	}
	if w := wd.post("/stay", nil); w.Code != http.StatusUnauthorized {
		t.Errorf("stay after the end: %d", w.Code)
	}
}

// TestSwitch: after a switch nothing of the last person's is left: not her session, not her page, not her list.
func TestSwitch(t *testing.T) {
	wd := staffed(t)
	wd.signIn("n.west")
	wd.signIn("n.east")
	old := wd.jar["lowtide"].Value
	w := wd.post("/switch", nil)
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/sign-in" || w.Header().Get("Clear-Site-Data") != `"cache"` || wd.jar["lowtide"] != nil {
		t.Errorf("%d to %s", w.Code, w.Header().Get("Location"))
	}
	body := wd.get("/sign-in").Body.String()
	if !strings.Contains(body, "Person n.east") || !strings.Contains(body, "Person n.west") || strings.Contains(body, "Person admin") || strings.Contains(body, "Ann Case") {
		t.Error("the people of this computer are not offered, or others are")
	}
	if body := wd.get("/sign-in?as=n.west").Body.String(); !strings.Contains(body, `value="n.west"`) {
		t.Error("the chosen name is not filled in")
	}
	wd.jar["lowtide"] = &http.Cookie{Name: "lowtide", Value: old}
	if w := wd.get(page.CasePath(oneCase)); w.Code != http.StatusUnauthorized || w.Header().Get("Cache-Control") != "no-store" {
		t.Errorf("the last person's session: %d", w.Code)
	}
	delete(wd.jar, "lowtide")
	wd.signIn("n.west")
	if body := wd.get("/").Body.String(); strings.Contains(body, "Ann Case") || !strings.Contains(body, "Bea Other") {
		t.Error("the next person sees the last one's list")
	}
}

// TestEverywhere: signing out everywhere, a new password and a disabled account end every other session at once.
func TestEverywhere(t *testing.T) {
	for name, end := range map[string]func(wd *ward){
		"everywhere": func(wd *ward) { wd.post("/me/everywhere", nil) },
		"password":   func(wd *ward) { wd.post("/me/password", url.Values{"password": {"four grey geese at dusk"}}) },
	} {
		wd := staffed(t)
		wd.signIn("n.east")
		first := wd.jar
		wd.jar = map[string]*http.Cookie{}
		wd.signIn("n.east")
		end(wd)
		if w := wd.get("/"); w.Code != http.StatusOK {
			t.Errorf("%s: this browser is out: %d", name, w.Code)
		}
		wd.jar = first
		if w := wd.get("/"); w.Code != http.StatusUnauthorized {
			t.Errorf("%s: the other browser is in: %d", name, w.Code)
		}
	}
	wd := staffed(t)
	wd.signIn("n.east")
	hers := wd.jar
	wd.jar = map[string]*http.Cookie{}
	wd.signIn("admin")
	if w := wd.post("/account/n.east/disable", url.Values{"disabled": {"yes"}, "why": {"left the service"}}); w.Code != http.StatusSeeOther {
		t.Errorf("disable: %d %s", w.Code, said(w.Body.String()))
	}
	wd.jar = hers
	if w := wd.get("/"); w.Code != http.StatusUnauthorized {
		t.Errorf("disabled and still in: %d", w.Code)
	}
	if w := wd.post("/sign-in", url.Values{"name": {"n.east"}, "password": {longPassword}}); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("disabled and in again: %d", w.Code)
	}
}

// TestAgain: what cannot be undone asks again after five minutes, and the key changes with the proof.
func TestAgain(t *testing.T) {
	wd := staffed(t)
	wd.signIn("admin")
	path := page.CasePath(oneCase, "erase")
	if w := wd.get(path); w.Code != http.StatusOK || strings.Contains(w.Body.String(), "Ann") {
		t.Errorf("fresh: %d", w.Code)
	}
	form := url.Values{"why": {"request of the patient, file 12"}, "case": {oneCase[len(oneCase)-8:]}}
	wd.now = wd.now.Add(6 * time.Minute)
	if w := wd.post(path, form); w.Code != http.StatusForbidden || len(wd.erased) != 0 || !strings.Contains(w.Body.String(), "Nothing was done yet") {
		t.Errorf("after six minutes: %d, %v", w.Code, wd.erased)
	}
	old := wd.jar["lowtide"].Value
	if w := wd.post("/again", url.Values{"password": {longPassword}, "code": {"123456"}, "to": {path}}); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a wrong code: %d", w.Code)
	}
	if w := wd.post("/again", url.Values{"password": {longPassword}, "code": {account.CodeAt(codeSecret, wd.now)}, "to": {path}}); w.Code != http.StatusSeeOther || w.Header().Get("Location") != path || wd.jar["lowtide"].Value == old {
		t.Errorf("the right code: %d", w.Code)
	}
	for name, bad := range map[string]string{"why": " x", "case": "00000000"} {
		f := url.Values{"why": form["why"], "case": form["case"]}
		f.Set(name, bad)
		if w := wd.post(path, f); w.Code != http.StatusUnprocessableEntity || len(wd.erased) != 0 {
			t.Errorf("%s %q: %d", name, bad, w.Code)
		}
	}
	if w := wd.post(path, form); w.Code != http.StatusOK || len(wd.erased) != 1 || wd.erased[0] != oneCase+" admin request of the patient, file 12" {
		t.Errorf("%d, %v", w.Code, wd.erased)
	}
	lines, _, _ := wd.log.Find(t.Context(), accesslog.Query{What: accesslog.Erased})
	if len(lines) != 1 || lines[0].Why != "request of the patient, file 12" {
		t.Errorf("%+v", lines)
	}
}

// TestAdministering: an account is made, its one-time link sets a password once, roles change at once.
func TestAdministering(t *testing.T) {
	wd := staffed(t)
	wd.signIn("admin")
	w := wd.post("/accounts/new", url.Values{"name": {"new.one"}, "shown": {"New One"}, "roles": {"reader"}, "teams": {"East"}})
	link := factText(w.Body.String(), "Link")
	u, err := url.Parse(link)
	if err != nil || !strings.HasPrefix(link, "http://127.0.0.1/link?key=") {
		t.Fatalf("%d: %q %s", w.Code, link, said(w.Body.String()))
	}
	admin := wd.jar
	wd.jar = map[string]*http.Cookie{}
	form := url.Values{"key": {u.Query().Get("key")}, "password": {"short"}}
	if w := wd.post("/link", form); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a short password: %d", w.Code)
	}
	form.Set("password", longPassword)
	if w := wd.get("/link?" + u.RawQuery); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "New One") {
		t.Errorf("the link: %d", w.Code)
	}
	if w := wd.post("/link", form); w.Code != http.StatusOK {
		t.Errorf("set: %d %s", w.Code, said(w.Body.String()))
	}
	if w := wd.post("/link", form); w.Code != http.StatusForbidden {
		t.Errorf("a second time: %d", w.Code)
	}
	wd.signIn("new.one")
	if w := wd.get(page.CasePath(oneCase)); w.Code != http.StatusOK {
		t.Errorf("a reader reads: %d", w.Code)
	}
	hers := wd.jar
	wd.jar = admin
	if w := wd.post("/account/new.one/roles", url.Values{"shown": {"New One"}, "roles": {"stores"}}); w.Code != http.StatusSeeOther {
		t.Errorf("roles: %d %s", w.Code, said(w.Body.String()))
	}
	if w := wd.post("/account/admin/roles", url.Values{"shown": {"Admin"}, "roles": {"admin", "nurse"}}); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("her own roles: %d", w.Code)
	}
	wd.jar = hers
	if w := wd.get(page.CasePath(oneCase)); w.Code != http.StatusForbidden || strings.Contains(w.Body.String(), "Ann") {
		t.Errorf("stores reads: %d", w.Code)
	}
}

// TestExport: the access log comes as a file that no browser opens by itself, and its reading is a line too.
func TestExport(t *testing.T) {
	wd := staffed(t)
	wd.signIn("n.east")
	wd.get(page.CasePath(oneCase))
	wd.jar = map[string]*http.Cookie{}
	wd.signIn("admin")
	for as, kind := range map[string]string{"csv": "text/csv; charset=utf-8", "json": "application/json"} {
		w := wd.get("/access/export?as=" + as + "&account=n.east")
		h := w.Header()
		if w.Code != http.StatusOK || h.Get("Content-Type") != kind || !strings.HasPrefix(h.Get("Content-Disposition"), "attachment;") || h.Get("X-Content-Type-Options") != "nosniff" || h.Get("Cache-Control") != "no-store" || !strings.Contains(w.Body.String(), oneCase) || strings.Contains(w.Body.String(), "Ann") {
			t.Errorf("%s: %d %v", as, w.Code, h)
		}
	}
	body := wd.get("/access").Body.String()
	if !strings.Contains(body, "exported the access log") || !strings.Contains(body, oneCase) || strings.Contains(body, "Ann Case") {
		t.Error("the page lacks a line, or names a patient")
	}
}

// TestPace: more than a person does is told to wait; others are not.
func TestPace(t *testing.T) {
	wd := staffed(t)
	wd.srv.SetPace(1, 10)
	got := map[int]int{}
	for range 30 {
		got[wd.get("/sign-in").Code]++
	}
	if got[http.StatusOK] != 10 || got[http.StatusTooManyRequests] != 20 {
		t.Errorf("%v", got)
	}
	wd.from = "10.0.0.2:1"
	if w := wd.get("/sign-in"); w.Code != http.StatusOK {
		t.Errorf("another address: %d", w.Code)
	}
	wd.from = "10.0.0.1:1"
	wd.now = wd.now.Add(3 * time.Second)
	if w := wd.get("/sign-in"); w.Code != http.StatusOK {
		t.Errorf("later: %d", w.Code)
	}
}

// TestFrom: what a request says about where it came from counts only when a trusted proxy says it.
func TestFrom(t *testing.T) {
	for _, c := range []struct{ remote, head, want string }{
		{"10.0.0.5:1", "203.0.113.9", "203.0.113.9"}, {"10.0.0.5:1", "1.2.3.4, 203.0.113.9", "203.0.113.9"}, {"10.0.0.5:1", "203.0.113.9, 10.0.0.6", "203.0.113.9"},
		{"10.0.0.5:1", "", "10.0.0.5"}, {"10.0.0.5:1", "nonsense", "10.0.0.5"}, {"203.0.113.7:1", "1.2.3.4", "203.0.113.7"}, {"[::ffff:10.0.0.5]:1", "203.0.113.9", "203.0.113.9"},
	} {
		wd := staffed(t)
		wd.srv.Proxies = []netip.Prefix{netip.MustParsePrefix("10.0.0.0/8")}
		r := httptest.NewRequest("POST", "http://127.0.0.1/sign-in", strings.NewReader(url.Values{"name": {"n.east"}, "password": {longPassword}}.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Sec-Fetch-Site", "same-origin")
		if c.head != "" {
			r.Header.Set("X-Forwarded-For", c.head)
		}
		r.RemoteAddr = c.remote
		w := httptest.NewRecorder()
		wd.h.ServeHTTP(w, r)
		lines, _, _ := wd.log.Find(t.Context(), accesslog.Query{})
		if len(lines) != 1 || lines[0].From != c.want {
			t.Errorf("%s %q: %+v, want %s", c.remote, c.head, lines, c.want)
		}
	}
}

// TestLinkKeepsSecondFactor: a one-time link sets a password and nothing else: the code is asked for as before.
func TestLinkKeepsSecondFactor(t *testing.T) {
	wd := staffed(t)
	wd.signIn("admin")
	link := factText(wd.post("/account/an.east/link", nil).Body.String(), "Link")
	_, key, _ := strings.Cut(link, "key=")
	wd.jar = map[string]*http.Cookie{}
	if w := wd.post("/link", url.Values{"key": {key}, "password": {"four grey geese at dusk"}}); w.Code != http.StatusOK || wd.jar["lowtide"] != nil {
		t.Errorf("%d", w.Code)
	}
	w := wd.post("/sign-in", url.Values{"name": {"an.east"}, "password": {"four grey geese at dusk"}})
	if w.Code != http.StatusOK || wd.jar["lowtide"] != nil || field(w.Body.String(), "step") == "" {
		t.Errorf("in without the code: %d", w.Code)
	}
	// A step is good for five minutes, and not after the account's sessions were ended.
	step := field(w.Body.String(), "step")
	wd.now = wd.now.Add(6 * time.Minute)
	if w := wd.post("/sign-in/code", url.Values{"step": {step}, "code": {account.CodeAt(codeSecret, wd.now)}}); w.Code != http.StatusUnprocessableEntity || wd.jar["lowtide"] != nil {
		t.Errorf("a late code: %d", w.Code)
	}
}

// TestSafeAddresses: whatever address a form names, the browser stays on this server.
func TestSafeAddresses(t *testing.T) {
	for to, want := range map[string]string{"/case/x?y=1": "/case/x?y=1", "": "/", "//evil.example": "/", "https://evil.example/": "/", "/\\evil.example": "/", "javascript:alert(1)": "/", "/x\r\nSet-Cookie: a=b": "/", "evil": "/"} {
		wd := staffed(t)
		w := wd.post("/sign-in", url.Values{"name": {"n.east"}, "password": {longPassword}, "to": {to}})
		if got := w.Header().Get("Location"); w.Code != http.StatusSeeOther || got != want {
			t.Errorf("%q leads to %q", to, got)
		}
	}
}

// TestHeaders: what every answer carries, also a refusal, a file and an answer to a script.
func TestHeaders(t *testing.T) {
	wd := staffed(t)
	signed := func() { wd.signIn("n.east") }
	for _, path := range []string{"/sign-in", "/", static.Path("lowtide.css"), "/nothing", page.CasePath(oneCase)} {
		signed()
		h := wd.get(path).Header()
		csp := h.Get("Content-Security-Policy")
		if !strings.Contains(csp, "default-src 'none'") || strings.Contains(csp, "unsafe") || !strings.Contains(csp, "frame-ancestors 'none'") || !strings.Contains(csp, "base-uri 'none'") || h.Get("X-Content-Type-Options") != "nosniff" || h.Get("Referrer-Policy") != "same-origin" || h.Get("Access-Control-Allow-Origin") != "" {
			t.Errorf("%s: %v", path, h)
		}
		if got := h.Get("Cache-Control"); got != "no-store" && !strings.HasPrefix(path, "/static/") {
			t.Errorf("%s may be kept: %s", path, got)
		}
	}
	for _, path := range []string{"/passkey/begin", "/passkey/finish"} {
		h := wd.post(path, nil).Header()
		if h.Get("Cache-Control") != "no-store" || h.Get("X-Content-Type-Options") != "nosniff" {
			t.Errorf("%s: %v", path, h)
		}
	}
}

// TestMethods: what the table does not have is not there, under any method.
func TestMethods(t *testing.T) {
	wd := staffed(t)
	wd.signIn("n.east")
	for _, method := range []string{"PUT", "DELETE", "PATCH", "TRACE", "OPTIONS", "CONNECT"} {
		for _, path := range []string{"/", page.CasePath(oneCase), "/accounts", "/sign-in"} {
			r := httptest.NewRequest(method, "http://127.0.0.1"+path, nil)
			r.Header.Set("Sec-Fetch-Site", "same-origin")
			if w := wd.ask(r); w.Code < 400 || strings.Contains(w.Body.String(), "Ann Case") {
				t.Errorf("%s %s: %d", method, path, w.Code)
			}
		}
	}
}

// TestChooseErase: a number of a case leads on; unknown and reserved numbers get one and the same answer.
func TestChooseErase(t *testing.T) {
	wd := staffed(t)
	wd.signIn("admin")
	if w := wd.get("/erase?case=" + oneCase); w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/case/"+oneCase+"/erase" {
		t.Errorf("%d to %q", w.Code, w.Header().Get("Location"))
	}
	unknown := wd.get("/erase?case=nobody")
	reserved := wd.get("/erase?case=" + url.QueryEscape("~ledger"))
	if unknown.Code != http.StatusNotFound || reserved.Code != http.StatusNotFound {
		t.Errorf("%d, %d", unknown.Code, reserved.Code)
	}
	if strings.Contains(unknown.Body.String(), "Ann Case") {
		t.Error("the page shows a patient's name")
	}
}
