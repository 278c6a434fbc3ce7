package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/review"
	"lowtide/state"
	"lowtide/web/page"
)

// fullVisit is a visit with everything in it.
func fullVisit() url.Values {
	return url.Values{
		"wounds/0/out/0/count": {"1"}, "wounds/0/in/0/count": {"2"}, "wounds/0/in/2/count": {"1"}, "wounds/0/contact_layer": {"true"},
		"wounds/0/bed": {"granulation", "slough"}, "wounds/0/periwound": {"red"}, "wounds/0/exudate": {"moderate"},
		"signs": {"none"}, "pain": {"3"}, "temperature_C": {"98.6 °F"}, "systolic_mmHg": {"120"}, "systolic_usual_mmHg": {"110"},
		"settles": {"pus"}, "done": {"Swab taken, Dr One told"},
		"seal": {"holds"}, "suction_mmHg": {"125"}, "power/therapy": {"on"}, "power/battery_pct": {"80"}, "power/plugged_in": {"true"}, "power/note": {"cable worn"}, "hold_test/first_mmHg": {"125"}, "hold_test/second_mmHg": {"16 kPa"}, "hold_test/seconds": {"60"}, "pump_place/place": {"shoulder"}, "pump_place/above_cm": {"-20"}, "pump_place/liquid": {"none"},
		"canister/volume_mL": {"150"}, "canister/colour": {"straw"}, "canister/changed": {"true"}, "canister/note": {"n"},
		"-measure/0/length_cm": {"5,5"}, "-measure/0/width_cm": {"3.5"}, "-measure/0/depth_cm": {"1.5"}, "-measure/0/tissue/granulation_pct": {"100"},
		"-measure/0/undermining/0/from_clock": {"1"}, "-measure/0/undermining/0/to_clock": {"3"}, "-measure/0/undermining/0/depth_cm": {"0.5"},
		"note": {"went well"},
	}
}

// TestVisit: one form writes the change and the measurement, and says first that a piece is missing.
func TestVisit(t *testing.T) {
	c := newClient(t)
	patients(c)
	n := len(c.entries(oneCase))
	visit := page.CasePath(oneCase, "visit")
	text := c.get(visit).Body.String()
	for _, want := range []string{"2 foam are in place", "None of these, I looked", "a change every 48 h", "The canister in place holds 300 mL", "Ordered: 125 mmHg, continuous", "Pus, seen", "spinal cord injury", "Last time: 6 × 4"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	f := c.open(visit)
	if got := f.values.Get("next_visit"); got != "2026-03-12T12:00" {
		t.Errorf("next visit suggested for %q", got)
	}
	f = c.fill(f, fullVisit())
	to := c.send(f)
	list := c.entries(oneCase)
	if len(list) != n+2 {
		t.Fatalf("%d entries more, want 2", len(list)-n)
	}
	next := noon.Add(48 * time.Hour)
	same(t, list[n].Body, casebook.DressingChanged{
		Wounds: []casebook.WoundChange{{Wound: "A", Out: []casebook.Pieces{{Filler: "foam", Count: 1}}, In: []casebook.Pieces{{Filler: "foam", Count: 2}, {Filler: "gauze", Count: 1}}, ContactLayer: p(true), Periwound: []string{"red"}, Bed: []string{"granulation", "slough"}, Exudate: "moderate"}},
		Seal:   "holds", SuctionMmHg: p(125.0),
		Seen:     casebook.Seen{Signs: []string{"none"}, TemperatureC: p(37.0), SystolicMmHg: p(120.0), SystolicUsualMmHg: p(110.0), Pain: p(3.0), Settles: []string{"pus"}, Done: "Swab taken, Dr One told"},
		Canister: &casebook.CanisterRead{VolumeML: p(150.0), Changed: p(true), Colour: "straw", Note: "n"},
		HoldTest: &casebook.HoldTest{FirstMmHg: 125, SecondMmHg: 120.01, Seconds: 60}, PumpPlace: &casebook.PumpPlace{Place: "shoulder", AboveCm: p(-20.0), Liquid: "none"},
		Power: &casebook.PowerNoted{BatteryPct: p(80.0), PluggedIn: p(true), Therapy: "on", Note: "cable worn"}, NextVisit: &next, Note: "went well"})
	same(t, list[n+1].Body, casebook.WoundMeasured{Wound: "A", LengthCm: p(5.5), WidthCm: p(3.5), DepthCm: p(1.5), Method: "ruler", Convention: "head to toe", Undermining: []casebook.Under{{FromClock: 1, ToClock: p(3.0), DepthCm: 0.5}}, Tissue: &casebook.Tissue{GranulationPct: 100}})
	// The count comes first, and the finding is there.
	body := c.get(to).Body.String()
	i := strings.Index(body, `role="status">`)
	if i < 0 || !strings.HasPrefix(body[i+len(`role="status">`):], "Wound A: 1 foam piece is missing from the count.") {
		t.Errorf("after saving: %s", said(body))
	}
	rev := review.Of(state.Of(c.fold(oneCase), c.srv.Rules, c.srv.Equipment, nil, c.now), c.srv.Rules)
	if !rev.Therapy.CountOpen || !strings.Contains(body, "Act now") {
		t.Error("no finding about the missing piece")
	}
	// Account for it: the form names wound and filler, never the number.
	acc := c.open(page.CasePath(oneCase, "add", "pieces.accounted"))
	if acc.values.Get("wound") != "A" || acc.values.Get("filler") != "foam" || acc.values.Get("count") != "" {
		t.Errorf("the form of the account starts with %v", acc.values)
	}
	c.now = c.now.Add(time.Minute)
	c.send(c.fill(acc, url.Values{"at": {"2026-03-10T12:01"}, "count": {"1"}, "outcome": {"found and removed"}, "note": {"under the edge"}}))
	if c.fold(oneCase).Wound("A").Count.Open() {
		t.Error("the count is still open")
	}
}

// TestVisitLeavesOut: a wound without anything written is left out; nothing at all is asked about; an uncounted change
// is saved and said.
func TestVisitLeavesOut(t *testing.T) {
	c := newClient(t)
	patients(c)
	n := len(c.entries(oneCase))
	f := c.open(page.CasePath(oneCase, "visit"))
	if w := c.post(f.action, f.values); w.Code != http.StatusUnprocessableEntity || !strings.Contains(said(w.Body.String()), "Nothing is written about any wound") || len(c.entries(oneCase)) != n {
		t.Errorf("an empty visit: %d %s", w.Code, said(w.Body.String()))
	}
	f = c.fill(f, url.Values{"wounds/1/none_out": {"true"}, "wounds/1/in/0/count": {"1"}})
	c.send(f)
	got := c.entries(oneCase)[n].Body.(casebook.DressingChanged)
	if len(got.Wounds) != 1 || got.Wounds[0].Wound != "B" || !got.Wounds[0].NoneOut || got.Canister != nil || got.Power != nil || len(got.Signs) != 0 || len(c.entries(oneCase)) != n+1 {
		t.Errorf("%+v", got)
	}
	f = c.fill(c.open(page.CasePath(oneCase, "visit")), url.Values{"wounds/0/exudate": {"much"}})
	if body := c.get(c.send(f)).Body.String(); !strings.Contains(body, "Wound A: the pieces were not all counted") {
		t.Errorf("after an uncounted change: %s", said(body))
	}
}

// TestVisitProblems stand at the wound that they are about, also when the wound before it is left out, and in the
// measurement.
func TestVisitProblems(t *testing.T) {
	c := newClient(t)
	patients(c)
	c.add(oneCase, time.Hour, casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "Z", NoneOut: true, NoneIn: true}}})
	n := len(c.entries(oneCase))
	typed := url.Values{"wounds/2/out/0/count": {"1"}, "wounds/1/out/3/count": {"99"}, "-measure/0/depth_cm": {"40"}, "canister/volume_mL": {"800"}, "signs": {"none", "pus"}, "next_visit": {"2026-03-01T10:00"}}
	f := c.fill(c.open(page.CasePath(oneCase, "visit")), typed)
	w := c.post(f.action, f.values)
	body := w.Body.String()
	for _, at := range []string{"wounds/2/wound", "wounds/1/out/3/count", "-measure/0/depth_cm", "canister/volume_mL", "signs", "next_visit"} {
		if !strings.Contains(body, `href="#f-`+at+`"`) {
			t.Errorf("no problem at %s", at)
		}
	}
	if w.Code != http.StatusUnprocessableEntity || len(c.entries(oneCase)) != n {
		t.Errorf("status %d, %d entries more", w.Code, len(c.entries(oneCase))-n)
	}
	back := c.parse(body)
	for name, values := range typed {
		if strings.Join(back.values[name], "|") != strings.Join(values, "|") {
			t.Errorf("%s came back as %q, want %q", name, back.values[name], values)
		}
	}
}

