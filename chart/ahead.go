package chart

import (
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/rule/value"
	"lowtide/state"
)

// DaysAhead is the range of a tide chart of the last days, reaching past now where the canister's fill can be forecast,
// with that forecast; it is nil when therapy has ended.
func DaysAhead(c *casebook.Case, eq *equipment.Set, now time.Time, days int) (Range, *state.FillAhead) {
	r := LastDays(c, now, days)
	if c.Ended != nil {
		return r, nil
	}
	to := AheadTo(c, now, r)
	ahead := state.FluidOf(c, eq, value.Values{}, now).Ahead(now, to)
	if len(ahead.Points) > 1 {
		r = r.Until(to)
	}
	return r, &ahead
}
