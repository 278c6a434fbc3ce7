package state

import (
	"slices"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/rule/value"
	"lowtide/unit"
)

// OpenPumps returns the pumps that are with the patient, newest last.
func OpenPumps(c *casebook.Case) []casebook.PumpUse {
	var out []casebook.PumpUse
	for _, p := range c.Pumps {
		if p.Returned == nil {
			out = append(out, p)
		}
	}
	return out
}

// PumpNames are the pumps with the patient, each once, in the order in which they came; the newest is last.
func PumpNames(c *casebook.Case) []string {
	var out []string
	for _, u := range OpenPumps(c) {
		name := u.Assigned.Body.Pump
		if at := indexOf(out, name); at >= 0 {
			out = append(out[:at], out[at+1:]...)
		}
		out = append(out, name)
	}
	return out
}

// newestPump is the pump that came last among those with the patient, or else among all.
func newestPump(c *casebook.Case) string {
	if names := PumpNames(c); len(names) > 0 {
		return names[len(names)-1]
	}
	if n := len(c.Pumps); n > 0 {
		return c.Pumps[n-1].Assigned.Body.Pump
	}
	return ""
}

// sideBySide tells whether two pumps were used at the same time, each on its own wounds. A pump that came while another
// was there and took over a wound of it, or whose wounds nobody named, replaced it as soon as one of the two is returned;
// while both are there nobody can tell.
func sideBySide(a, b *casebook.PumpUse) bool {
	if a.Assigned.Body.Pump == b.Assigned.Body.Pump {
		return false
	}
	ends := func(u *casebook.PumpUse, t time.Time) bool { return u.Returned != nil && !u.Returned.At.After(t) }
	if ends(a, b.Assigned.At) || ends(b, a.Assigned.At) {
		return false
	}
	if a.Returned == nil && b.Returned == nil {
		return true
	}
	wa, wb := a.Assigned.Body.Wounds, b.Assigned.Body.Wounds
	for _, w := range wa {
		if contains(wb, w) {
			return false
		}
	}
	return len(wa) > 0 && len(wb) > 0
}

// woundsOn are the wounds on the pump: those that its entry names, or else all that no other pump there names. ok is
// false when another pump there names none either.
func woundsOn(c *casebook.Case, pump casebook.PumpAssigned) (wounds []string, ok bool) {
	if len(pump.Wounds) > 0 {
		return pump.Wounds, true
	}
	var taken []string
	ok = true
	for _, u := range OpenPumps(c) {
		if b := u.Assigned.Body; b.Pump != pump.Pump {
			taken = append(taken, b.Wounds...)
			ok = ok && len(b.Wounds) > 0
		}
	}
	for _, w := range c.Wounds {
		if !contains(taken, w.Name) {
			wounds = append(wounds, w.Name)
		}
	}
	return wounds, ok
}

// ShownSuction is what the pump showed last, in mmHg, when, and the entry that tells it; "" is that none does.
func ShownSuction(c *casebook.Case) (mmHg float64, at time.Time, by string) {
	visit, shown := Newest(c.Changes, func(d casebook.DressingChanged) *float64 { return d.SuctionMmHg })
	call, alarm := Newest(c.Alarms, func(a casebook.AlarmReported) *float64 { return a.SuctionMmHg })
	switch {
	case alarm != nil && (shown == nil || call.At.After(visit.At)):
		return *alarm, call.At, call.ID
	case shown != nil:
		return *shown, visit.At, visit.ID
	}
	return 0, time.Time{}, ""
}

// Pump is a pump with the patient, with what the entries about it and the models tell.
type Pump struct {
	// Name is empty where the patient has one pump.
	Name string
	Path Path
	// Battery is its charge.
	Battery Battery
	// Seal are the tests of the seal on its wounds, and Head is its place.
	Seal []SealTest
	Head Head
	// Logs are those that were read out of it.
	Logs []Delivered
	// ShownMmHg is what it showed last, at ShownAt; ShownBy is empty when nobody wrote it down.
	ShownMmHg float64
	ShownAt   time.Time
	ShownBy   string

	number string
	seen   *casebook.Case // as it was written, with this pump's entries alone
}

