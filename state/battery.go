package state

import (
	"fmt"
	"math"
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/power"
	"lowtide/rule/value"
	"lowtide/unit"
)

// Battery is what the entries and the model tell of the battery of the pump in use.
type Battery struct {
	// Why says why nothing can be forecast.
	Why string
	// NotedAt is when the level was noted, Percent the level.
	NotedAt time.Time
	Percent float64
	// LowPercent is the mark at which the pump warns.
	LowPercent float64
	// Median, Low and High are hours from NotedAt to the low mark; Low and High enclose at least 80 %.
	Median, Low, High float64
	// Tight and Leaky are the same hours with the battery as it is believed to be and the seal alone varied: the pump
	// running as little, and as much, as what is known of the seal allows.
	Tight, Leaky float64
	// NeededUntil is the planned moment on mains, or else the next visit; Needed says which. Nil when none is planned.
	NeededUntil *time.Time
	Needed      string
	// Reserve is the charge left then, in percent.
	Reserve, ReserveLow, ReserveHigh float64
	Used                             int
	Entries                          []string
}

// BatteryOf forecasts from the newest level, for a pump that was then not on mains.
func BatteryOf(c *casebook.Case, eq *equipment.Set, v value.Values, p Path) Battery {
	var b Battery
	level, pct := Newest(c.Power, func(n casebook.PowerNoted) *float64 { return n.BatteryPct })
	plug, plugged := Newest(c.Power, func(n casebook.PowerNoted) *bool { return n.PluggedIn })
	open := OpenPumps(c)
	switch {
	case len(open) == 0:
		b.Why = "no pump is recorded"
	case pct == nil:
		b.Why = "no battery level is recorded"
	case level.At.Before(open[len(open)-1].Assigned.At):
		b.Why = "no battery level of this pump is recorded"
	case plugged == nil || plug.At.Before(level.At):
		b.Why = "it is not recorded whether the pump was plugged in when the level was noted"
	case *plugged:
		b.Why = "the pump was plugged in when last noted"
	}
	if b.Why != "" {
		return b
	}
	u := open[len(open)-1].Assigned
	class, ok := eq.Pump(u.Body.Class)
	m := power.Fit(class.RunMostH, power.LightDuty, class.RunLeastH, power.HeavyDuty)
	m.Class, m.ChargeH, m.LowPercent = class.ID, class.ChargeH, v.In(value.BatteryWarns, "%")
	if !ok || !(m.Health > 0) {
		b.Why = "the class of pump and its run time are not known"
		return b
	}
	b.NotedAt, b.Percent, b.LowPercent = level.At, *pct, m.LowPercent
	b.Entries = entriesOf(u.ID, level.ID, plug.ID)
	light, mid, heavy := duties(p)
	seen, by := discharges(c, u.At, mid)
	aged := m.Aged(seen)
	m, b.Used = aged.Model, len(aged.Used)
	b.Entries = entriesOf(append(b.Entries, by...)...)
	hours := func(duty, health, level float64) float64 {
		return math.Max(0, level-m.LowPercent) / m.PercentH(duty) * health
	}
	b.Median = hours(mid, m.Health, *pct)
	b.Low, b.High = hours(heavy, m.HealthLow, *pct-0.5), hours(light, m.HealthHigh, math.Min(100, *pct+0.5))
	b.Tight, b.Leaky = hours(light, m.Health, *pct), hours(heavy, m.Health, *pct)
	b.need(c, level.At, plug)
	if b.NeededUntil != nil {
		span := b.NeededUntil.Sub(level.At).Hours()
		plan := func(duty float64) power.Outcome {
			return m.Plan(*pct, 0, []power.Leg{{Name: b.Needed, Hours: span, Duty: duty}})
		}
		b.Reserve, b.ReserveLow, b.ReserveHigh = plan(mid).ReservePercent, plan(heavy).ReserveLow, plan(light).ReserveHigh
	}
	return b
}

// need finds until when the battery has to last: the plan that was noted with the battery, or the next visit.
func (b *Battery) need(c *casebook.Case, noted time.Time, plug casebook.Dated[casebook.PowerNoted]) {
	if t := plug.Body.PlugInAt; t != nil && t.After(noted) {
		b.NeededUntil, b.Needed = t, "until it is plugged in again as planned"
		return
	}
	if t, id, ok := NextVisit(c); ok && t.After(noted) {
		b.NeededUntil, b.Needed = &t, "until the next visit"
		b.Entries = entriesOf(append(b.Entries, id)...)
	}
}

// duties is the span of the pump's duty: that of the pressure path, or the whole range of the class.
func duties(p Path) (light, mid, heavy float64) {
	if len(p.Why) > 0 || p.Run.Runs == 0 {
		return power.LightDuty, (power.LightDuty + power.HeavyDuty) / 2, power.HeavyDuty
	}
	return p.Run.Duty.Low, p.Run.MeanDuty, p.Run.Duty.High
}

