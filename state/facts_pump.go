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

// powerFacts takes the newest battery level, and whether the pump is plugged in when that was noted then or
// later: an older plug says nothing about a newer level.
func powerFacts(c *casebook.Case, set Sink) {
	b, pct := Newest(c.Power, func(p casebook.PowerNoted) *float64 { return p.BatteryPct })
	if pct != nil {
		set("power.battery_pct", *pct, b.ID)
		set("power.noted_at", b.At, b.ID)
	}
	if p, plugged := Newest(c.Power, func(p casebook.PowerNoted) *bool { return p.PluggedIn }); plugged != nil && !p.At.Before(b.At) {
		set("power.plugged_in", *plugged, p.ID)
		set("power.plugged_at", p.At, p.ID)
	}
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
