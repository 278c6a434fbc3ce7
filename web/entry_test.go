package web_test

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/web/page"
)

func hours(h float64) *time.Time { t := noon.Add(time.Duration(h * float64(time.Hour))); return &t }

// whole has every field of every kind that a form of its own writes.
func whole() []casebook.Body {
	answers := map[string]string{}
	for i, q := range casebook.Questions {
		answers[q.ID] = []string{"yes", "no", "unknown"}[i%3]
	}
	seen := casebook.Seen{Signs: []string{"pus", "bad smell"}, TemperatureC: p(37.5), SystolicMmHg: p(150.0), SystolicUsualMmHg: p(110.0), Pain: p(4.0), Settles: []string{"pus"}, Done: "Told Dr One"}
	return []casebook.Body{
		casebook.PersonRegistered{Name: "Ann <Case> & \"Sons\"", Born: "1950-02-01", Record: "R-1", Place: "home", Address: "1 Low Road", Zone: "Europe/London", Nurse: "N. Test", Team: "North", Mobility: "chair", Language: "Welsh", WeightKg: p(61.5),
			Contacts: []casebook.Contact{{Role: "carer", Name: "C", Phone: "0115 496 0000"}, {Role: "prescriber", Name: "Dr One", Phone: "0115 496 0001"}}},
		casebook.WoundFound{Wound: "C", Site: "right hip", Type: "pressure", Stage: "4", Since: "2026-01-05", Limb: p(false), Circumferential: p(false), PoorPerfusion: p(true), Infected: p(true), Clock: "toes", InPlace: []casebook.Pieces{{Filler: "foam", Count: 1}, {Filler: "gauze", Count: 2}}},
		casebook.WoundFound{Wound: "D", Site: "right heel", Type: "other", InPlaceUnknown: true},
		casebook.ScreeningDone{Wound: "A", Answers: answers, Note: "two\nlines"},
		casebook.OrderWritten{Prescriber: "Dr One", Wounds: []string{"A", "B"}, Stages: []casebook.Stage{{SuctionMmHg: 125, HoldMin: p(5.0)}, {SuctionMmHg: 50, HoldMin: p(2.0)}, {SuctionMmHg: -80}}, Filler: "dense foam", ContactLayer: "silicone", ChangeEveryH: p(60.0), Goal: "close", GoalKind: "level and granulated", GoalDepthCm: p(0.5), GoalGranulationPct: p(90.0), DurationDays: p(28.0), AcceptsRisks: []string{"anticoagulant", "cord_injury"}, Note: "n"},
		casebook.OrderStopped{By: "Dr One", Note: "bleeding"},
		casebook.PumpAssigned{Pump: "P-2", Class: "bedside", CanisterML: p(500.0), Wounds: []string{"A"}, Note: "n"},
		casebook.PumpReturned{Pump: "P-1", Cleaned: p(true), Note: "n"},
		casebook.PiecesAccounted{Wound: "A", Filler: "foam", Count: 1, Outcome: "imaging shows none", Note: "film of today"},
		casebook.WoundMeasured{Wound: "A", LengthCm: p(5.5), WidthCm: p(3.5), DepthCm: p(1.2), AreaCm2: p(15.0), PerimeterCm: p(14.5), VolumeCm3: p(12.0), VolumeMethod: "cast", Method: "tracing", Convention: "longest and widest", Undermining: []casebook.Under{{FromClock: 1, ToClock: p(3.0), DepthCm: 0.5}, {FromClock: 6, DepthCm: 1}}, Tunnels: []casebook.Under{{FromClock: 9, DepthCm: 2}}, Tissue: &casebook.Tissue{GranulationPct: 70, SloughPct: 15, EscharPct: 5, EpitheliumPct: 5, OtherPct: 5}, BedLevel: p(false), Note: "n"},
		casebook.WoundMeasured{Wound: "B", Method: "ruler", NoneUnder: true},
		casebook.CanisterRead{Pump: "P-1", VolumeML: p(120.0), Changed: p(true), SizeML: p(400.0), Colour: "pink", Note: "n"},
		casebook.AlarmReported{Alarm: "leak", OffSince: hours(-1), SuctionMmHg: p(20.0), Settled: p(false), ReportedBy: "carer", Note: "n"},
		casebook.PowerNoted{BatteryPct: p(35.0), PluggedIn: p(true), Therapy: "on", Note: "n"},
		casebook.SupplyMoved{Item: "canister", Count: -2, From: "car", Lot: "L", Expires: "2027-01-01", Note: "n"},
		casebook.TeachingGiven{To: "carer", Topics: []string{"alarms", "whom to call"}, Understood: p(true), Note: "n"},
		casebook.NoteWritten{Text: "Spoke to Dr One", Seen: seen, NextVisit: hours(20), PrescriberTold: "Dr One", Wish: "not sure", About: []string{"SIGN-INFECTION-01"}},
		casebook.OrderWritten{GoalKind: "area under", GoalAreaCm2: p(4.0)},
		casebook.DecisionMade{Choice: "continue", By: "Dr One", Wounds: []string{"A"}, NextAt: hours(24 * 14), Wish: "to go on", Reasons: "depth falls", Unsure: "three sizes only", Tried: []string{"filler", "off-loading"}, Next: "measure weekly", Note: "n"},
		casebook.CallTaken{Call: "c-1", Caller: "son", Phone: "1", Patient: "Ann", OffSince: hours(-1), Therapy: "off", Answers: []casebook.CallAnswer{{Question: "danger:blood", Answer: "no"}, {Question: "alarm", Answer: "leak"}}, Checks: []casebook.CallCheck{{Check: "kink", Result: "not fixed"}}, ComesWho: "nurse", ComesAt: hours(1), Ended: "somebody comes", Found: "kink", GoesOn: "x", Note: "n"},
		casebook.PayerNoted{Payer: "us-medicare", Start: "2026-02-20", HomeSince: "2026-03-01", Documented: []string{"initial", "A1-moist"}, Note: "n"},
		casebook.TherapyEnded{Why: "goal met", By: "Dr One", Next: "plain dressing", Note: "n"},
	}
}

