package review

import (
	"fmt"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/rule"
	"lowtide/rule/value"
	"lowtide/state"
	"lowtide/unit"
)

// delivered says what is known of the therapy that was given since the order in force was written.
func delivered(s *state.State) []Known {
	c := s.Case
	var out []Known
	o := c.Order()
	from := s.AsOf
	if started, _, ok := state.Started(c); ok {
		from = started
	}
	if o != nil {
		from = o.At
	}
	changes, gaps, last := 0, 0.0, time.Time{}
	var by []string
	for _, d := range c.Changes {
		if d.At.Before(from) {
			continue
		}
		if !last.IsZero() {
			gaps = max(gaps, d.At.Sub(last).Hours())
		}
		last = d.At
		changes++
		by = append(by, d.ID)
	}
	words := fmt.Sprintf("%d since %s", changes, state.Clock(c.Zone, from))
	if gaps > 0 {
		words += fmt.Sprintf(", at most %s h apart", unit.Number(gaps, 0))
	}
	if o != nil && o.Body.ChangeEveryH != nil {
		words += fmt.Sprintf("; ordered every %s h", unit.Number(*o.Body.ChangeEveryH, 0))
	}
	out = append(out, Known{"Changes of dressing", words, by})
	if shown, v := state.Newest(c.Changes, func(d casebook.DressingChanged) *float64 { return d.SuctionMmHg }); v != nil {
		out = append(out, Known{"Suction that the pump showed last", unit.Suction(*v).String() + ", " + state.Clock(c.Zone, shown.At), []string{shown.ID}})
	} else {
		out = append(out, Known{Words: "Suction that the pump showed last", Value: "not recorded"})
	}
	switch now := s.Suction; {
	case now.Doing == state.SuctionNotKnown:
		out = append(out, Known{Words: "Whether therapy runs", Value: "not known"})
	case now.Doing.IsOff():
		out = append(out, Known{"Whether therapy runs", "off since " + state.Clock(c.Zone, now.From), now.Entries})
	default:
		out = append(out, Known{"Whether therapy runs", "on, " + state.Clock(c.Zone, now.Record.Seen), now.Entries})
	}
	alarms := []string(nil)
	for _, a := range c.Alarms {
		if !a.At.Before(from) {
			alarms = append(alarms, a.ID)
		}
	}
	out = append(out, Known{"Alarms reported", fmt.Sprintf("%d since %s", len(alarms), state.Clock(c.Zone, from)), alarms})
	return append(out, loggedKnown(s)...)
}

// loggedKnown is what the pumps' logs say of the therapy delivered; without a log nobody can tell.
func loggedKnown(s *state.State) []Known {
	c, logs := s.Case, s.Logs
	if len(logs) == 0 {
		return []Known{{Words: "Hours under suction", Value: "not known: entries name single moments; without the pump's own log nobody can add up the hours"}}
	}
	var out []Known
	for _, d := range logs {
		words := "Delivered by the log of pump " + d.Pump
		r := d.Result
		if r == nil {
			out = append(out, Known{words, "cannot tell: " + d.Why, d.Entries})
			continue
		}
		value := fmt.Sprintf("off %s", unit.Duration(r.OffMin/60))
		if r.OrderedMin > 0 {
			value = fmt.Sprintf("at the ordered suction %s %% of the time that it covers, ", unit.Number(100*r.AtTargetMin/r.OrderedMin, 0)) + value
		}
		if s := r.Dose.SharePct; s != nil {
			value += fmt.Sprintf(", %s %% of the ordered dose (%s to %s %% with what is unknown)", unit.Number(*s, 0), unit.Number(*r.Dose.LeastPct, 0), unit.Number(*r.Dose.MostPct, 0))
		}
		value += fmt.Sprintf("; it covers %s %% from %s to %s", unit.Number(r.CoveredPct, 0), state.Clock(c.Zone, r.From), state.Clock(c.Zone, r.To))
		out = append(out, Known{words, value, d.Entries})
	}
	return out
}

// outputs is what was collected a day in each canister.
func outputs(s *state.State, f *rule.Facts) string {
	var out []string
	for _, k := range s.Canisters {
		if v := f.Canister(k.Pump).Known("canister.output_mL_d"); v != nil {
			words := recordWords("canister.output_mL_d", v)
			if k.Pump != "" {
				words += ", pump " + k.Pump
			}
			out = append(out, words)
		}
	}
	return orWords(strings.Join(out, "; "), "the record does not say")
}

// ofWounds says an answer wound by wound.
func ofWounds(c *casebook.Case, what string, of func(casebook.WoundFound) *bool) string {
	var out []string
	for _, w := range c.Wounds {
		answer := "not answered"
		if w.Found != nil {
			if v := of(w.Found.Body); v != nil {
				answer = yesNo(*v)
			}
		}
		out = append(out, "wound "+w.Name+", "+what+": "+answer)
	}
	return orWords(strings.Join(out, "; "), "the record does not say")
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

func countWords(c *casebook.Case) string {
	for _, w := range c.Wounds {
		if w.Count.Open() {
			return "the filler count of wound " + w.Name + " does not add up"
		}
	}
	return "the filler counts that were made add up"
}

// recordWords prints a fact with its words.
func recordWords(term string, v any) string {
	for _, t := range rule.Vocabulary {
		if t.Name != term {
			continue
		}
		switch x := v.(type) {
		case float64:
			return t.Words + ": " + value.Print(x, t.Unit, false)
		case bool:
			return t.Words + ": " + yesNo(x)
		}
		return t.Words + ": " + fmt.Sprint(v)
	}
	return fmt.Sprint(v)
}
