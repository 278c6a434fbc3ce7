package review

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"time"

	"lowtide/rule"
	"lowtide/state"
)

// Version is the version that a sign-off names. It changes whenever the same entries may give another review.
const Version = "lowtide 0.9"

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

// Of judges a state by the rules: each once for the case, or once for each of its wounds, pumps or canisters.
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
		Pump:     func(name string) state.Sink { return f.Pump(name).Set },
		Canister: func(pump string) state.Sink { return f.Canister(pump).Set }})
	return f
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

// CallCase is what the case brings into a call, with what its plan bars.
func (r *Review) CallCase(m *state.CallModel) state.CallCase {
	k := r.State.CallCase(m)
	k.SuctionWaits, k.DressingStays = r.Bars("restore-suction"), r.Bars("dressing-off")
	return k
}
