package fhir

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"lowtide/casebook"
)

// hostileNames are names that break careless writers.
var hostileNames = []string{`Ann "Nan" O'Hara\\`, "<script>alert(1)</script>", "=HYPERLINK(\"x\")", "שלום בן דוד", "عبد الله", "漢字 太郎", strings.Repeat("long ", 2000), "\u202eevil\u202c", " ", "a\tb\nc", "a\u0001b\u0000c", "\xff\xfe"}

// Cases made up to break it: twelve wounds, hostile names and notes, entries that were corrected, withdrawn or moved out.
// Each Bundle, each resource by its address and each page of a search is valid R4 by the independent validator; what was
// withdrawn is told nowhere, what was corrected is told as it is now.
func TestCheckHostileValid(t *testing.T) {
	um := validator(t)
	for i, name := range hostileNames {
		c := hostileCase(name, i)
		r := reviewed(t, c)
		raw, err := Bundle(Input{Review: r})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := um.Unmarshal(raw); err != nil {
			t.Errorf("%q: %v", name, err)
		}
		for _, gone := range []string{"withdrawn secret", "moved secret", "first secret"} {
			if strings.Contains(string(raw), gone) {
				t.Errorf("%q: the Bundle tells %q", name, gone)
			}
		}
		if !strings.Contains(string(raw), "corrected words") || !strings.Contains(string(raw), `"status":"amended"`) {
			t.Errorf("%q: what was corrected is not told", name)
		}
		list, err := Resources(Input{Review: r})
		if err != nil {
			t.Fatal(err)
		}
		seen := map[string]bool{}
		for _, x := range list {
			if _, err := um.Unmarshal(x.JSON); err != nil {
				t.Errorf("%q: %s/%s: %v", name, x.Type, x.ID, err)
			}
			if seen[x.Type+x.ID] {
				t.Errorf("%q: %s/%s stands twice", name, x.Type, x.ID)
			}
			seen[x.Type+x.ID] = true
		}
		set, err := SearchSet(list[:2], len(list), "http://127.0.0.1/fhir", "http://127.0.0.1/fhir/X?patient=y", "")
		if err != nil {
			t.Fatal(err)
		}
		if _, err := um.Unmarshal(set); err != nil {
			t.Errorf("%q: search set: %v", name, err)
		}
		if n := strings.Count(string(raw), `"resourceType":"Condition"`); n != 12 {
			t.Errorf("%q: %d of 12 wounds", name, n)
		}
	}
}

func hostileCase(name string, no int) *casebook.Case {
	id := func(n int) string { return fmt.Sprintf("01950000-0000-7000-8000-%06d%06d", no, n) }
	at := time.Date(2026, 2, 20, 9, 0, 0, 0, time.FixedZone("", 3600))
	var entries []casebook.Entry
	add := func(b casebook.Body) *casebook.Entry {
		n := len(entries)
		entries = append(entries, casebook.Entry{ID: id(n), Case: "c", Kind: b.Kind(), Version: casebook.Version(b.Kind()), At: at.Add(time.Duration(n) * time.Hour), Recorded: at, Author: name, Body: b})
		return &entries[n]
	}
	add(casebook.PersonRegistered{Name: name, Place: "home", Zone: "Europe/Paris", Record: name, Address: name})
	for i := range 12 {
		w := fmt.Sprintf("W%d %.20s", i, name)
		add(casebook.WoundFound{Wound: w, Site: name, Type: "surgical"})
		long, wide := 5.5, 1e-7
		add(casebook.WoundMeasured{Wound: w, LengthCm: &long, WidthCm: &wide, Method: "ruler", Note: name})
	}
	for i, b := range []casebook.EntryCorrected{{Action: "withdraw"}, {Action: "moved out", OtherCase: "d"}, {Action: "replace", Body: json.RawMessage(`{"text":"corrected words"}`)}} {
		from := add(casebook.NoteWritten{Text: []string{"withdrawn secret", "moved secret", "first secret"}[i]}).ID
		e := add(b)
		e.Corrects, e.Reason = from, name
	}
	return casebook.Fold("c", entries)
}
