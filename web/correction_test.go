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

func fix(entry, do string) string {
	return page.CasePath(oneCase, "correct", entry) + "?do=" + do
}

// TestReplaceEveryKind: the form of a correction starts with what the entry says; sent as it is, nothing is written;
// with one thing changed, only that changes, and the log has both versions.
func TestReplaceEveryKind(t *testing.T) {
	change := map[casebook.Kind]url.Values{
		casebook.KindPersonRegistered: {"body/name": {"Anne"}}, casebook.KindWoundFound: {"body/site": {"left hip"}}, casebook.KindScreeningDone: {"body/answers/eschar": {"unknown"}},
		casebook.KindOrderWritten: {"body/prescriber": {"Dr Two"}}, casebook.KindWoundMeasured: {"body/note": {"misread"}}, casebook.KindDressingChanged: {"body/wounds/0/in/0/count": {"3"}},
		casebook.KindOrderStopped: {"body/by": {"Dr Two"}}, casebook.KindPumpAssigned: {"body/note": {"x"}}, casebook.KindPumpReturned: {"body/note": {"x"}}, casebook.KindPiecesAccounted: {"body/note": {"another picture"}},
		casebook.KindCanisterRead: {"body/volume_mL": {"130"}}, casebook.KindAlarmReported: {"body/alarm": {"blockage"}}, casebook.KindPowerNoted: {"body/battery_pct": {"36"}}, casebook.KindSupplyMoved: {"body/count": {"-3"}},
		casebook.KindTeachingGiven: {"body/to": {"staff"}}, casebook.KindNoteWritten: {"body/text": {"Spoke to Dr Two"}}, casebook.KindPayerNoted: {"body/start": {"2026-02-21"}}, casebook.KindTherapyEnded: {"body/why": {"pain"}}, casebook.KindCallTaken: {"body/caller": {"daughter"}}, casebook.KindDecisionMade: {"body/choice": {"stop"}},
	}
	next := noon.Add(48 * time.Hour)
	all := append(whole(), casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "B", NoneOut: true, In: []casebook.Pieces{{Filler: "foam", Count: 2}, {Filler: "gauze", Count: 1}}, ContactLayer: p(false), Bed: []string{"pale"}}, {Wound: "A", Out: []casebook.Pieces{{Filler: "foam", Count: 2}}, NoneIn: true}},
		Seal: "holds", Canister: &casebook.CanisterRead{VolumeML: p(10.0), Changed: p(false)}, Power: &casebook.PowerNoted{Therapy: "on"}, NextVisit: &next, Seen: casebook.Seen{Signs: []string{"none"}}})
	for _, was := range all {
		t.Run(string(was.Kind()), func(t *testing.T) {
			c := newClient(t)
			patients(c)
			id := c.add(oneCase, 30*time.Minute, was)[0]
			n := len(c.entries(oneCase))
			f := c.fill(c.open(fix(id, "replace")), url.Values{"reason": {"misread"}})
			if w := c.post(f.action, f.values); w.Code != http.StatusUnprocessableEntity || !strings.Contains(said(w.Body.String()), "Nothing was changed") {
				t.Fatalf("sent as it came: %d %s", w.Code, said(w.Body.String()))
			}
			f = c.fill(f, change[was.Kind()])
			to := c.send(f)
			c.now = c.now.Add(time.Second)
			if again := c.send(f); again != to || len(c.entries(oneCase)) != n+1 {
				t.Errorf("sent twice: %s and %s, %d entries more", to, again, len(c.entries(oneCase))-n)
			}
			l := c.fold(oneCase).Line(id)
			if l.State != casebook.Replaced || l.At.Unix() != c.entries(oneCase)[n-1].At.Unix() {
				t.Errorf("state %s at %s", l.State, l.At)
			}
			same(t, l.Entry.Body, was)
			london, _ := time.LoadLocation("Europe/London")
			want := page.Flatten(was, london)
			for name, values := range change[was.Kind()] {
				want[strings.TrimPrefix(name, "body/")] = values
			}
			got := page.Flatten(l.Now, london)
			if got.Encode() != want.Encode() {
				t.Errorf("got  %v\nwant %v", got, want)
			}
			log := c.get(page.CasePath(oneCase, "log")).Body.String()
			if !strings.Contains(log, "misread") || !strings.Contains(log, "Written at first") {
				t.Error("the log does not show both versions with the reason")
			}
		})
	}
}

