package chart

import "lowtide/state"

// DaysAhead is the range of a tide chart of the last days, reaching past now where the canister's fill can be forecast,
// with that forecast; it is nil when therapy has ended.
func DaysAhead(s *state.State, days int) (Range, *state.FillAhead) {
	c, now := s.Case, s.AsOf
	r := LastDays(c, now, days)
	if c.Ended != nil {
		return r, nil
	}
	to := AheadTo(c, now, r)
	ahead := s.Canisters[0].Ahead(now, to)
	if len(ahead.Points) > 1 {
		r = r.Until(to)
	}
	return r, &ahead
}
