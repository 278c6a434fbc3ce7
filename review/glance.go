package review

import (
	"slices"
	"time"

	"lowtide/casebook"
	"lowtide/state"
)

// Glance is what a list shows of a case as small pictures: suction below its line, the canister's level, the wound's size.
// Nothing in it depends on the moment of the review, as long as the row in which it stands holds.
type Glance struct {
	// Spells are what suction did of late; the last one goes on.
	Spells []GlanceSpell `json:",omitempty"`
	// OrderedMmHg is the deepest stage ordered and ShownMmHg what the pump showed last, at ShownAt; nil is not known.
	OrderedMmHg, ShownMmHg *float64  `json:",omitempty"`
	ShownAt                time.Time `json:",omitzero"`
	// From and To are the content of the canister at its newest reading and where it counts as full; nil is not known.
	From, To *LevelThen `json:",omitempty"`
	// SizeML is the canister's size; zero where the level cannot be told, and NoLevel says why.
	SizeML  float64    `json:",omitempty"`
	NoLevel string     `json:",omitempty"`
	Size    *SizeSince `json:",omitempty"`
}

// GlanceSpell is a time in which suction did one thing; a To of zero goes on.
type GlanceSpell struct {
	From  time.Time
	To    time.Time `json:",omitzero"`
	Doing state.Doing
}

// LevelThen is the content expected at an instant, in mL: the median of the canister's forecast.
type LevelThen struct {
	At time.Time
	ML float64
}

// SizeSince is the size of one wound at its first and its last measurement, in cm².
type SizeSince struct {
	Wound       string
	First, Last float64
	Since       time.Time
}

// glanceDay is how much of the suction is drawn, and glanceSpells the most that is kept for it.
const (
	glanceDay    = 24 * time.Hour
	glanceSpells = 48
)

// GlanceOf takes the small pictures out of a review; there are none of a case whose therapy is not open.
func GlanceOf(r *Review) (g Glance) {
	s := r.State
	if r.Therapy.State != "open" {
		return g
	}
	spells := s.Suction.Spells
	for _, x := range spells[max(0, len(spells)-glanceSpells):] {
		g.Spells = append(g.Spells, GlanceSpell{x.From, x.To, x.Doing})
	}
	if o := s.Counted.Order(); o != nil {
		for _, stage := range o.Body.Stages {
			if g.OrderedMmHg == nil || stage.SuctionMmHg > *g.OrderedMmHg {
				g.OrderedMmHg = &stage.SuctionMmHg
			}
		}
	}
	// Of several pumps the one whose canister the words beside the picture are about.
	at := 0
	if first := FullOf(r); first.Told() {
		at = max(0, slices.IndexFunc(s.Canisters, func(f *state.Fluid) bool { return f.Pump == first.Pump }))
	}
	if p := s.Pumps[at]; p.ShownBy != "" {
		g.ShownMmHg, g.ShownAt = &p.ShownMmHg, p.ShownAt
	}
	f := s.Canisters[at]
	ahead := f.Ahead(f.LastAt, f.LastAt)
	g.SizeML, g.NoLevel = ahead.SizeML, ahead.Cannot
	if len(ahead.Points) > 0 {
		g.From = &LevelThen{f.LastAt, ahead.Points[0].Band.Median}
		if ahead.Full.Even.Within() {
			g.To = &LevelThen{ahead.Full.Even.At, ahead.UsableML}
		}
	}
	g.Size = sizeSince(s.Counted)
	return g
}

// sizeSince is the wound that is largest now, among those that were measured at least twice.
func sizeSince(c *casebook.Case) (out *SizeSince) {
	for i := range c.Wounds {
		w := &c.Wounds[i]
		var x SizeSince
		n := 0
		for _, m := range w.Measured {
			if a, _, ok := state.Area(m.Body); ok {
				if n++; n == 1 {
					x = SizeSince{Wound: w.Name, First: float64(a), Since: m.At}
				}
				x.Last = float64(a)
			}
		}
		if n > 1 && x.First > 0 && (out == nil || x.Last > out.Last) {
			out = &x
		}
	}
	return out
}

// LevelAt is the content expected at an instant, in mL, on the line from the newest reading to where the forecast has the
// canister full; ok is false when nothing can be told.
func (g *Glance) LevelAt(now time.Time) (mL float64, ok bool) {
	switch {
	case g.From == nil:
		return 0, false
	case g.To == nil || !now.After(g.From.At):
		return g.From.ML, true
	}
	share := float64(now.Sub(g.From.At)) / float64(g.To.At.Sub(g.From.At))
	return g.From.ML + min(share, 1)*(g.To.ML-g.From.ML), true
}

// Day clips the spells to the 24 hours before now and adds up the time on, off and not known.
func (g *Glance) Day(now time.Time) (spells []state.SuctionSpell, on, off, unknown time.Duration) {
	day := now.Add(-glanceDay)
	for _, x := range g.Spells {
		if x.From.Before(day) {
			x.From = day
		}
		if x.To.IsZero() || x.To.After(now) {
			x.To = now
		}
		d := x.To.Sub(x.From)
		if d <= 0 {
			continue
		}
		spells = append(spells, state.SuctionSpell{From: x.From, To: x.To, Doing: x.Doing})
		switch {
		case x.Doing.IsOff():
			off += d
		case x.Doing == state.SuctionOn:
			on += d
		default:
			unknown += d
		}
	}
	return spells, on, off, unknown
}
