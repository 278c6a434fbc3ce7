package web_test

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
)

// TestWeekCalendar: a secret address shows the calendar to whoever has it, and to nobody else; a new one ends the old.
func TestWeekCalendar(t *testing.T) {
	wd := staffed(t)
	wd.signIn("n.east")
	address := func() string {
		body := wd.post("/week/calendar", url.Values{}).Body.String()
		return regexp.MustCompile(`/calendar/[0-9a-f]{40}\.ics`).FindString(body)
	}
	first := address()
	if first == "" {
		t.Fatal("no address")
	}
	wd.jar = map[string]*http.Cookie{}
	if w := wd.get(first); w.Code != http.StatusOK || !strings.HasPrefix(w.Body.String(), "BEGIN:VCALENDAR\r\n") || !strings.HasPrefix(w.Header().Get("Content-Type"), "text/calendar") {
		t.Errorf("%d %s", w.Code, w.Body)
	}
	for _, wrong := range []string{"/calendar/" + strings.Repeat("0", 40) + ".ics", "/calendar/x.ics", strings.TrimSuffix(first, ".ics")} {
		if w := wd.get(wrong); w.Code != http.StatusNotFound {
			t.Errorf("%s: %d", wrong, w.Code)
		}
	}
	wd.signIn("n.east")
	second := address()
	if w := wd.get(first); w.Code != http.StatusNotFound || wd.get(second).Code != http.StatusOK {
		t.Errorf("the old address: %d", w.Code)
	}
}

// TestWeekForms: what is wrong is listed with its remedy and comes back filled; a plan that is no more is not kept.
func TestWeekForms(t *testing.T) {
	wd := staffed(t)
	wd.signIn("n.east")
	for _, x := range []struct {
		path string
		form url.Values
		want string
	}{
		{"/week/nurse", url.Values{"account": {"n"}, "name": {"N"}, "days": {"1"}, "from": {"16:00"}, "to": {"08:00"}}, "end before they begin"},
		{"/week/place", url.Values{"name": {"Hill"}, "east": {"far"}}, "is not a number"},
		{"/week/place", url.Values{"name": {"Hill"}}, "does not say where"},
		{"/week/roads", url.Values{"legs": {"a,b,1\nc,d,x"}, "detour": {"1.3"}}, "line 2"},
		{"/week/off", url.Values{"nurse": {"nobody"}, "from": {"2026-03-02"}, "to": {"2026-03-01"}}, "has no working hours"},
		{"/week/extra", url.Values{"case": {"x"}, "day": {"soon"}}, "is not a day"},
		{"/week/settings", url.Values{"full_pct": {"200"}}, "is not a number from 0.1 to 90"},
	} {
		w := wd.post(x.path, x.form)
		if body := w.Body.String(); w.Code != http.StatusUnprocessableEntity || !strings.Contains(body, x.want) {
			t.Errorf("%s %v: %d, no %q", x.path, x.form, w.Code, x.want)
		}
	}
	if body := wd.post("/week/place", url.Values{"name": {"Hill"}, "east": {"far"}}).Body.String(); !strings.Contains(body, `value="far"`) {
		t.Error("what was typed is gone")
	}
	if w := wd.post("/week/nurse", url.Values{"account": {"n"}, "name": {"N"}, "days": {"1", "2"}, "from": {"08:00"}, "to": {"16:00"}, "base": {"Hill"}}); w.Code != http.StatusSeeOther {
		t.Errorf("a nurse: %d", w.Code)
	}
	if body := wd.get("/week/set").Body.String(); !strings.Contains(body, "Mon 08:00 to 16:00, Tue 08:00 to 16:00") {
		t.Error("the nurse is not there")
	}
	if w := wd.post("/week/keep", url.Values{"plan": {"another"}}); w.Code != http.StatusConflict {
		t.Errorf("a plan that is no more: %d", w.Code)
	}
}
