package state

import (
	"fmt"
	"math"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/fluid"
	"lowtide/rule/value"
	"lowtide/unit"
)

// BleedLimitWords says what the agency set as the output in an hour from which to look for bleeding, or that nothing is
// set: nobody published a value.
func BleedLimitWords(v value.Values) string {
	if x, ok := v.Maybe(value.BleedOutput, "mL/h"); ok {
		return strings.TrimSpace(fmt.Sprintf("%g mL an hour, set by your local protocol", x))
	}
	return "not set. No limit was published; your local protocol can set the shared value bleed_output, and until then no output in mL an hour makes a finding here"
}

// fluidModel is the model's name as a forecast carries it.
const fluidModel = "fluid: fourteen laws of output weighed by the readings; docs/model/fluid.md"

// Known tells whether an output can be forecast, and Read whether it rests on readings of this case.
func (f *Fluid) Known() bool { return f.Why == "" }

// Read tells whether at least one reading was made.
func (f *Fluid) Read() bool { return f.Known() && !f.LastAt.IsZero() }

// Rate is the output a day as of the instant, in mL a day: a median with its 80 % interval, averaged over the swings from
// day to day. ok is false when nothing can be told.
func (f *Fluid) Rate(asOf time.Time) (q FluidBand, ok bool) {
	if !f.Known() {
		return q, false
	}
	return f.track(asOf).Rate(), true
}

// Collected is what the wounds on the pump give between two instants, whatever canister takes it, in mL: a median with its
// 80 % interval. ok is false when nothing can be told. This is what supplies are reckoned from.
func (f *Fluid) Collected(from, to time.Time) (q FluidBand, ok bool) {
	if !f.Known() || !to.After(from) {
		return q, false
	}
	return f.track(from).CollectedBetween(later(from, f.fit.asOf), to), true
}

// track is the fit as of an instant, at least that of its newest reading.
func (f *Fluid) track(asOf time.Time) fluid.Track {
	return f.fit.track.At(later(asOf, f.fit.asOf))
}

// Changes are the sudden changes of output up to the newest reading, earliest first.
func (f *Fluid) Changes() []FluidChange {
	if !f.Read() {
		return nil
	}
	return f.fit.sudden()
}

// newestChange is the newest sudden change, unless it only takes an earlier drop back: a blockage that was cleared is no
// new rise.
func (f *Fluid) newestChange() (fluid.Change, bool) {
	list := f.Changes()
	n := len(list)
	if n == 0 {
		return fluid.Change{}, false
	}
	last := list[n-1]
	if n > 1 && last.Rise() && !list[n-2].Rise() && float64(last.After) <= 1.3*float64(list[n-2].Before) {
		return fluid.Change{}, false
	}
	return last, true
}

// fluidFacts sets the terms that rest on the fit to the canister's readings. Only the weekend moves with the clock.
func fluidFacts(c *casebook.Case, f *Fluid, asOf time.Time, set Sink) {
	if !f.Read() {
		return
	}
	by := entriesOf(f.LastBy, f.SizeBy)
	set("fluid.rate_mL_d", f.fit.rate.Median, f.LastBy)
	full := f.FullAt()
	if full.Early.Within() {
		set("fluid.full_early_at", full.Early.At.Truncate(fullStep), by...)
	}
	if full.Even.Within() {
		set("fluid.full_at", full.Even.At.Truncate(fullStep), by...)
	}
	if !f.Visit.IsZero() {
		set("fluid.visit_at", f.Visit, f.VisitBy)
		set("fluid.visit_words", f.VisitWords, f.VisitBy)
		if p, ok := f.chanceFull(f.Visit); ok {
			set("fluid.chance_visit_pct", pct(p), entriesOf(append(append([]string{}, by...), f.VisitBy)...)...)
		}
	}
	from, to := f.weekend(asOf)
	if p, ok := f.fit.track.ChanceFills(from, to); ok {
		set("fluid.weekend_from", from, by...)
		set("fluid.weekend_to", to, by...)
		set("fluid.chance_weekend_pct", pct(p), by...)
	}
	f.changeFacts(c, set)
	if rate, at, ids, ok := latest(f.Canister); ok {
		set("fluid.latest_mL_h", rate, ids...)
		set("fluid.latest_at", at, ids...)
	}
	f.choiceFacts(set)
}

