package web_test

import (
	"bytes"
	"errors"
	"html"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/report"
	"lowtide/web/page"
)

// Every paper is on a page with the words of its blocks, and goes out as a file whose name tells nothing.
func TestPapers(t *testing.T) {
	c := newClient(t)
	patients(c)
	var wrote []string
	c.srv.PDF = func(p *report.Paper, size string) ([]byte, error) {
		wrote = append(wrote, p.Kind+" "+size+" "+p.Lang)
		return []byte("%PDF"), nil
	}
	c.srv.Bundle = func(in report.Input) ([]byte, error) { return []byte(`{"id":"` + in.Review.Case + `"}`), nil }
	list := c.get(page.CasePath(oneCase, "papers")).Body.String()
	for _, kind := range []string{"visit-note", "progress", "handover", "prescriber-message", "leaflet"} {
		path := page.CasePath(oneCase, "paper", kind)
		if !strings.Contains(list, path) {
			t.Errorf("%s is not in the list", kind)
		}
		w := c.get(path)
		if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "PDF, Letter") {
			t.Errorf("%s: %d", kind, w.Code)
		}
		f := c.get(path + "/pdf?size=Letter")
		if name := f.Header().Get("Content-Disposition"); f.Code != http.StatusOK || f.Body.String() != "%PDF" || name != `attachment; filename="lowtide-`+kind+`.pdf"` {
			t.Errorf("%s: %d %q", kind, f.Code, name)
		}
		if store := f.Header().Get("Cache-Control"); !strings.Contains(store, "no-store") {
			t.Errorf("%s may be kept by the browser: %q", kind, store)
		}
	}
	if len(wrote) != 5 || wrote[1] != "progress Letter en" {
		t.Errorf("written: %q", wrote)
	}
	handover := html.UnescapeString(c.get(page.CasePath(oneCase, "paper", "handover")).Body.String())
	_, rev, _, err := c.srv.Caseload.Case(t.Context(), oneCase, c.srv.Now())
	if err != nil {
		t.Fatal(err)
	}
	told := 0
	for _, f := range rev.Findings {
		if f.Level == "Act now" || f.Level == "Today" {
			told++
			if !strings.Contains(handover, f.Headline) {
				t.Errorf("the handover sheet does not tell %s: %s", f.Rule, f.Headline)
			}
		}
	}
	for _, s := range rev.Plan {
		if (s.Level == "Act now" || s.Level == "Today") && !strings.Contains(handover, s.Do) {
			t.Errorf("the handover sheet does not tell to do: %s", s.Do)
		}
	}
	if told == 0 {
		t.Error("the case has no finding to tell")
	}
	if es := c.get(page.CasePath(oneCase, "paper", "leaflet") + "?lang=es").Body.String(); !strings.Contains(es, `lang="es"`) || !strings.Contains(es, "La bomba de su herida") {
		t.Error("the Spanish leaflet is not Spanish")
	}
	for _, path := range []string{"/paper/nothing", "/paper/nothing/pdf", "/paper/leaflet?lang=xx", "/paper/visit-note?entry=nothing"} {
		if w := c.get(page.CasePath(oneCase) + path); w.Code != http.StatusNotFound {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
	if b := c.get(page.CasePath(oneCase, "fhir")); b.Header().Get("Content-Type") != "application/fhir+json" || !strings.Contains(b.Body.String(), oneCase) {
		t.Errorf("no Bundle: %q", b.Body.String())
	}
}

func BenchmarkPaperProgress(b *testing.B) { benchPage(b, page.CasePath(oneCase, "paper", "progress")) }

// The list of pumps: every spell, two patients with one pump are said, and the stores account sees no name.
func TestPumps(t *testing.T) {
	wd := staffed(t)
	free := true
	wd.add(oneCase, 2*day, casebook.PumpAssigned{Pump: "P-900", Class: "portable"})
	wd.add(oneCase, 1*day, casebook.PumpReturned{Pump: "P-900", Cleaned: &free})
	wd.add(otherCase, 30*time.Hour, casebook.PumpAssigned{Pump: "P-900"})
	see := func(name string) string {
		wd.jar = map[string]*http.Cookie{}
		wd.signIn(name)
		return html.UnescapeString(wd.get("/pumps?pump=p-9").Body.String())
	}
	east := see("n.east")
	for _, want := range []string{"P-900", "Ann Case", "a patient who is not on your list", "still there", "the record gives this pump to two patients at once", ">yes<"} {
		if !strings.Contains(east, want) {
			t.Errorf("a nurse does not see %q", want)
		}
	}
	if strings.Contains(east, "Bea Other") {
		t.Error("a nurse sees a patient who is not on her list")
	}
	stores := see("stores")
	if !strings.Contains(stores, "P-900") || strings.Contains(stores, "Ann Case") || strings.Contains(stores, "Bea Other") || strings.Contains(stores, oneCase) {
		t.Error("the stores account sees no pumps, or sees patients")
	}
}

// A file of another system is shown as proposals; one opens as a filled form, and nothing is kept before it is saved.
func TestBring(t *testing.T) {
	c := newClient(t)
	patients(c)
	before := len(c.entries(oneCase))
	c.srv.Foreign = func(raw []byte) (page.Brought, error) {
		if string(raw) != "{}" {
			return page.Brought{}, errors.New("not FHIR")
		}
		return page.Brought{Proposals: []page.Proposal{
			{Kind: casebook.KindCanisterRead, At: noon.Add(-time.Hour), Body: []byte(`{"volume_mL":210}`), From: []string{"Observation/7"}, Unsure: []string{"level or sum"}},
			{Kind: casebook.KindWoundMeasured, Body: []byte(`{"depth_cm":2}`), From: []string{"Observation/8"}, Missing: []string{"method"}},
			{Kind: casebook.KindNoteWritten, Own: true, Body: []byte(`{}`), From: []string{"Observation/9"}},
		}, Unread: []page.Part{{Label: "Claim/1", Text: "not read"}}}, nil
	}
	send := func(content string) *httptest.ResponseRecorder {
		var b bytes.Buffer
		m := multipart.NewWriter(&b)
		f, err := m.CreateFormFile(page.BringField, "x.json")
		if err != nil {
			t.Fatal(err)
		}
		f.Write([]byte(content))
		m.Close()
		r := httptest.NewRequest("POST", "http://127.0.0.1"+page.CasePath(oneCase, "bring"), &b)
		r.Header.Set("Content-Type", m.FormDataContentType())
		r.Header.Set("Sec-Fetch-Site", "same-origin")
		return c.do(r)
	}
	if w := send("nonsense"); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "not FHIR") {
		t.Errorf("%d", w.Code)
	}
	if w := send(""); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "No file was chosen") {
		t.Errorf("%d", w.Code)
	}
	body := html.UnescapeString(send("{}").Body.String())
	for _, want := range []string{"Observation/7", "210 mL", "Not sure: level or sum", "To be filled in: method", "Claim/1", "time not told", "Lowtide wrote this", page.CasePath(oneCase, "bring", "canister.read")} {
		if !strings.Contains(body, want) {
			t.Errorf("%q is missing", want)
		}
	}
	form := html.UnescapeString(c.post(page.CasePath(oneCase, "bring", "canister.read"), url.Values{"at": {noon.Add(-time.Hour).Format(time.RFC3339)}, "body": {`{"volume_mL":210}`}}).Body.String())
	if !strings.Contains(form, `value="210"`) || !strings.Contains(form, "nothing is kept before you save") || !strings.Contains(form, page.LocalValue(noon.Add(-time.Hour), london(t))) {
		t.Error("the form is not filled in")
	}
	if broken := c.post(page.CasePath(oneCase, "bring", "canister.read"), url.Values{"body": {`{"volume_mL":"x"`}}); broken.Code != http.StatusOK || !strings.Contains(broken.Body.String(), "does not fit this form") {
		t.Errorf("%d", broken.Code)
	}
	if got := len(c.entries(oneCase)); got != before {
		t.Errorf("%d entries, there were %d", got, before)
	}
}

func london(t *testing.T) *time.Location {
	z, err := time.LoadLocation("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	return z
}
