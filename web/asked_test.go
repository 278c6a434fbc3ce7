package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/web/page"
)

// TestAsked: two entries that contradict each other are shown side by side, and what the nurse says of them counts.
func TestAsked(t *testing.T) {
	c := newClient(t)
	ids := c.add(oneCase, time.Hour, casebook.PowerNoted{Therapy: "on"}, casebook.PowerNoted{Therapy: "off"})
	path := page.CasePath(oneCase, "asked")
	body := c.get(page.CasePath(oneCase)).Body.String()
	if !strings.Contains(body, path) || !strings.Contains(body, "Say which of the entries that contradict each other is right.") {
		t.Error("the case does not lead to what is asked")
	}
	body = c.get(path).Body.String()
	for _, want := range []string{"Suction is said to be on and off in one minute.", "Suction is taken as off.", "This one", "Both are right", "Neither: correct this entry"} {
		if !strings.Contains(body, want) {
			t.Errorf("%q is not on the page", want)
		}
	}
	_, key, _ := strings.Cut(body, `name="-key" value="`)
	key, _, _ = strings.Cut(key, `"`)
	form := url.Values{"-key": {key}, "about": {"suction"}, "entries": {strings.Join(ids, " ")}}
	w := c.post(path, form)
	for _, want := range []string{"It is not said which is right.", "It is not said how that is known."} {
		if w.Code != http.StatusUnprocessableEntity || strings.Count(problemsOf(w.Body.String()), want) != 1 {
			t.Errorf("saved empty: %d, %q is not asked once: %s", w.Code, want, problemsOf(w.Body.String()))
		}
	}
	form.Set("right", ids[0])
	if w := c.post(path, form); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "Asked about") {
		t.Errorf("without how it is known: %d", w.Code)
	}
	form.Set("how", "asked his wife: it runs")
	form.Set("right", "somebody")
	if w := c.post(path, form); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("right is none of them: %d", w.Code)
	}
	form.Set("right", ids[0])
	if w := c.post(path, form); w.Code != http.StatusSeeOther {
		t.Fatalf("saving: %d %s", w.Code, w.Body)
	}
	if w := c.post(path, form); w.Code != http.StatusSeeOther {
		t.Errorf("sent twice: %d", w.Code)
	}
	_, rev, _, err := c.srv.Caseload.Case(t.Context(), oneCase, c.srv.Now())
	if err != nil {
		t.Fatal(err)
	}
	if len(rev.Asked) > 0 || rev.Therapy.Suction != "on" {
		t.Errorf("settled: asked %+v, suction %s", rev.Asked, rev.Therapy.Suction)
	}
	if !strings.Contains(c.get(path).Body.String(), "Nothing is asked") {
		t.Error("the page still asks")
	}
}

// problemsOf is what a page says is missing or wrong.
func problemsOf(page string) string {
	_, after, _ := strings.Cut(page, `class="problems"`)
	list, _, _ := strings.Cut(after, "</ul>")
	return list
}
