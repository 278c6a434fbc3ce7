package state

import (
	"slices"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/rule/value"
	"lowtide/unit"
)

// Tide is what the entries tell over time, as the tide chart draws and lists it; nothing in it is later than the state's
// instant, but the next visit. It is made when it is asked for first.
type Tide struct {
	// Pumps are suction and canister of each pump with the patient, the newest first; one without a name where there are not
	// several.
	Pumps  []PumpTide
	Wounds []WoundSizes
	// Unnamed are suctions shown, and UnnamedCanisters readings, of which no entry says which of several pumps they are of.
	Unnamed          []SuctionShown
	UnnamedCanisters [][]CanisterPoint
	// Visits are the dressing changes, Alarms what was reported.
	Visits, Alarms []TideMark
	// Planned is the next visit and PlannedBy its entry; nil when none is planned, or therapy has ended.
	Planned   *time.Time
	PlannedBy string
	// From is the first thing that is drawn, To the end of therapy or the state's instant.
	From, To time.Time
	// Ended tells that therapy has ended.
	Ended bool
}

// PumpTide is suction and canister of one pump over time, each list oldest first.
type PumpTide struct {
	// Pump is the pump's number; empty where there are not several. Wounds are those on it.
	Pump   string
	Wounds []string
	// Came is when it came, and Replaced when another pump came for one of its wounds: from then on nobody knows whether this
	// one runs. Both are zero where there are not several.
	Came, Replaced time.Time
	Orders         []OrderSpan
	Shown          []SuctionShown
	Spells         []DrawnSpell
	Logs           []Delivered
	// Canisters are the readings, divided by canister.
	Canisters [][]CanisterPoint
	// SizeML is the size of the canister in place; nil when not known.
	SizeML *float64

	fluid *Fluid
}

// Ahead forecasts the canister in place until an instant.
func (p PumpTide) Ahead(now, to time.Time) FillAhead { return p.fluid.Ahead(now, to) }

// OrderSpan is the time for which an order was in force, with its suction in mmHg below ambient.
type OrderSpan struct {
	From, To time.Time
	// Shallow and Deep are the least and the greatest suction of its stages; Any is false when it states none.
	Shallow, Deep float64
	Any           bool
	// Mean is over the stages' holds; MeanKnown is false when the holds are not stated.
	Mean      float64
	MeanKnown bool
	Entry     string
	// Ended is the entry that ended it, empty while it is in force.
	Ended string
}

// SuctionShown is a suction that somebody read from the pump.
type SuctionShown struct {
	At time.Time
	unit.Suction
	// AtAlarm tells that it was read at an alarm, else at a visit.
	AtAlarm bool
	Entry   string
}

// DrawnSpell is a time in which suction did one thing, told by Entry (empty before the first entry that tells).
type DrawnSpell struct {
	From, To time.Time
	Doing    Doing
	Entry    string
}

// CanisterPoint is what was in a canister. Changed tells that a new one went in then; Known that its content was read.
type CanisterPoint struct {
	At             time.Time
	ML             float64
	Known, Changed bool
	Entry          string
}

// TideMark is something that happened, in words.
type TideMark struct {
	At    time.Time
	Words string
	Entry string
}

// WoundSizes are the measurements of a wound, oldest first.
type WoundSizes struct {
	Wound string
	Sizes []WoundSize
}

// WoundSize is one measurement as it was written.
type WoundSize struct {
	At    time.Time
	Entry string
	casebook.WoundMeasured
}

// AreaCm2 is the area, measured or from length and width; ok is false when there is none.
func (z WoundSize) AreaCm2() (cm2 float64, ok bool) {
	a, _, ok := Area(z.WoundMeasured)
	return float64(a), ok
}

// Follows tells whether it was taken in the same way as the one before, so that a line may join the two.
func (z WoundSize) Follows(before WoundSize) bool {
	return Comparable(before.WoundMeasured, z.WoundMeasured)
}