// TestCorrectTime: only the time is corrected.
func TestCorrectTime(t *testing.T) {
	c := newClient(t)
	patients(c)
	id := c.add(oneCase, time.Hour, casebook.NoteWritten{Text: "x"})[0]
	c.send(c.fill(c.open(fix(id, "replace")), url.Values{"reason": {"an hour earlier"}, "at": {"2026-03-10T10:00"}}))
	l := c.fold(oneCase).Line(id)
	if !l.At.Equal(noon.Add(-2*time.Hour)) || l.Now.(casebook.NoteWritten).Text != "x" {
		t.Errorf("%s %+v", l.At, l.Now)
	}
	f := c.fill(c.open(fix(id, "replace")), url.Values{"reason": {"x"}, "at": {"2027-01-01T10:00"}})
	if w := c.post(f.action, f.values); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), `id="f-at-wrong"`) {
		t.Errorf("a time in the future: %d %s", w.Code, said(w.Body.String()))
	}
}

// TestWithdrawAndUndo: an entry is withdrawn with a reason, and counts again when that is undone.
func TestWithdrawAndUndo(t *testing.T) {
	c := newClient(t)
	patients(c)
	id := c.add(oneCase, time.Hour, casebook.CanisterRead{VolumeML: p(100.0)})[0]
	f := c.open(fix(id, "withdraw"))
	if w := c.post(f.action, f.values); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), `id="f-reason-wrong"`) {
		t.Errorf("without a reason: %d", w.Code)
	}
	f = c.fill(f, url.Values{"reason": {"of another day"}})
	to := c.send(f)
	if again := c.send(f); again != to {
		t.Errorf("sent twice: %s, then %s", to, again)
	}
	fold := c.fold(oneCase)
	if l := fold.Line(id); l.State != casebook.Withdrawn || len(l.By) != 1 {
		t.Fatalf("state %s by %v", l.State, l.By)
	}
	by := fold.Line(id).By[0]
	choices := c.get(page.CasePath(oneCase, "correct", id)).Body.String()
	if !strings.Contains(choices, page.CasePath(oneCase, "correct", by)) {
		t.Error("the page of a withdrawn entry does not lead to undoing it")
	}
	c.now = c.now.Add(time.Minute)
	c.send(c.fill(c.open(fix(by, "withdraw")), url.Values{"reason": {"it was of today"}}))
	if l := c.fold(oneCase).Line(id); l.State != casebook.InForce {
		t.Errorf("after undoing: %s", l.State)
	}
}

