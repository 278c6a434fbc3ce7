package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/review"
	"lowtide/state"
	"lowtide/web/page"
)

// TestSignOff: what was shown is signed: its hash can be made again from the case, the rules and the moment.
func TestSignOff(t *testing.T) {
	c := newClient(t)
	patients(c)
	n := len(c.entries(oneCase))
	f := c.open(page.CasePath(oneCase, "sign"))
	if f.values.Get("purpose") != "" {
		t.Error("a purpose is chosen already")
	}
	if w := c.post(f.action, f.values); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), `id="f-purpose-wrong"`) {
		t.Errorf("without a purpose: %d %s", w.Code, said(w.Body.String()))
	}
	c.now = c.now.Add(2 * time.Minute)
	f = c.fill(f, url.Values{"purpose": {"handover"}, "note": {"read with the day nurse"}})
	want := review.Of(state.Of(c.fold(oneCase), c.srv.Rules, c.srv.Equipment, nil, noon), c.srv.Rules)
	to := c.send(f)
	if again := c.send(f); again != to || len(c.entries(oneCase)) != n+1 {
		t.Errorf("sent twice: %s, then %s", to, again)
	}
	got := c.entries(oneCase)[n].Body.(casebook.ReviewSigned)
	if got.Hash != want.Hash() || !got.AsOf.Equal(noon) || got.Rules != want.Rules || got.Program != want.Program || got.Purpose != "handover" || got.Note != "read with the day nurse" {
		t.Errorf("%+v", got)
	}
	var keys []string
	for _, x := range want.Findings {
		keys = append(keys, x.Key())
	}
	if len(keys) == 0 || strings.Join(got.Open, " ") != strings.Join(keys, " ") {
		t.Errorf("open %v, want %v", got.Open, keys)
	}
}

// TestSignOffChanged: whatever happens between reading and signing, nothing is signed and the new review is shown.
func TestSignOffChanged(t *testing.T) {
	for name, change := range map[string]func(*client, htmlForm){
		"an entry of before": func(c *client, _ htmlForm) { c.add(oneCase, time.Hour, casebook.CanisterRead{VolumeML: p(290.0)}) },
		"an entry of now":    func(c *client, _ htmlForm) { c.add(oneCase, -time.Minute, casebook.NoteWritten{Text: "meanwhile"}) },
		"an hour":            func(c *client, _ htmlForm) { c.now = c.now.Add(61 * time.Minute) },
		"another hash":       func(_ *client, f htmlForm) { f.values.Set("hash", strings.Repeat("0", 64)) },
		"another moment":     func(_ *client, f htmlForm) { f.values.Set("as_of", noon.Add(-30*time.Minute).Format(time.RFC3339)) },
		"no moment":          func(_ *client, f htmlForm) { f.values.Del("as_of") },
	} {
		t.Run(name, func(t *testing.T) {
			c := newClient(t)
			patients(c)
			f := c.fill(c.open(page.CasePath(oneCase, "sign")), url.Values{"purpose": {"visit"}, "note": {"kept"}})
			c.now = c.now.Add(2 * time.Minute)
			change(c, f)
			n := len(c.entries(oneCase))
			w := c.post(f.action, f.values)
			if w.Code != http.StatusConflict || len(c.entries(oneCase)) != n {
				t.Fatalf("%d, %d entries more: %s", w.Code, len(c.entries(oneCase))-n, said(w.Body.String()))
			}
			back := c.parse(w.Body.String())
			now := review.Of(state.Of(c.fold(oneCase), c.srv.Rules, c.srv.Equipment, nil, c.now), c.srv.Rules)
			if back.values.Get("hash") != now.Hash() || back.values.Get("purpose") != "visit" || back.values.Get("note") != "kept" {
				t.Errorf("the new review is not shown: %v", back.values)
			}
			c.send(back)
		})
	}
}

// TestSignOffOpenCount: while a count is open, handover and end of therapy are refused with the way to close it; a
// visit can be signed.
func TestSignOffOpenCount(t *testing.T) {
	c := newClient(t)
	patients(c)
	c.add(oneCase, time.Hour, casebook.DressingChanged{Wounds: []casebook.WoundChange{{Wound: "A", Out: []casebook.Pieces{{Filler: "foam", Count: 1}}, NoneIn: true}}})
	if end := c.get(page.CasePath(oneCase, "add", "therapy.ended")).Body.String(); !strings.Contains(end, "cannot be signed") {
		t.Error("the end of therapy does not warn of the open count")
	}
	for _, purpose := range []string{"handover", "end of therapy"} {
		n := len(c.entries(oneCase))
		f := c.fill(c.open(page.CasePath(oneCase, "sign")), url.Values{"purpose": {purpose}})
		w := c.post(f.action, f.values)
		if w.Code != http.StatusUnprocessableEntity || len(c.entries(oneCase)) != n || !strings.Contains(said(w.Body.String()), "The filler count is open") || !strings.Contains(w.Body.String(), page.CasePath(oneCase, "add", "pieces.accounted")) {
			t.Errorf("%s: %d %s", purpose, w.Code, said(w.Body.String()))
		}
	}
	c.send(c.fill(c.open(page.CasePath(oneCase, "sign")), url.Values{"purpose": {"visit"}}))
	c.now = c.now.Add(time.Minute)
	c.send(c.fill(c.open(page.CasePath(oneCase, "add", "therapy.ended")), url.Values{"why": {"goal met"}}))
	if c.fold(oneCase).Ended == nil {
		t.Error("the end was not recorded")
	}
}
