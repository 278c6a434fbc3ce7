package web_test

import (
	"encoding/json"
	"fmt"
	"html"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"lowtide/accesslog"
	"lowtide/report"
	"lowtide/web"
)

// system is an exchange of two resources a case, to try the addresses; package report/fhir is tried on its own.
type system struct{}

func (system) Kinds() []string                  { return []string{"Observation", "Patient", "Provenance"} }
func (system) PatientID(caseID string) string   { return "p-" + caseID }
func (system) PatientOf(kind, id string) string { return strings.TrimPrefix(id, "o.") }
func (system) Resources(in report.Input, kind string) ([]web.Resource, error) {
	id := in.Review.Case
	list := []web.Resource{{Type: "Patient", ID: "p-" + id, JSON: []byte(`{"name":"` + in.Review.Person.Name + `"}`)}, {Type: "Observation", ID: "o.p-" + id, JSON: []byte(`{"o":1}`)}}
	for _, n := range []int{3, 1, 5, 2, 4} {
		list = append(list, web.Resource{Type: "Provenance", ID: fmt.Sprint(n) + ".p-" + id, JSON: []byte(`{}`)})
	}
	return list, nil
}
func (system) SearchSet(p web.SearchPage) ([]byte, error) {
	ids := []string{}
	for _, f := range p.Found {
		ids = append(ids, p.Base+"/"+f.Type+"/"+f.ID)
	}
	if p.Next != "" || p.Total > len(p.Found) {
		return json.Marshal(map[string]any{"ids": ids, "total": p.Total, "next": p.Next})
	}
	return json.Marshal(ids)
}
func (system) Metadata() ([]byte, error)         { return []byte(`{"kind":"instance"}`), nil }
func (system) Outcome(code, words string) []byte { return []byte(code + ": " + words) }

// counting counts how often a Patient's ID is derived.
type counting struct {
	system
	n *int
}

func (c counting) PatientID(caseID string) string { *c.n++; return c.system.PatientID(caseID) }

