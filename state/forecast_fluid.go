package state

import (
	"fmt"
	"strings"
	"time"

	"lowtide/fluid"
	"lowtide/unit"
)

// fluidModel is the model's name as a forecast carries it.
const fluidModel = "fluid: fourteen laws of output weighed by the readings; docs/model/fluid.md"

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
	out, ok := f.begin(id, name, u)
	switch {
	case !ok:
		return out, false
	case !f.Read():
		return cannot(out, "no canister reading is recorded"), false
	case f.SizeML == 0:
		return cannot(out, "the size of the canister is not recorded"), false
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
	out.Median, out.Low, out.High = q.Median, q.P10, q.P90
	out.Text = fmt.Sprintf("%s mL a day (80 %%: %s to %s)", unit.Number(q.Median, 0), unit.Number(q.P10, 0), unit.Number(q.P90, 0)) + f.rests()
	return out
}

func (f *Fluid) full(asOf time.Time) Forecast {
	out, ok := f.beginRead("fluid.full", "Canister full", "h")
	if !ok {
		return out
	}
	early, even, late, ok := f.fullAt()
	if !ok || even.IsZero() {
		return cannot(out, "at this output it does not fill within a year")
	}
	if !early.After(f.LastAt) && !even.After(f.LastAt) {
		from := f.LastAt.UTC()
		out.From = &from
		out.Text = fmt.Sprintf("it was read as full, %s, at or above %s of %s: change it", Clock(f.Zone, f.LastAt), unit.Volume(f.SizeML*f.Course.UsableShare), unit.Volume(f.SizeML))
		return out
	}
	from := f.LastAt.UTC()
	hours := func(t time.Time) float64 {
		if t.IsZero() {
			return 365 * 24
		}
		return t.Sub(f.LastAt).Hours()
	}
	out.Median, out.Low, out.High, out.From = hours(even), hours(early), hours(late), &from
	end := "later than a year from now"
	if !late.IsZero() {
		end = f.about(late)
	}
	out.Text = fmt.Sprintf("about %s (80 %%: %s to %s), if nobody changes it; full is %s of %s", f.about(even), f.about(early), end,
		unit.Volume(f.SizeML*f.Course.UsableShare), unit.Volume(f.SizeML)) + f.rests()
	if !even.After(asOf) {
		out.Text = "it may be full already: " + out.Text
	}
	return out
}

// about prints a forecast time to the half hour before it: its minutes would look like knowledge.
func (f *Fluid) about(t time.Time) string { return Clock(f.Zone, t.Truncate(30*time.Minute)) }

func (f *Fluid) collected(asOf time.Time, h int) Forecast {
	out, ok := f.begin(fmt.Sprintf("fluid.collected_%dh", h), fmt.Sprintf("Fluid in the next %d hours", h), "mL")
	if !ok {
		return out
	}
	q := f.track(asOf).Collected(float64(h) / 24)
	out.Median, out.Low, out.High = q.Median, q.P10, q.P90
	out.Text = fmt.Sprintf("%s (80 %%: %s to %s), whatever canister takes it", unit.Volume(q.Median), unit.Number(q.P10, 0), unit.Volume(q.P90)) + f.rests()
	return out
}

// chance fills a forecast that is itself a chance: it has no interval, so both ends are the chance.
func chance(out Forecast, p float64) Forecast {
	out.Median, out.Low, out.High = 100*p, 100*p, 100*p
	return out
}

func (f *Fluid) beforeVisit(asOf time.Time) Forecast {
	out, ok := f.beginRead("fluid.before_visit", "Chance that the canister fills before the next visit", "%")
	switch {
	case !ok:
		return out
	case f.Visit.IsZero():
		return cannot(out, "no next visit is planned, and neither an order nor the visits so far tell the interval")
	case !f.Visit.After(asOf):
		p, _ := f.chanceFull(asOf)
		return cannot(out, fmt.Sprintf("the visit of %s (%s) has passed and no later one is planned; the chance that the canister is full by now is %s", Clock(f.Zone, f.Visit), f.VisitWords, unit.Chance(p)))
	}
	p, _ := f.chanceFull(f.Visit)
	out = chance(out, p)
	out.Entries = entriesOf(append(append([]string{}, out.Entries...), f.VisitBy)...)
	out.Text = fmt.Sprintf("%s, if nobody changes it before %s (%s)", unit.Chance(p), Clock(f.Zone, f.Visit), f.VisitWords) + f.rests()
	return out
}