// TestBloodPressureIsAsked only of somebody with a cord injury, or when nobody knows.
func TestBloodPressureIsAsked(t *testing.T) {
	for answer, want := range map[string]bool{"yes": true, "unknown": true, "": true, "no": false} {
		c := newClient(t)
		c.add(oneCase, day, casebook.PersonRegistered{Name: "Ann", Place: "home", Zone: "UTC"}, casebook.WoundFound{Wound: "A", Site: "heel", Type: "pressure"})
		if answer != "" {
			c.add(oneCase, day, casebook.ScreeningDone{Answers: map[string]string{"cord_injury": answer}})
		}
		if got := c.open(page.CasePath(oneCase, "visit")).controls["systolic_mmHg"] != nil; got != want {
			t.Errorf("cord injury %q: asked %v", answer, got)
		}
	}
}

// TestCaseMovesOn: a case that changed after the form was opened takes the entry all the same; the same form sent
// many times at once is kept once.
func TestCaseMovesOn(t *testing.T) {
	c := newClient(t)
	patients(c)
	f := c.fill(c.open(page.CasePath(oneCase, "visit")), fullVisit())
	c.add(oneCase, time.Hour, casebook.NoteWritten{Text: "meanwhile"})
	n := len(c.entries(oneCase))
	c.send(f)
	if got := len(c.entries(oneCase)); got != n+2 {
		t.Fatalf("%d entries more", got-n)
	}
	g := c.fill(c.open(page.CasePath(oneCase, "add", "note.written")), url.Values{"text": {"twice"}})
	h := c.fill(c.open(page.CasePath(oneCase, "add", "note.written")), url.Values{"text": {"another"}})
	n = len(c.entries(oneCase))
	var all sync.WaitGroup
	codes := make(chan int, 16)
	for i := range 16 {
		form := g
		if i%2 == 1 {
			form = h
		}
		all.Go(func() { codes <- c.post(form.action, form.values).Code })
	}
	all.Wait()
	close(codes)
	for code := range codes {
		if code != http.StatusSeeOther {
			t.Errorf("status %d", code)
		}
	}
	if got := len(c.entries(oneCase)); got != n+2 {
		t.Errorf("%d entries more, want 2", got-n)
	}
}