// same compares bodies by their JSON: times are equal as moments.
func same(t *testing.T, got, want casebook.Body) {
	t.Helper()
	utc := func(b casebook.Body) string {
		switch x := b.(type) {
		case casebook.NoteWritten:
			x.NextVisit = in(x.NextVisit)
			b = x
		case casebook.DecisionMade:
			x.NextAt = in(x.NextAt)
			b = x
		case casebook.AlarmReported:
			x.OffSince = in(x.OffSince)
			b = x
		case casebook.CallTaken:
			x.OffSince, x.ComesAt = in(x.OffSince), in(x.ComesAt)
			b = x
		case casebook.DressingChanged:
			x.NextVisit = in(x.NextVisit)
			b = x
		}
		raw, err := json.Marshal(b)
		if err != nil {
			t.Fatal(err)
		}
		return string(raw)
	}
	if g, w := utc(got), utc(want); g != w {
		t.Errorf("got  %s\nwant %s", g, w)
	}
}

func in(t *time.Time) *time.Time {
	if t == nil {
		return nil
	}
	u := t.UTC()
	return &u
}

// TestEntryForms: for every kind the form is opened, filled as a person without script would, and sent; the entry
// says what was typed, and the case's page opens and says that it was saved.
func TestEntryForms(t *testing.T) {
	london, _ := time.LoadLocation("Europe/London")
	for _, want := range whole() {
		t.Run(string(want.Kind()), func(t *testing.T) {
			c := newClient(t)
			patients(c)
			if n, ok := want.(casebook.NoteWritten); ok {
				rev := openRules(c)
				n.About = rev[:1]
				want = n
			}
			if k, ok := want.(casebook.CanisterRead); ok && k.Pump != "" {
				c.add(oneCase, day, casebook.PumpAssigned{Pump: "P-2"}) // else the form does not ask
			}
			n := len(c.entries(oneCase))
			f := c.fill(c.open(page.CasePath(oneCase, "add", string(want.Kind()))), page.Flatten(want, london))
			to := c.send(f)
			list := c.entries(oneCase)
			if len(list) != n+1 {
				t.Fatalf("%d entries more", len(list)-n)
			}
			e := list[n]
			same(t, e.Body, want)
			if e.Kind != want.Kind() || !e.At.Equal(noon) || e.Author != "N. Test" || !strings.Contains(to, e.ID) {
				t.Errorf("entry %+v, then %s", e, to)
			}
			if w := c.get(to); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), `role="status"`) {
				t.Errorf("GET %s: %d", to, w.Code)
			}
			// The same form again: the entry is kept once.
			c.now = c.now.Add(3 * time.Second)
			if again := c.send(f); again != to || len(c.entries(oneCase)) != n+1 {
				t.Errorf("sent twice: %s, %d entries more", again, len(c.entries(oneCase))-n)
			}
			// The same form with other content is not taken for the first.
			f.values.Set("at", "2026-03-10T11:00")
			if w := c.post(f.action, f.values); w.Code != http.StatusConflict || len(c.entries(oneCase)) != n+1 {
				t.Errorf("sent again with other content: %d", w.Code)
			}
		})
	}
}