// pumpWith reads a pump: c is the case as it was written, k as it counts, f the pump's canister.
func pumpWith(c, k *casebook.Case, f *Fluid, logs []Delivered, eq *equipment.Set, v value.Values) *Pump {
	low := v.In(value.BatteryLow, "%")
	on := onPump(k, f.pump, low)
	p := &Pump{Name: f.Pump, number: f.pump, seen: onPump(c, f.pump, low), Seal: SealTests(on, eq), Head: HeadOf(on)}
	p.Path = PathOf(on, f.Canister, eq)
	p.Battery = BatteryOf(on, eq, v, p.Path)
	p.ShownMmHg, p.ShownAt, p.ShownBy = ShownSuction(on)
	for _, d := range logs {
		if f.Pump == "" || d.Pump == f.pump {
			p.Logs = append(p.Logs, d)
		}
	}
	return p
}

func (p *Pump) figure(g Figure) Figure {
	if p.Name != "" {
		g.Pump, g.Name = p.Name, g.Name+", pump "+p.Name
	}
	return g
}

func (p *Pump) forecast(f Forecast) Forecast {
	if p.Name != "" {
		f.Pump, f.Name = p.Name, f.Name+", pump "+p.Name
	}
	return f
}

// pumpCountFacts tell how many pumps there are, and what was written without saying of which.
func pumpCountFacts(s *State, set Sink) {
	set("pump.count", float64(len(OpenPumps(s.Case))))
	unnamedFacts(s.Case, set)
}

func (p *Pump) facts(s *State, set Sink) {
	open := OpenPumps(s.Case)
	for i := len(open) - 1; i >= 0; i-- {
		u := open[i].Assigned
		if u.Body.Pump != p.number {
			continue
		}
		set("pump.name", u.Body.Pump, u.ID)
		set("pump.assigned_at", u.At, u.ID)
		set.setText("pump.class", u.Body.Class, u.ID)
		if class, ok := s.Equipment.Pump(u.Body.Class); ok {
			set("pump.shallowest_mmHg", class.ShallowestMmHg, u.ID)
			set("pump.deepest_mmHg", class.DeepestMmHg, u.ID)
		}
		break
	}
	mixedFacts(s.Case, p.number, s.answers, set)
	powerFacts(p.seen, set)
	if mmHg, at, by := ShownSuction(p.seen); by != "" {
		set("pump.shown_mmHg", mmHg, by)
		set("pump.shown_at", at, by)
	}
}

// onPump is the case with what was written about one of several pumps alone. A visit, an alarm or a note of the battery
// belongs to the pump that it names, or else to the only pump in use then, or to the only one on the wounds of the visit.
// Where nobody can tell, what the visit saw of the pump belongs to none; an alarm, and a battery at or below low percent,
// count for each until somebody names the pump.
func onPump(c *casebook.Case, pump string, low float64) *casebook.Case {
	v := seenOn(c, pump)
	if !v.several {
		return c
	}
	out := *v.on(c)
	out.Changes, out.Power, out.Alarms = nil, nil, nil
	visits := map[string]pumpSaid{}
	for _, d := range c.Changes {
		said := v.visit(c, d)
		visits[d.ID] = said
		switch {
		case said.known && !v.strangers[said.pump]:
		case said.known && !said.touches:
			continue
		default:
			d.Body.SuctionMmHg, d.Body.HoldTest, d.Body.PumpPlace, d.Body.MotorPct, d.Body.Power = nil, nil, nil, nil, nil
		}
		out.Changes = append(out.Changes, d)
	}
	for _, n := range c.Power {
		said, inVisit := visits[n.ID]
		if !inVisit {
			said.pump, said.known = pumpThen(c, n.Body.Pump, nil, n.At)
		}
		if said.known && !v.strangers[said.pump] || !said.known && n.Body.BatteryPct != nil && *n.Body.BatteryPct <= low {
			out.Power = append(out.Power, n)
		}
	}
	for _, a := range c.Alarms {
		if name, known := pumpThen(c, a.Body.Pump, nil, a.At); !known || !v.strangers[name] {
			out.Alarms = append(out.Alarms, a)
		}
	}
	return &out
}

