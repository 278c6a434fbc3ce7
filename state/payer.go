package state

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"lowtide/casebook"
	"lowtide/payer"
	"lowtide/rule/value"
	"lowtide/supply"
)

// PayerVerify stands beside everything that comes from a payer's policy.
const PayerVerify = payer.Verify

// PayerStand is where a case stands against the clock of whoever pays.
type PayerStand struct {
	// Noted is the entry's content; Entry its ID. Policy is nil when the rule set has no policy of that name.
	Noted  casebook.PayerNoted
	Entry  string
	Policy *payer.Policy
	Clock  payer.Clock
	// StartKnown tells whether a start is known; StartWords says what it is taken from.
	StartKnown bool
	StartWords string
	Wounds     []PayerWound
	// Canisters are counted for the case.
	Canisters PayerUse
	// HighOutput is the highest documented output a day of the payer's month, in mL/d; High tells whether it is above the
	// payer's line. nil is not documented.
	HighOutput   *float64
	HighOutputBy []string
	High         *bool
	// Undocumented are criteria that nobody noted as documented; Barred are things that end payment and that the
	// screening says are there, Unasked those that it does not say.
	Undocumented, Documented []payer.Criterion
	Barred, Unasked          []payer.Bar
	BarredBy                 []string
	zone                     *time.Location
	// ApartH is the least time between two readings that tell an output.
	ApartH float64
}

// PayerWound is one wound before the payer.
type PayerWound struct {
	Wound string
	Kits  PayerUse
	// MeasuredAt is the day of the newest measurement, MeasureBy the last day for the next one; zero when never measured.
	MeasuredAt, MeasureBy time.Time
	MeasuredBy            string
	Progress              payer.Progress
	ProgressBy            []string
}

// PayerUse is what was used in the payer's month and in the calendar month, and what is expected by the end of each.
type PayerUse struct {
	Month, Calendar                 int
	ExpectedMonth, ExpectedCalendar int
	// Told is false when nobody can tell what will be used; both expected numbers are then those used so far.
	Told bool
	// Limit is the payer's number; 0 when there is none.
	Limit float64
	By    []string
}

// Expected is the greater of both expected numbers: the one that meets the limit first.
func (u PayerUse) Expected() int { return max(u.ExpectedMonth, u.ExpectedCalendar) }

// Used is the greater of both numbers used.
func (u PayerUse) Used() int { return max(u.Month, u.Calendar) }

// PayerOf reads where a case stands; nil when no payer is noted.
func PayerOf(c *casebook.Case, given Given, n *Needs, asOf time.Time) *PayerStand {
	if c.Payer == nil {
		return nil
	}
	s := &PayerStand{Noted: c.Payer.Body, Entry: c.Payer.ID, Policy: given.Payer(c.Payer.Body.Payer), zone: c.Zone, ApartH: given.Values(asOf).In(value.ReadingsApart, "h")}
	if s.Policy == nil {
		return s
	}
	s.criteria(c)
	start, ok := s.start(c)
	if !ok {
		return s
	}
	home, _ := time.Parse(time.DateOnly, s.Noted.HomeSince)
	s.StartKnown = true
	s.Clock = s.Policy.At(start, home, DayOf(c.Zone, asOf))
	kits, canisters := limit(s.Policy, "kits"), limit(s.Policy, "canisters")
	for i := range c.Wounds {
		if w := &c.Wounds[i]; underTherapy(c, w) {
			s.Wounds = append(s.Wounds, s.wound(w, n, kits))
		}
	}
	s.canisters(c, n, canisters)
	s.output(c)
	return s
}

func limit(p *payer.Policy, id string) float64 {
	l, _ := p.Limit(id)
	return l.Value
}

// DayOf is the calendar day of an instant in a zone, as package payer counts days.
func DayOf(zone *time.Location, t time.Time) time.Time { return payer.Date(t.In(zone).Date()) }

