package review

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"sort"
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/rule"
	"lowtide/stock"
)

// Version is the version that a sign-off names. It changes whenever the same entries may give another review.
const Version = "lowtide 0.8"

// Review is everything that Lowtide says about one case at one instant.
type Review struct {
	Case string `json:"case"`
	// Head is the case's head: the set of entries that was reviewed.
	Head    string    `json:"head"`
	AsOf    time.Time `json:"as_of"`
	Rules   string    `json:"rules"`
	List    string    `json:"equipment"`
	Program string    `json:"program"`
	// Protocol names the local protocol, if there is one.
	Protocol string `json:"protocol,omitempty"`
	// Recalls is the hash of the recalls in force; empty when there is none.
	Recalls string  `json:"recalls,omitempty"`
	Person  Person  `json:"person"`
	Therapy Therapy `json:"therapy"`
	// Findings are ordered by level, then due time, then rule and wound.
	Findings []Finding `json:"findings"`
	// Plan is the one list of what to do; the findings stand behind it.
	Plan      []Step     `json:"plan"`
	Figures   []Figure   `json:"figures"`
	Forecasts []Forecast `json:"forecasts"`
	// Until is the first instant after AsOf at which the findings can change without a new entry; zero is never.
	Until time.Time `json:"until,omitzero"`
}

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
}

// Finding is one thing that a rule says about the case.
type Finding struct {
	Rule  string     `json:"rule"`
	Area  rule.Area  `json:"area"`
	Level rule.Level `json:"level"`
	// State is "yes" or "cannot tell".
	State rule.State `json:"state"`
	Wound string     `json:"wound,omitempty"`
	// Pump is whose canister it is about, where the patient has several pumps.
	Pump string `json:"pump,omitempty"`
	// Headline is one sentence with the patient's numbers in it.
	Headline string `json:"headline"`
	// Why lists what the rule looked at; Missing what it would need to know.
	Why     []Why    `json:"why"`
	Missing []string `json:"missing,omitempty"`
	// Do is the next step. For Act now it says first what to do for the patient.
	Do  string     `json:"do"`
	Due *time.Time `json:"due,omitempty"`
	// Clears says what makes the finding go away.
	Clears string `json:"clears"`
	Source string `json:"source"`
	// Local names the values that a local protocol changed; "whole rule" when it added the rule.
	Local []string `json:"local,omitempty"`
	// Told is who was told of it, if a note says so; the finding stays until what it rests on changes.
	Told *Told `json:"told,omitempty"`

	acts []rule.Act // what it asks for
}

// Key tells findings of one review apart.
func (f Finding) Key() string {
	if f.Pump != "" {
		return f.Rule + "/" + f.Wound + "/" + f.Pump
	}
	return f.Rule + "/" + f.Wound
}

// Why is one fact that a rule used.
type Why struct {
	Words   string   `json:"words"`
	Value   string   `json:"value"`
	Entries []string `json:"entries,omitempty"`
}

// Of reviews the case as of the instant. Entries that happened later are not looked at. The case is not
// modified.
func Of(c *casebook.Case, rules *rule.Set, eq *equipment.Set, asOf time.Time) *Review {
	return OfWith(c, rules, eq, nil, asOf)
}

