package web_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"lowtide/web/page"
)

// TestHosts: a page elsewhere cannot make its own name lead here.
func TestHosts(t *testing.T) {
	c := newClient(t)
	patients(c)
	c.srv.Hosts = []string{"ward.example", "office.example:8443"}
	for host, want := range map[string]bool{
		"127.0.0.1": true, "127.0.0.1:7433": true, "127.9.9.9": true, "localhost": true, "LocalHost:80": true, "[::1]": true, "[::1]:7433": true, "ward.example": true, "WARD.example:99": true, "office.example:8443": true,
		"": false, "office.example": false, "evil.example": false, "127.0.0.1.evil.example": false, "localhost.evil.example": false, "192.168.1.5": false, "[::2]": false, "0.0.0.0": false, "ward.example.": false, "evil.example:7433": false,
	} {
		r := httptest.NewRequest("GET", "http://127.0.0.1/", nil)
		r.Host = host
		if got := c.do(r).Code == http.StatusOK; got != want {
			t.Errorf("Host %q answered: %v", host, got)
		}
	}
}

// TestCrossSite: a form on a page elsewhere cannot write, though the browser may send the session along.
func TestCrossSite(t *testing.T) {
	c := newClient(t)
	patients(c)
	n := len(c.entries(oneCase))
	f := c.fill(c.open(page.CasePath(oneCase, "add", "note.written")), url.Values{"text": {"x"}})
	for _, head := range []map[string]string{
		{"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"}, {"Origin": "http://evil.example"}, {"Origin": "null"}, {"Origin": "http://127.0.0.1:1"},
	} {
		r := httptest.NewRequest("POST", "http://127.0.0.1"+f.action, strings.NewReader(f.values.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		for k, v := range head {
			r.Header.Set(k, v)
		}
		if w := c.do(r); w.Code != http.StatusForbidden || len(c.entries(oneCase)) != n {
			t.Errorf("%v: %d", head, w.Code)
		}
	}
	c.send(f)
}

// TestWithoutSession: none of the routes that show or write a case answers without a session.
func TestWithoutSession(t *testing.T) {
	c := newClient(t)
	patients(c)
	n := len(c.entries(oneCase))
	f := c.fill(c.open(page.CasePath(oneCase, "add", "note.written")), url.Values{"text": {"x"}})
	c.cookie = nil
	for _, path := range []string{"", "/visit", "/add", "/add/note.written", "/sign", "/log"} {
		if w := c.get(page.CasePath(oneCase) + path); w.Code != http.StatusUnauthorized || strings.Contains(w.Body.String(), "Ann") {
			t.Errorf("GET %s: %d", path, w.Code)
		}
	}
	if w := c.post(f.action, f.values); w.Code != http.StatusUnauthorized || len(c.entries(oneCase)) != n {
		t.Errorf("POST: %d", w.Code)
	}
}

// TestBrokenBodies: too big, of another type, broken in parts: refused in words, and nothing is written.
func TestBrokenBodies(t *testing.T) {
	c := newClient(t)
	patients(c)
	n := len(c.entries(oneCase))
	key := c.open(page.CasePath(oneCase, "add", "note.written")).values.Get("-key")
	ok := url.Values{"-key": {key}, "at": {"2026-03-10T12:00"}, "text": {"kept text"}}.Encode()
	for _, x := range []struct {
		name, typ, body string
		chunked         bool
		want            int
	}{
		{"too big", "application/x-www-form-urlencoded", ok + "&text=" + strings.Repeat("x", 300<<10), false, http.StatusRequestEntityTooLarge},
		{"too big, length not said", "application/x-www-form-urlencoded", ok + "&text=" + strings.Repeat("x", 300<<10), true, http.StatusRequestEntityTooLarge},
		{"JSON", "application/json", "{}", false, http.StatusUnsupportedMediaType},
		{"no type", "", ok, false, http.StatusUnsupportedMediaType},
		{"multipart", "multipart/form-data; boundary=x", "--x\r\n\r\n--x--", false, http.StatusUnsupportedMediaType},
		{"a broken escape", "application/x-www-form-urlencoded", ok + "&note=%zz", false, http.StatusUnprocessableEntity},
		{"a semicolon", "application/x-www-form-urlencoded", ok + ";x=1", false, http.StatusUnprocessableEntity},
		{"no key", "application/x-www-form-urlencoded", "text=kept+text&at=2026-03-10T12:00", false, http.StatusUnprocessableEntity},
		{"a bad key", "application/x-www-form-urlencoded", "text=kept+text&at=2026-03-10T12:00&-key=zzzzzzzzzzzzzzzzzz.x", false, http.StatusUnprocessableEntity},
		{"nothing", "application/x-www-form-urlencoded", "", false, http.StatusUnprocessableEntity},
	} {
		t.Run(x.name, func(t *testing.T) {
			r := httptest.NewRequest("POST", "http://127.0.0.1"+page.CasePath(oneCase, "add", "note.written"), strings.NewReader(x.body))
			r.Header.Set("Content-Type", x.typ)
			if x.chunked {
				r.ContentLength = -1
			}
			w := c.do(r)
			if w.Code != x.want || len(c.entries(oneCase)) != n {
				t.Errorf("status %d, want %d", w.Code, x.want)
			}
			if x.want == http.StatusUnprocessableEntity && strings.Contains(x.body, "kept") && !strings.Contains(x.body, ";") && !strings.Contains(w.Body.String(), "kept text") {
				t.Error("what was typed is gone")
			}
		})
	}
}

// TestHostileValues: markup, control characters, bytes that are no text and names that are no fields are shown as
// text and never as markup; nothing panics.
func TestHostileValues(t *testing.T) {
	c := newClient(t)
	patients(c)
	id := c.entries(oneCase)[0].ID
	bad := []string{`"><script>alert(1)</script>`, "\x00\x01\x7f", "\xff\xfe", "../../etc/passwd", "' OR 1=1 --", "{{.}}", strings.Repeat("A", 5000), "-0", "1e999", "NaN", "\u202eevil", "javascript:alert(1)"}
	names := []string{"text", "count", "wounds/0/wound?", "wounds/0/out/0/count", "wounds/99999999999999999999/wound", "wounds/-1/out", "stages/0/hold_min", "answers/eschar", "answers/<b>", "at", "next_visit", "-key", "-more", "signs", "a/b/c/d/e/f/g/h/i/j/k/l/m", `x"><script>alert(1)</script>`, "-measure/0/depth_cm", "-measure/0/", "other_case", "reason", "-do", "body/text", "hash", "as_of", "person/zone", "wound/wound", "wounds", ""}
	paths := []string{"/case/new", page.CasePath(oneCase, "visit"), page.CasePath(oneCase, "sign"), page.CasePath(oneCase, "correct", id)}
	for _, kind := range []string{"note.written", "order.written", "screening.done", "wound.measured", "supply.moved", "person.registered"} {
		paths = append(paths, page.CasePath(oneCase, "add", kind))
	}
	for _, path := range paths {
		for i, v := range bad {
			form := url.Values{}
			for j, name := range names {
				if (i+j)%2 == 0 {
					form.Add(name, v)
				}
			}
			for _, do := range []string{"", "replace", "move", "withdraw"} {
				form.Set("-do", do)
				w := c.post(path, form)
				if w.Code >= 500 || w.Code == http.StatusSeeOther || strings.Contains(w.Body.String(), "<script>alert") || strings.Contains(w.Body.String(), `href="javascript`) {
					t.Errorf("%s with %q: %d", path, v, w.Code)
				}
			}
		}
	}
	for _, path := range []string{"/case/nobody", "/case/nobody/visit", "/case/nobody/add/note.written", "/case/nobody/sign", "/case/nobody/correct/x", page.CasePath(oneCase, "add", "weather"), page.CasePath(oneCase, "add", "entry.corrected"), page.CasePath(oneCase, "correct", "nothing"), page.CasePath(oneCase, "%00")} {
		if w := c.get(path); w.Code != http.StatusNotFound {
			t.Errorf("GET %s: %d", path, w.Code)
		}
	}
}

// TestReaderLeft: a browser that leaves in the middle of a request, or an answer that takes too long, ends that request
// and nothing else.
func TestReaderLeft(t *testing.T) {
	c := newClient(t)
	patients(c)
	left, leave := context.WithCancel(t.Context())
	leave()
	for _, path := range []string{"/", "/rules", "/stores", "/bag", "/pumps", "/call", "/no/such/page", page.CasePath(oneCase), page.CasePath(oneCase, "visit"), page.CasePath(oneCase, "log"), page.CasePath(oneCase, "photo"), page.CasePath(oneCase, "papers")} {
		w := c.do(httptest.NewRequest("GET", "http://127.0.0.1"+path, nil).WithContext(left))
		if body := w.Body.String(); !strings.Contains(body, "</html>") {
			t.Errorf("GET %s: %d, %d bytes that are no page", path, w.Code, len(body))
		}
	}
	f := c.fill(c.open(page.CasePath(oneCase, "add", "note.written")), url.Values{"text": {"x"}})
	r := httptest.NewRequest("POST", "http://127.0.0.1"+f.action, strings.NewReader(f.values.Encode())).WithContext(left)
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Origin", "http://127.0.0.1")
	if w := c.do(r); w.Code != http.StatusSeeOther && w.Code != http.StatusInternalServerError {
		t.Errorf("POST: %d", w.Code)
	}
	if w := c.get(page.CasePath(oneCase)); w.Code != http.StatusOK {
		t.Errorf("afterwards: %d", w.Code)
	}
}