// TestFHIRAddresses: nothing without a good token; a token reads its kinds and its teams' patients until it ends or is
// taken away; its key is shown once and every read is in the access log.
func TestFHIRAddresses(t *testing.T) {
	wd := staffed(t)
	wd.srv.Exchange = system{}
	ask := func(path, key string) *httptest.ResponseRecorder {
		r := httptest.NewRequest("GET", "http://127.0.0.1"+path, nil)
		r.RemoteAddr = wd.from
		if key != "" {
			r.Header.Set("Authorization", "Bearer "+key)
		}
		w := httptest.NewRecorder()
		wd.h.ServeHTTP(w, r)
		return w
	}
	if w := ask("/fhir/metadata", ""); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "instance") {
		t.Errorf("metadata: %d", w.Code)
	}
	for _, key := range []string{"", "wrong"} {
		if w := ask("/fhir/Patient/p-"+oneCase, key); w.Code != http.StatusUnauthorized || w.Header().Get("WWW-Authenticate") == "" || strings.Contains(w.Body.String(), "Ann") {
			t.Errorf("key %q: %d", key, w.Code)
		}
	}
	wd.signIn("admin")
	make := func(form url.Values) (key, page string) {
		page = html.UnescapeString(wd.post("/tokens", form).Body.String())
		if m := regexp.MustCompile(`shown this once</dt><dd[^>]*>\s*(?:<bdi>)?([A-Za-z0-9_-]{20,})`).FindStringSubmatch(page); m != nil {
			key = m[1]
		}
		return key, page
	}
	if key, page := make(url.Values{"label": {"Ward record"}, "scopes": {"Nothing"}, "days": {"5"}}); key != "" || !strings.Contains(page, "no kind of resource of that name") || !strings.Contains(page, "Ward record") {
		t.Error("a token for an unknown kind was made, or what was typed is lost")
	}
	key, page := make(url.Values{"label": {"Ward record"}, "scopes": {"Patient"}, "teams": {"East"}, "days": {"5"}})
	if key == "" {
		t.Fatalf("no key is shown: %s", page)
	}
	if again := wd.get("/tokens").Body.String(); strings.Contains(again, key) || !strings.Contains(again, "Ward record") {
		t.Error("the key is shown again, or the token is not listed")
	}
	for _, c := range []struct {
		path string
		code int
		want string
	}{
		{"/fhir/Patient/p-" + oneCase, 200, "Ann Case"},
		{"/fhir/Patient/p-" + otherCase, 404, "not-found"}, // of team West
		{"/fhir/Patient/p-nothing", 404, "not-found"},
		{"/fhir/Observation/o.p-" + oneCase, 403, "forbidden"},
		{"/fhir/Claim/1", 404, "not-supported"},
		{"/fhir/Patient", 400, "required"},
		{"/fhir/Patient?name=Ann", 400, "not-supported"},
		{"/fhir/Patient?identifier=R-2", 200, "[]"}, // West again
		{"/fhir/Patient?identifier=x%7C" + oneCase, 200, `["http://127.0.0.1/fhir/Patient/p-` + oneCase + `"]`},
	} {
		if w := ask(c.path, key); w.Code != c.code || !strings.Contains(w.Body.String(), c.want) {
			t.Errorf("%s: %d %s, want %d %s", c.path, w.Code, w.Body.String(), c.code, c.want)
		}
	}
	all, _ := make(url.Values{"label": {"Quality"}, "scopes": {"*"}, "days": {"5"}})
	if w := ask("/fhir/Observation?patient=Patient/p-"+otherCase, all); w.Code != 200 || !strings.Contains(w.Body.String(), "/fhir/Observation/o.p-"+otherCase) {
		t.Errorf("%d %s", w.Code, w.Body.String())
	}
	// pages: each resource once, in one order, and the number alone with a count of 0
	var seen []string
	for next := "/fhir/Provenance?_count=2&patient=p-" + oneCase; next != ""; {
		w := ask(next, all)
		var got struct {
			IDs   []string
			Total int
			Next  string
		}
		if raw := w.Body.Bytes(); raw[0] == '[' {
			err := json.Unmarshal(raw, &got.IDs)
			if err != nil {
				t.Fatal(err)
			}
		} else if err := json.Unmarshal(raw, &got); err != nil || got.Total != 5 || w.Code != 200 {
			t.Fatalf("%d %s", w.Code, raw)
		}
		for _, id := range got.IDs {
			seen = append(seen, strings.TrimPrefix(id, "http://127.0.0.1/fhir/Provenance/")[:1])
		}
		if len(got.IDs) > 2 || len(seen) > 5 {
			t.Fatalf("%v", seen)
		}
		next = strings.TrimPrefix(got.Next, "http://127.0.0.1")
	}
	if strings.Join(seen, "") != "12345" {
		t.Errorf("pages show %v", seen)
	}
	if w := ask("/fhir/Provenance?_count=0&patient=p-"+oneCase, all); w.Body.String() != `{"ids":[],"next":"","total":5}` {
		t.Errorf("%s", w.Body.String())
	}
	// what is not there is said in FHIR's own form, never as a page
	for _, c := range []struct {
		method, path string
		code         int
		want         string
	}{
		{"GET", "/fhir/Provenance?_count=x&patient=p-" + oneCase, 400, "value: "},
		{"GET", "/fhir/Provenance?_count=-1&patient=p-" + oneCase, 400, "value: "},
		{"GET", "/fhir/Provenance?_format=xml&patient=p-" + oneCase, 406, "not-supported: "},
		{"GET", "/fhir/a/b/c", 404, "not-found: "},
		{"POST", "/fhir/Patient", 405, "not-supported: "},
		{"PUT", "/fhir/Patient/p-" + oneCase, 405, "not-supported: "},
		{"DELETE", "/fhir/Patient/p-" + oneCase, 405, "not-supported: "},
	} {
		r := httptest.NewRequest(c.method, "http://127.0.0.1"+c.path, nil)
		r.RemoteAddr = wd.from
		r.Header.Set("Authorization", "Bearer "+all)
		w := httptest.NewRecorder()
		wd.h.ServeHTTP(w, r)
		if w.Code != c.code || !strings.HasPrefix(w.Body.String(), c.want) || !strings.HasPrefix(w.Header().Get("Content-Type"), "application/fhir+json") || c.code == 405 && w.Header().Get("Allow") == "" {
			t.Errorf("%s %s: %d %s", c.method, c.path, w.Code, w.Body.String())
		}
	}
	// a Patient's ID is derived once for a case, not at every request
	n := 0
	wd.srv.Exchange = counting{system{}, &n}
	for range 3 {
		if w := ask("/fhir/Patient/p-"+oneCase, all); w.Code != 200 {
			t.Errorf("%d", w.Code)
		}
	}
	if n != 0 {
		t.Errorf("IDs were derived %d times more", n)
	}
	lines, _, err := wd.log.Find(t.Context(), accesslog.Query{})
	if err != nil {
		t.Fatal(err)
	}
	reads := 0
	for _, l := range lines {
		if strings.HasPrefix(l.Account, "token:") && l.What == "read" && l.Case != "" {
			reads++
		}
	}
	if reads < 3 {
		t.Errorf("%d reads by tokens are in the access log", reads)
	}
	id := regexp.MustCompile(`name="id" value="([0-9a-f]{16})"`).FindAllStringSubmatch(wd.get("/tokens").Body.String(), -1)
	if len(id) != 2 {
		t.Fatalf("%d tokens to take away", len(id))
	}
	for _, m := range id {
		wd.post("/tokens/end", url.Values{"id": {m[1]}})
	}
	for _, k := range []string{key, all} {
		if w := ask("/fhir/Patient/p-"+oneCase, k); w.Code != http.StatusUnauthorized {
			t.Errorf("a token that was taken away still reads: %d", w.Code)
		}
	}
	short, _ := make(url.Values{"label": {"Short"}, "scopes": {"*"}, "days": {"1"}})
	if w := ask("/fhir/Patient/p-"+oneCase, short); w.Code != http.StatusOK {
		t.Errorf("%d", w.Code)
	}
	wd.srv.Now = func() time.Time { return noon.Add(25 * time.Hour) }
	if w := ask("/fhir/Patient/p-"+oneCase, short); w.Code != http.StatusUnauthorized {
		t.Errorf("a token that ran out still reads: %d", w.Code)
	}
}
