package review

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"slices"
	"sort"
	"time"

	"lowtide/casebook"
	"lowtide/equipment"
	"lowtide/rule"
	"lowtide/state"
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
	Recalls string        `json:"recalls,omitempty"`
	Person  state.Person  `json:"person"`
	Therapy state.Therapy `json:"therapy"`
	// Findings are ordered by level, then due time, then rule and wound.
	Findings []Finding `json:"findings"`
	// Plan is the one list of what to do; the findings stand behind it.
	Plan []Step `json:"plan"`
	// Asked are the contradictions that nobody has settled.
	Asked     []state.Question `json:"asked,omitempty"`
	Figures   []state.Figure   `json:"figures"`
	Forecasts []state.Forecast `json:"forecasts"`
	// Until is the first instant after AsOf at which the findings can change without a new entry; zero is never.
	Until time.Time `json:"until,omitzero"`
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
	return of(c, rules, eq, recalls, asOf, true)
}

// Short is OfWith for a list of many cases: without the figures, and of the forecasts with those of the canisters only. What
// lies ahead of wounds is most of the work, and is made where somebody looks at one case.
func Short(c *casebook.Case, rules *rule.Set, eq *equipment.Set, recalls *stock.Stock, asOf time.Time) *Review {
	return of(c, rules, eq, recalls, asOf, false)
}

func of(c *casebook.Case, rules *rule.Set, eq *equipment.Set, recalls *stock.Stock, asOf time.Time, whole bool) *Review {
	later := state.FirstAfter(c, asOf)
	if !later.IsZero() {
		c = state.At(c, asOf)
	}
	r := &Review{Case: c.ID, Head: c.Head, AsOf: asOf.UTC(), Rules: rules.Hash(), List: eq.Hash, Program: Version, Protocol: rules.Protocol,
		Person: state.PersonOf(c), Therapy: state.TherapyOf(c), Findings: []Finding{}}
	m := state.Of(c, eq, rules, asOf)
	r.Therapy.Tell(m.Suction)
	facts := state.FactsOf(c, eq, asOf, m)
	if recalls != nil && state.NamesLots(c) {
		r.Recalls = recalls.Head
		state.RecallFacts(c, eq, recalls, facts.Set)
	}
	state.Earliest(&r.Until, later)
	state.Earliest(&r.Until, rules.Values(asOf).Until())
	for _, t := range m.Payer.Changes(asOf) {
		state.Earliest(&r.Until, t)
	}
	state.Earliest(&r.Until, m.Suction.ChangesAt(asOf))
	outcomes := rules.Judge(facts, asOf)
	for i := range outcomes {
		o := &outcomes[i]
		state.Earliest(&r.Until, o.Until)
		if o.State == rule.Yes || o.State == rule.CannotTell {
			r.Findings = append(r.Findings, findingOn(m.Fluid, c, o))
		}
	}
	for _, f := range m.Fluids[1:] {
		r.judgeCanister(c, rules, state.FactsOf(c, eq, asOf, m.On(c, f, eq)), f)
	}
	r.Asked = m.Asked
	r.byOtherCorrections(c, rules, eq, asOf)
	SortFindings(r.Findings)
	r.Plan = planOf(r.Findings, planState{off: m.Suction.Doing.IsOff(), ran: m.Suction.Ran, many: len(c.Wounds) > 1})
	if whole {
		r.Figures = state.Figures(m.Counted, facts, asOf, m)
		r.Forecasts = state.Forecasts(c, m.Battery)
	}
	for _, f := range m.Fluids {
		r.Forecasts = append(r.Forecasts, f.Forecasts(asOf)...)
		if whole {
			r.Figures = append(r.Figures, f.Figures(asOf)...)
		}
		for _, t := range f.ChangesAt(asOf) {
			state.Earliest(&r.Until, t)
		}
	}
	if whole {
		r.Figures = append(r.Figures, m.Payer.Figures()...)
	}
	for _, h := range m.Heal {
		if c.Ended != nil {
			break
		}
		if whole {
			r.Figures = append(r.Figures, h.Plainly()...)
			r.Forecasts = append(r.Forecasts, h.Forecasts(asOf)...)
		}
		for _, t := range h.Changes(asOf) {
			state.Earliest(&r.Until, t)
		}
	}
	return r
}

// finding turns a rule's answer into a finding; c is nil for the rules about stock.
func finding(c *casebook.Case, o *rule.Outcome) Finding {
	f := Finding{Rule: o.Rule.ID, Area: o.Rule.Area, Level: o.Level(), State: o.State, Wound: o.Wound, Headline: o.Headline(),
		Do: o.Do(), Clears: o.Clears(), Source: o.Rule.Basis(), Why: []Why{}, acts: o.Acts()}
	for _, u := range o.Used() {
		f.Why = append(f.Why, Why{Words: u.Words, Value: u.Value, Entries: u.Entries})
	}
	for _, t := range o.Missing() {
		if !slices.Contains(f.Missing, t.Words) {
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
		if next, _, ok := state.NextVisit(c); ok {
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

// Figure returns the figure with the ID and wound.
func (r *Review) Figure(id, wound string) (state.Figure, bool) {
	for _, f := range r.Figures {
		if f.ID == id && f.Wound == wound {
			return f, true
		}
	}
	return state.Figure{}, false
}

// Forecast returns the forecast with the ID and wound.
func (r *Review) Forecast(id, wound string) (state.Forecast, bool) {
	for _, f := range r.Forecasts {
		if f.ID == id && f.Wound == wound {
			return f, true
		}
	}
	return state.Forecast{}, false
}