// pct is a chance in whole percent, and never certain.
func pct(p float64) float64 { return math.Min(99, math.Round(100*p)) }

// changesAt are the instants after asOf at which the terms can change without an entry.
func (f *Fluid) changesAt(asOf time.Time) []time.Time {
	if !f.Read() {
		return nil
	}
	_, to := f.weekend(asOf)
	return []time.Time{to}
}

func (f *Fluid) changeFacts(c *casebook.Case, set Sink) {
	k, ok := f.newestChange()
	if !ok {
		return
	}
	// The reading that closed the interval of the change tells of it.
	var by []string
	for _, r := range f.seen.Canister {
		if (r.At.Equal(k.From) || r.At.Equal(k.To)) && r.Body.VolumeML != nil {
			by = append(by, r.ID)
		}
	}
	name := "fluid.drop_"
	if k.Rise() {
		name = "fluid.rise_"
	}
	set(name+"factor", k.Factor, by...)
	set(name+"before_mL_d", float64(k.Before), by...)
	set(name+"after_mL_d", float64(k.After), by...)
	set(name+"at", k.To, by...)
	set(name+"chance_pct", pct(k.Probability), by...)
	if k.Rise() {
		looked, ids := lookedForBleeding(c, k.To)
		set(name+"looked", looked, ids...)
	} else {
		looked, ids := lookedForBlockage(c, k.To)
		set(name+"looked", looked, ids...)
	}
}

// lookedForBleeding tells whether, after the reading that rose, somebody wrote down the colour of the fluid and answered
// about danger signs. What they saw is for the rules about colours and signs.
func lookedForBleeding(c *casebook.Case, risen time.Time) (bool, []string) {
	colour, signs := "", ""
	for _, r := range c.Canister {
		if r.At.After(risen) && r.Body.Colour != "" {
			colour = r.ID
		}
	}
	for _, s := range c.Seen {
		if s.At.After(risen) && len(s.Body.Signs) > 0 {
			signs = s.ID
		}
	}
	return colour != "" && signs != "", entriesOf(colour, signs)
}

// lookedForBlockage tells whether, after the reading that dropped, the pump was seen to show suction with a seal that
// holds, or an alarm of blockage or leak was settled with suction.
func lookedForBlockage(c *casebook.Case, dropped time.Time) (bool, []string) {
	for _, d := range c.Changes {
		if d.At.After(dropped) && d.Body.Seal == "holds" && d.Body.SuctionMmHg != nil && *d.Body.SuctionMmHg > 0 {
			return true, []string{d.ID}
		}
	}
	for _, a := range c.Alarms {
		b := a.Body
		if a.At.After(dropped) && (b.Alarm == "blockage" || b.Alarm == "leak") && b.Settled != nil && *b.Settled && b.SuctionMmHg != nil && *b.SuctionMmHg > 0 {
			return true, []string{a.ID}
		}
	}
	return false, nil
}

// The sources of the figures of output.
const (
	proteinSource = "Hourigan 2010, Nutr Clin Pract 25:510: 2.9 g in 100 mL, 17 patients, 2.59 ± 0.6 and 2.9 ± 0.9 g"
	areaSource    = "arithmetic; for comparison Dealey 2006, J Wound Care 15:149: 1.3 g per cm² in 24 h, mean of 15 measures in 5 patients"
)

// Figures are the numbers that follow from the output now.
func (f *Fluid) Figures(asOf time.Time) []Figure {
	if !f.Read() {
		return nil
	}
	out := f.figures(asOf)
	for i := range out {
		out[i] = f.figure(out[i])
	}
	return out
}

// figure says at a figure whose canister it is about, where there are several.
func (f *Fluid) figure(g Figure) Figure {
	if f.Pump != "" {
		g.Pump, g.Name = f.Pump, g.Name+", pump "+f.Pump
	}
	return g
}

