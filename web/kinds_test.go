package web_test

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/intake"
	"lowtide/report/fhir"
	"lowtide/review"
	"lowtide/state"
	"lowtide/web/page"
)

// moonSeen is a kind that nothing else of the program knows.
type moonSeen struct {
	Wound   string     `json:"wound" jsonschema:"required,minLength=1,maxLength=12" words:"Wound"`
	Phase   string     `json:"phase" jsonschema:"required,enum=new,enum=full" words:"Phase of the moon"`
	HeightM *float64   `json:"height_m,omitempty" jsonschema:"minimum=0,maximum=50" unit:"m" words:"Height of the tide"`
	Halo    *bool      `json:"halo,omitempty" words:"Has a halo"`
	Over    []string   `json:"over,omitempty" jsonschema:"maxItems=4" enum:"harbour,hill" words:"Stands over"`
	Stars   []moonStar `json:"stars,omitempty" jsonschema:"maxItems=4" words:"Star beside it"`
	SetsAt  *time.Time `json:"sets_at,omitempty" words:"Sets at"`
	Note    string     `json:"note,omitempty" jsonschema:"maxLength=400" words:"Note"`
}

type moonStar struct {
	Name  string `json:"name" jsonschema:"required,minLength=1,maxLength=20" words:"name"`
	Count int    `json:"count" jsonschema:"required,minimum=1,maximum=9" words:"seen"`
}

func (moonSeen) Kind() casebook.Kind { return "moon.seen" }

