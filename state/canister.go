package state

import (
	"fmt"
	"time"

	"lowtide/casebook"
	"lowtide/rule/value"
	"lowtide/unit"
)

// Canister is what the entries say about the canister now in use.
type Canister struct {
	// SizeML, VolumeML are nil when not known; Colour is empty.
	SizeML   *float64
	VolumeML *float64
	Colour   string
	// ReadAt is when VolumeML was true; ChangedAt is when this canister went in.
	ReadAt, ChangedAt *time.Time
	// ColourAt is when Colour was seen.
	ColourAt       *time.Time
	SizeBy, ReadBy string
	ColourBy       string
	ChangedBy      string
	// Collected is the running total of fluid, as far as it can be told; a gap starts a new segment.
	Collected []Collected
	// Dropped tells that a reading was lower than the one before it, and no change is recorded between them or
	// since; a newer, higher reading does not explain it. It is nil before the first reading.
	Dropped   *bool
	DroppedBy string
	// FellFrom and FellTo are the two readings of the newest drop, FellFromAt and FellToAt their times.
	FellFrom, FellTo     float64
	FellFromAt, FellToAt time.Time
}

// Collected is the fluid collected since the start of its segment.
type Collected struct {
	At      time.Time
	ML      float64
	Segment int
	Entry   string
}

// worrying are the colours that a new canister or an incomplete reading must not make disappear.
var worrying = map[string]bool{"pink": true, "blood-tinged": true, "bright red": true, "brown": true, "green": true, "cloudy": true}

// CanisterOf is the canister of the pump that came last.
func CanisterOf(c *casebook.Case) Canister { return CanisterOn(c, newestPump(c)) }

// CanisterOn walks through the readings of a pump's canister, and through the pump's assignment, which puts one in.
func CanisterOn(c *casebook.Case, pump string) Canister {
	c = seenOn(c, pump).on(c)
	w := canisterWalk{fresh: true}
	var first, size *casebook.Dated[casebook.PumpAssigned]
	if open := OpenPumps(c); len(open) > 0 {
		size = &open[len(open)-1].Assigned
		for i := range open {
			if open[i].Assigned.Body.Pump == size.Body.Pump {
				first = &open[i].Assigned
				break
			}
		}
	}
	for _, r := range c.Canister {
		w.pump(c, &first, &size, r.At)
		w.read(r)
	}
	w.pump(c, &first, &size, time.Time{})
	return w.Canister
}

// canisterWalk is where the walk stands. fresh tells that the canister in use has no reading yet, last is the
// newest one otherwise; base is what the segment's earlier canisters held.
type canisterWalk struct {
	Canister
	fresh      bool
	last, base float64
	segment    int
}

// pump takes the assignment of the pump in use (first) and the newest word about its canister's size, each once
// and when the walk has come to it; a zero time is the end of the walk.
func (w *canisterWalk) pump(c *casebook.Case, first, size **casebook.Dated[casebook.PumpAssigned], until time.Time) {
	due := func(p *casebook.Dated[casebook.PumpAssigned]) bool {
		return p != nil && (until.IsZero() || !p.At.After(until))
	}
	if p := *first; due(p) {
		*first = nil
		if w.ReadBy != "" && p.ID != c.Pumps[0].Assigned.ID {
			// Another pump was there before: what was read belongs to a canister that is gone.
			*w = canisterWalk{Canister: Canister{Colour: w.Colour, ColourAt: w.ColourAt, ColourBy: w.ColourBy, Collected: w.Collected}, fresh: true, segment: w.segment + 1}
		}
		if p.Body.CanisterML != nil && w.ChangedAt == nil {
			at := p.At
			w.ChangedAt, w.ChangedBy = &at, p.ID
		}
	}
	if p := *size; due(p) {
		*size = nil
		if p.Body.CanisterML != nil {
			w.SizeML, w.SizeBy = p.Body.CanisterML, p.ID
		}
	}
}

// read takes one reading, and the change that was made after it.
func (w *canisterWalk) read(r casebook.Dated[casebook.CanisterRead]) {
	at := r.At
	// A colour that worries stays until a newer reading names another; any other colour is true only for the
	// reading that named it.
	if r.Body.Colour != "" || !worrying[w.Colour] {
		w.Colour, w.ColourAt, w.ColourBy = r.Body.Colour, &at, r.ID
	}
	if r.Body.VolumeML != nil {
		v := *r.Body.VolumeML
		dropped := !w.fresh && v < w.last
		if dropped || w.Dropped == nil || !*w.Dropped {
			w.Dropped, w.DroppedBy = &dropped, r.ID
		}
		if dropped {
			w.FellFrom, w.FellTo, w.FellFromAt, w.FellToAt = w.last, v, *w.ReadAt, at
			w.segment, w.base = w.segment+1, 0
		}
		w.Collected = append(w.Collected, Collected{at, w.base + v, w.segment, r.ID})
		w.VolumeML, w.ReadAt, w.ReadBy = r.Body.VolumeML, &at, r.ID
		w.last, w.fresh = v, false
	}
	if r.Body.SizeML != nil {
		w.SizeML, w.SizeBy = r.Body.SizeML, r.ID
	}
	if r.Body.Changed == nil || !*r.Body.Changed {
		return
	}
	if r.Body.VolumeML != nil {
		w.base += *r.Body.VolumeML
	} else {
		// What was in the old canister is not known: the running total breaks here.
		w.segment, w.base = w.segment+1, 0
		w.Collected = append(w.Collected, Collected{at, 0, w.segment, r.ID})
	}
	zero, explained := 0.0, false
	w.VolumeML, w.ReadAt, w.ReadBy = &zero, &at, r.ID
	w.ChangedAt, w.ChangedBy = &at, r.ID
	w.Dropped, w.DroppedBy = &explained, r.ID
	w.last, w.fresh = 0, false
}

