package state

import (
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/rule/value"
	"lowtide/supply"
	"lowtide/unit"
)

// Needs is what a case will use: how often its dressings are changed, which kit each wound takes, and how fast its
// canister fills. It holds for any period ahead.
type Needs struct {
	// Why says why nothing is expected to be used; then the rest is empty.
	Why    string
	Wounds []WoundNeed
	// Cans are the canisters in use, one for each pump, the newest first; at least one.
	Cans []CanisterNeed
	// Spare lists what is carried for the patient in case it is needed.
	Spare []string
	// Next is the next planned change and EveryH the time between changes; NextBy is its entry.
	Next   time.Time
	NextBy string
	EveryH float64
	// Ordered tells that EveryH is the order's; otherwise it is the middle of the usual range, FirstH to LastH.
	Ordered       bool
	FirstH, LastH float64
	// StayH is the longest time with one canister.
	StayH float64
}

// WoundNeed is what one change of a wound takes.
type WoundNeed struct {
	Wound  string
	Item   string
	Count  int
	Status supply.Status
	Plan   supply.Plan
	// Words says what the kit was chosen by.
	Words string
}

// CanisterNeed is the canister in use.
type CanisterNeed struct {
	// Pump is whose canister it is where the patient has several pumps.
	Pump   string
	Item   string
	Status supply.Status
	// Now is the canister as it was read at ReadAt, Out the output that is expected from then on. NewAt is when it went
	// in, if AgeOK says that this is known.
	Now    supply.Canister
	Out    supply.Output
	ReadAt time.Time
	NewAt  time.Time
	AgeOK  bool
}

const (
	// outputAheadD is for how many days the output is forecast for supplies.
	outputAheadD = 14
	// earlyShare: a change before this share of its planned time counts as early.
	earlyShare = 0.75
)

// NeedsOf reads what a case will use. fluids are those of its pumps.
func NeedsOf(c *casebook.Case, eq *equipment.Set, v value.Values, fluids []*Fluid) *Needs {
	n := &Needs{FirstH: v.In(value.ChangeFirst, "h"), LastH: v.In(value.ChangeLast, "h"), StayH: v.In(value.CanisterStay, "h")}
	_, _, started := Started(c)
	switch {
	case c.Ended != nil:
		n.Why = "therapy has ended"
	case !started:
		n.Why = "therapy has not started"
	case len(c.Orders) > 0 && c.Order() == nil:
		n.Why = "the order was stopped"
	}
	if n.Why != "" {
		return n
	}
	n.rhythm(c)
	kits := kitsOf(eq)
	for i := range c.Wounds {
		if w := &c.Wounds[i]; underTherapy(c, w) {
			n.Wounds = append(n.Wounds, n.wound(c, w, kits))
		}
	}
	for _, f := range fluids {
		n.Cans = append(n.Cans, n.canister(c, eq, f))
	}
	for _, i := range eq.Items {
		for range i.Spare {
			n.Spare = append(n.Spare, i.ID)
		}
	}
	return n
}

// underTherapy tells whether a wound has filler in it, was changed before, or is named in the order.
func underTherapy(c *casebook.Case, w *casebook.Wound) bool {
	if o := c.Order(); o != nil && (len(o.Body.Wounds) == 0 || contains(o.Body.Wounds, w.Name)) {
		return true
	}
	return w.Count.Total() > 0 || len(w.Changes) > 0 && !w.Count.Known
}

func kitsOf(eq *equipment.Set) []supply.Kit {
	var out []supply.Kit
	for _, i := range eq.Items {
		if i.Filler != "" {
			out = append(out, supply.Kit{Item: i.ID, Filler: i.Filler, Covers: unit.Area(i.CoversCm2), Layer: unit.Length(i.LayerCm)})
		}
	}
	return out
}

// rhythm finds when the next change is and how far apart they are.
func (n *Needs) rhythm(c *casebook.Case) {
	n.EveryH = (n.FirstH + n.LastH) / 2
	if o := c.Order(); o != nil && o.Body.ChangeEveryH != nil && *o.Body.ChangeEveryH > 0 {
		n.EveryH, n.Ordered = *o.Body.ChangeEveryH, true
	}
	switch at, id, ok := NextVisit(c); {
	case ok:
		n.Next, n.NextBy = at, id
	case len(c.Changes) > 0:
		last := c.Changes[len(c.Changes)-1]
		n.Next, n.NextBy = last.At.Add(time.Duration(n.EveryH*float64(time.Hour))), last.ID
	default:
		n.Next, n.NextBy, _ = Started(c)
	}
}