// SizesOf are the measurements of a wound; none for a wound that is not there.
func (s *State) SizesOf(wound string) WoundSizes {
	if w := s.Case.Wound(wound); w != nil {
		return sizesOf(w)
	}
	return WoundSizes{Wound: wound}
}

func sizesOf(w *casebook.Wound) WoundSizes {
	out := WoundSizes{Wound: w.Name}
	for _, m := range w.Measured {
		out.Sizes = append(out.Sizes, WoundSize{m.At, m.ID, m.Body})
	}
	return out
}

// Tide is what the tide chart shows.
func (s *State) Tide() *Tide { return s.tide() }

func (s *State) makeTide() *Tide {
	c := s.Case
	t := &Tide{To: s.AsOf, Ended: c.Ended != nil}
	if c.Ended != nil && c.Ended.At.Before(t.To) {
		t.To = c.Ended.At
	}
	t.From = t.To
	if started, _, ok := Started(c); ok {
		Earliest(&t.From, started)
	}
	for i := range c.Wounds {
		w := sizesOf(&c.Wounds[i])
		t.Wounds = append(t.Wounds, w)
		if len(w.Sizes) > 0 {
			Earliest(&t.From, w.Sizes[0].At)
		}
	}
	for _, d := range c.Changes {
		t.Visits = append(t.Visits, TideMark{d.At, "dressing changed", d.ID})
	}
	for _, a := range c.Alarms {
		words := a.Body.Alarm
		if words == "not known" {
			words = "alarm not known"
		}
		if a.Body.Settled != nil && *a.Body.Settled {
			words += ", settled"
		}
		t.Alarms = append(t.Alarms, TideMark{a.At, words, a.ID})
	}
	if at, by, ok := NextVisit(c); ok && c.Ended == nil {
		t.Planned, t.PlannedBy = &at, by
	}
	for _, f := range s.Canisters {
		t.Pumps = append(t.Pumps, s.pumpTide(f))
	}
	for _, x := range suctionsShown(c) {
		if p := t.shownBy(x); p != nil {
			p.Shown = append(p.Shown, x.SuctionShown)
		} else {
			t.Unnamed = append(t.Unnamed, x.SuctionShown)
		}
	}
	if len(t.Pumps) > 1 {
		t.UnnamedCanisters = canistersRead(seenOn(c, t.Pumps[0].Pump).unnamed)
	}
	return t
}

// pumpTide is what the entries tell of one pump, and what they tell without naming one.
func (s *State) pumpTide(f *Fluid) PumpTide {
	c := s.Case
	p := PumpTide{Pump: f.Pump, SizeML: f.AsRead.SizeML, Canisters: canistersRead(seenOn(c, f.pump).readings), Logs: s.Logs, fluid: f}
	k := s.Suction
	if p.Pump != "" {
		s.placePump(&p)
		p.Logs = nil
		for _, d := range s.Logs {
			if d.Pump == p.Pump {
				p.Logs = append(p.Logs, d)
			}
		}
		k = s.suctionOn(p)
	}
	p.Orders = orderSpans(c.Orders, p, s.AsOf)
	p.Spells = p.within(s.drawnSpells(k))
	return p
}

// placePump says when a pump came, on which wounds it is, and when another one came for one of them.
func (s *State) placePump(p *PumpTide) {
	for _, u := range OpenPumps(s.Case) {
		a := u.Assigned
		switch {
		case a.Body.Pump == p.Pump:
			Earliest(&p.Came, a.At)
			p.Wounds, _ = woundsOn(s.Case, a.Body)
			p.Replaced = time.Time{}
		case !p.Came.IsZero() && p.serves(a.Body.Wounds):
			Earliest(&p.Replaced, a.At)
		}
	}
}

