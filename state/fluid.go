package state

import (
	"slices"
	"sync"
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/fluid"
	"lowtide/rule/value"
	"lowtide/state/memo"
	"lowtide/unit"
)

// Fluid is what the canister readings of a case say of the output. Its fit depends on the entries alone, so that it is
// kept by its content and only forecasts are made anew when the clock moves.
type Fluid struct {
	// Pump is whose canister it is where the patient has several pumps; empty with one.
	Pump string
	// Why says why nothing can be forecast; then only Zone and Canister are set.
	Why  string
	Zone *time.Location
	// Canister is the canister now in use as it counts, AsRead as it was read.
	Canister, AsRead Canister
	// Course is what the model was given. Wounds are those on the pump, WoundsKnown tells that every one of them was
	// measured, and AreaCm2 is the sum of their newest areas.
	Course      fluid.Course
	Wounds      []string
	AreaCm2     float64
	WoundsKnown bool
	AreaAt      time.Time
	AreaBy      []string
	// SizeML is the canister in place, 0 when not known; Sizes are those that fit the pump, smallest first.
	SizeML float64
	SizeBy string
	Sizes  []float64
	// LastAt is the newest reading and LastBy its entry; zero and "" when there is none.
	LastAt time.Time
	LastBy string
	// OffSince is when therapy stopped, if it has not gone on since: forecasts are those of therapy that runs.
	OffSince *time.Time
	// Entries are all that the forecast rests on.
	Entries []string
	// Visit is the next visit, VisitBy its entry, VisitWords what it rests on; IntervalH is the time between visits.
	Visit         time.Time
	VisitBy       string
	VisitWords    string
	IntervalH     float64
	IntervalWords string
	Mobility      string

	seen   *casebook.Case // the case with this pump's entries alone
	pump   string
	silent bool // there is no therapy to forecast
	values value.Values
	fit    *fluidFit
}

// FluidsOf reads the course of every canister that is with the patient: one for each pump, that of the newest first; at
// least one, which says why nothing can be told.
func FluidsOf(c *casebook.Case, eq *equipment.Set, v value.Values, asOf time.Time) []*Fluid {
	out := []*Fluid{FluidOf(c, eq, v, asOf)}
	names := PumpNames(c)
	for i := len(names) - 2; i >= 0; i-- {
		out = append(out, fluidOn(c, names[i], eq, v, asOf))
	}
	return out
}

// FluidOf reads the course of the canister of the pump that came last, and fits it. Entries after asOf must not be in the
// case.
func FluidOf(c *casebook.Case, eq *equipment.Set, v value.Values, asOf time.Time) *Fluid {
	return fluidOn(c, newestPump(c), eq, v, asOf)
}

func fluidOn(whole *casebook.Case, name string, eq *equipment.Set, values value.Values, asOf time.Time) *Fluid {
	v := seenOn(whole, name)
	c := v.on(whole)
	f := &Fluid{Zone: c.Zone, values: values, seen: c, pump: name, Canister: CanisterOn(whole, name)}
	if len(PumpNames(whole)) > 1 {
		f.Pump = name
	}
	open := OpenPumps(c)
	unnamed := v.open()
	switch {
	case c.Ended != nil:
		f.Why = "therapy has ended"
	case len(open) == 0:
		f.Why = "no pump is recorded"
	case len(unnamed) > 0:
		f.Why = "the canister reading of " + Clock(c.Zone, unnamed[len(unnamed)-1].At) + " does not say which pump it is of; correct that entry, or read this pump's canister again"
	}
	if f.Why != "" {
		_, _, started := Started(c)
		f.silent = c.Ended != nil || !started
		return f
	}
	pump := open[len(open)-1].Assigned
	f.readings(c)
	wounds, apart := woundsOn(whole, pump.Body)
	f.area(c, wounds, apart)
	f.canister(c, eq, pump)
	if len(f.Course.Readings) == 0 && !(f.Course.Area > 0) {
		f.Why = "no canister reading and no area of the wounds is recorded"
		return f
	}
	f.pauses(c)
	f.visits(c)
	if c.Person != nil {
		f.Mobility = c.Person.Body.Mobility
	}
	f.Entries = entriesOf(append(f.Entries, f.SizeBy)...)
	f.fit = fits.Of(fluidCourse{f.Course, f.anchor(c)})
	return f
}