func (n *Needs) wound(c *casebook.Case, w *casebook.Wound, kits []supply.Kit) WoundNeed {
	out := WoundNeed{Wound: w.Name, Plan: supply.Plan{Next: n.Next, LeastH: n.EveryH, MostH: n.EveryH}}
	if !n.Ordered {
		out.Plan.LeastH, out.Plan.MostH = n.FirstH, n.LastH
	}
	out.Plan.Early, out.Plan.WatchedD = early(c, w, n.EveryH)
	size := supply.Wound{Filler: fillerOf(c, w), Area: -1, Depth: -1}
	out.Words = "filler " + size.Filler
	for i := len(w.Measured) - 1; i >= 0 && size.Area < 0; i-- {
		if a, _, ok := Area(w.Measured[i].Body); ok {
			size.Area = a
			out.Words += ", area " + a.String()
		}
	}
	if _, depth := Newest(w.Measured, func(m casebook.WoundMeasured) *float64 { return m.DepthCm }); depth != nil {
		size.Depth = unit.Length(*depth)
		out.Words += ", depth " + size.Depth.String()
	}
	need, status := supply.Kits(size, kits)
	out.Item, out.Count, out.Status = need.Item, need.Count, status
	return out
}

// fillerOf is the filler that went in last, else that of the order.
func fillerOf(c *casebook.Case, w *casebook.Wound) string {
	for i := len(w.Changes) - 1; i >= 0; i-- {
		if in := w.Changes[i].Body.In; len(in) > 0 {
			return in[0].Filler
		}
	}
	if o := c.Order(); o != nil {
		return o.Body.Filler
	}
	return ""
}

// early counts changes of a wound that came clearly before their time, and the days that were watched.
func early(c *casebook.Case, w *casebook.Wound, everyH float64) (n int, days float64) {
	planned := map[string]time.Time{}
	for _, d := range c.Changes {
		if d.Body.NextVisit != nil {
			planned[d.ID] = *d.Body.NextVisit
		}
	}
	for i := 1; i < len(w.Changes); i++ {
		was, now := w.Changes[i-1], w.Changes[i]
		gap, want := now.At.Sub(was.At).Hours(), everyH
		if at, ok := planned[was.ID]; ok {
			want = at.Sub(was.At).Hours()
		}
		if gap < earlyShare*want {
			n++
		}
	}
	if k := len(w.Changes); k > 1 {
		days = w.Changes[k-1].At.Sub(w.Changes[0].At).Hours() / 24
	}
	return n, days
}

func (n *Needs) canister(c *casebook.Case, eq *equipment.Set, f *Fluid) CanisterNeed {
	k := f.Canister
	out := CanisterNeed{Pump: f.Pump, Status: supply.NoSizeML}
	if k.SizeML == nil || *k.SizeML <= 0 {
		return out
	}
	for _, i := range eq.Items {
		if i.CanisterML == *k.SizeML {
			out.Item = i.ID
		}
	}
	out.Now = supply.Canister{UsableML: *k.SizeML * usableShare(eq, *k.SizeML), StayH: n.StayH, VisitEveryH: n.EveryH}
	if k.VolumeML != nil {
		out.Now.ContentML, out.ReadAt = *k.VolumeML, *k.ReadAt
	}
	if k.ChangedAt != nil {
		out.NewAt, out.AgeOK = *k.ChangedAt, true
	}
	out.Status = supply.NoOutput
	// From the newest reading on, not from now: what is expected must not change while nothing is written.
	from := f.LastAt
	if from.IsZero() {
		from, _, _ = Started(c)
	}
	if q, ok := f.Collected(from, from.Add(outputAheadD*24*time.Hour)); ok {
		out.Out = supply.Output{P10: q.P10 / outputAheadD, Median: q.Median / outputAheadD, P90: q.P90 / outputAheadD}
		out.Status = supply.OK
	}
	return out
}

// at is the canister as it is believed to be at an instant. Where nobody knows when it went in, it is due.
func (k CanisterNeed) at(from time.Time) supply.Canister {
	c := k.Now
	if !k.ReadAt.IsZero() && from.After(k.ReadAt) {
		c.ContentML += k.Out.Median * from.Sub(k.ReadAt).Hours() / 24
	}
	c.AgeH = c.StayH
	if k.AgeOK {
		c.AgeH = max(0, from.Sub(k.NewAt).Hours())
	}
	return c
}

// Output is the output a day that canisters are counted from.
func (k CanisterNeed) Output() FluidBand {
	return FluidBand{Median: k.Out.Median, P10: k.Out.P10, P90: k.Out.P90}
}

// ItemUse is the expected use of one item over a period.
type ItemUse struct {
	Item string
	supply.Spread
	// Words says for what.
	Words string
}

