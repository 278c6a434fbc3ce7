package review

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"slices"
	"sort"
	"time"

	"lowtide/casebook"
	"lowtide/rule"
	"lowtide/state"
)

// Version is the version that a sign-off names. It changes whenever the same entries may give another review.
const Version = "lowtide 0.8"

// Review is everything that Lowtide says about one case at one instant.
type Review struct {
	// State is what was judged; who shows a review shows it, too.
	State *state.State `json:"-"`
	rules *rule.Set

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
	Asked []state.Question `json:"asked,omitempty"`
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
	// ByFile are the orders and signatures that it rests on which came by file and which nobody here has taken over.
	ByFile []string `json:"by_file,omitempty"`
	// Told is who was told of it, if a note says so; the finding stays until what it rests on changes.
	Told *Told `json:"told,omitempty"`

	acts    []rule.Act // what it asks for
	missing []string   // the terms whose words Missing has
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

// Of judges a state by the rules: each once for the case, or once for each of its wounds or canisters.
func Of(s *state.State, rules *rule.Set) *Review {
	r := &Review{State: s, rules: rules, Case: s.Case.ID, Head: s.Case.Head, AsOf: s.AsOf.UTC(), Rules: rules.Hash(), List: s.Equipment.Hash, Program: Version, Protocol: rules.Protocol,
		Person: s.Person, Therapy: s.Therapy, Findings: []Finding{}, Until: s.Until()}
	if s.Recalls != nil {
		r.Recalls = s.Recalls.Head
	}
	outcomes := rules.Judge(factsOf(s), s.AsOf)
	for i := range outcomes {
		o := &outcomes[i]
		state.Earliest(&r.Until, o.Until)
		if o.State == rule.Yes || o.State == rule.CannotTell {
			r.Findings = append(r.Findings, findingOf(s.Case, o))
		}
	}
	r.Asked = s.Asked
	r.byOtherCorrections()
	SortFindings(r.Findings)
	r.Plan = planOf(r.Findings, planState{off: s.Suction.Doing.IsOff(), ran: s.Suction.Ran, many: len(s.Case.Wounds) > 1, asOf: s.AsOf, zone: s.Case.Zone})
	return r
}

// factsOf gives rules what a state tells.
func factsOf(s *state.State) *rule.Facts {
	f := rule.NewFacts(s.Clock)
	s.Facts(state.Terms{Case: f.Set,
		Wound:    func(name string) state.Sink { return f.Wound(name).Set },
		Canister: func(pump string) state.Sink { return f.Canister(pump).Set }})
	return f
}

// findingOf says in its first words whose canister it is about, where there are several.
func findingOf(c *casebook.Case, o *rule.Outcome) Finding {
	f := finding(c, o)
	if o.Pump != "" {
		f.Pump, f.Headline = o.Pump, "Pump "+o.Pump+": "+f.Headline
	}
	return f
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
			f.Missing, f.missing = append(f.Missing, t.Words), append(f.missing, t.Name)
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
	if c != nil {
		f.byFile(c)
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

// Figures are the numbers beside the findings, worked out when they are asked for first.
func (r *Review) Figures() []state.Figure {
	if r.State == nil {
		return nil
	}
	return r.State.Figures()
}

// Forecasts are what is expected, worked out when they are asked for first.
func (r *Review) Forecasts() []state.Forecast {
	if r.State == nil {
		return nil
	}
	return r.State.Forecasts()
}

// MarshalJSON prints the review with its figures and forecasts.
func (r *Review) MarshalJSON() ([]byte, error) {
	type judged Review
	return json.Marshal(struct {
		*judged
		Figures   []state.Figure   `json:"figures"`
		Forecasts []state.Forecast `json:"forecasts"`
	}{(*judged)(r), r.Figures(), r.Forecasts()})
}

// Figure returns the figure with the ID and wound.
func (r *Review) Figure(id, wound string) (state.Figure, bool) {
	for _, f := range r.Figures() {
		if f.ID == id && f.Wound == wound {
			return f, true
		}
	}
	return state.Figure{}, false
}

// Forecast returns the forecast with the ID and wound.
func (r *Review) Forecast(id, wound string) (state.Forecast, bool) {
	for _, f := range r.Forecasts() {
		if f.ID == id && f.Wound == wound {
			return f, true
		}
	}
	return state.Forecast{}, false
}
