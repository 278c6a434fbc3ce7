package week

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"strings"
	"time"

	"lowtide/casebook"
)

// Settings are the service's own numbers. [Usual] has those that hold where nobody set any: common practice, no
// published source.
type Settings struct {
	// FullPct is the chance of a full canister that a visit must come before.
	FullPct float64 `json:"full_pct"`
	// SlackH is by how many hours a change may be earlier or later than ordered.
	SlackH float64 `json:"slack_h"`
	// ChangeMin is a change of one wound's dressing with what goes with it; each further wound takes WoundMin, measuring
	// MeasureMin, a visit for anything else OtherMin. What is learnt from the service's own visits comes before these.
	ChangeMin  float64 `json:"change_min"`
	WoundMin   float64 `json:"wound_min"`
	MeasureMin float64 `json:"measure_min"`
	OtherMin   float64 `json:"other_min"`
	// DayFrom and DayTo are the hours in which patients are visited who did not say when, in minutes of the day.
	DayFrom int `json:"day_from_min"`
	DayTo   int `json:"day_to_min"`
	// PromiseMin is by how much a visit may move on its day before the patient has to be told.
	PromiseMin int `json:"promise_min"`
	// SameMin is how many minutes of road it is worth that somebody comes who came last time or is in charge.
	SameMin float64 `json:"same_min"`
	// GuessMin is the travel time to a place of which nothing is known.
	GuessMin float64 `json:"guess_min"`
}

// Usual are the settings where nobody set any.
var Usual = Settings{FullPct: 10, SlackH: 12, ChangeMin: 40, WoundMin: 15, MeasureMin: 10, OtherMin: 20, DayFrom: 8 * 60, DayTo: 18 * 60, PromiseMin: 60, SameMin: 60, GuessMin: 20}

// UsualRoads are roads where nobody set any: slower when many are on the road.
var UsualRoads = Roads{Detour: 1.3, SpeedKmH: [24]float64{50, 50, 50, 50, 50, 45, 40, 30, 25, 32, 35, 35, 35, 35, 35, 32, 27, 25, 32, 38, 42, 45, 50, 50}}

// Roster is what the register says.
type Roster struct {
	Nurses    []Nurse // by account
	Offs      []Off
	Places    map[string]Place
	Roads     Roads
	Closed    []Closed
	Wishes    map[string]Wish
	Extras    []Extra
	Fixed     []Fixed
	Settings  Settings
	Promises  []Promise // by day, account, start
	KeptAt    time.Time // when the newest plan was kept; zero: never
	Calendars []Calendar
	// Measured are ways that a road server gave, and RoadNote the sentence that says so or why not: no entries, but what
	// whoever plans adds. They come after what was typed and before what is computed.
	Measured []Leg
	RoadNote string
	// Unknown counts entries of a newer program.
	Unknown int
	// RoadsSet and Set tell that somebody set roads and settings.
	RoadsSet, Set bool
}

