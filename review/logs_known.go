package review

import (
	"fmt"

	"lowtide/state"
	"lowtide/unit"
)

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