// openRules are the rules that a note's form offers to be about.
func openRules(c *client) []string {
	return c.open(page.CasePath(oneCase, "add", string(casebook.KindNoteWritten))).controls["about"].values
}

// elsewhere are fields that no person types, with who fills them.
var elsewhere = map[casebook.Kind]map[string]string{
	casebook.KindPhotoTaken: {"width_px": "the server, from the photo", "height_px": "the server, from the photo"},
	casebook.KindLogImported: {"from": "the reading of the file", "to": "the reading of the file", "rows": "the reading of the file", "rows_not_used": "the reading of the file", "reasons/0/row": "the reading of the file", "reasons/0/why": "the reading of the file",
		"rows_unused/0/row": "the reading of the file", "rows_unused/0/why": "the reading of the file", "notes": "the reading of the file", "notes/0": "the reading of the file", "mapping": "the choices for each column, once a file was looked at", "key": "the reading of the file", "ahead_min": "the field of the minutes", "before_min": "the field of the earlier minutes", "before_at": "the field of their time"},
	casebook.KindNoteWritten:    {"clot_drug": "the note's form, once its text names such a drug: TestNoteAsksAboutDrug"},
	casebook.KindReviewSigned:   {"rules": "the server, from the review", "program": "the server, from the review", "open": "the server, from the review"},
	casebook.KindEntryCorrected: {"action": "the way that was chosen", "body": "the form of the corrected kind", "original": "the moved entry"},
}

// TestEveryFieldHasAControl compares the description of every kind with the names on its forms.
func TestEveryFieldHasAControl(t *testing.T) {
	c := newClient(t)
	patients(c)
	signed := c.add(oneCase, day, casebook.NoteWritten{Text: "x"})
	c.add(oneCase, day, casebook.PumpAssigned{Pump: "P-2"}) // so that a canister's form asks for its pump
	forms := map[casebook.Kind][]string{
		casebook.KindDressingChanged: {page.CasePath(oneCase, "visit")},
		casebook.KindReviewSigned:    {page.CasePath(oneCase, "sign")},
		casebook.KindPhotoTaken:      {page.CasePath(oneCase, "photo")},
		casebook.KindLogImported:     {page.CasePath(oneCase, "pump-log")},
		casebook.KindEntryCorrected:  {page.CasePath(oneCase, "correct", signed[0]) + "?do=replace", page.CasePath(oneCase, "correct", signed[0]) + "?do=move"},
	}
	for _, kind := range casebook.Kinds() {
		if kind == casebook.KindOutlineTraced || kind == casebook.KindContradictionSettled {
			continue // drawn on its photo and measured by the server: TestOutlineIsConfirmed; both sides of what is asked: TestAsked
		}
		paths := forms[kind]
		if paths == nil {
			paths = []string{page.CasePath(oneCase, "add", string(kind))}
		}
		names := map[string]bool{}
		for _, path := range paths {
			for name := range c.open(path).controls {
				names[strings.TrimSuffix(name, "?")] = true
			}
		}
		for _, leaf := range leaves(intake.FieldsOf(kind), "") {
			if elsewhere[kind][leaf] == "" && !names[leaf] && !names[strings.TrimPrefix(leaf, "answers")] {
				t.Errorf("%s: no control for %s", kind, leaf)
			}
		}
	}
}

// leaves lists the names of the first row of everything.
func leaves(fields []intake.Field, prefix string) []string {
	var out []string
	for _, f := range fields {
		switch f.Type {
		case intake.TypeGroup:
			out = append(out, leaves(f.Fields, prefix+f.Name+"/")...)
		case intake.TypeRows:
			out = append(out, leaves(f.Fields, prefix+f.Name+"/0/")...)
		case intake.TypeAnswers:
			for _, q := range casebook.Questions {
				out = append(out, prefix+f.Name+"/"+q.ID)
			}
		default:
			out = append(out, prefix+f.Name)
		}
	}
	return out
}

