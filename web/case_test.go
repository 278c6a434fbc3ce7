package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
)

// TestNewCase: the patient and the first wound start a case, once.
func TestNewCase(t *testing.T) {
	c := newClient(t)
	patients(c)
	f := c.open("/case/new")
	if f.values.Get("person/zone") != "Europe/London" || f.values.Get("wound/wound") != "A" {
		t.Errorf("starts with %v", f.values)
	}
	w := c.post(f.action, f.values)
	for _, at := range []string{"person/name", "person/place", "wound/site", "wound/type"} {
		if !strings.Contains(w.Body.String(), `id="f-`+at+`-wrong"`) {
			t.Errorf("nothing is said about %s", at)
		}
	}
	f = c.fill(f, url.Values{"person/name": {"Cy New"}, "person/place": {"nursing home"}, "person/contacts/0/role": {"carer"}, "person/contacts/0/phone": {"0115 496 0002"}, "wound/site": {"left shin"}, "wound/type": {"venous"}, "wound/in_place/0/filler": {"foam"}, "wound/in_place/0/count": {"2"}})
	to := c.send(f)
	if again := c.send(f); again != to {
		t.Errorf("sent twice: %s, then %s", to, again)
	}
	id := strings.TrimPrefix(strings.Split(to, "?")[0], "/case/")
	if e := c.entries(id); len(e) != 2 || e[0].Case != id || id[14] != '7' {
		t.Fatalf("case %s has %d entries", id, len(e))
	}
	same(t, c.entries(id)[0].Body, casebook.PersonRegistered{Name: "Cy New", Place: "nursing home", Zone: "Europe/London", Contacts: []casebook.Contact{{Role: "carer", Phone: "0115 496 0002"}}})
	same(t, c.entries(id)[1].Body, casebook.WoundFound{Wound: "A", Site: "left shin", Type: "venous", InPlace: []casebook.Pieces{{Filler: "foam", Count: 2}}})
	if w := c.get(to); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "Cy New") {
		t.Errorf("GET %s: %d", to, w.Code)
	}
	// Somebody of the same name: asked first, then taken.
	g := c.fill(c.open("/case/new"), url.Values{"person/name": {"Cy New"}, "person/place": {"home"}, "wound/site": {"hip"}, "wound/type": {"pressure"}})
	w = c.post(g.action, g.values)
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(said(w.Body.String()), "There is a case of Cy New already") {
		t.Errorf("the same name again: %d %s", w.Code, said(w.Body.String()))
	}
	g = c.fill(c.parse(w.Body.String()), url.Values{"-same": {"true"}})
	if other := c.send(g); other == to {
		t.Error("the second case is the first")
	}
}

// TestClockOfThePatient: times are typed and shown in the patient's zone, whatever the server's.
func TestClockOfThePatient(t *testing.T) {
	c := newClient(t)
	c.add(oneCase, day, casebook.PersonRegistered{Name: "Ann", Place: "home", Zone: "America/New_York"}, casebook.WoundFound{Wound: "A", Site: "heel", Type: "pressure"})
	f := c.open("/case/" + oneCase + "/add/power.noted")
	if got := f.values.Get("at"); got != "2026-03-10T08:00" { // daylight saving began on the 8th
		t.Errorf("now is shown as %s", got)
	}
	c.send(c.fill(f, url.Values{"battery_pct": {"50"}, "at": {"2026-03-08T01:30"}, "therapy": {"on"}}))
	list := c.entries(oneCase)
	if at := list[len(list)-1].At; !at.Equal(time.Date(2026, 3, 8, 6, 30, 0, 0, time.UTC)) || at.Format("-07:00") != "-05:00" {
		t.Errorf("written as %s", at.Format(time.RFC3339))
	}
}
