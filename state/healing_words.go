package state

import (
	"fmt"
	"strings"
	"time"

	"lowtide/healing"
	"lowtide/unit"
)

// Plain says in words that a patient can read how the wound goes, as of the instant. It says what is not known and
// never promises.
func (h *Healing) Plain(asOf time.Time) string {
	if h.LastAt.IsZero() {
		return "This wound has not been measured yet, so nobody can say how it is healing."
	}
	zone := h.Sizes[0].At.Location()
	day := func(t time.Time) string { return t.In(zone).Format("2 January") }
	if h.Status == healing.Closed {
		return "On " + day(h.LastAt) + " the wound was measured as closed."
	}
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if h.Status == healing.OneSize {
		say("The wound has been measured on one day only. It takes another measurement before anybody can say how it is healing.")
		return strings.Join(out, " ")
	}
	h.sayChange(say, day)
	switch {
	case !h.fresh(asOf):
		say("It was last measured on %s. That is too long ago to say whether it is still getting smaller.", day(h.LastAt))
	case !h.Told(asOf):
		say("There are too few measurements to say whether it is getting smaller now.")
	case *h.Growing >= 0.5:
		say("It may have become larger lately. Please talk about this with your nurse or doctor soon.")
	case *h.NotImproving >= 0.5:
		say("In the %s before %s it has probably not become smaller as it should. Your nurse will look for reasons together with your doctor.", h.window(), day(h.LastAt))
	case *h.NotImproving > 0.2:
		say("It is not certain whether it became smaller in the %s before %s; the next measurements will show it.", h.window(), day(h.LastAt))
	default:
		say("In the %s before %s it was very likely getting smaller.", h.window(), day(h.LastAt))
	}
	h.sayWhen(say, asOf, func(t time.Time) string { return Expected(zone, t, asOf) })
	return strings.Join(out, " ")
}

func (h *Healing) sayChange(say func(string, ...any), day func(time.Time) string) {
	first := h.Sizes[0].At
	if f := h.Figures.From; f != nil {
		first = *f
	}
	if r := h.Figures.AreaReduction; r != nil {
		say("Beside %s the surface of the wound is %s.", day(first), unit.Size(1-*r))
	}
	if r := h.Figures.DepthReduction; r != nil {
		say("Beside the first depth it is %s.", unit.Deep(1-*r))
	}
}

// sayWhen says when it may be closed, or that nobody can tell. A chance of less than half within a year is no date.
func (h *Healing) sayWhen(say func(string, ...any), asOf time.Time, date func(time.Time) string) {
	c := h.Ahead().Closure
	if h.cannotForecast(asOf) != "" || c.MedianDays == nil || c.Chance == nil || *c.Chance < 0.5 || !h.fresh(asOf) {
		say("Nobody can say yet when it will be closed.")
		return
	}
	say("The chance that it closes within a year is %s. If it does, it may be closed around %s: perhaps as early as %s, perhaps as late as %s. That is an estimate and no promise.", unit.Chance(*c.Chance),
		date(addDays(h.Anchor, *c.MedianDays)), date(addDays(h.Anchor, *c.P10Days)), date(addDays(h.Anchor, *c.P90Days)))
}

// Trend says how the wound goes for a prescriber: the change since the first size, and the chances that it did not
// improve or grew in the last two weeks, as of the instant. It says what cannot be told.
func (h *Healing) Trend(asOf time.Time) string {
	if h.LastAt.IsZero() {
		return "Not measured yet: nobody can say how it heals."
	}
	zone := h.Sizes[0].At.Location()
	day := func(t time.Time) string { return t.In(zone).Format("2 January") }
	switch h.Status {
	case healing.Closed:
		return "Measured as closed on " + day(h.LastAt) + "."
	case healing.OneSize:
		return "Measured on one day only: cannot tell how it heals before the next size."
	}
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	h.sayChange(say, day)
	switch {
	case !h.fresh(asOf):
		say("Last measured on %s: too long ago to tell how it goes now.", day(h.LastAt))
	case !h.Told(asOf):
		say("Too few sizes to tell whether it is getting smaller now.")
	default:
		say("In the %s before %s: chance that it did not improve, by all its sizes together, %s; that one of them grew, %s.", h.window(), day(h.LastAt), unit.Chance(*h.NotImproving), unit.Chance(*h.Growing))
	}
	return strings.Join(out, " ")
}