// discharges are stretches on battery between two notes of this pump, both unplugged and no further apart than
// twelve hours: over a night nobody knows whether it was charged meanwhile, and a charge would look like a battery
// that lasts.
func discharges(c *casebook.Case, since time.Time, duty float64) (out []power.Discharge, by []string) {
	const longest = 12 * time.Hour
	var last *casebook.Dated[casebook.PowerNoted]
	for i := range c.Power {
		n := &c.Power[i]
		if n.At.Before(since) || n.Body.BatteryPct == nil || n.Body.PluggedIn == nil || *n.Body.PluggedIn || n.Body.Therapy == "off" {
			if n.Body.PluggedIn != nil || n.Body.Therapy == "off" {
				last = nil
			}
			continue
		}
		if last != nil && n.At.Sub(last.At) <= longest && *n.Body.BatteryPct < *last.Body.BatteryPct {
			out = append(out, power.Discharge{FromPercent: *last.Body.BatteryPct, ToPercent: *n.Body.BatteryPct, Hours: n.At.Sub(last.At).Hours(), Duty: duty})
			by = append(by, last.ID, n.ID)
		}
		last = n
	}
	return out, by
}

// after is the moment so many hours after the level was noted, to the minute before it.
func (b Battery) after(h float64) time.Time {
	return b.NotedAt.Add(time.Duration(h * float64(time.Hour))).Truncate(time.Minute)
}

// batteryKnown is how long after a note of the battery its straight line is believed: over a night nobody knows whether
// it was charged, as in the battery's own forecast.
const batteryKnown = 12 * time.Hour

// leftAt takes the straight line to an instant, in percent; ok is false where nothing can be told of it any more.
func (b Battery) leftAt(t time.Time) (percent float64, ok bool) {
	if b.Why != "" || t.Sub(b.NotedAt) > batteryKnown || !(b.Median > 0) && b.Percent > b.LowPercent {
		return 0, false
	}
	left := b.Percent
	if b.Median > 0 {
		left -= (b.Percent - b.LowPercent) / b.Median * t.Sub(b.NotedAt).Hours()
	}
	return math.Max(0, left), true
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

// batteryFacts sets when the battery is low and what is left when it is needed no longer.
func batteryFacts(b Battery, set Sink) {
	if b.Why != "" {
		set("power.why", b.Why)
		return
	}
	set("power.low_at", b.after(b.Median), b.Entries...)
	set("power.low_earliest_at", b.after(b.Low), b.Entries...)
	if b.NeededUntil != nil {
		set("power.needed_until", b.NeededUntil.Truncate(time.Minute), b.Entries...)
		set("power.reserve_pct", b.Reserve, b.Entries...)
		set("power.reserve_least_pct", b.ReserveLow, b.Entries...)
	}
}

// batteryForecasts do not depend on the clock beyond the entries that count.
func batteryForecasts(c *casebook.Case, p *Pump, add func(Forecast)) {
	if c.Ended == nil && len(OpenPumps(c)) > 0 {
		add(p.forecast(p.Battery.lasts(c)))
		add(p.forecast(p.Battery.reserve(c)))
	}
}

func (b Battery) model() string {
	words := "straight line from the class's run time, no discharge of this pump noted"
	if b.Used > 0 {
		words = fmt.Sprintf("straight line from the class's run time and %d discharges noted", b.Used)
		if b.Used == 1 {
			words = "straight line from the class's run time and 1 discharge noted"
		}
	}
	return "battery of docs/model/power.md: " + words
}

// lasts is the time from the newest level to the low mark.
func (b Battery) lasts(c *casebook.Case) Forecast {
	f := Forecast{ID: "power.lasts", Name: "Battery until the low mark", Unit: "h", Model: b.model(), Entries: b.Entries}
	if b.Why != "" {
		return cannot(f, b.Why)
	}
	at := func(h float64) string { return Clock(c.Zone, b.after(h)) }
	from := b.NotedAt.UTC()
	f.Median, f.Low, f.High, f.From = &b.Median, &b.Low, &b.High, &from
	f.Text = fmt.Sprintf("about %s from %s, that is until %s; %s between %s and %s, if it stays unplugged",
		unit.Duration(b.Median), Clock(c.Zone, b.NotedAt), at(b.Median), unit.HowSure, at(b.Low), at(b.High))
	f.Text += fmt.Sprintf(". Plug in by %s at the latest. The seal alone: %s with the tightest that is possible, %s with the leakiest", at(b.Low), unit.Duration(b.Tight), unit.Duration(b.Leaky))
	return f
}

// reserve is the charge left when the battery is no longer needed.
func (b Battery) reserve(c *casebook.Case) Forecast {
	f := Forecast{ID: "power.reserve", Name: "Charge left when it is needed no longer", Unit: "%", Model: b.model(), Entries: b.Entries}
	switch {
	case b.Why != "":
		return cannot(f, b.Why)
	case b.NeededUntil == nil:
		return cannot(f, "neither a time on mains nor a next visit is planned after the level was noted")
	}
	f.Median, f.Low, f.High = &b.Reserve, &b.ReserveLow, &b.ReserveHigh
	f.Text = fmt.Sprintf("%s %% left %s, %s; %s", unit.Number(b.Reserve, 0), b.Needed, Clock(c.Zone, *b.NeededUntil), unit.Between(b.ReserveLow, b.ReserveHigh, 0, "%"))
	return f
}
