package state

import (
	"fmt"
	"strings"
	"time"

	"lowtide/healing"
	"lowtide/unit"
)

// Trend says how the wound goes for a prescriber: the change since the first size, and the chances that it did not
// improve or grew in the last two weeks, as of the instant. It says what cannot be told.
func (h *Healing) Trend(asOf time.Time) string {
	if h.LastAt.IsZero() {
		return "Not measured yet: nobody can say how it heals."
	}
	zone := h.Sizes[0].At.Location()
	day := func(t time.Time) string { return t.In(zone).Format("2 January") }
	switch h.Status {
	case healing.Closed:
		return "Measured as closed on " + day(h.LastAt) + "."
	case healing.OneSize:
		return "Measured on one day only: cannot tell how it heals before the next size."
	}
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	h.sayChange(say, day)
	switch {
	case !h.fresh(asOf):
		say("Last measured on %s: too long ago to tell how it goes now.", day(h.LastAt))
	case !h.Told(asOf):
		say("Too few sizes to tell whether it is getting smaller now.")
	default:
		say("In the %s before %s: chance that it did not improve, by all its sizes together, %s; that one of them grew, %s.", h.window(), day(h.LastAt), unit.Chance(*h.NotImproving), unit.Chance(*h.Growing))
	}
	return strings.Join(out, " ")
}
