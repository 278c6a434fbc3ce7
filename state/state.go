package state

import (
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/rule"
	"lowtide/rule/value"
)

// Person is what a list needs to know of the patient.
type Person struct {
	Name    string `json:"name"`
	Record  string `json:"record,omitempty"`
	Place   string `json:"place,omitempty"`
	Address string `json:"address,omitempty"`
	Nurse   string `json:"nurse,omitempty"`
	Team    string `json:"team,omitempty"`
	Zone    string `json:"zone"`
}

// Therapy is where the therapy stands.
type Therapy struct {
	// State is "not started", "open" or "ended".
	State     string     `json:"state"`
	StartedAt *time.Time `json:"started_at,omitempty"`
	EndedAt   *time.Time `json:"ended_at,omitempty"`
	NextVisit *time.Time `json:"next_visit,omitempty"`
	LastVisit *time.Time `json:"last_visit,omitempty"`
	Pump      string     `json:"pump,omitempty"`
	Wounds    []string   `json:"wounds"`
	// CountOpen tells that a filler count does not add up: handover and end of therapy cannot be signed.
	CountOpen bool `json:"count_open"`
	// Suction is what suction is doing: on, off, off on purpose, or not known; Since and Why belong to it. Suction that is
	// on is believed to be so until BelievedUntil.
	Suction       Doing      `json:"suction"`
	Since         *time.Time `json:"since,omitempty"`
	Why           string     `json:"why,omitempty"`
	BelievedUntil *time.Time `json:"believed_until,omitempty"`
}

// Tell takes over what suction is doing.
func (t *Therapy) Tell(s Suction) {
	utc := func(at time.Time) *time.Time {
		if at.IsZero() {
			return nil
		}
		at = at.UTC()
		return &at
	}
	t.Suction, t.Since, t.Why = s.Doing, utc(s.From), s.Why
	if s.Doing == SuctionOn {
		t.BelievedUntil = utc(s.BelievedUntil)
	}
}

// State is what the models tell of a case; facts, figures and forecasts are made from it.
type State struct {
	path    Path
	Battery Battery
	tests   []SealTest
	head    Head
	Heal    []*Healing
	logs    []Delivered
	// fluids are those of each pump, the newest first; fluid is that of the pump that the facts are about.
	Fluids []*Fluid
	Fluid  *Fluid
	needs  *Needs
	Payer  *PayerStand
	// Suction is what suction is doing.
	Suction Suction
	// Asked are the contradictions that nobody has settled; Counted is the case as computations take it meanwhile.
	Asked   []Question
	Counted *casebook.Case
}

// Of runs the models once for facts, figures and forecasts.
func Of(c *casebook.Case, eq *equipment.Set, rules *rule.Set, asOf time.Time) State {
	v := rules.Values(asOf)
	asked := Questions(c)
	c = Counted(c)
	p := PathOf(c, CanisterOf(c), eq)
	m := State{Asked: asked, Counted: c, path: p, Battery: BatteryOf(c, eq, p), tests: SealTests(c, eq), head: HeadOf(c), Heal: healings(counted(c, true), asOf), logs: LogsOf(c), Fluids: FluidsOf(c, eq, v, asOf)}
	m.Fluid = m.Fluids[0]
	m.Suction = suctionOf(c, SuctionRecordOf(c, m.logs), suctionEndsOf(m.Battery, m.Fluids, v.Span(value.SuctionSeen)), asOf)
	if c.Payer != nil {
		m.needs = NeedsOf(c, eq, v, m.Fluids)
		m.Payer = PayerOf(c, rules, m.needs, asOf)
	}
	return m
}

// Facts sets every term of the rule vocabulary that the case tells.
func Facts(c *casebook.Case, rules *rule.Set, eq *equipment.Set, asOf time.Time) *rule.Facts {
	return FactsOf(c, eq, asOf, Of(c, eq, rules, asOf))
}

