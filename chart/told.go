package chart

import (
	"time"

	"lowtide/casebook"
	"lowtide/state"
	"lowtide/unit"
)

// told is what the entries tell within a range, ready to be drawn and to be listed.
type told struct {
	orders    []ordered
	shown     []shown
	spells    []Spell
	canisters [][]reading
	sizeML    *float64
	wounds    []*casebook.Wound
	events    []event
	ahead     *state.FillAhead // nil when nothing is drawn past the newest reading
	logs      []state.Delivered
	planned   *time.Time
	plannedBy string
}

// ordered is the time for which an order was in force.
type ordered struct {
	from, to       time.Time
	shallow, deep  float64
	mean           float64
	meanKnown, any bool
	entry          string
}

// shown is a suction that the pump showed.
type shown struct {
	at    time.Time
	mmHg  float64
	by    string
	entry string
}

// reading is the volume in a canister; the last one of a canister has change set when a new one went in.
type reading struct {
	at     time.Time
	mL     float64
	known  bool
	change bool
	entry  string
}

// event is a mark with words in one of the rows below the suction.
type event struct {
	at    time.Time
	row   string
	words string
	entry string
}

// The rows of events.
const (
	rowVisits = "Visits"
	rowAlarms = "Alarms"
)

func gather(c *casebook.Case, now time.Time) told {
	t := told{logs: logsUntil(c, now), spells: Spells(c, now), sizeML: state.CanisterOf(c).SizeML, canisters: canisters(c, now)}
	for _, o := range c.Orders {
		if !o.At.After(now) {
			t.orders = append(t.orders, orderedOf(o, now))
		}
	}
	for _, d := range c.Changes {
		if d.At.After(now) {
			continue
		}
		words := "visit: dressing changed"
		t.events = append(t.events, event{d.At, rowVisits, words, d.ID})
		if d.Body.SuctionMmHg != nil {
			t.shown = append(t.shown, shown{d.At, *d.Body.SuctionMmHg, "at a visit", d.ID})
		}
	}
	for _, a := range c.Alarms {
		if a.At.After(now) {
			continue
		}
		words := a.Body.Alarm
		if words == "not known" {
			words = "alarm not known"
		}
		if a.Body.Settled != nil && *a.Body.Settled {
			words += ", settled"
		}
		t.events = append(t.events, event{a.At, rowAlarms, words, a.ID})
		if a.Body.SuctionMmHg != nil {
			t.shown = append(t.shown, shown{a.At, *a.Body.SuctionMmHg, "at an alarm", a.ID})
		}
	}
	if at, by, ok := state.NextVisit(c); ok && c.Ended == nil {
		t.planned, t.plannedBy = &at, by
	}
	for i := range c.Wounds {
		t.wounds = append(t.wounds, &c.Wounds[i])
	}
	return t
}

func orderedOf(o casebook.Order, now time.Time) ordered {
	out := ordered{from: o.At, to: now, entry: o.ID}
	if o.EndedAt != nil && o.EndedAt.Before(now) {
		out.to = *o.EndedAt
	}
	for i, s := range o.Body.Stages {
		if i == 0 {
			out.shallow, out.deep, out.any = s.SuctionMmHg, s.SuctionMmHg, true
		}
		out.shallow, out.deep = min(out.shallow, s.SuctionMmHg), max(out.deep, s.SuctionMmHg)
	}
	if p, ok := state.Program(o.Body); ok {
		out.mean, out.meanKnown = p.MeanMmHg(), true
	}
	return out
}

// words says the order's suction.
func (o ordered) words() string {
	switch {
	case !o.any:
		return "ordered: suction not stated"
	case o.shallow == o.deep:
		return "ordered " + unit.Suction(o.deep).String()
	case o.meanKnown:
		return "ordered " + unit.Number(o.shallow, 0) + " to " + unit.Suction(o.deep).String() + ", mean " + unit.Number(o.mean, 0)
	}
	return "ordered " + unit.Number(o.shallow, 0) + " to " + unit.Suction(o.deep).String() + ", holds not stated"
}

// canisters divides the readings into canisters. A reading lower than the one before it without a recorded change
// starts a new piece too: the two are not joined.
func canisters(c *casebook.Case, now time.Time) [][]reading {
	var out [][]reading
	var cur []reading
	flush := func() {
		if len(cur) > 0 {
			out = append(out, cur)
		}
		cur = nil
	}
	for _, r := range c.Canister {
		if r.At.After(now) {
			continue
		}
		changed := r.Body.Changed != nil && *r.Body.Changed
		p := reading{at: r.At, change: changed, entry: r.ID}
		if r.Body.VolumeML != nil {
			p.mL, p.known = *r.Body.VolumeML, true
			if n := len(cur); n > 0 && p.mL < cur[n-1].mL {
				flush()
			}
			cur = append(cur, p)
		} else if changed {
			cur = append(cur, p)
		}
		if changed {
			flush()
			cur = []reading{{at: r.At, known: true, entry: r.ID}} // the new one is empty
		}
	}
	flush()
	return out
}