// OfWith is Of with the recalls of the agency's stock, which may be nil.
func OfWith(c *casebook.Case, rules *rule.Set, eq *equipment.Set, recalls *stock.Stock, asOf time.Time) *Review {
	later := firstAfter(c, asOf)
	if !later.IsZero() {
		c = at(c, asOf)
	}
	r := &Review{Case: c.ID, Head: c.Head, AsOf: asOf.UTC(), Rules: rules.Hash(), List: eq.Hash, Program: Version, Protocol: rules.Protocol,
		Person: personOf(c), Therapy: therapyOf(c), Findings: []Finding{}}
	m := modelled(c, eq, rules, asOf)
	facts := factsOf(c, eq, asOf, m)
	if recalls != nil && NamesLots(c) {
		r.Recalls = recalls.Head
		recallFacts(c, eq, recalls, facts.Set)
	}
	earliest(&r.Until, later)
	earliest(&r.Until, rules.Values(asOf).Until())
	for _, t := range m.payer.changes(asOf) {
		earliest(&r.Until, t)
	}
	outcomes := rules.Judge(facts, asOf)
	for i := range outcomes {
		o := &outcomes[i]
		earliest(&r.Until, o.Until)
		if o.State == rule.Yes || o.State == rule.CannotTell {
			r.Findings = append(r.Findings, m.fluid.finding(c, o))
		}
	}
	for _, f := range m.fluids[1:] {
		r.judgeCanister(c, rules, factsOf(c, eq, asOf, m.on(c, f, eq)), f)
	}
	SortFindings(r.Findings)
	r.Plan = planOf(r.Findings, planStateOf(c))
	r.Figures = figures(c, facts, asOf, m)
	r.Forecasts = forecasts(c, m.battery)
	for _, f := range m.fluids {
		r.Forecasts = append(r.Forecasts, f.Forecasts(asOf)...)
		r.Figures = append(r.Figures, f.Figures(asOf)...)
		for _, t := range f.changesAt(asOf) {
			earliest(&r.Until, t)
		}
	}
	r.Figures = append(r.Figures, m.payer.Figures()...)
	for _, h := range m.heal {
		if c.Ended != nil {
			break
		}
		r.Figures = append(r.Figures, h.Plainly()...)
		r.Forecasts = append(r.Forecasts, h.Forecasts(asOf)...)
		for _, t := range h.changes(asOf) {
			earliest(&r.Until, t)
		}
	}
	return r
}

// Facts sets every term of the rule vocabulary that the case tells.
func Facts(c *casebook.Case, rules *rule.Set, eq *equipment.Set, asOf time.Time) *rule.Facts {
	return factsOf(c, eq, asOf, modelled(c, eq, rules, asOf))
}

// modelled runs the models once for facts, figures and forecasts.
func modelled(c *casebook.Case, eq *equipment.Set, rules *rule.Set, asOf time.Time) onPath {
	v := rules.Values(asOf)
	p := PathOf(c, CanisterOf(c), eq)
	m := onPath{path: p, battery: BatteryOf(c, eq, p), tests: SealTests(c, eq), head: HeadOf(c), heal: healings(c, asOf), logs: LogsOf(c), fluids: FluidsOf(c, eq, v, asOf)}
	m.fluid = m.fluids[0]
	if c.Payer != nil {
		m.needs = NeedsOf(c, eq, v, m.fluids)
		m.payer = PayerOf(c, rules, m.needs, asOf)
	}
	return m
}