// anchor is the instant of the fit: the newest reading, or the start when there is none.
func (f *Fluid) anchor(c *casebook.Case) time.Time {
	if !f.LastAt.IsZero() {
		return f.LastAt
	}
	at, _, _ := Started(c)
	return at
}

// readings turns entries into readings: what was read, then the new canister that went in. The first reading after
// another pump came is of another canister.
func (f *Fluid) readings(c *casebook.Case) {
	size := 0.0
	next := 0
	swapped := false
	f.Course.Readings, f.Entries = slices.Grow(f.Course.Readings, len(c.Canister)), slices.Grow(f.Entries, len(c.Canister))
	for _, r := range c.Canister {
		for ; next < len(c.Pumps) && !c.Pumps[next].Assigned.At.After(r.At); next++ {
			p := c.Pumps[next].Assigned.Body
			swapped = swapped || next > 0 && p.Pump != c.Pumps[next-1].Assigned.Body.Pump
			if p.CanisterML != nil {
				size = *p.CanisterML
			}
		}
		changed := r.Body.Changed != nil && *r.Body.Changed
		if r.Body.SizeML != nil && !changed {
			size = *r.Body.SizeML
		}
		if v := r.Body.VolumeML; v != nil {
			f.Course.Readings = append(f.Course.Readings, fluid.Reading{At: r.At, Content: unit.Volume(*v), NewCanister: swapped, Size: unit.Volume(size)})
			swapped = false
		}
		if changed {
			if r.Body.SizeML != nil {
				size = *r.Body.SizeML
			}
			f.Course.Readings = append(f.Course.Readings, fluid.Reading{At: r.At, NewCanister: true, Size: unit.Volume(size)})
			swapped = false
		}
		if changed || r.Body.VolumeML != nil {
			f.LastAt, f.LastBy = r.At, r.ID
			f.Entries = append(f.Entries, r.ID)
		}
	}
}

// area adds up the wounds on the pump. The model takes the areas as they were when reading began, because that is what
// it knows nothing else of; pages take the newest. apart tells that it is known which wounds are on this pump.
func (f *Fluid) area(c *casebook.Case, wounds []string, apart bool) {
	f.Wounds = wounds
	f.WoundsKnown = apart && len(f.Wounds) > 0
	began := 0.0
	for _, name := range f.Wounds {
		w := c.Wound(name)
		first, newest, by := 0.0, 0.0, ""
		if w != nil {
			for _, m := range w.Measured {
				a, _, ok := Area(m.Body)
				if !ok {
					continue
				}
				if first == 0 || len(f.Course.Readings) > 0 && !m.At.After(f.Course.Readings[0].At) {
					first = float64(a)
				}
				newest, by = float64(a), m.ID
				f.AreaAt = later(f.AreaAt, m.At)
			}
		}
		f.AreaBy = append(f.AreaBy, by)
		f.WoundsKnown = f.WoundsKnown && newest > 0
		f.AreaCm2 += newest
		began += first
	}
	if f.WoundsKnown {
		f.Course.Area = unit.Area(began)
	}
}

// canister takes the size in place and the sizes that fit the pump.
func (f *Fluid) canister(c *casebook.Case, eq *equipment.Set, pump casebook.Dated[casebook.PumpAssigned]) {
	k := f.Canister
	if k.SizeML != nil {
		f.SizeML, f.SizeBy = *k.SizeML, k.SizeBy
		f.Course.Canister = unit.Volume(f.SizeML)
		f.Course.UsableShare = usableShare(eq, f.SizeML)
	}
	if class, ok := eq.Pump(pump.Body.Class); ok {
		f.Sizes = class.CanistersML
		return
	}
	for _, x := range eq.Canisters {
		f.Sizes = append(f.Sizes, x.SizeML)
	}
}

