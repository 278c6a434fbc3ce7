package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"lowtide/casebook"
	"lowtide/web/page"
)

// TestNoteAsksAboutDrug: a note that names a drug against clotting is kept only once its writer said whether the drug is
// new. What was typed stays, other notes are not asked, and until the screening is answered anew the case asks about it.
func TestNoteAsksAboutDrug(t *testing.T) {
	c := newClient(t)
	patients(c)
	path := page.CasePath(otherCase, "add", string(casebook.KindNoteWritten))
	f := c.open(path)
	if f.controls["clot_drug"] != nil {
		t.Error("a fresh note is asked about a drug that it does not name")
	}
	const text = "The family doctor started Apixaban 5 mg, and rang."
	f = c.fill(f, url.Values{"text": {text}})
	w := c.post(f.action, f.values)
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(said(w.Body.String()), "Is it new for this patient?") || len(c.fold(otherCase).Notes) != 0 {
		t.Fatalf("%d: %s", w.Code, said(w.Body.String()))
	}
	f = c.parse(w.Body.String())
	if f.values.Get("text") != text {
		t.Errorf("what was typed became %q", f.values.Get("text"))
	}
	c.send(c.fill(f, url.Values{"clot_drug": {"new"}}))
	notes := c.fold(otherCase).Notes
	if len(notes) != 1 || notes[0].Body.ClotDrug != "new" || notes[0].Body.Text != text {
		t.Errorf("%+v", notes)
	}
	if w := c.get(page.CasePath(otherCase) + "?part=why"); !strings.Contains(w.Body.String(), "names apixaban") {
		t.Error("the case does not ask about the drug")
	}
}
