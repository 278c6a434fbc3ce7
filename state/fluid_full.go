package state

import (
	"fmt"
	"strings"
	"time"

	"lowtide/fluid"
	"lowtide/rule/value"
	"lowtide/unit"
)

// FullAt is when the canister in place is full; it says of itself what cannot be told.
func (f *Fluid) FullAt() FullAt {
	if !f.Read() {
		return FullAt{Status: fluid.FullNotTold}
	}
	return f.fit.full
}

// FullNotTold says why nothing can be told of when the canister is full; empty where something can, and where there is no
// therapy to forecast.
func (f *Fluid) FullNotTold() string {
	if f.silent {
		return ""
	}
	return f.fullNotTold()
}

func (f *Fluid) fullNotTold() string {
	switch {
	case f.Why != "":
		return f.Why
	case !f.Read():
		return "no canister reading is recorded"
	case f.SizeML == 0:
		return "the size of the canister is not recorded"
	}
	return ""
}

// chanceFull is the chance that the canister in place is full by then, if nobody changes it.
func (f *Fluid) chanceFull(by time.Time) (float64, bool) {
	if !f.Read() || by.IsZero() {
		return 0, false
	}
	return f.fit.track.ChanceFull(by)
}

func (f *Fluid) full(asOf time.Time) Forecast {
	out, ok := f.beginRead("fluid.full", "Canister full", "h")
	if !ok {
		return out
	}
	at := f.FullAt()
	out.Full = &at
	from := f.LastAt.UTC()
	out.From = &from
	full := fmt.Sprintf("%s of %s", unit.Volume(f.SizeML*f.Course.UsableShare), unit.Volume(f.SizeML))
	switch {
	case at.Status == fluid.FullRead:
		out.Text = fmt.Sprintf("it was read as full, %s, at or above %s: change it", Clock(f.Zone, f.LastAt), full)
		return out
	case at.Status == fluid.FullBeyond:
		out.Text = "at this output it does not fill within a year, if nobody changes it; full is " + full + f.rests()
		return out
	}
	hours := func(w fluid.When) *float64 {
		if !w.Within() {
			return nil
		}
		h := w.At.Sub(f.LastAt).Hours()
		return &h
	}
	out.Median, out.Low, out.High = hours(at.Even), hours(at.Early), hours(at.Late)
	out.Text = fmt.Sprintf("about %s, %s between %s and %s, if nobody changes it; full is %s", f.about(at.Even, asOf), unit.HowSure, f.about(at.Early, asOf), f.about(at.Late, asOf), full) + f.rests()
	if at.Even.Beyond {
		out.Text = fmt.Sprintf("more likely than not later than a year from now, with a chance of one in ten by %s, if nobody changes it; full is %s", f.about(at.Early, asOf), full) + f.rests()
	}
	if at.Even.By(asOf) {
		out.Text = "it may be full already: " + out.Text
	}
	return out
}

// about says a forecast time to the half hour before it, or to what can be known of it: its minutes would look like knowledge.
func (f *Fluid) about(w fluid.When, asOf time.Time) string {
	if w.Beyond {
		return "later than a year from now"
	}
	return Expected(f.Zone, w.At.Truncate(fullStep), asOf)
}

// fullStep is how finely a filling time is told.
const fullStep = 30 * time.Minute

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

// FillAhead is what the canister in place holds from its newest reading on, if nobody changes it, as pages draw it.
type FillAhead struct {
	// Cannot says why there is none; then Points is empty.
	Cannot string
	// Points are in order of time, from the newest reading on. Contents end at the canister's size.
	Points []FillPoint
	// SizeML is the canister's size and UsableML the content at which it counts as full.
	SizeML, UsableML float64
	// Full is when it is full.
	Full FullAt
	// By is the entry of the newest reading.
	By string
}

// FillPoint is the content at one instant in mL: a median with its 80 % interval.
type FillPoint struct {
	At   time.Time
	Band Band
}

// fillStep is how far apart the points are; what lies between is joined by lines.
const fillStep = 12 * time.Hour

// Ahead forecasts the content of the canister in place until an instant; now is one of the points.
func (f *Fluid) Ahead(now, to time.Time) FillAhead {
	if why := f.fullNotTold(); why != "" {
		return FillAhead{Cannot: why}
	}
	out := FillAhead{SizeML: f.SizeML, UsableML: f.SizeML * f.Course.UsableShare, By: f.LastBy, Full: f.FullAt()}
	if out.Full.Status == fluid.FullRead {
		return FillAhead{Cannot: "it was read as full", Full: out.Full}
	}
	times := []time.Time{f.LastAt}
	if now.After(f.LastAt) {
		times = append(times, now)
	}
	for t := later(now, f.LastAt).Add(fillStep); t.Before(to); t = t.Add(fillStep) {
		times = append(times, t)
	}
	if last := times[len(times)-1]; to.After(last) {
		times = append(times, to)
	}
	for _, t := range times {
		q := f.track(t).Content()
		out.Points = append(out.Points, FillPoint{t, Band{Median: min(q.Median, f.SizeML), P10: min(q.P10, f.SizeML), P90: min(q.P90, f.SizeML)}})
	}
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

// limit is the chance of a full canister that is still accepted.
func (f *Fluid) limit() float64 { return f.values.In(value.FillChance, "%") / 100 }

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
	size := float64(c.Smallest.Size)
	out.Median, out.Low, out.High = &size, &size, &size
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

// choiceFacts weighs sizes, once two intervals were read: before that, a size would rest on published outputs.
func (f *Fluid) choiceFacts(set Sink) {
	if f.fit.track.Intervals() < 2 || f.SizeML == 0 {
		return
	}
	by := entriesOf(f.LastBy, f.SizeBy, f.VisitBy)
	if from, to, ok := f.nextUse(); ok {
		c := f.choice(from, to)
		for _, o := range c.Options {
			if float64(o.Size) == f.SizeML {
				set("fluid.fresh_pct", pct(o.Chance), by...)
			}
		}
		set("fluid.fresh_h", f.IntervalH, by...)
		words := "none of the sizes that fit is large enough (chance of a full one: " + f.chances(c) + "), so plan a change in between"
		if c.Smallest != nil {
			words = fmt.Sprintf("%s is the smallest with at most %s (chance of a full one: %s)", c.Smallest.Size, unit.Chance(f.limit()), f.chances(c))
		}
		set("fluid.choice_words", words+". "+f.carrying(), by...)
	}
	from := f.fit.asOf
	if f.Visit.After(from) {
		from = f.Visit
	}
	if c := f.choice(from, from.Add(f.values.Span(value.CanisterStay))); c.Smallest != nil {
		set("fluid.week_mL", float64(c.Smallest.Size), by...)
		set("fluid.week_pct", pct(c.Smallest.Chance), by...)
	}
}