// pumpSaid is the pump that a visit saw; touches tells that it changed a dressing of the pump in view.
type pumpSaid struct {
	pump           string
	known, touches bool
}

func (v pumpView) visit(c *casebook.Case, d casebook.Dated[casebook.DressingChanged]) (out pumpSaid) {
	named := ""
	switch b := d.Body; {
	case b.Power != nil && b.Power.Pump != "":
		named = b.Power.Pump
	case b.Canister != nil:
		named = b.Canister.Pump
	}
	var wounds []string
	for _, w := range d.Body.Wounds {
		wounds = append(wounds, w.Wound)
	}
	out.pump, out.known = pumpThen(c, named, wounds, d.At)
	for _, u := range v.pumps {
		on, _ := woundsOn(c, u.Assigned.Body)
		for _, w := range wounds {
			out.touches = out.touches || contains(on, w)
		}
	}
	return out
}

// pumpView is what the entries say about the canister of one of several pumps. Pumps and Canister take the place of those of
// the case.
type pumpView struct {
	pump     string
	pumps    []casebook.PumpUse
	readings []casebook.Dated[casebook.CanisterRead]
	// unnamed are readings that may be of this pump or of another, newest last.
	unnamed []casebook.Dated[casebook.CanisterRead]
	// several tells that other pumps were used beside this one; strangers are those that are no part of its course.
	several   bool
	strangers map[string]bool
}

// seenOn sorts the readings by the pump that they name. One that names none is of the only pump that was there then.
// Where no pumps were ever used side by side everything is of the one course of the patient's canisters, also over a
// swap of pumps.
func seenOn(c *casebook.Case, pump string) pumpView {
	v := pumpView{pump: pump, pumps: c.Pumps, readings: c.Canister}
	beside := make([]bool, len(c.Pumps)) // was used beside some use of this pump
	for i := range c.Pumps {
		for j := range i {
			if !sideBySide(&c.Pumps[i], &c.Pumps[j]) {
				continue
			}
			v.several = true
			beside[i] = beside[i] || c.Pumps[j].Assigned.Body.Pump == pump
			beside[j] = beside[j] || c.Pumps[i].Assigned.Body.Pump == pump
		}
	}
	if !v.several {
		return v
	}
	// A pump that was there before, alone, is an earlier part of this course only when no other pump is beside this one now.
	here := PumpNames(c)
	alone := len(here) <= 1
	v.strangers = map[string]bool{}
	for i, u := range c.Pumps {
		if name := u.Assigned.Body.Pump; name != pump && (!alone || beside[i]) {
			v.strangers[name] = true
		}
	}
	v.pumps, v.readings = nil, nil
	for _, u := range c.Pumps {
		if !v.strangers[u.Assigned.Body.Pump] {
			v.pumps = append(v.pumps, u)
		}
	}
	for _, r := range c.Canister {
		name, known := pumpOf(c, r)
		if known && !v.strangers[name] {
			v.readings = append(v.readings, r)
			continue
		}
		if !known {
			v.unnamed = append(v.unnamed, r)
		}
		// A colour that worries must not be lost with a pump that went back, nor with one that nobody named.
		if worrying[r.Body.Colour] && (!known || !contains(here, name)) {
			r.Body = casebook.CanisterRead{Colour: r.Body.Colour}
			v.readings = append(v.readings, r)
		}
	}
	return v
}

// on is the case with this pump's entries alone.
func (v pumpView) on(c *casebook.Case) *casebook.Case {
	if !v.several {
		return c
	}
	seen := *c
	seen.Pumps, seen.Canister = v.pumps, v.readings
	return &seen
}

// pumpOf is the pump whose canister was read; known is false when the reading names none and several were in use.
func pumpOf(c *casebook.Case, r casebook.Dated[casebook.CanisterRead]) (name string, known bool) {
	return pumpThen(c, r.Body.Pump, nil, r.At)
}

