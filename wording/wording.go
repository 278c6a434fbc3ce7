// Package wording shows entries: it puts the content of each kind of entry into plain English words. Pages and papers
// call it, so that both say the same.
package wording

import (
	"encoding/json"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/unit"
)

// Said is the content of an entry in plain words.
type Said struct {
	// Title is what happened.
	Title string
	// Parts are the details in the order of the form.
	Parts []Part
}

// Part is one detail.
type Part struct{ Label, Text string }

// Kind names a kind, also one that this program does not know.
func Kind(k casebook.Kind) string {
	if row := casebook.Find(k); row != nil {
		return row.Title
	}
	return "Entry of an unknown kind (" + string(k) + ")"
}

// Say puts the content of an entry into words; at prints a time. A kind without words of its own is said by the tags of
// its body.
func Say(body casebook.Body, at func(time.Time) string) Said {
	s := &sayer{at: at}
	switch b := body.(type) {
	case casebook.PersonRegistered:
		s.person(b)
	case casebook.WoundFound:
		s.wound(b)
	case casebook.ScreeningDone:
		s.screening(b)
	case casebook.OrderWritten:
		s.order(b)
	case casebook.OrderStopped:
		s.orderStopped(b)
	case casebook.PumpAssigned:
		s.pump(b)
	case casebook.PumpReturned:
		s.pumpReturned(b)
	case casebook.DressingChanged:
		s.visit(b)
	case casebook.PiecesAccounted:
		s.accounted(b)
	case casebook.WoundMeasured:
		s.measured(b)
	case casebook.PhotoTaken:
		s.photo(b)
	case casebook.OutlineTraced:
		s.outline(b)
	case casebook.CanisterRead:
		s.Title = canisterTitle(b)
		s.canister(b)
	case casebook.AlarmReported:
		s.alarm(b)
	case casebook.PowerNoted:
		s.power(b)
	case casebook.LogImported:
		s.log(b)
	case casebook.SupplyMoved:
		s.supply(b)
	case casebook.TeachingGiven:
		s.teaching(b)
	case casebook.NoteWritten:
		s.note(b)
	case casebook.ReviewSigned:
		s.signed(b)
	case casebook.DecisionMade:
		s.decision(b)
	case casebook.CallTaken:
		s.call(b)
	case casebook.PayerNoted:
		s.payer(b)
	case casebook.TherapyEnded:
		s.ended(b)
	case casebook.EntryCorrected:
		s.corrected(b)
	case casebook.Unknown:
		s.unknown(b)
	default:
		s.tagged(b)
	}
	return s.Said
}

// sayer gathers the parts.
type sayer struct {
	Said
	at func(time.Time) string
}

func (s *sayer) put(label, text string) {
	if strings.TrimSpace(text) != "" {
		s.Parts = append(s.Parts, Part{label, text})
	}
}

func (s *sayer) list(label string, words []string) { s.put(label, strings.Join(words, ", ")) }

func (s *sayer) yesNo(label string, v *bool) {
	if v != nil {
		s.put(label, map[bool]string{true: "yes", false: "no"}[*v])
	}
}

func (s *sayer) number(label string, v *float64, decimals int, unitName string) {
	if v != nil {
		s.put(label, strings.TrimSpace(unit.Number(*v, decimals)+" "+unitName))
	}
}

func (s *sayer) time(label string, t *time.Time) {
	if t != nil {
		s.put(label, s.at(*t))
	}
}

// unknown shows an entry that this program cannot read, as it was written.
func (s *sayer) unknown(b casebook.Unknown) {
	s.Title = "Not known to this program: " + string(b.Of)
	raw := string(b.Raw)
	if compact, err := json.Marshal(b.Raw); err == nil {
		raw = string(compact)
	}
	if cut := []rune(raw); len(cut) > 2000 {
		raw = string(cut[:2000]) + " … (the whole entry is in an export of the case)"
	}
	s.put("As it was written", raw)
}

// Date says a day that is written as 2026-03-04: "4 March 2026". What is no such day is said as it stands.
func Date(day string) string {
	t, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return day
	}
	return t.Format("2 January 2006")
}

// Sentence begins with a capital letter.
func Sentence(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