// StartOf is the instant at which a calendar day begins in the patient's zone.
func (s *PayerStand) StartOf(day time.Time) time.Time {
	y, m, d := day.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, s.zone)
}

// start is the day from which the payer counts.
func (s *PayerStand) start(c *casebook.Case) (time.Time, bool) {
	if day, err := time.Parse(time.DateOnly, s.Noted.Start); err == nil {
		s.StartWords = "as noted"
		return day, true
	}
	at, _, ok := Started(c)
	s.StartWords = "the first entry of therapy here; days in hospital before it are not in it"
	return DayOf(c.Zone, at), ok
}

func (s *PayerStand) criteria(c *casebook.Case) {
	var types []string
	for _, w := range c.Wounds {
		if w.Found != nil {
			types = append(types, w.Found.Body.Type)
		}
	}
	for _, k := range s.Policy.Asks(types) {
		if slices.Contains(s.Noted.Documented, k.ID) {
			s.Documented = append(s.Documented, k)
		} else {
			s.Undocumented = append(s.Undocumented, k)
		}
	}
	for _, b := range s.Policy.Bars {
		switch yes, known, by := Screened(c, b.Question); {
		case yes:
			s.Barred = append(s.Barred, b)
			s.BarredBy = entriesOf(append(s.BarredBy, by...)...)
		case !known:
			s.Unasked = append(s.Unasked, b)
		}
	}
}

// wound counts a wound's kits, one for each change whatever its size, and looks at its measurements. That a change took
// a kit is not written down: it is taken to.
func (s *PayerStand) wound(w *casebook.Wound, n *Needs, limit float64) PayerWound {
	out := PayerWound{Wound: w.Name, Kits: PayerUse{Limit: limit, Told: true}}
	var days []time.Time
	for _, ch := range w.Changes {
		days = append(days, DayOf(s.zone, ch.At))
		if d := days[len(days)-1]; s.Clock.Month.Holds(d) || s.Clock.Calendar.Holds(d) {
			out.Kits.By = append(out.Kits.By, ch.ID)
		}
	}
	out.Kits.count(s.Clock, days)
	out.Kits.ExpectedMonth, out.Kits.ExpectedCalendar = out.Kits.Month, out.Kits.Calendar
	for _, x := range n.Wounds {
		if x.Wound == w.Name {
			out.Kits.ExpectedMonth += s.planned(x.Plan, n.EveryH, s.Clock.Month)
			out.Kits.ExpectedCalendar += s.planned(x.Plan, n.EveryH, s.Clock.Calendar)
		}
	}
	var sizes []payer.Sized
	for _, m := range w.Measured {
		z := payer.Sized{Day: DayOf(s.zone, m.At), ProductCm2: -1, DepthCm: -1}
		if m.Body.LengthCm != nil && m.Body.WidthCm != nil {
			z.ProductCm2 = *m.Body.LengthCm * *m.Body.WidthCm
		}
		if m.Body.DepthCm != nil {
			z.DepthCm = *m.Body.DepthCm
		}
		if z.ProductCm2 < 0 && z.DepthCm < 0 {
			continue
		}
		sizes = append(sizes, z)
		out.MeasuredAt, out.MeasuredBy = z.Day, m.ID
		out.ProgressBy = append(out.ProgressBy, m.ID)
	}
	if len(sizes) > 0 {
		out.MeasureBy = s.Policy.MeasureBy(out.MeasuredAt)
	}
	out.Progress = s.Policy.Progress(sizes)
	if k := len(out.ProgressBy); k > 2 {
		out.ProgressBy = []string{out.ProgressBy[slices.IndexFunc(sizes, func(z payer.Sized) bool { return z == out.Progress.From })], out.ProgressBy[k-1]}
	}
	return out
}

func (u *PayerUse) count(k payer.Clock, days []time.Time) {
	u.Month, u.Calendar = k.Month.Count(days), k.Calendar.Count(days)
}