func FactsOf(c *casebook.Case, eq *equipment.Set, asOf time.Time, m State) *rule.Facts {
	// Not the clock but the newest entry says which year is plain, so that a printed day changes with an entry only.
	newest := asOf
	if n := len(c.Log); n > 0 {
		newest = c.Log[n-1].At
	}
	f := rule.NewFacts(func(t time.Time) string { return ClockAt(c.Zone, t, newest) })
	caseFacts(c, eq, asOf, m.Fluid.pump, m.Suction, f.Set)
	askedFacts(m.Asked, f.Set)
	c = m.Counted
	logFacts(c, m.logs, f.Set)
	pathFacts(c, m, f.Set)
	batteryFacts(m.Battery, f.Set)
	fluidFacts(c, m.Fluid, asOf, f.Set)
	payerFacts(m.Payer, f.Set)
	answers := screenAnswers(c)
	for i := range c.Wounds {
		set := f.Wound(c.Wounds[i].Name).Set
		woundFacts(c, &c.Wounds[i], set)
		answeredFacts(c, &c.Wounds[i], answers, set)
		healingFacts(c, m.Heal[i], asOf, set)
		outlineFacts(c, &c.Wounds[i], set)
		payerWoundFacts(m.Payer, c.Wounds[i].Name, set)
	}
	return f
}

// Clock prints an instant as a nurse says it, in the patient's time zone.
func Clock(zone *time.Location, t time.Time) string { return t.In(zone).Format("Mon 2 Jan 15:04") }

// yearAfter is how far from the newest entry a day is printed with its year: within it the month tells the year.
const yearAfter = 180 * 24 * time.Hour

// ClockAt is Clock with the year, for an instant so far from another that the year is not plain.
func ClockAt(zone *time.Location, t, from time.Time) string {
	if t.Sub(from).Abs() > yearAfter {
		return t.In(zone).Format("Mon 2 Jan 2006 15:04")
	}
	return Clock(zone, t)
}

// Earliest moves t forward to u if u is earlier; a zero time means never.
func Earliest(t *time.Time, u time.Time) {
	if !u.IsZero() && (t.IsZero() || u.Before(*t)) {
		*t = u.UTC()
	}
}

// FirstAfter returns the first time among the entries that is after asOf.
func FirstAfter(c *casebook.Case, asOf time.Time) time.Time {
	var first time.Time
	for _, l := range c.Log {
		for _, t := range []time.Time{l.At, l.Entry.At} {
			if t.After(asOf) {
				Earliest(&first, t)
			}
		}
	}
	return first
}

// At folds the case again without what happened after asOf.
func At(c *casebook.Case, asOf time.Time) *casebook.Case {
	entries := make([]casebook.Entry, len(c.Log))
	for i, l := range c.Log {
		entries[i] = l.Entry
	}
	then := casebook.FoldAt(c.ID, entries, asOf)
	then.Blob = c.Blob
	return then
}

func PersonOf(c *casebook.Case) Person {
	p := Person{Name: "name not recorded", Zone: c.Zone.String()}
	if c.Person != nil {
		b := c.Person.Body
		p.Name, p.Record, p.Place, p.Address, p.Nurse, p.Team = b.Name, b.Record, b.Place, b.Address, b.Nurse, b.Team
	}
	return p
}

func TherapyOf(c *casebook.Case) Therapy {
	t := Therapy{State: "not started", Wounds: []string{}}
	if at, _, ok := Started(c); ok {
		at = at.UTC()
		t.State, t.StartedAt = "open", &at
	}
	if c.Ended != nil {
		at := c.Ended.At.UTC()
		t.State, t.EndedAt = "ended", &at
	}
	if at, _, ok := NextVisit(c); ok && c.Ended == nil {
		at = at.UTC()
		t.NextVisit = &at
	}
	if n := len(c.Changes); n > 0 {
		at := c.Changes[n-1].At.UTC()
		t.LastVisit = &at
	}
	if open := OpenPumps(c); len(open) > 0 {
		t.Pump = open[len(open)-1].Assigned.Body.Pump
	}
	for _, w := range c.Wounds {
		t.Wounds = append(t.Wounds, w.Name)
		t.CountOpen = t.CountOpen || w.Count.Open()
	}
	return t
}