// within cuts the spells to the time in which the pump is known to have been the one in use.
func (p PumpTide) within(spells []DrawnSpell) []DrawnSpell {
	if p.Pump == "" {
		return spells
	}
	var out []DrawnSpell
	for _, x := range spells {
		if x.From.Before(p.Came) {
			x.From = p.Came
		}
		if !p.Replaced.IsZero() && x.To.After(p.Replaced) {
			if x.From.Before(p.Replaced) {
				out = append(out, DrawnSpell{From: x.From, To: p.Replaced, Doing: x.Doing, Entry: x.Entry})
				x.From = p.Replaced
			}
			x.Doing = SuctionNotKnown
		}
		if n := len(out); n > 0 && out[n-1].Doing == x.Doing && x.Doing == SuctionNotKnown {
			out[n-1].To = x.To
		} else if x.From.Before(x.To) {
			out = append(out, x)
		}
	}
	return out
}

// shownBy is the pump that showed it: the only one there then, or the only one of those there that is on the wounds of the
// visit; nil is that nobody can tell.
func (t *Tide) shownBy(x shownAt) *PumpTide {
	var there, on []*PumpTide
	for i := range t.Pumps {
		p := &t.Pumps[i]
		if p.Came.After(x.At) {
			continue
		}
		there = append(there, p)
		if len(x.wounds) > 0 && !slices.ContainsFunc(x.wounds, func(w string) bool { return !p.on(w) }) {
			on = append(on, p)
		}
	}
	switch {
	case len(there) == 1:
		return there[0]
	case len(on) == 1:
		return on[0]
	}
	return nil
}

// serves tells whether any of the wounds is on the pump; where none is named it may be this one.
func (p PumpTide) serves(wounds []string) bool {
	return p.Pump == "" || len(wounds) == 0 || len(p.Wounds) == 0 || slices.ContainsFunc(wounds, p.on)
}

func (p PumpTide) on(wound string) bool { return slices.Contains(p.Wounds, wound) }

// shownAt is a suction with the wounds of the visit at which it was shown.
type shownAt struct {
	SuctionShown
	wounds []string
}

// suctionsShown are those of visits, then those of alarms.
func suctionsShown(c *casebook.Case) []shownAt {
	var out []shownAt
	for _, d := range c.Changes {
		if mmHg := d.Body.SuctionMmHg; mmHg != nil {
			out = append(out, shownAt{SuctionShown{At: d.At, Suction: unit.Suction(*mmHg), Entry: d.ID}, woundsOf(d.Body)})
		}
	}
	for _, a := range c.Alarms {
		if mmHg := a.Body.SuctionMmHg; mmHg != nil {
			out = append(out, shownAt{SuctionShown{At: a.At, Suction: unit.Suction(*mmHg), AtAlarm: true, Entry: a.ID}, nil})
		}
	}
	return out
}

func woundsOf(b casebook.DressingChanged) []string {
	var out []string
	for _, w := range b.Wounds {
		out = append(out, w.Wound)
	}
	return out
}

// suctionOn is what suction of the pump is doing, by the entries that are of it or name none.
func (s *State) suctionOn(p PumpTide) Suction {
	c := s.onPump(p)
	var on []*Pump
	if at := slices.Index(s.Canisters, p.fluid); at >= 0 {
		on = s.Pumps[at : at+1]
	}
	return suctionOf(c, SuctionRecordOf(c, p.Logs), suctionEndsOf(on, []*Fluid{p.fluid}, s.Values.Span(value.SuctionSeen)), s.AsOf)
}

// onPump is the case without the entries that are of another pump alone.
func (s *State) onPump(p PumpTide) *casebook.Case {
	out := *s.Counted
	other := func(named string) bool {
		named = strings.TrimSpace(named)
		return named != "" && !strings.EqualFold(named, p.Pump)
	}
	out.Log = slices.DeleteFunc(slices.Clone(out.Log), func(l casebook.Line) bool {
		switch b := l.Now.(type) {
		case casebook.PumpAssigned:
			return b.Pump != p.Pump
		case casebook.PumpReturned:
			return b.Pump != p.Pump
		case casebook.PowerNoted:
			return other(b.Pump)
		case casebook.AlarmReported:
			return other(b.Pump)
		case casebook.DressingChanged:
			return !p.serves(woundsOf(b))
		}
		return false
	})
	return &out
}

