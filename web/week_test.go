package web_test

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/week"
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
		{"/week/place", url.Values{"name": {"Hill"}, "lat": {"0"}, "lon": {"0.0"}}, "in the sea off Africa"},
		{"/week/place", url.Values{"name": {"Hill"}, "lat": {"51"}}, "does not say where"},
		{"/week/place", url.Values{"name": {"Hill"}, "lat": {"91"}, "lon": {"0"}}, "is not a number from -90 to 90"},
		{"/week/wish", url.Values{"case": {oneCase}, "from": {"15:00"}, "to": {"09:00"}}, "after 15:00 and before 09:00"},
		{"/week/wish", url.Values{"case": {oneCase}, "from": {"25:00"}}, "is no time of the day"},
		{"/week/closed", url.Values{"day": {"2026-03-10"}, "from": {"Hill"}, "to": {" hill"}, "extra": {"20"}}, "to the same place"},
		{"/week/closed", url.Values{"day": {"2026-03-01"}, "from": {"Hill"}, "extra": {"20"}}, "2026-03-01 is over"},
		{"/week/roads", url.Values{"legs": {"\"a,b,1"}, "detour": {"1.3"}}, "line 1: this is not CSV"},
		{"/week/off", url.Values{"nurse": {"*"}, "from": {"2026-03-12"}, "to": {"2026-03-11"}}, "ends before it begins"},
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

// TestAloneWithoutSetup: one nurse with eight patients who set nothing up gets the order of today's visits with times, and
// the same as one file that links to nothing.
func TestAloneWithoutSetup(t *testing.T) {
	wd := staffed(t)
	for i := range 8 {
		id := fmt.Sprintf("019cd000-0000-7000-8000-0000000001%02d", i)
		wd.add(id, 4*day, casebook.PersonRegistered{Name: fmt.Sprintf("Patient %d", i), Place: "home", Address: fmt.Sprintf("House %d", i), Zone: "UTC", Team: "East"},
			casebook.WoundFound{Wound: "A", Site: "left heel", Type: "pressure", Stage: "4"},
			casebook.OrderWritten{Prescriber: "Dr One", Wounds: []string{"A"}, Stages: []casebook.Stage{{SuctionMmHg: 125}}, Filler: "foam", ChangeEveryH: p(72.0)},
			casebook.PumpAssigned{Pump: fmt.Sprintf("P-1%d", i), Class: "portable", CanisterML: p(300.0), Wounds: []string{"A"}})
		wd.add(id, 3*day, casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "A", NoneOut: true, In: []casebook.Pieces{{Filler: "foam", Count: 2}}}}, Seal: "holds", SuctionMmHg: p(125.0), Seen: casebook.Seen{Signs: []string{"none"}}})
	}
	wd.now = noon.Add(-5 * time.Hour)
	wd.signIn("n.east")
	body := wd.get("/week/day").Body.String()
	starts := regexp.MustCompile(`<b>(\d\d:\d\d)</b>`).FindAllStringSubmatch(body, -1)
	if len(starts) < 8 || !strings.Contains(body, "works alone") {
		t.Fatalf("%d visits: %s", len(starts), body)
	}
	for i := 1; i < len(starts); i++ {
		if starts[i][1] <= starts[i-1][1] {
			t.Errorf("%s after %s", starts[i][1], starts[i-1][1])
		}
	}
	w := wd.get("/week/day/file")
	file := w.Body.String()
	if !strings.HasPrefix(w.Header().Get("Content-Disposition"), `attachment; filename="my-day-`) || strings.Contains(file, "<a ") || strings.Contains(file, "<script") || strings.Contains(file, "src=") || strings.Count(file, "<b>") < 8 {
		t.Errorf("%v %s", w.Header(), file)
	}
	if body := wd.get("/week").Body.String(); !strings.Contains(body, "My day has the order") {
		t.Error("the week does not say where one who works alone looks")
	}
}

// TestRoadServer: what the road server says, or that it fails, stands on the page.
func TestRoadServer(t *testing.T) {
	wd := staffed(t)
	wd.signIn("n.east")
	wd.srv.Roads = func(_ context.Context, places []week.Place) ([]week.Leg, string) {
		return nil, fmt.Sprintf("The road server gave no travel times for %d places.", len(places))
	}
	if body := wd.get("/week").Body.String(); !strings.Contains(body, "gave no travel times for 0 places") {
		t.Error("the page does not say so")
	}
}
