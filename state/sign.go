package state

import (
	"strings"
	"time"

	"lowtide/casebook"
)

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
