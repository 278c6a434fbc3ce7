package fhir

import (
	"bytes"
	"encoding/json"
	"testing"
	"time"

	"lowtide/casebook"
	"lowtide/demo"
	"lowtide/equipment"
	"lowtide/review"
	"lowtide/rule"
	"lowtide/state"
)

var demoNow = time.Date(2026, 3, 4, 7, 30, 0, 0, time.UTC)

// demoCases are the cases of the invented caseload.
func demoCases(t testing.TB) []*casebook.Case {
	by := map[string][]casebook.Entry{}
	var ids []string
	for _, e := range demo.Entries(demoNow, 1) {
		if by[e.Case] == nil {
			ids = append(ids, e.Case)
		}
		by[e.Case] = append(by[e.Case], e)
	}
	var out []*casebook.Case
	for _, id := range ids {
		out = append(out, casebook.Fold(id, by[id]))
	}
	if len(out) < 20 {
		t.Fatalf("only %d cases", len(out))
	}
	return out
}

func reviewed(t testing.TB, c *casebook.Case) *review.Review {
	rules, err := rule.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	return review.Of(state.Of(c, rules, equipment.BuiltIn(), nil, demoNow), rules)
}

// What goes out comes in again, entry by entry and field by field.
func TestRoundTripDemo(t *testing.T) {
	for _, c := range demoCases(t) {
		roundTrip(t, c, reviewed(t, c))
	}
}

func roundTrip(t failer, c *casebook.Case, r *review.Review) {
	raw, err := Bundle(Input{Review: r})
	if err != nil {
		t.Fatal(err)
	}
	again, err := Bundle(Input{Review: r})
	if err != nil || !bytes.Equal(raw, again) {
		t.Errorf("%s: two Bundles of one review differ (%v)", c.ID, err)
	}
	got, err := Read(raw)
	if err != nil {
		t.Fatal(err)
	}
	back := map[string]Proposal{}
	for _, p := range got.Proposals {
		if p.Entry == "" {
			t.Errorf("%s: %s was not recognised as an entry of ours: %v", c.ID, p.Kind, p.From)
		}
		back[p.Entry] = p
	}
	for _, l := range c.Log {
		if l.Now == nil || l.Now.Kind() == casebook.KindEntryCorrected {
			continue
		}
		p, ok := back[l.Entry.ID]
		if !ok {
			t.Errorf("%s: entry %s (%s) did not come back", c.ID, l.Entry.ID, l.Now.Kind())
			continue
		}
		delete(back, l.Entry.ID)
		want := canonical(t, l.Now)
		if gotBody := canonicalRaw(t, p.Kind, p.Body); gotBody != want {
			t.Errorf("%s: %s came back as\n%s\nwant\n%s", c.ID, l.Now.Kind(), gotBody, want)
		}
		if !p.At.Equal(l.At) || p.Author != l.Entry.Author || p.Kind != l.Now.Kind() || len(p.Unsure) > 0 {
			t.Errorf("%s: %s at %v by %s came back as %s at %v by %s, unsure %v", c.ID, l.Now.Kind(), l.At, l.Entry.Author, p.Kind, p.At, p.Author, p.Unsure)
		}
	}
	for id := range back {
		t.Errorf("%s: an entry %s came back that does not count", c.ID, id)
	}
}

func canonical(t failer, b casebook.Body) string {
	if u, ok := b.(casebook.Unknown); ok {
		return string(u.Raw)
	}
	raw, err := json.Marshal(b)
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

// canonicalRaw decodes into the kind's own type and writes it again.
func canonicalRaw(t failer, k casebook.Kind, raw json.RawMessage) string {
	b := casebook.NewBody(k)
	if b == nil {
		return string(raw)
	}
	if err := json.Unmarshal(raw, b); err != nil {
		t.Errorf("%s: %v in %s", k, err, raw)
	}
	out, err := json.Marshal(b)
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// failer is what testing and rapid share.
type failer interface {
	Errorf(string, ...any)
	Fatal(...any)
}