// planned counts the changes still planned in a window. It starts from the plan, not from now: a visit that nobody made
// yet is still to come, so the number does not fall while the clock runs.
func (s *PayerStand) planned(p supply.Plan, everyH float64, w payer.Window) int {
	if !(everyH > 0) {
		return 0
	}
	to := s.StartOf(w.To)
	n := 0
	for at := p.Next; at.Before(to) && n < 1000; at = at.Add(time.Duration(everyH * float64(time.Hour))) {
		n++
	}
	return n
}

// canisters counts new canisters: those put in and those that came with a pump.
func (s *PayerStand) canisters(c *casebook.Case, n *Needs, limit float64) {
	told := true
	for _, k := range n.Cans {
		told = told && k.Status == supply.OK
	}
	u := PayerUse{Limit: limit, Told: told && len(n.Cans) > 0 || n.Why != ""}
	var days []time.Time
	add := func(at time.Time, id string) {
		d := DayOf(s.zone, at)
		days = append(days, d)
		if s.Clock.Month.Holds(d) || s.Clock.Calendar.Holds(d) {
			u.By = append(u.By, id)
		}
	}
	for i, p := range c.Pumps {
		if p.Assigned.Body.CanisterML != nil && (i == 0 || p.Assigned.Body.Pump != c.Pumps[i-1].Assigned.Body.Pump) {
			add(p.Assigned.At, p.Assigned.ID)
		}
	}
	for _, r := range c.Canister {
		if r.Body.Changed != nil && *r.Body.Changed {
			add(r.At, r.ID)
		}
	}
	u.count(s.Clock, days)
	// Counted from the newest reading, not from now, for the same reason as planned changes.
	ahead := func(w payer.Window) int {
		sum := 0
		for _, k := range n.Cans {
			from := later(k.ReadAt, k.NewAt)
			if from.IsZero() || k.Status != supply.OK {
				continue
			}
			x, _ := supply.Canisters(k.at(from), k.Out, s.StartOf(w.To).Sub(from).Hours()/24)
			sum += x.Median
		}
		return sum
	}
	u.ExpectedMonth, u.ExpectedCalendar = u.Month+ahead(s.Clock.Month), u.Calendar+ahead(s.Clock.Calendar)
	s.Canisters = u
}

// output finds the highest output a day that readings of the payer's month document: between two readings at least 12 h
// apart within one unbroken run.
func (s *PayerStand) output(c *casebook.Case) {
	line := limit(s.Policy, "high_output")
	if line == 0 {
		return
	}
	names := PumpNames(c)
	if len(names) == 0 {
		names = []string{newestPump(c)}
	}
	for _, pump := range names {
		s.highest(CanisterOn(c, pump).Collected)
	}
	if s.HighOutput != nil {
		high := *s.HighOutput > line
		s.High = &high
	}
}

// highest looks for the highest output a day in what one canister after another took.
func (s *PayerStand) highest(list []Collected) {
	for i := range list {
		if !s.Clock.Month.Holds(DayOf(s.zone, list[i].At)) && !s.Clock.Calendar.Holds(DayOf(s.zone, list[i].At)) {
			continue
		}
		for j := i - 1; j >= 0 && list[j].Segment == list[i].Segment; j-- {
			h := list[i].At.Sub(list[j].At).Hours()
			if h < s.ApartH {
				continue
			}
			if r := (list[i].ML - list[j].ML) / h * 24; s.HighOutput == nil || r > *s.HighOutput {
				s.HighOutput, s.HighOutputBy = &r, entriesOf(list[j].Entry, list[i].Entry)
			}
			break
		}
	}
}

// changes are the instants at which counts of months begin anew.
func (s *PayerStand) changes(asOf time.Time) []time.Time {
	if s == nil || !s.StartKnown {
		return nil
	}
	var out []time.Time
	for _, d := range []time.Time{s.Clock.Month.To, s.Clock.Calendar.To} {
		if t := s.StartOf(d); t.After(asOf) {
			out = append(out, t)
		}
	}
	return out
}