// weekendDay and the hours bound what counts as the weekend: Friday evening to Monday morning. Common practice, no
// published source.
const (
	weekendFromHour = 18
	weekendToHour   = 8
)

// weekend is the weekend that has begun or comes next, in the patient's time zone.
func (f *Fluid) weekend(asOf time.Time) (from, to time.Time) {
	y, m, d := asOf.In(f.Zone).Date()
	// The Monday on or after this day; on Monday itself the weekend lasts until the morning.
	ahead := (int(time.Monday) - int(asOf.In(f.Zone).Weekday()) + 7) % 7
	to = time.Date(y, m, d+ahead, weekendToHour, 0, 0, 0, f.Zone)
	if !to.After(asOf) {
		ahead += 7
		to = time.Date(y, m, d+ahead, weekendToHour, 0, 0, 0, f.Zone)
	}
	return time.Date(y, m, d+ahead-3, weekendFromHour, 0, 0, 0, f.Zone), to
}

// overWeekend is the chance that the canister in place, if nobody changes it, fills between Friday evening and Monday
// morning.
func (f *Fluid) overWeekend(asOf time.Time) Forecast {
	out, ok := f.beginRead("fluid.weekend", "Chance that the canister fills over the weekend", "%")
	if !ok {
		return out
	}
	from, to := f.weekend(asOf)
	p, _ := f.fit.track.ChanceFills(from, to)
	before, _ := f.chanceFull(from)
	out = chance(out, p)
	out.Text = fmt.Sprintf("%s between %s and %s, if nobody changes it; %s that it is full before", unit.Chance(p), Clock(f.Zone, from), Clock(f.Zone, to), unit.Chance(before)) + f.rests()
	return out
}

// nextUse is the time for which a canister put in at the next visit has to last; ok is false when no interval is known.
func (f *Fluid) nextUse() (from, to time.Time, ok bool) {
	if !f.Known() || f.IntervalH <= 0 {
		return from, to, false
	}
	from = f.fit.asOf
	if f.Visit.After(from) {
		from = f.Visit
	}
	return from, from.Add(time.Duration(f.IntervalH * float64(time.Hour))), true
}

// sizes are the sizes as the model takes them, with the canister in place among them.
func (f *Fluid) sizes() []unit.Volume {
	var out []unit.Volume
	for _, s := range f.Sizes {
		out = append(out, unit.Volume(s))
	}
	if f.SizeML > 0 {
		out = append(out, unit.Volume(f.SizeML))
	}
	return out
}

// choice are the chances of a fresh canister of each size over a period.
func (f *Fluid) choice(from, to time.Time) fluid.Choice {
	return f.fit.track.Smallest(f.sizes(), from, to, f.limit())
}

func (f *Fluid) smallest() Forecast {
	out, ok := f.begin("fluid.canister", "Smallest canister for the time after the next visit", "mL")
	if !ok {
		return out
	}
	from, to, ok := f.nextUse()
	if !ok {
		return cannot(out, "neither an order nor the visits so far tell the time between visits")
	}
	c := f.choice(from, to)
	if c.Status == fluid.CannotTell {
		return cannot(out, Lower(strings.TrimSuffix(trimCannot(c.Text), ".")))
	}
	if c.Smallest == nil {
		return cannot(out, "none of the sizes that fit keeps the chance of a full one within "+unit.Chance(f.limit())+" ("+f.chances(c)+"); plan a change in between")
	}
	out.Median = float64(c.Smallest.Size)
	out.Low, out.High = out.Median, out.Median
	out.Text = fmt.Sprintf("%s for the %s from %s (%s). Chance of a full one: %s; accepted: %s. %s", c.Smallest.Size, unit.Duration(f.IntervalH), Clock(f.Zone, from), f.IntervalWords, f.chances(c), unit.Chance(f.limit()), f.carrying()) + f.rests()
	return out
}

// chances lists what every size gives.
func (f *Fluid) chances(c fluid.Choice) string {
	var out []string
	for _, o := range c.Options {
		out = append(out, fmt.Sprintf("%s %s", o.Size, unit.Chance(o.Chance)))
	}
	return strings.Join(out, ", ")
}

// carrying weighs a canister's size against how the patient moves.
func (f *Fluid) carrying() string {
	switch f.Mobility {
	case "walks":
		return "The patient walks and carries it: no larger than needed, or a change in between"
	case "chair":
		return "The patient sits in a chair: a larger one is no great burden if it hangs safely"
	case "in bed":
		return "The patient is in bed: a larger one is no burden and saves a change"
	}
	return "How the patient moves is not recorded: a larger canister is heavier to carry"
}
