package state

import (
	"fmt"
	"math"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/fluid"
	"lowtide/rule/value"
	"lowtide/unit"
)

// fluidFacts sets the terms that rest on the fit to the canister's readings. Only the weekend moves with the clock.
func fluidFacts(c *casebook.Case, f *Fluid, asOf time.Time, set Sink) {
	if !f.Read() {
		return
	}
	by := entriesOf(f.LastBy, f.SizeBy)
	set("fluid.rate_mL_d", f.fit.rate.Median, f.LastBy)
	if early, even, _, ok := f.fullAt(); ok {
		if !early.IsZero() {
			set("fluid.full_early_at", early.Truncate(30*time.Minute), by...)
		}
		if !even.IsZero() {
			set("fluid.full_at", even.Truncate(30*time.Minute), by...)
		}
	}
	if !f.Visit.IsZero() {
		set("fluid.visit_at", f.Visit, f.VisitBy)
		set("fluid.visit_words", f.VisitWords, f.VisitBy)
		if p, ok := f.chanceFull(f.Visit); ok {
			set("fluid.chance_visit_pct", pct(p), entriesOf(append(append([]string{}, by...), f.VisitBy)...)...)
		}
	}
	from, to := f.weekend(asOf)
	if p, ok := f.fit.track.ChanceFills(from, to); ok {
		set("fluid.weekend_from", from, by...)
		set("fluid.weekend_to", to, by...)
		set("fluid.chance_weekend_pct", pct(p), by...)
	}
	f.changeFacts(c, set)
	if rate, at, ids, ok := latest(f.Canister); ok {
		set("fluid.latest_mL_h", rate, ids...)
		set("fluid.latest_at", at, ids...)
	}
	f.choiceFacts(set)
}

// pct is a chance in whole percent, and never certain.
func pct(p float64) float64 { return math.Min(99, math.Round(100*p)) }

// changesAt are the instants after asOf at which the terms can change without an entry.
func (f *Fluid) changesAt(asOf time.Time) []time.Time {
	if !f.Read() {
		return nil
	}
	_, to := f.weekend(asOf)
	return []time.Time{to}
}

// shortestLatest is the least time between two readings whose difference is told as an output in an hour: over less, the
// rounding of readings is most of it.
const shortestLatest = 30 * time.Minute

// latest is the output between the two newest readings of one canister.
func latest(k Canister) (mLPerH float64, at time.Time, entries []string, ok bool) {
	n := len(k.Collected)
	if n < 2 {
		return 0, at, nil, false
	}
	b := k.Collected[n-1]
	for i := n - 2; i >= 0; i-- {
		a := k.Collected[i]
		if a.Segment != b.Segment {
			return 0, at, nil, false
		}
		if d := b.At.Sub(a.At); d >= shortestLatest {
			return (b.ML - a.ML) / d.Hours(), b.At, []string{a.Entry, b.Entry}, true
		}
	}
	return 0, at, nil, false
}

// newestChange is the newest sudden change, unless it only takes an earlier drop back: a blockage that was cleared is no
// new rise.
func (f *Fluid) newestChange() (fluid.Change, bool) {
	list := f.Changes()
	n := len(list)
	if n == 0 {
		return fluid.Change{}, false
	}
	last := list[n-1]
	if n > 1 && last.Rise() && !list[n-2].Rise() && float64(last.After) <= 1.3*float64(list[n-2].Before) {
		return fluid.Change{}, false
	}
	return last, true
}

