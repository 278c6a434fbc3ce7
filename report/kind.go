package report

import (
	"errors"
	"fmt"
	"strings"

	"lowtide/rule/value"
	"lowtide/state"
)

// Kind is a paper that can be had of a case: its name in addresses and files, in words, and what it is for.
type Kind struct{ Name, Words, For string }

// Kinds are the papers of a case, in the order of lists.
var Kinds = []Kind{
	{"visit-note", "Visit note", "the newest visit on one page"},
	{"progress", "Progress report", "order, delivered therapy, wounds with charts, open findings; two pages where they suffice"},
	{"handover", "Handover sheet", "what is set, what is in the wounds, what is due, whom to call"},
	{"prescriber-message", "Message to the prescriber", "situation, background, assessment, request"},
	{"payer-month", "Summary of the month for the payer", "what the payer's policy asks for, with what is missing first"},
	{"leaflet", "Leaflet for the patient", "plain words, large print, in English and Spanish"},
}

// Has tells whether the case holds what a kind of paper is about: no visit, no note of it; no payer, no month.
func Has(s *state.State, kind string) bool {
	switch kind {
	case "visit-note":
		return len(s.Visits()) > 0
	case "payer-month":
		return s.PayerNoted() != nil
	}
	return true
}

// Of writes the paper of a kind of [Kinds]. entry is the ID of the visit of a visit note, empty for the newest; lang is
// the language of a leaflet, empty for the first of [LeafletLanguages]. The error says what is missing.
func Of(in Input, kind, entry, lang string) (*Paper, error) {
	switch kind {
	case "visit-note":
		if p, ok := VisitNote(in, entry); ok {
			return p, nil
		}
		return nil, errors.New("there is no such visit in this case")
	case "progress":
		return Progress(in), nil
	case "handover":
		return Handover(in), nil
	case "prescriber-message":
		return PrescriberMessage(in), nil
	case "payer-month":
		if p, ok := PayerMonth(in); ok {
			return p, nil
		}
		return nil, errors.New("no payer is noted in this case, or there is no policy of that name; write who pays first")
	case "leaflet":
		if lang == "" {
			lang = LeafletLanguages[0]
		}
		return Leaflet(in, lang, in.Rules.Values(in.Review.AsOf).In(value.OffLimit, "h"))
	}
	return nil, fmt.Errorf("there is no paper %q; type %s", kind, KindNames())
}

// KindNames lists the names of all kinds: "a, b or c".
func KindNames() string {
	var names []string
	for _, k := range Kinds {
		names = append(names, k.Name)
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " or " + names[last]
}