// orderSpans are the orders that name a wound of the pump, or none. One that names only wounds of another pump ends no
// order of this one.
func orderSpans(orders []casebook.Order, p PumpTide, asOf time.Time) []OrderSpan {
	var mine []casebook.Order
	other := map[string]bool{}
	for _, o := range orders {
		if p.serves(o.Body.Wounds) {
			mine = append(mine, o)
		} else {
			other[o.ID] = true
		}
	}
	var out []OrderSpan
	for i, o := range mine {
		x := OrderSpan{From: later(o.At, p.Came), To: asOf, Entry: o.ID}
		switch {
		case o.EndedAt == nil:
		case !other[o.EndedBy]:
			x.To, x.Ended = *o.EndedAt, o.EndedBy
		case i+1 < len(mine):
			x.To, x.Ended = mine[i+1].At, mine[i+1].ID
		default: // replaced by an order of another pump only; what ended that one may have ended this one, too
			if last := orders[len(orders)-1]; last.EndedAt != nil {
				x.To, x.Ended = *last.EndedAt, last.EndedBy
			}
		}
		for k, g := range o.Body.Stages {
			if k == 0 {
				x.Shallow, x.Deep, x.Any = g.SuctionMmHg, g.SuctionMmHg, true
			}
			x.Shallow, x.Deep = min(x.Shallow, g.SuctionMmHg), max(x.Deep, g.SuctionMmHg)
		}
		if program, ok := Program(o.Body); ok {
			x.Mean, x.MeanKnown = program.MeanMmHg(), true
		}
		if p.Came.IsZero() || x.From.Before(x.To) { // one that ended before this pump came was never its order
			out = append(out, x)
		}
	}
	return out
}

// drawnSpells divides the time from the start of therapy until now, or until therapy ended, by what suction did.
func (s *State) drawnSpells(k Suction) []DrawnSpell {
	started, _, ok := Started(s.Case)
	if !ok {
		return nil
	}
	out := []DrawnSpell{{From: started, Doing: SuctionNotKnown}}
	by := ""
	for _, x := range k.Spells {
		if len(x.Entries) > 0 {
			by = x.Entries[0] // what is only believed since rests on the entry before
		}
		from := later(x.From, started)
		if from.After(s.AsOf) {
			break
		}
		if last := &out[len(out)-1]; !last.From.Before(from) {
			*last = DrawnSpell{From: from, Doing: x.Doing, Entry: by}
			continue
		}
		out = append(out, DrawnSpell{From: from, Doing: x.Doing, Entry: by})
	}
	end := s.AsOf
	if s.Case.Ended != nil && s.Case.Ended.At.Before(end) {
		end = s.Case.Ended.At
	}
	return closed(out, end)
}

// closed ends each spell where the next one starts, and leaves out those without length.
func closed(list []DrawnSpell, end time.Time) []DrawnSpell {
	var out []DrawnSpell
	for i, x := range list {
		x.To = end
		if i+1 < len(list) && list[i+1].From.Before(end) {
			x.To = list[i+1].From
		}
		if x.From.Before(x.To) {
			out = append(out, x)
		}
	}
	return out
}

// canistersRead divides readings into canisters. A reading lower than the one before it without a recorded change starts a
// new piece too: the two are not joined.
func canistersRead(readings []casebook.Dated[casebook.CanisterRead]) [][]CanisterPoint {
	var out [][]CanisterPoint
	var cur []CanisterPoint
	flush := func() {
		if len(cur) > 0 {
			out = append(out, cur)
		}
		cur = nil
	}
	for _, r := range readings {
		changed := r.Body.Changed != nil && *r.Body.Changed
		p := CanisterPoint{At: r.At, Changed: changed, Entry: r.ID}
		if r.Body.VolumeML != nil {
			p.ML, p.Known = *r.Body.VolumeML, true
			if n := len(cur); n > 0 && p.ML < cur[n-1].ML {
				flush()
			}
			cur = append(cur, p)
		} else if changed {
			cur = append(cur, p)
		}
		if changed {
			flush()
			cur = []CanisterPoint{{At: r.At, Known: true, Entry: r.ID}} // the new one is empty
		}
	}
	flush()
	return out
}