// usableShare is the share at which a canister counts as full: the list's, or the model's own.
func usableShare(eq *equipment.Set, sizeML float64) float64 {
	if k, ok := eq.Canister(sizeML); ok {
		return k.UsableShare
	}
	return fluid.DefaultUsableShare
}

// pauses are the spells without therapy. One that has not ended is left out after the newest reading: what is forecast
// then is therapy that runs, so a pause can only make a canister fill later than is said.
func (f *Fluid) pauses(c *casebook.Case) {
	add := func(from, to time.Time) {
		if to.After(from) {
			f.Course.Pauses = append(f.Course.Pauses, fluid.Pause{From: from, To: to})
		}
	}
	for _, s := range SuctionRecordOf(c, nil).Spells {
		switch {
		case !s.Doing.IsOff():
		case s.To.IsZero():
			since := s.From
			f.OffSince = &since
			add(since, f.LastAt)
		default:
			add(s.From, s.To)
		}
	}
}

// rhythmVisits is how many of the last gaps between visits make their rhythm when no order names an interval.
const rhythmVisits = 5

// visits finds the next visit, planned or by the interval of the order or of the visits so far.
func (f *Fluid) visits(c *casebook.Case) {
	n := len(c.Changes)
	if o := c.Order(); o != nil && o.Body.ChangeEveryH != nil && *o.Body.ChangeEveryH > 0 {
		f.IntervalH, f.IntervalWords = *o.Body.ChangeEveryH, "the order's interval"
	} else if n > 1 {
		gaps := make([]float64, 0, rhythmVisits)
		for i := max(1, n-rhythmVisits); i < n; i++ {
			gaps = append(gaps, c.Changes[i].At.Sub(c.Changes[i-1].At).Hours())
		}
		f.IntervalH, f.IntervalWords = middle(gaps), "the rhythm of the last visits"
	}
	if at, id, ok := NextVisit(c); ok {
		f.Visit, f.VisitBy, f.VisitWords = at, id, "planned"
	} else if n > 0 && f.IntervalH > 0 {
		last := c.Changes[n-1]
		f.Visit = last.At.Add(time.Duration(f.IntervalH * float64(time.Hour))).Truncate(time.Minute)
		f.VisitBy, f.VisitWords = last.ID, "by "+f.IntervalWords
	}
}

// middle is the median of a list that is not empty.
func middle(v []float64) float64 {
	s := append([]float64(nil), v...)
	for i := range s {
		for j := i; j > 0 && s[j] < s[j-1]; j-- {
			s[j], s[j-1] = s[j-1], s[j]
		}
	}
	return (s[(len(s)-1)/2] + s[len(s)/2]) / 2
}

// fluidFit is everything that a course says without a clock.
type fluidFit struct {
	course fluid.Course
	asOf   time.Time
	track  fluid.Track
	// changes are looked for when they are asked for first: that costs several fits.
	once    sync.Once
	changes []fluid.Change
	full    fluid.FullAt
	rate    fluid.Quantiles // at asOf
}

// fluidEntries bounds how many fits are kept: about 10 kB each.
const fluidEntries = 2048

// fluidCourse is a course at an instant.
type fluidCourse struct {
	fluid.Course
	AsOf time.Time
}

// fits remembers fits of courses.
var fits = memo.New(fluidEntries, func(in fluidCourse) *fluidFit {
	f := &fluidFit{course: in.Course, asOf: in.AsOf, track: fluid.Fit(in.Course, in.AsOf)}
	f.full = f.track.FullAt()
	f.rate = f.track.Rate()
	return f
})

// sudden is [fluid.Changes], remembered.
func (f *fluidFit) sudden() []fluid.Change {
	f.once.Do(func() { f.changes = fluid.Changes(f.course, f.asOf) })
	return f.changes
}