// Fold reads the register's entries. The order in which they arrived does not count, nor does how often one arrived.
func Fold(entries []casebook.Entry) *Roster {
	r := &Roster{Places: map[string]Place{}, Wishes: map[string]Wish{}, Roads: UsualRoads, Settings: Usual}
	by := map[string]casebook.Entry{}
	for _, e := range entries {
		if old, twice := by[e.ID]; e.Case == Register && (!twice || e.Hash() < old.Hash()) {
			by[e.ID] = e
		}
	}
	list := make([]casebook.Entry, 0, len(by))
	for _, e := range by {
		list = append(list, e)
	}
	slices.SortFunc(list, func(a, b casebook.Entry) int {
		return cmp.Or(a.At.Compare(b.At), a.Recorded.Compare(b.Recorded), cmp.Compare(a.ID, b.ID))
	})
	nurses := map[string]Nurse{}
	for _, e := range list {
		switch b := e.Body.(type) {
		case Nurse:
			nurses[b.Account] = b
		case Off:
			r.Offs = slices.DeleteFunc(r.Offs, func(o Off) bool { return o.Account == b.Account && o.From == b.From })
			if !b.Lifted {
				r.Offs = append(r.Offs, b)
			}
		case Place:
			r.Places[Key(b.Name)] = b
		case Roads:
			r.Roads, r.RoadsSet = b, true
		case Closed:
			r.Closed = slices.DeleteFunc(r.Closed, func(c Closed) bool { return c.Day == b.Day && Key(c.From) == Key(b.From) && Key(c.To) == Key(b.To) })
			if !b.Lifted {
				r.Closed = append(r.Closed, b)
			}
		case Wish:
			r.Wishes[b.Case] = b
		case Extra:
			r.Extras = slices.DeleteFunc(r.Extras, func(x Extra) bool { return x.Case == b.Case && x.Day == b.Day })
			if !b.Lifted {
				r.Extras = append(r.Extras, b)
			}
		case Fixed:
			r.Fixed = slices.DeleteFunc(r.Fixed, func(x Fixed) bool { return x.Case == b.Case && x.Day == b.Day })
			if !b.Lifted {
				r.Fixed = append(r.Fixed, b)
			}
		case Settings:
			if b.SameMin == 0 { // of a program that did not know it
				b.SameMin = Usual.SameMin
			}
			r.Settings, r.Set = b, true
		case Kept:
			r.Promises = slices.DeleteFunc(r.Promises, func(p Promise) bool { return p.Day >= b.From })
			r.Promises = append(r.Promises, b.Visits...)
			r.KeptAt = e.At
		case Calendar:
			r.Calendars = slices.DeleteFunc(r.Calendars, func(c Calendar) bool { return c.Account == b.Account })
			if !b.Ended {
				r.Calendars = append(r.Calendars, b)
			}
		default:
			r.Unknown++
		}
	}
	for _, n := range nurses {
		if !n.Gone {
			r.Nurses = append(r.Nurses, n)
		}
	}
	slices.SortFunc(r.Nurses, func(a, b Nurse) int { return cmp.Compare(a.Account, b.Account) })
	slices.SortFunc(r.Promises, func(a, b Promise) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Account, b.Account), cmp.Compare(a.Start, b.Start), cmp.Compare(a.Case, b.Case))
	})
	return r
}

// Key makes two ways to write the same place alike.
func Key(place string) string { return strings.ToLower(strings.Join(strings.Fields(place), " ")) }

// Nurse finds somebody by account.
func (r *Roster) Nurse(account string) (Nurse, bool) {
	i := slices.IndexFunc(r.Nurses, func(n Nurse) bool { return n.Account == account })
	if i < 0 {
		return Nurse{}, false
	}
	return r.Nurses[i], true
}

// Alone is the roster of somebody who works alone and has set up nothing: where nobody has hours, she works in the hours in
// which patients are visited, every day, and starts from nowhere known.
func (r *Roster) Alone(account string) *Roster {
	out := *r
	n := Nurse{Account: account, Name: account}
	for day := range 7 {
		n.Hours = append(n.Hours, Hours{day, r.Settings.DayFrom, r.Settings.DayTo})
	}
	out.Nurses = []Nurse{n}
	return &out
}

// shiftOn gives a nurse's hours on a day, in minutes; ok is false when she does not work then.
func (r *Roster) shiftOn(n Nurse, day time.Time) (from, to int, ok bool) {
	for _, h := range n.Hours {
		if h.Weekday == int(day.Weekday()) && h.To > h.From {
			from, to, ok = h.From, h.To, true
		}
	}
	d := day.Format(time.DateOnly)
	for _, o := range r.Offs {
		if o.Account != n.Account && o.Account != Everybody || d < o.From || d > o.To {
			continue
		}
		if d == o.From && o.FromMin > 0 {
			to = min(to, o.FromMin)
			ok = ok && to > from
			continue
		}
		return 0, 0, false
	}
	return from, to, ok
}

// Works tells whether a nurse makes visits on a day.
func (r *Roster) Works(n Nurse, day time.Time) bool {
	_, _, ok := r.shiftOn(n, day)
	return ok
}

// hashOf names something without telling what it is.
func hashOf(s string) string {
	sum := sha256.Sum256([]byte("lowtide week " + s))
	return hex.EncodeToString(sum[:10])
}

// TokenHash is what is kept of a calendar's secret address.
func TokenHash(token string) string {
	sum := sha256.Sum256([]byte("lowtide calendar " + token))
	return hex.EncodeToString(sum[:])
}