func factsOf(c *casebook.Case, eq *equipment.Set, asOf time.Time, m onPath) *rule.Facts {
	// Not the clock but the newest entry says which year is plain, so that a printed day changes with an entry only.
	newest := asOf
	if n := len(c.Log); n > 0 {
		newest = c.Log[n-1].At
	}
	f := rule.NewFacts(func(t time.Time) string { return ClockAt(c.Zone, t, newest) })
	caseFacts(c, eq, asOf, m.fluid.pump, f.Set)
	logFacts(c, m.logs, f.Set)
	pathFacts(c, m, f.Set)
	batteryFacts(m.battery, f.Set)
	fluidFacts(c, m.fluid, asOf, f.Set)
	payerFacts(m.payer, f.Set)
	answers := screenAnswers(c)
	for i := range c.Wounds {
		set := f.Wound(c.Wounds[i].Name).Set
		woundFacts(c, &c.Wounds[i], set)
		answeredFacts(c, &c.Wounds[i], answers, set)
		healingFacts(c, m.heal[i], asOf, set)
		outlineFacts(c, &c.Wounds[i], set)
		payerWoundFacts(m.payer, c.Wounds[i].Name, set)
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

// earliest moves t forward to u if u is earlier; a zero time means never.
func earliest(t *time.Time, u time.Time) {
	if !u.IsZero() && (t.IsZero() || u.Before(*t)) {
		*t = u.UTC()
	}
}

// firstAfter returns the first time among the entries that is after asOf.
func firstAfter(c *casebook.Case, asOf time.Time) time.Time {
	var first time.Time
	for _, l := range c.Log {
		for _, t := range []time.Time{l.At, l.Entry.At} {
			if t.After(asOf) {
				earliest(&first, t)
			}
		}
	}
	return first
}

// at folds the case again without what happened after asOf.
func at(c *casebook.Case, asOf time.Time) *casebook.Case {
	entries := make([]casebook.Entry, len(c.Log))
	for i, l := range c.Log {
		entries[i] = l.Entry
	}
	then := casebook.FoldAt(c.ID, entries, asOf)
	then.Blob = c.Blob
	return then
}

// finding turns a rule's answer into a finding; c is nil for the rules about stock.
func finding(c *casebook.Case, o *rule.Outcome) Finding {
	f := Finding{Rule: o.Rule.ID, Area: o.Rule.Area, Level: o.Level(), State: o.State, Wound: o.Wound, Headline: o.Headline(),
		Do: o.Do(), Clears: o.Clears(), Source: o.Rule.Basis(), Why: []Why{}, acts: o.Acts()}
	for _, u := range o.Used() {
		f.Why = append(f.Why, Why{Words: u.Words, Value: u.Value, Entries: u.Entries})
	}
	for _, t := range o.Missing() {
		if !contains(f.Missing, t.Words) {
			f.Missing = append(f.Missing, t.Words)
		}
	}
	for _, v := range o.Values() {
		if v.Local {
			f.Local = append(f.Local, v.Words)
		}
	}
	if o.Rule.Local {
		f.Local = append(f.Local, "whole rule")
	}
	f.Due = due(c, f.Level, o.Due())
	if c != nil {
		f.Told = toldOf(c, f)
	}
	return f
}

// due is the rule's own time when it has one, and for Plan the next planned visit. Otherwise it is nil and the
// level says it: Act now is due at once, Today before the end of the day, Note never. No due time depends on
// the clock, so findings hold until a rule's answer changes.
func due(c *casebook.Case, level rule.Level, own *time.Time) *time.Time {
	if own == nil && level == rule.Plan && c != nil {
		if next, _, ok := NextVisit(c); ok {
			own = &next
		}
	}
	if own == nil {
		return nil
	}
	t := own.UTC()
	return &t
}

// SortFindings orders by level, due time (none first for Act now, last otherwise), area (danger signs first),
// rule, wound.
func SortFindings(list []Finding) {
	sort.SliceStable(list, func(i, j int) bool {
		a, b := list[i], list[j]
		if x, y := a.Level.Rank(), b.Level.Rank(); x != y {
			return x < y
		}
		if (a.Due == nil) != (b.Due == nil) {
			return (a.Due == nil) == (a.Level == rule.ActNow)
		}
		if a.Due != nil && !a.Due.Equal(*b.Due) {
			return a.Due.Before(*b.Due)
		}
		if x, y := a.Area.Rank(), b.Area.Rank(); x != y {
			return x < y
		}
		if a.Rule != b.Rule {
			return a.Rule < b.Rule
		}
		if a.Wound != b.Wound {
			return a.Wound < b.Wound
		}
		return a.Pump < b.Pump
	})
}

func personOf(c *casebook.Case) Person {
	p := Person{Name: "name not recorded", Zone: c.Zone.String()}
	if c.Person != nil {
		b := c.Person.Body
		p.Name, p.Record, p.Place, p.Address, p.Nurse, p.Team = b.Name, b.Record, b.Place, b.Address, b.Nurse, b.Team
	}
	return p
}

func therapyOf(c *casebook.Case) Therapy {
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

// Hash is the SHA-256 (hex) of the review's JSON: what a sign-off stores.
func (r *Review) Hash() string {
	raw, err := json.Marshal(r)
	if err != nil {
		panic("review: " + err.Error()) // no field of a review can fail to marshal
	}
	sum := sha256.Sum256(raw)
	return hex.EncodeToString(sum[:])
}

// Top returns the level of the most pressing finding, and false when there is none.
func (r *Review) Top() (rule.Level, bool) {
	if len(r.Findings) == 0 {
		return "", false
	}
	return r.Findings[0].Level, true
}