// TestOneRowIsEnough adds one row to the table of kinds, and nothing anywhere else. A nurse finds the kind in the menus,
// writes it, reads it in the log in words, corrects and withdraws it; files and the exchange carry it; what it says is
// checked and folded.
func TestOneRowIsEnough(t *testing.T) {
	before := casebook.Table
	t.Cleanup(func() { casebook.Table = before })
	folded := 0
	casebook.Table = append(slices.Clone(before), casebook.Of(func(f *casebook.Folding, l *casebook.Line, b moonSeen) { folded++ },
		casebook.Row{Version: 3, Since: "2026-11-30", Title: "Moon", Menu: casebook.Menu{Group: casebook.MenuBedside, For: "the moon stood over the roof"}}))
	kind := moonSeen{}.Kind()
	london, _ := time.LoadLocation("Europe/London")

	c := newClient(t)
	patients(c)
	add := page.CasePath(oneCase, "add", string(kind))
	if body := c.get(page.CasePath(oneCase, "add")).Body.String(); !strings.Contains(body, add) || !strings.Contains(body, "the moon stood over the roof") {
		t.Error("the menu does not offer it")
	}
	if body := c.get(page.CasePath(oneCase)).Body.String(); !strings.Contains(body, add) {
		t.Error("the page of the case has no button for it")
	}

	// Written with its own form; what the tags forbid is refused there.
	sets := noon.Add(time.Hour)
	want := moonSeen{Wound: "A", Phase: "full", HeightM: p(4.5), Halo: p(true), Over: []string{"hill"}, Stars: []moonStar{{"Vega", 2}}, SetsAt: &sets, Note: "clear sky"}
	f := c.fill(c.open(add), page.Flatten(want, london))
	f.values.Set("height_m", "51")
	if w := c.post(f.action, f.values); w.Code != http.StatusUnprocessableEntity || !strings.Contains(said(w.Body.String()), "Height of the tide") {
		t.Errorf("a tide of 51 m: %d %s", w.Code, said(w.Body.String()))
	}
	f.values.Set("height_m", "4.5")
	saved := c.get(c.send(f)).Body.String()
	if !strings.Contains(saved, "Saved: moon.") {
		t.Error("the case does not say that it was saved")
	}
	list := c.entries(oneCase)
	e := list[len(list)-1]
	if e.Kind != kind || e.Version != 3 {
		t.Fatalf("kept as %s version %d", e.Kind, e.Version)
	}
	same(t, e.Body, want)
	folded = 0
	if fold := c.fold(oneCase); folded != 1 || fold.UnknownEntries != 0 {
		t.Errorf("folded %d times, %d unknown", folded, fold.UnknownEntries)
	}

	// The log says it in words, and can be filtered for it.
	log := c.get(page.CasePath(oneCase, "log") + "?kind=" + string(kind)).Body.String()
	plain := strings.Join(strings.Fields(tags.ReplaceAllString(log, " ")), " ")
	for _, words := range []string{"Moon (1)", "Phase of the moon full", "Height of the tide 4.5 m", "Has a halo yes", "Stands over hill", "Star beside it name Vega, seen 2", "Sets at Tue 10 Mar 13:00", "Note clear sky"} {
		if !strings.Contains(plain, words) {
			t.Errorf("the log does not say %q: %s", words, plain)
		}
	}

	// A correction replaces it, another withdraws it.
	f = c.fill(c.open(fix(e.ID, "replace")), url.Values{"reason": {"misread"}, "body/phase": {"new"}})
	c.send(f)
	if now, ok := c.fold(oneCase).Line(e.ID).Now.(moonSeen); !ok || now.Phase != "new" || now.Note != want.Note {
		t.Errorf("replaced by %+v", now)
	}

	// The case file is written and read; a wound that is not there is refused.
	var file bytes.Buffer
	if err := intake.WriteCaseFile(&file, intake.CaseFile{Format: intake.Format, Version: intake.FormatVersion, Case: oneCase, Entries: c.entries(oneCase)}); err != nil {
		t.Fatal(err)
	}
	back, ps := intake.ReadCaseFile(file.Bytes(), noon.Add(time.Hour))
	if ps.Err() != nil || casebook.Fold(oneCase, back.Entries).Head != c.fold(oneCase).Head {
		t.Errorf("the case file comes back as another case: %v", ps)
	}
	lost := e
	lost.Body = moonSeen{Wound: "Z", Phase: "full"}
	ps = intake.CheckEntries(list[:len(list)-1], []casebook.Entry{lost}, noon)
	if ps.Err() == nil || !strings.Contains(ps.Error(), `no wound "Z"`) {
		t.Errorf("a wound that is not there: %v", ps.Err())
	}

	// The exchange carries every field of it, and brings it back.
	fold := c.fold(oneCase)
	raw, err := fhir.Bundle(fhir.Input{Review: review.Of(state.Of(fold, c.srv.Rules, c.srv.Equipment, nil, noon), c.srv.Rules)})
	if err != nil {
		t.Fatal(err)
	}
	reading, err := fhir.Read(raw)
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(reading.Proposals, func(x fhir.Proposal) bool { return x.Kind == kind })
	if i < 0 {
		t.Fatal("the exchange does not bring it back")
	}
	var read moonSeen
	if err := json.Unmarshal(reading.Proposals[i].Body, &read); err != nil {
		t.Fatal(err)
	}
	same(t, read, fold.Line(e.ID).Now)

	c.now = c.now.Add(time.Minute)
	c.send(c.fill(c.open(fix(e.ID, "withdraw")), url.Values{"reason": {"a lamp"}}))
	if l := c.fold(oneCase).Line(e.ID); l.State != casebook.Withdrawn {
		t.Errorf("withdrawn: %s", l.State)
	}

	// A program without the row keeps the entry and says that it does not know it.
	raw, _ = json.Marshal(e)
	casebook.Table = before
	var later casebook.Entry
	if err := json.Unmarshal(raw, &later); err != nil {
		t.Fatal(err)
	}
	again, _ := json.Marshal(later)
	if _, unknown := later.Body.(casebook.Unknown); !unknown || !bytes.Equal(raw, again) {
		t.Errorf("without the row: %T\n%s\n%s", later.Body, raw, again)
	}
}