// pumpThen is the pump that an entry is about: the one that it names, or the only one in use then, or the only one on the
// wounds that it is about. known is false when none of these tells.
func pumpThen(c *casebook.Case, named string, wounds []string, at time.Time) (name string, known bool) {
	if named = strings.TrimSpace(named); named != "" {
		for i := range c.Pumps {
			if strings.EqualFold(c.Pumps[i].Assigned.Body.Pump, named) {
				return c.Pumps[i].Assigned.Body.Pump, true
			}
		}
		return "", false
	}
	var there []*casebook.PumpUse
	for i := range c.Pumps {
		u := &c.Pumps[i]
		if !u.Assigned.At.After(at) && (u.Returned == nil || u.Returned.At.After(at)) {
			there = append(there, u)
		}
	}
	apart := false
	for i := range there {
		for j := range i {
			apart = apart || sideBySide(there[i], there[j])
		}
	}
	switch {
	case len(there) == 0:
		return "", false
	case !apart:
		return there[len(there)-1].Assigned.Body.Pump, true
	}
	for _, u := range there {
		for _, w := range wounds {
			if on := u.Assigned.Body; contains(on.Wounds, w) || len(on.Wounds) == 0 {
				if known && name != on.Pump {
					return "", false
				}
				name, known = on.Pump, true
			}
		}
	}
	return name, known
}

// unnamedOf are what was written of a canister or a battery without saying which of several pumps it is of, oldest first,
// as far as no later word of every pump has overtaken it.
func unnamedOf(c *casebook.Case) (out []unnamed) {
	names := PumpNames(c)
	if len(names) < 2 {
		return nil
	}
	put := func(at time.Time, id, words string) {
		if !slices.ContainsFunc(out, func(u unnamed) bool { return u.id == id && u.words == words }) {
			out = append(out, unnamed{at, id, words})
		}
	}
	visits := map[string]casebook.Dated[casebook.DressingChanged]{}
	for _, d := range c.Changes {
		visits[d.ID] = d
	}
	for _, name := range names {
		v := seenOn(c, name)
		for _, r := range v.open() {
			words := "a new canister"
			if r.Body.VolumeML != nil {
				words = unit.Volume(*r.Body.VolumeML).String() + " in a canister"
			}
			put(r.At, r.ID, words)
		}
		var open []casebook.Dated[casebook.PowerNoted]
		for _, n := range c.Power {
			of, known := pumpThen(c, n.Body.Pump, nil, n.At)
			if d, ok := visits[n.ID]; ok {
				said := v.visit(c, d)
				of, known = said.pump, said.known
			}
			switch {
			case n.Body.BatteryPct == nil:
			case !known:
				open = append(open, n)
			case !v.strangers[of]:
				open = nil // of this pump something newer is known
			}
		}
		for _, n := range open {
			put(n.At, n.ID, "a battery at "+unit.Number(*n.Body.BatteryPct, 0)+" %")
		}
	}
	slices.SortStableFunc(out, func(a, b unnamed) int { return a.at.Compare(b.at) })
	return out
}

// unnamed is what an entry says of a pump that it does not name.
type unnamed struct {
	at        time.Time
	id, words string
}

// open are the readings without a pump that came after the newest one of this pump: it may have been the one read.
func (v pumpView) open() []casebook.Dated[casebook.CanisterRead] {
	var newest time.Time
	for _, r := range v.readings {
		if tellsContent(r.Body) {
			newest = r.At
		}
	}
	var out []casebook.Dated[casebook.CanisterRead]
	for _, r := range v.unnamed {
		if r.At.After(newest) && tellsContent(r.Body) {
			out = append(out, r)
		}
	}
	return out
}

func tellsContent(b casebook.CanisterRead) bool {
	return b.VolumeML != nil || b.Changed != nil && *b.Changed
}

// unnamedFacts tell what may be of any of several pumps.
func unnamedFacts(c *casebook.Case, set Sink) {
	list := unnamedOf(c)
	var by, words []string
	for _, u := range list {
		by = append(by, u.id)
		words = append(words, u.words+" on "+Clock(c.Zone, u.at))
	}
	by = entriesOf(by...)
	set("pump.unnamed", float64(len(list)), by...)
	set.setText("pump.unnamed_words", strings.Join(words, ", "), by...)
}