// TestNothingIsAnswered: no form comes with a count, a volume, a sign or an answer filled in.
func TestNothingIsAnswered(t *testing.T) {
	c := newClient(t)
	patients(c)
	for _, path := range []string{"visit", "add/screening.done", "add/pieces.accounted", "add/canister.read", "add/note.written", "add/wound.found", "add/supply.moved", "add/power.noted"} {
		for name, values := range c.open(page.CasePath(oneCase) + "/" + path).values {
			for _, part := range []string{"count", "volume", "signs", "answers", "settles", "none_", "pct", "cm", "pain", "seal", "suction", "temperature", "unknown"} {
				if strings.Contains(name, part) && strings.TrimSpace(strings.Join(values, "")) != "" {
					t.Errorf("%s: %s is filled with %q", path, name, values)
				}
			}
		}
	}
}

// TestProblemsAtTheirField: what is wrong stands at its field and in the list, what was typed stays.
func TestProblemsAtTheirField(t *testing.T) {
	c := newClient(t)
	patients(c)
	for _, x := range []struct {
		name, path string
		typed      url.Values
		at         string // the field that says what is wrong
		words      string
	}{
		{"a depth of 40 cm", "add/wound.measured", url.Values{"wound": {"A"}, "method": {"ruler"}, "depth_cm": {"40"}}, "depth_cm", "0 to 20 cm"},
		{"shares of 130 %", "add/wound.measured", url.Values{"wound": {"A"}, "method": {"ruler"}, "tissue/granulation_pct": {"80"}, "tissue/slough_pct": {"50"}}, "tissue", "130 %"},
		{"the future", "add/power.noted", url.Values{"at": {"2026-03-10T14:00"}, "battery_pct": {"20"}}, "at", "in the future"},
		{"no such day", "add/supply.moved", url.Values{"item": {"x"}, "count": {"1"}, "expires": {"2026-02-30"}}, "expires", "not a day"},
		{"before the wound", "add/wound.measured", url.Values{"wound": {"A"}, "method": {"ruler"}, "at": {"2020-01-01T10:00"}}, "wound", "was found"},
		{"too full", "add/canister.read", url.Values{"volume_mL": {"900"}}, "volume_mL", "more than the canister holds"},
		{"words for a number", "add/canister.read", url.Values{"volume_mL": {"half"}}, "volume_mL", "a number is needed"},
		{"nothing done", "add/note.written", url.Values{"text": {"x"}, "settles": {"pus"}}, "done", "what was done"},
		{"too long", "add/note.written", url.Values{"text": {strings.Repeat("é", 10001)}}, "text", "10001 characters"},
		{"a gap of the clock", "add/note.written", url.Values{"text": {"x"}, "next_visit": {"2026-03-29T01:30"}}, "next_visit", "does not exist"},
		{"no time", "add/note.written", url.Values{"text": {"x"}, "at": {""}}, "at", "is missing"},
		{"a row", "add/order.written", url.Values{"stages/0/suction_mmHg": {"deep"}}, "stages/0/suction_mmHg", "a number is needed"},
	} {
		t.Run(x.name, func(t *testing.T) {
			n := len(c.entries(oneCase))
			f := c.fill(c.open(page.CasePath(oneCase)+"/"+x.path), x.typed)
			w := c.post(f.action, f.values)
			body := w.Body.String()
			if w.Code != http.StatusUnprocessableEntity || len(c.entries(oneCase)) != n {
				t.Fatalf("status %d, %d entries more", w.Code, len(c.entries(oneCase))-n)
			}
			i := strings.Index(body, `id="f-`+x.at+`-wrong"`)
			if i < 0 || !strings.Contains(body[i:min(len(body), i+800)], x.words) {
				t.Errorf("no %q at the field %s:\n%s", x.words, x.at, said(body))
			}
			if !strings.Contains(body, `href="#f-`+x.at+`"`) || !strings.Contains(body, `id="f-`+x.at+`"`) {
				t.Errorf("the list does not link to %s", x.at)
			}
			back := c.parse(body)
			for name, values := range x.typed {
				if strings.Join(back.values[name], "|") != strings.Join(values, "|") {
					t.Errorf("%s came back as %q", name, back.values[name])
				}
			}
			if back.values.Get("-key") != f.values.Get("-key") {
				t.Error("the form has another key: sent twice it would be written twice")
			}
		})
	}
}