func (f *Fluid) changeFacts(c *casebook.Case, set Sink) {
	k, ok := f.newestChange()
	if !ok {
		return
	}
	// The reading that closed the interval of the change tells of it.
	var by []string
	for _, r := range f.seen.Canister {
		if (r.At.Equal(k.From) || r.At.Equal(k.To)) && r.Body.VolumeML != nil {
			by = append(by, r.ID)
		}
	}
	name := "fluid.drop_"
	if k.Rise() {
		name = "fluid.rise_"
	}
	set(name+"factor", k.Factor, by...)
	set(name+"before_mL_d", float64(k.Before), by...)
	set(name+"after_mL_d", float64(k.After), by...)
	set(name+"at", k.To, by...)
	set(name+"chance_pct", pct(k.Probability), by...)
	if k.Rise() {
		looked, ids := lookedForBleeding(c, k.To)
		set(name+"looked", looked, ids...)
	} else {
		looked, ids := lookedForBlockage(c, k.To)
		set(name+"looked", looked, ids...)
	}
}

// lookedForBleeding tells whether, after the reading that rose, somebody wrote down the colour of the fluid and answered
// about danger signs. What they saw is for the rules about colours and signs.
func lookedForBleeding(c *casebook.Case, risen time.Time) (bool, []string) {
	colour, signs := "", ""
	for _, r := range c.Canister {
		if r.At.After(risen) && r.Body.Colour != "" {
			colour = r.ID
		}
	}
	for _, s := range c.Seen {
		if s.At.After(risen) && len(s.Body.Signs) > 0 {
			signs = s.ID
		}
	}
	return colour != "" && signs != "", entriesOf(colour, signs)
}

// lookedForBlockage tells whether, after the reading that dropped, the pump was seen to show suction with a seal that
// holds, or an alarm of blockage or leak was settled with suction.
func lookedForBlockage(c *casebook.Case, dropped time.Time) (bool, []string) {
	for _, d := range c.Changes {
		if d.At.After(dropped) && d.Body.Seal == "holds" && d.Body.SuctionMmHg != nil && *d.Body.SuctionMmHg > 0 {
			return true, []string{d.ID}
		}
	}
	for _, a := range c.Alarms {
		b := a.Body
		if a.At.After(dropped) && (b.Alarm == "blockage" || b.Alarm == "leak") && b.Settled != nil && *b.Settled && b.SuctionMmHg != nil && *b.SuctionMmHg > 0 {
			return true, []string{a.ID}
		}
	}
	return false, nil
}

// choiceFacts weighs sizes, once two intervals were read: before that, a size would rest on published outputs.
func (f *Fluid) choiceFacts(set Sink) {
	if f.fit.track.Intervals() < 2 || f.SizeML == 0 {
		return
	}
	by := entriesOf(f.LastBy, f.SizeBy, f.VisitBy)
	if from, to, ok := f.nextUse(); ok {
		c := f.choice(from, to)
		for _, o := range c.Options {
			if float64(o.Size) == f.SizeML {
				set("fluid.fresh_pct", pct(o.Chance), by...)
			}
		}
		set("fluid.fresh_h", f.IntervalH, by...)
		words := "none of the sizes that fit is large enough (chance of a full one: " + f.chances(c) + "), so plan a change in between"
		if c.Smallest != nil {
			words = fmt.Sprintf("%s is the smallest with at most %s (chance of a full one: %s)", c.Smallest.Size, unit.Chance(f.limit()), f.chances(c))
		}
		set("fluid.choice_words", words+". "+f.carrying(), by...)
	}
	from := f.fit.asOf
	if f.Visit.After(from) {
		from = f.Visit
	}
	if c := f.choice(from, from.Add(f.values.Span(value.CanisterStay))); c.Smallest != nil {
		set("fluid.week_mL", float64(c.Smallest.Size), by...)
		set("fluid.week_pct", pct(c.Smallest.Chance), by...)
	}
}

// BleedLimitWords says what the agency set as the output in an hour from which to look for bleeding, or that nothing is
// set: nobody published a value.
func BleedLimitWords(v value.Values) string {
	if x, ok := v.Maybe(value.BleedOutput, "mL/h"); ok {
		return strings.TrimSpace(fmt.Sprintf("%g mL an hour, set by your local protocol", x))
	}
	return "not set. No limit was published; your local protocol can set the shared value bleed_output, and until then no output in mL an hour makes a finding here"
}
