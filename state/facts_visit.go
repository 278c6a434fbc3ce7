package state

import (
	"sort"
	"strings"
	"time"

	"lowtide/casebook"
)

func visitFacts(c *casebook.Case, set Sink) {
	if n := len(c.Changes); n > 0 {
		last := c.Changes[n-1]
		set("visit.last_at", last.At, last.ID)
		// An answer given after the visit, by telephone say, counts as well: it is newer.
		answered, by := false, last.ID
		for _, s := range c.Seen {
			if len(s.Body.Signs) > 0 && !s.At.Before(last.At) {
				answered, by = true, s.ID
			}
		}
		set("visit.signs_answered", answered, by)
	}
	if at, id, ok := NextVisit(c); ok {
		set("visit.next_at", at, id)
	}
	if d, pain := Newest(c.Seen, func(s casebook.Seen) *float64 { return s.Pain }); pain != nil {
		set("visit.pain", *pain, d.ID)
	}
	sealFacts(c, set)
	if d, t := Newest(c.Seen, func(s casebook.Seen) *float64 { return s.TemperatureC }); t != nil {
		set("seen.temperature_C", *t, d.ID)
		set("seen.temperature_at", d.At, d.ID)
	}
	usualBy, usual := Newest(c.Seen, func(s casebook.Seen) *float64 { return s.SystolicUsualMmHg })
	if d, p := Newest(c.Seen, func(s casebook.Seen) *float64 { return s.SystolicMmHg }); p != nil {
		set("seen.systolic_mmHg", *p, d.ID)
		set("seen.systolic_at", d.At, d.ID)
		if usual != nil {
			set("seen.systolic_rise_mmHg", *p-*usual, d.ID, usualBy.ID)
		}
	}
}

// sealFacts tells how the seal of the dressing now on is. A new dressing has a new seal, so what was said of
// the one before does not count for it; a leak alarm recorded as settled says that the seal holds again.
func sealFacts(c *casebook.Case, set Sink) {
	n := len(c.Changes)
	if n == 0 {
		return
	}
	d := c.Changes[n-1]
	seal, at, by := d.Body.Seal, d.At, d.ID
	for _, a := range c.Alarms {
		if a.Body.Alarm == "leak" && a.Body.Settled != nil && *a.Body.Settled && a.At.After(at) {
			seal, at, by = "holds", a.At, a.ID
		}
	}
	if seal != "" {
		set("visit.seal", seal, by)
		set("visit.seal_at", at, by)
	}
}

// NextVisit returns the visit planned by the newest entry that plans one. A plan is used up by a later visit
// that does not plan another.
func NextVisit(c *casebook.Case) (at time.Time, entry string, ok bool) {
	for _, l := range c.Log {
		switch b := l.Now.(type) {
		case casebook.DressingChanged:
			ok = false
			if b.NextVisit != nil {
				at, entry, ok = *b.NextVisit, l.Entry.ID, true
			}
		case casebook.NoteWritten:
			if b.NextVisit != nil {
				at, entry, ok = *b.NextVisit, l.Entry.ID, true
			}
		}
	}
	return at, entry, ok
}

// Signs are the danger signs that a visit asks for, in the order of the form; "none" is not among them.
var Signs = []string{
	"bright red blood", "sudden colour change", "spreading redness", "warmth or swelling", "pus", "bad smell",
	"dizzy or confused", "raw or blistered skin", "macerated skin", "pain out of proportion", "cold or numb limb",
	"headache", "flushing", "sweating", "slow pulse", "bowel content",
}

// OpenSign is a danger sign that was seen and that no entry has settled.
type OpenSign struct {
	Sign  string
	Since time.Time
	Entry string
}

// OpenSigns returns the danger signs not yet settled, in the order of [Signs]. Not seeing a sign again does
// not settle it: an entry has to say what was done.
func OpenSigns(c *casebook.Case) []OpenSign {
	open := map[string]OpenSign{}
	for _, s := range c.Seen {
		for _, sign := range s.Body.Settles {
			delete(open, sign)
		}
		for _, sign := range s.Body.Signs {
			if _, already := open[sign]; !already && sign != "none" {
				open[sign] = OpenSign{sign, s.At, s.ID}
			}
		}
	}
	var out []OpenSign
	for _, sign := range Signs {
		if s, ok := open[sign]; ok {
			out = append(out, s)
		}
	}
	return out
}

func signFacts(c *casebook.Case, set Sink) {
	open := map[string]OpenSign{}
	for _, s := range OpenSigns(c) {
		open[s.Sign] = s
	}
	answered, by := false, ""
	if n := len(c.Seen); n > 0 {
		answered, by = len(c.Seen[n-1].Body.Signs) > 0, c.Seen[n-1].ID
	}
	for _, sign := range Signs {
		term := "sign." + strings.ReplaceAll(sign, " ", "_")
		if s, ok := open[sign]; ok {
			set(term, true, s.Entry)
			set(term+"_at", s.Since, s.Entry)
		} else if answered {
			set(term, false, by)
		}
	}
}

func teachFacts(c *casebook.Case, set Sink) {
	topic := func(name string) (bool, []string) {
		var by []string
		for _, t := range c.Teaching {
			if contains(t.Body.Topics, name) && t.Body.To != "staff" {
				by = append(by, t.ID)
			}
		}
		return len(by) > 0, by
	}
	for _, x := range []struct{ term, topic string }{{"teach.bleeding", "bleeding"}, {"teach.alarms", "alarms"}, {"teach.whom_to_call", "whom to call"}} {
		yes, by := topic(x.topic)
		set(x.term, yes, by...)
	}
	if n := len(c.Teaching); n > 0 {
		t := c.Teaching[n-1]
		set("teach.last_at", t.At, t.ID)
		set.setBool("teach.understood", t.Body.Understood, t.ID)
	}
}

func signOffFacts(c *casebook.Case, set Sink) {
	var signed time.Time
	if n := len(c.Signed); n > 0 {
		signed = c.Signed[n-1].At
		set("sign_off.last_at", signed, c.Signed[n-1].ID)
	}
	if n := len(c.Changes); n > 0 {
		set("sign_off.due", c.Changes[n-1].At.After(signed), c.Changes[n-1].ID)
	}
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

func sortStrings(list []string) { sort.Strings(list) }

// Lower starts a phrase with a small letter, unless it starts with an abbreviation.
func Lower(s string) string {
	if len(s) > 1 && s[1] >= 'A' && s[1] <= 'Z' {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