func (f *Fluid) figures(asOf time.Time) []Figure {
	var out []Figure
	q, _ := f.Rate(asOf)
	at := f.LastAt.UTC()
	span := func(k float64, digits int, u string) string {
		return "about " + unit.Rough(k*q.Median, digits) + " " + u + ", " + unit.HowSure + " between " + unit.Rough(k*q.P10, digits) + " and " + unit.Rough(k*q.P90, digits)
	}
	grams := fluid.Protein(unit.Rate(1))
	out = append(out, Figure{ID: "fluid.protein", Name: "Protein lost with the fluid, estimate", Value: fluid.Protein(unit.Rate(q.Median)), Unit: "g/d", Text: span(grams, 1, "g a day"), At: &at,
		Method: "2.9 g in 100 mL times the output now; the interval is that of the output, the factor's own spread is not in it. An estimate for a dietitian, no measurement, and nothing to feed by", Source: proteinSource, Entries: f.Entries})
	if f.WoundsKnown && f.AreaCm2 > 0 {
		out = append(out, Figure{ID: "fluid.per_area", Name: "Output for the area of the wounds on the pump", Value: q.Median / f.AreaCm2, Unit: "mL/(cm2.d)", Text: span(1/f.AreaCm2, 1, "mL per cm² a day"), At: &at,
			Method: "output now over the sum of the newest areas, " + unit.Area(f.AreaCm2).String(), Source: areaSource, Entries: entriesOf(append(append([]string{}, f.Entries...), f.AreaBy...)...)})
	}
	return out
}

// Forecasts says what the output and the canister are expected to do, from the instant on.
func (f *Fluid) Forecasts(asOf time.Time) []Forecast {
	if f.silent {
		return nil
	}
	out := []Forecast{f.rate(asOf), f.full(asOf)}
	if f.Why != "" {
		return f.named(out) // once is enough
	}
	for _, h := range fluid.CollectedHours {
		out = append(out, f.collected(asOf, h))
	}
	return f.named(append(out, f.beforeVisit(asOf), f.overWeekend(asOf), f.smallest()))
}

// named says at each forecast whose canister it is about, where there are several.
func (f *Fluid) named(list []Forecast) []Forecast {
	if f.Pump != "" {
		for i := range list {
			list[i].Pump, list[i].Name = f.Pump, list[i].Name+", pump "+f.Pump
		}
	}
	return list
}

// begin is a forecast with what all of this model share; without a fit it says why.
func (f *Fluid) begin(id, name, u string) (Forecast, bool) {
	out := Forecast{ID: id, Name: name, Unit: u, Model: fluidModel, Entries: f.Entries}
	if f.Why != "" {
		return cannot(out, f.Why), false
	}
	return out, true
}

// beginRead is begin for what needs a reading and the size of the canister.
func (f *Fluid) beginRead(id, name, u string) (Forecast, bool) {
	out, _ := f.begin(id, name, u)
	if why := f.fullNotTold(); why != "" {
		return cannot(out, why), false
	}
	return out, true
}

// rests says in a few words what a forecast leans on.
func (f *Fluid) rests() string {
	var out []string
	switch n := f.fit.track.Intervals(); {
	case !f.Read():
		out = append(out, "no reading yet: from the area and a published mean, and wounds differ several-fold")
	case n < 2:
		out = append(out, "few readings, so wide")
	}
	if f.OffSince != nil {
		out = append(out, "as if therapy had not stopped "+Clock(f.Zone, *f.OffSince))
	}
	if f.fit.track.Asks() {
		out = append(out, "a reading was lower than the one before and every explanation is kept, so wide")
	}
	if len(out) == 0 {
		return ""
	}
	return " (" + strings.Join(out, "; ") + ")"
}

func (f *Fluid) rate(asOf time.Time) Forecast {
	out, ok := f.begin("fluid.rate", "Output a day now", "mL/d")
	if !ok {
		return out
	}
	q, _ := f.Rate(asOf)
	out.Median, out.Low, out.High = &q.Median, &q.P10, &q.P90
	out.Text = "about " + unit.Rough(q.Median, 0) + " mL a day, " + unit.Between(q.P10, q.P90, 0, "mL") + f.rests()
	return out
}

func (f *Fluid) collected(asOf time.Time, h int) Forecast {
	out, ok := f.begin(fmt.Sprintf("fluid.collected_%dh", h), fmt.Sprintf("Fluid in the next %d hours", h), "mL")
	if !ok {
		return out
	}
	q := f.track(asOf).Collected(float64(h) / 24)
	out.Median, out.Low, out.High = &q.Median, &q.P10, &q.P90
	out.Text = "about " + unit.Rough(q.Median, 0) + " mL, " + unit.Between(q.P10, q.P90, 0, "mL") + ", whatever canister takes it" + f.rests()
	return out
}