// EndWords says both readings of the end.
func (s *PayerStand) EndWords() string {
	k := s.Clock
	day := func(t time.Time) string { return t.Format("Mon 2 Jan 2006") }
	switch {
	case k.Differ:
		return "as days " + day(k.ByDays) + ", as calendar months " + day(k.ByMonths)
	case !k.ByDays.IsZero():
		return day(k.ByDays) + " by both readings"
	case !k.End.IsZero():
		return day(k.End)
	}
	return ""
}

func payerFacts(s *PayerStand, set Sink) {
	if s == nil || s.Policy == nil {
		return
	}
	set("payer.name", s.Policy.Name, s.Entry)
	var lacks []string
	for _, k := range s.Undocumented {
		lacks = append(lacks, Lower(k.Words))
	}
	set("payer.undocumented", float64(len(lacks)), s.Entry)
	set("payer.undocumented_words", strings.Join(lacks, "; "), s.Entry)
	var bars []string
	for _, b := range s.Barred {
		bars = append(bars, Lower(b.Words))
	}
	if len(bars) > 0 || len(s.Unasked) == 0 {
		set("payer.barred", strings.Join(bars, "; "), s.BarredBy...)
	}
	if !s.StartKnown {
		return
	}
	if !s.Clock.End.IsZero() {
		set("payer.ends_at", s.StartOf(s.Clock.End), s.Entry)
		set("payer.ends_words", s.EndWords(), s.Entry)
	}
	if n := limit(s.Policy, "trial_days"); n > 0 {
		set("payer.trial_ends_at", s.StartOf(payer.AddDays(s.Clock.Start, int(n))), s.Entry)
	}
	if u := s.Canisters; u.Limit > 0 {
		set("payer.canisters_limit", u.Limit)
		set("payer.canisters_used", float64(u.Used()), u.By...)
		if u.Told {
			set("payer.canisters_expected", float64(u.Expected()), u.By...)
		}
		set.setBool("payer.high_output", s.High, s.HighOutputBy...)
	}
}

func payerWoundFacts(s *PayerStand, wound string, set Sink) {
	if s == nil || !s.StartKnown {
		return
	}
	for _, w := range s.Wounds {
		if w.Wound != wound {
			continue
		}
		if w.Kits.Limit > 0 {
			set("wound.kits_limit", w.Kits.Limit)
			set("wound.kits_used", float64(w.Kits.Used()), w.Kits.By...)
			set("wound.kits_expected", float64(w.Kits.Expected()), w.Kits.By...)
		}
		if !w.MeasureBy.IsZero() {
			set("wound.measure_by", s.StartOf(w.MeasureBy), w.MeasuredBy)
		}
		if w.Progress.Known && w.Progress.Whole {
			set("wound.payer_progress", w.Progress.Better, w.ProgressBy...)
		}
	}
}

// Figures are the counts that pages show with how they came about.
func (s *PayerStand) Figures() []Figure {
	if s == nil || !s.StartKnown {
		return nil
	}
	src := s.Policy.Source + ". " + strings.TrimSuffix(payer.Verify, ".")
	out := []Figure{{ID: "payer.day", Name: "Days of therapy for the payer", Value: float64(s.Clock.Day), Unit: "d", Text: fmt.Sprintf("day %d", s.Clock.Day),
		Method: "calendar days since " + s.Clock.Start.Format("2 January 2006") + " (" + s.StartWords + "); that day is day 0", Source: src, Entries: []string{s.Entry}}}
	use := func(id, name, wound string, u PayerUse) {
		if u.Limit > 0 {
			out = append(out, Figure{ID: id, Name: name, Wound: wound, Value: float64(u.Used()), Unit: "pieces", Text: fmt.Sprint(u.Used()),
				Method: "the greater of the counts in the payer's month and in the calendar month, from entries", Source: src, Entries: u.By})
		}
	}
	for _, w := range s.Wounds {
		use("payer.kits", "Dressing kits used in the month", w.Wound, w.Kits)
	}
	use("payer.canisters", "Canisters used in the month", "", s.Canisters)
	return out
}
