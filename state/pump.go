package state

import (
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
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

func pumpFacts(c *casebook.Case, eq *equipment.Set, pump string, set Sink) {
	open := OpenPumps(c)
	set("pump.count", float64(len(open)))
	unnamedFacts(c, set)
	for i := len(open) - 1; i >= 0; i-- {
		p := open[i].Assigned
		if p.Body.Pump != pump {
			continue
		}
		set("pump.name", p.Body.Pump, p.ID)
		set("pump.assigned_at", p.At, p.ID)
		set.setText("pump.class", p.Body.Class, p.ID)
		if class, ok := eq.Pump(p.Body.Class); ok {
			set("pump.shallowest_mmHg", class.ShallowestMmHg, p.ID)
			set("pump.deepest_mmHg", class.DeepestMmHg, p.ID)
		}
		break
	}
	powerFacts(c, set)
	if mmHg, at, by := ShownSuction(c); by != "" {
		set("pump.shown_mmHg", mmHg, by)
		set("pump.shown_at", at, by)
	}
}

// pumpView is what the entries say about the canister of one of several pumps. Pumps and Canister take the place of those of
// the case.
type pumpView struct {
	pump     string
	pumps    []casebook.PumpUse
	readings []casebook.Dated[casebook.CanisterRead]
	// unnamed are readings that may be of this pump or of another, newest last.
	unnamed []casebook.Dated[casebook.CanisterRead]
	// several tells that other pumps were used beside this one.
	several bool
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
	strangers := map[string]bool{}
	for i, u := range c.Pumps {
		if name := u.Assigned.Body.Pump; name != pump && (!alone || beside[i]) {
			strangers[name] = true
		}
	}
	v.pumps, v.readings = nil, nil
	for _, u := range c.Pumps {
		if !strangers[u.Assigned.Body.Pump] {
			v.pumps = append(v.pumps, u)
		}
	}
	for _, r := range c.Canister {
		name, known := pumpOf(c, r)
		if known && !strangers[name] {
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
	if named := strings.TrimSpace(r.Body.Pump); named != "" {
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
		if !u.Assigned.At.After(r.At) && (u.Returned == nil || u.Returned.At.After(r.At)) {
			there = append(there, u)
		}
	}
	for i := range there {
		for j := range i {
			if sideBySide(there[i], there[j]) {
				return "", false
			}
		}
	}
	if len(there) == 0 {
		return "", false
	}
	return there[len(there)-1].Assigned.Body.Pump, true
}

// UnnamedReadings are the readings with a volume or a change that do not say which of several pumps they are of, and
// that no later reading of every pump has overtaken.
func UnnamedReadings(c *casebook.Case) []casebook.Dated[casebook.CanisterRead] {
	names := PumpNames(c)
	if len(names) < 2 {
		return nil
	}
	var out []casebook.Dated[casebook.CanisterRead]
	for _, name := range names {
		v := seenOn(c, name)
		for _, r := range v.open() {
			if len(out) == 0 || r.At.After(out[len(out)-1].At) {
				out = append(out, r)
			}
		}
	}
	return out
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

// unnamedFacts says which readings may be of any of several pumps.
func unnamedFacts(c *casebook.Case, set Sink) {
	list := UnnamedReadings(c)
	var by, words []string
	for _, r := range list {
		by = append(by, r.ID)
		w := "a new canister"
		if r.Body.VolumeML != nil {
			w = unit.Volume(*r.Body.VolumeML).String()
		}
		words = append(words, w+" on "+Clock(c.Zone, r.At))
	}
	set("pump.unnamed", float64(len(list)), by...)
	set.setText("pump.unnamed_words", strings.Join(words, ", "), by...)
}