// Output is the fluid collected per day between the newest reading and the earlier one nearest to 24 h before
// it, at least apart, within one unbroken segment. ok is false when there are no two such readings.
func (k Canister) Output(apart time.Duration) (mLPerDay float64, from, to Collected, ok bool) {
	n := len(k.Collected)
	if n == 0 {
		return 0, from, to, false
	}
	to = k.Collected[n-1]
	best := time.Duration(1<<63 - 1)
	for _, r := range k.Collected[:n-1] {
		gap := to.At.Sub(r.At)
		if r.Segment != to.Segment || gap < apart {
			continue
		}
		if off := (gap - 24*time.Hour).Abs(); off < best {
			best, from, ok = off, r, true
		}
	}
	if !ok {
		return 0, from, to, false
	}
	return (to.ML - from.ML) / to.At.Sub(from.At).Hours() * 24, from, to, true
}

func canisterFacts(zone *time.Location, v value.Values, k Canister, set Sink) {
	set.setNum("canister.size_mL", k.SizeML, k.SizeBy)
	set.setNum("canister.volume_mL", k.VolumeML, k.ReadBy)
	if k.SizeML != nil && k.VolumeML != nil {
		set("canister.full_pct", *k.VolumeML / *k.SizeML * 100, k.ReadBy, k.SizeBy)
	}
	if k.ReadAt != nil {
		set("canister.read_at", *k.ReadAt, k.ReadBy)
	}
	if k.ChangedAt != nil {
		set("canister.changed_at", *k.ChangedAt, k.ChangedBy)
	}
	if k.Colour != "" {
		set("canister.colour", k.Colour, k.ColourBy)
		set("canister.colour_at", *k.ColourAt, k.ColourBy)
	}
	set.setBool("canister.dropped", k.Dropped, k.DroppedBy)
	if k.Dropped != nil && *k.Dropped {
		set("canister.drop_words", fmt.Sprintf("%s on %s after %s on %s", unit.Volume(k.FellTo), Clock(zone, k.FellToAt), unit.Volume(k.FellFrom), Clock(zone, k.FellFromAt)), k.DroppedBy)
	}
	hourFacts(k, set)
	if rate, from, to, ok := k.Output(v.Span(value.ReadingsApart)); ok {
		set("canister.output_mL_d", rate, from.Entry, to.Entry)
	}
}

// hourFacts says how much came within an hour by the newest reading: of all earlier readings of the same running total, the
// one that tells most. Over less than an hour nothing is made larger, so that the rounding of readings is not either.
func hourFacts(k Canister, set Sink) {
	n := len(k.Collected)
	if n < 2 {
		return
	}
	b := k.Collected[n-1]
	most, from := 0.0, Collected{}
	for _, a := range k.Collected[:n-1] {
		if a.Segment != b.Segment || !a.At.Before(b.At) {
			continue
		}
		if v := (b.ML - a.ML) / max(1, b.At.Sub(a.At).Hours()); v > most {
			most, from = v, a
		}
	}
	if most == 0 {
		return
	}
	set("fluid.hour_mL", most, from.Entry, b.Entry)
	set("fluid.hour_words", unit.Volume(b.ML-from.ML).String()+" in "+spanWords(b.At.Sub(from.At)), from.Entry, b.Entry)
	set("fluid.hour_at", b.At, from.Entry, b.Entry)
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

// canisterFigures are what was read of each pump's canister.
func canisterFigures(s *State, add func(Figure)) {
	for _, f := range s.Canisters {
		canisterFigure(s.Case.Zone, f.Canister, s.Values.Span(value.ReadingsApart), func(g Figure) { figured(add)(f.figure(g)) })
	}
}

func canisterFigure(zone *time.Location, k Canister, apart time.Duration, add func(Figure)) {
	if k.SizeML != nil && k.VolumeML != nil && *k.SizeML > 0 {
		share := *k.VolumeML / *k.SizeML * 100
		add(Figure{ID: "canister.full", Name: "Canister filled", Value: share, Unit: "%", At: k.ReadAt,
			Text:   fmt.Sprintf("%s of %s (%s %%)", unit.Volume(*k.VolumeML), unit.Volume(*k.SizeML), unit.Number(share, 0)),
			Method: "volume read over canister size", Source: "arithmetic", Entries: entriesOf(k.ReadBy, k.SizeBy)})
	}
	if rate, from, to, ok := k.Output(apart); ok {
		at := to.At
		add(Figure{ID: "canister.output", Name: "Fluid collected per day", Value: rate, Unit: "mL/d", Text: unit.Rate(rate).String(), At: &at,
			Method: fmt.Sprintf("%s between %s and %s, canister changes counted", unit.Volume(to.ML-from.ML), Clock(zone, from.At), Clock(zone, to.At)),
			Source: "arithmetic", Entries: entriesOf(from.Entry, to.Entry)})
	}
}