// TestMove: an entry of the wrong patient's case goes to the right one; both show it; a repeat changes nothing; a move
// that broke off in between is finished; undoing it brings it back.
func TestMove(t *testing.T) {
	c := newClient(t)
	patients(c)
	id := c.add(oneCase, time.Hour, casebook.NoteWritten{Text: "about Bea"})[0]
	n, m := len(c.entries(oneCase)), len(c.entries(otherCase))
	f := c.open(fix(id, "move"))
	if w := c.post(f.action, f.values); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), `id="f-other_case-wrong"`) || !strings.Contains(w.Body.String(), `id="f-reason-wrong"`) {
		t.Errorf("without patient and reason: %d %s", w.Code, said(w.Body.String()))
	}
	f = c.fill(f, url.Values{"other_case": {otherCase}, "reason": {"written into the wrong case"}})
	to := c.send(f)
	if again := c.send(f); again != to || len(c.entries(oneCase)) != n+1 || len(c.entries(otherCase)) != m+1 {
		t.Errorf("sent twice: %s, then %s", to, again)
	}
	if l := c.fold(oneCase).Line(id); l.State != casebook.MovedOut || l.Now != nil {
		t.Errorf("here: %s", l.State)
	}
	there := c.fold(otherCase)
	in := &there.Log[len(there.Log)-1]
	for i := range there.Log {
		if there.Log[i].State == casebook.MovedIn {
			in = &there.Log[i]
		}
	}
	if in.State != casebook.MovedIn || !in.At.Equal(c.entries(oneCase)[n-1].At) || len(there.Notes) != 1 || there.Notes[0].Body.Text != "about Bea" {
		t.Fatalf("there: %s at %s", in.State, in.At)
	}
	// Undone from the other side: it counts here again and no longer there.
	c.now = c.now.Add(time.Minute)
	c.send(c.fill(c.open(page.CasePath(otherCase, "correct", in.Entry.ID)+"?do=withdraw"), url.Values{"reason": {"it was right"}}))
	if a, b := c.fold(oneCase).Line(id).State, len(c.fold(otherCase).Notes); a != casebook.InForce || b != 0 {
		t.Errorf("after undoing there: here %s, %d notes there", a, b)
	}
	// Moved again, and undone from this side.
	c.now = c.now.Add(time.Minute)
	c.send(c.fill(c.open(fix(id, "move")), url.Values{"other_case": {otherCase}, "reason": {"wrong case after all"}}))
	fold := c.fold(oneCase)
	if a, b := fold.Line(id).State, len(c.fold(otherCase).Notes); a != casebook.MovedOut || b != 1 {
		t.Fatalf("moved again: here %s, %d notes there", a, b)
	}
	c.now = c.now.Add(time.Minute)
	by := fold.Line(id).By
	c.send(c.fill(c.open(fix(by[len(by)-1], "withdraw")), url.Values{"reason": {"enough"}}))
	if a, b := c.fold(oneCase).Line(id).State, len(c.fold(otherCase).Notes); a != casebook.InForce || b != 0 {
		t.Errorf("after undoing here: here %s, %d notes there", a, b)
	}
}

// TestMoveBrokenOff: the program ended after the entry was written there and before it was marked here. A new form
// finishes the move and writes it there no second time.
func TestMoveBrokenOff(t *testing.T) {
	c := newClient(t)
	patients(c)
	id := c.add(oneCase, time.Hour, casebook.NoteWritten{Text: "about Bea"})[0]
	original := c.entries(oneCase)[len(c.entries(oneCase))-1]
	c.add(otherCase, time.Minute, casebook.EntryCorrected{Action: "moved in", OtherCase: oneCase, Original: &original})
	m := len(c.entries(otherCase))
	c.send(c.fill(c.open(fix(id, "move")), url.Values{"other_case": {otherCase}, "reason": {"again"}}))
	if len(c.entries(otherCase)) != m || len(c.fold(otherCase).Notes) != 1 || c.fold(oneCase).Line(id).State != casebook.MovedOut {
		t.Errorf("%d entries more there, %s here", len(c.entries(otherCase))-m, c.fold(oneCase).Line(id).State)
	}
}

// TestMoveNeedsItsWound: a measurement of a wound that the other patient does not have stays where it is.
func TestMoveNeedsItsWound(t *testing.T) {
	c := newClient(t)
	patients(c)
	id := c.add(oneCase, time.Hour, casebook.WoundMeasured{Wound: "B", Method: "ruler", LengthCm: p(2.0)})[0]
	n, m := len(c.entries(oneCase)), len(c.entries(otherCase))
	f := c.fill(c.open(fix(id, "move")), url.Values{"other_case": {otherCase}, "reason": {"wrong"}})
	w := c.post(f.action, f.values)
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(said(w.Body.String()), "In the other case: The case has no wound") || len(c.entries(oneCase)) != n || len(c.entries(otherCase)) != m {
		t.Errorf("%d %s", w.Code, said(w.Body.String()))
	}
}