// Use is what the case is expected to use in [from, to), item by item, and what cannot be told, in words.
func (n *Needs) Use(from, to time.Time) (uses []ItemUse, cannot []string) {
	for _, w := range n.Wounds {
		if w.Status != supply.OK {
			cannot = append(cannot, "which kit wound "+w.Wound+" takes: "+string(w.Status))
			continue
		}
		uses = append(uses, ItemUse{w.Item, supply.Changes(w.Plan, from, to).Times(w.Count), "wound " + w.Wound})
	}
	if n.Why != "" {
		return uses, cannot
	}
	for _, k := range n.Cans {
		switch s, st := supply.Canisters(k.at(from), k.Out, to.Sub(from).Hours()/24); {
		case k.Status != supply.OK:
			cannot = append(cannot, "how many canisters"+k.of()+": "+string(k.Status))
		case st != supply.OK:
			cannot = append(cannot, "how many canisters"+k.of()+": "+string(st))
		case k.Item == "":
			cannot = append(cannot, "which canister"+k.of()+": its size is not in the list of equipment")
		default:
			uses = append(uses, ItemUse{k.Item, s, "canister" + k.of()})
		}
	}
	return uses, cannot
}

// of names the pump where there are several.
func (k CanisterNeed) of() string {
	if k.Pump == "" {
		return ""
	}
	return " of pump " + k.Pump
}

// Expect adds the mean and variance of the use in [from, to) for each item: what sums over a caseload need.
func (n *Needs) Expect(from, to time.Time, add func(item string, s supply.Spread)) (unknown bool) {
	for _, w := range n.Wounds {
		if w.Status != supply.OK {
			unknown = true
			continue
		}
		mean, variance := supply.Expect(w.Plan, from, to)
		add(w.Item, supply.Spread{Mean: mean, Variance: variance}.Times(w.Count))
	}
	if n.Why != "" {
		return unknown
	}
	for _, k := range n.Cans {
		s, st := supply.Canisters(k.at(from), k.Out, to.Sub(from).Hours()/24)
		if st != supply.OK || k.Item == "" {
			unknown = true
			continue
		}
		add(k.Item, s)
	}
	return unknown
}

// BagLine is what is brought to one visit, of one item.
type BagLine struct {
	Item  string
	Count int
	// Why says for what, in words without the patient.
	Why string
}

// Bag is what one visit at a time takes: a kit for each wound, a canister when the one in use is due or may be full
// before the visit after it, and the spares. What cannot be told is in words; a canister is then brought.
func (n *Needs) Bag(at time.Time) (lines []BagLine, cannot []string) {
	if n.Why != "" {
		return nil, nil
	}
	for _, w := range n.Wounds {
		if w.Status != supply.OK {
			cannot = append(cannot, "which kit wound "+w.Wound+" takes: "+string(w.Status))
			continue
		}
		lines = append(lines, BagLine{w.Item, w.Count, "change of wound " + w.Wound})
	}
	until := n.EveryH / 24
	for _, k := range n.Cans {
		c := k.at(at)
		c.VisitEveryH = 0
		s, st := supply.Canisters(c, k.Out, until)
		switch {
		case k.Item == "":
			cannot = append(cannot, "which canister"+k.of()+": "+string(supply.NoSizeML))
		case st != supply.OK || k.Status != supply.OK:
			lines = append(lines, BagLine{k.Item, 1, "canister" + k.of() + "; cannot tell how full it will be"})
		case s.High > 0:
			lines = append(lines, BagLine{k.Item, 1, "canister" + k.of() + ": due or may be full before the visit after"})
		}
	}
	for _, id := range n.Spare {
		lines = append(lines, BagLine{id, 1, "in case it is needed"})
	}
	return lines, cannot
}

// Items are the items that the case will use.
func (n *Needs) Items() []string {
	var out []string
	for _, w := range n.Wounds {
		out = append(out, w.Item)
	}
	for _, k := range n.Cans {
		out = append(out, k.Item)
	}
	return out
}

// Taken is what a visit takes by the list: a kit for each wound that it changed, and a canister if it put one in.
func (n *Needs) Taken(wounds []string, canister bool) []BagLine {
	var out []BagLine
	for _, w := range n.Wounds {
		if w.Item != "" && contains(wounds, w.Wound) {
			out = append(out, BagLine{w.Item, w.Count, "change of wound " + w.Wound})
		}
	}
	for i, k := range n.Cans {
		if i == 0 && canister && k.Item != "" {
			out = append(out, BagLine{k.Item, 1, "new canister"})
		}
	}
	return out
}

// The spans for which use is foreseen.
const (
	Week      = 7 * 24 * time.Hour
	Fortnight = 14 * 24 * time.Hour
)

// Supplies is what a case will use from the instant of its state on.
type Supplies struct {
	Needs *Needs
	// Week and Fortnight are the expected use; Cannot says what cannot be told.
	Week, Fortnight []ItemUse
	Cannot          []string
}

// Supplies reads what the case will use.
func (s *State) Supplies() Supplies {
	out := Supplies{Needs: s.Needs()}
	if out.Needs.Why == "" {
		out.Week, out.Cannot = out.Needs.Use(s.AsOf, s.AsOf.Add(Week))
		out.Fortnight, _ = out.Needs.Use(s.AsOf, s.AsOf.Add(Fortnight))
	}
	return out
}
