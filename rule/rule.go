package rule

import (
	"fmt"
	"strings"
	"time"
)

// Level is how soon a finding asks for something.
type Level string

// The levels, soonest first.
const (
	ActNow Level = "Act now"
	Today  Level = "Today"
	Plan   Level = "Plan"
	Note   Level = "Note"
)

// Levels lists the levels, soonest first.
var Levels = []Level{ActNow, Today, Plan, Note}

// Rank returns 0 for Act now up to 3 for Note, and 4 for anything else.
func (l Level) Rank() int { return rank(Levels, l) }

// Area groups rules on pages.
type Area string

// The areas in the order of pages.
const (
	AreaSigns     Area = "Danger signs"
	AreaCount     Area = "Filler count"
	AreaScreening Area = "Screening"
	AreaOrder     Area = "Order"
	AreaSuction   Area = "Suction"
	AreaCanister  Area = "Canister"
	AreaPower     Area = "Power"
	AreaVisits    Area = "Visits"
	AreaCalls     Area = "Calls"
	AreaStopping  Area = "Stopping"
	AreaRecord    Area = "Record"
	AreaStores    Area = "Stores"
	AreaPayer     Area = "Payer"
)

// Areas lists the areas in the order of pages.
var Areas = []Area{AreaSigns, AreaCount, AreaScreening, AreaOrder, AreaSuction, AreaCanister, AreaPower, AreaVisits, AreaCalls, AreaStopping,
	AreaRecord, AreaStores, AreaPayer}

// Rank returns the place of the area in the order of pages.
func (a Area) Rank() int { return rank(Areas, a) }

// Sure tells how surely a rule rests on its source.
type Sure string

// How surely a rule rests on its source.
const (
	Read       Sure = "P"  // read in the source or its abstract
	ReadSecond Sure = "P2" // read in a second source that quotes the first
	Computed   Sure = "C"  // arithmetic from stated inputs
	Memory     Sure = "M"  // from memory, not checked
)

// Words says it for a page.
func (s Sure) Words() string {
	switch s {
	case Read:
		return "read in the source"
	case ReadSecond:
		return "read in a second source that quotes it"
	case Computed:
		return "computed from stated inputs"
	case Memory:
		return "from memory"
	}
	return "not stated"
}

// The kinds of source.
var sourceKinds = []string{"regulator notice", "handbook", "guideline", "trial", "review", "standard", "payer policy",
	kindArithmetic, kindCommon, kindMemory}

const (
	kindCommon     = "common practice"
	kindMemory     = "memory"
	kindArithmetic = "arithmetic"
)

// Source is where a rule comes from.
type Source struct {
	ID    string `json:"id"`
	Title string `json:"title"`
	By    string `json:"by"`
	Year  int    `json:"year,omitempty"`
	Kind  string `json:"kind"`
	Note  string `json:"note,omitempty"`
	// Local tells that the source came with the local protocol.
	Local bool `json:"local,omitempty"`
}

// commonPractice is the ID of the source of rules that have none.
const commonPractice = "common-practice"

// published tells whether the source can be looked up: it has an author, a year and places within it.
func (s *Source) published() bool {
	return s.ID != commonPractice && s.Kind != kindMemory && s.Kind != kindArithmetic
}

// Value is a named constant of a rule as it holds once every local change is in force. [Outcome.Values] has those
// in force at an instant.
type Value struct {
	Name string `json:"name"`
	// Value is a float64, string, bool, []string or []float64.
	Value any    `json:"value"`
	Unit  string `json:"unit,omitempty"`
	Words string `json:"words"`
	// Unset tells that no source gives the value and that it is empty until a local protocol sets it; Value is nil then.
	// A rule is not asked while one of its values is empty. Example is what its example cases are run with.
	Unset   bool    `json:"unset,omitempty"`
	Example float64 `json:"example,omitempty"`
	// Local tells that a local protocol changed the value; Original is the built-in one and Change says who, why
	// and from when.
	Local    bool    `json:"local,omitempty"`
	Original any     `json:"original,omitempty"`
	Change   *Change `json:"change,omitempty"`
	// Shared tells that it is a value of the whole set, which other rules and computations use too: a [Shared].
	Shared bool `json:"shared,omitempty"`

	from, until time.Time
}

// String prints the value with its unit.
func (v Value) String() string { return printValue(v.Value, v.Unit) }

// OriginalString prints the built-in value with its unit.
func (v Value) OriginalString() string {
	if v.Local {
		return printValue(v.Original, v.Unit)
	}
	return v.String()
}

// LocalWords says how a local protocol changed the value, by whom, why and from when.
func (v Value) LocalWords() string {
	return fmt.Sprintf("%s: %s instead of %s, from %s, by %s: %s", v.Words, v, v.OriginalString(), v.Change.From.Format("2 Jan 2006"), v.Change.By, v.Change.Reason)
}

// Change is one changed value of a local protocol.
type Change struct {
	// Rule is empty for a shared value.
	Rule  string `json:"rule,omitempty"`
	Value string `json:"value"`
	// To is in the unit of the rule's own value, converted from the unit written in the protocol when they differ.
	To     any       `json:"to"`
	Reason string    `json:"reason"`
	By     string    `json:"by"`
	From   time.Time `json:"from"`

	cases []Case
}

// Off says why a local protocol switched a rule off.
type Off struct {
	Rule   string `json:"rule"`
	Reason string `json:"reason"`
	By     string `json:"by"`
}

// Withdrawn says when and why a rule was taken out of use. Its file and ID stay.
type Withdrawn struct {
	Date   time.Time `json:"date"`
	Reason string    `json:"reason"`
}

// Case is one example of a rule: facts in, state out. Times are in hours from now, minus = ago.
type Case struct {
	Name  string         `json:"name"`
	Want  State          `json:"want"`
	Facts map[string]any `json:"facts"`
	// Local tells that the case came with a local change and is run with the local values.
	Local bool `json:"local,omitempty"`

	rule string // whose case it is
}

// Rule is one rule of a [Set]. It is read-only.
type Rule struct {
	ID        string `json:"id"`
	Area      Area   `json:"area"`
	Title     string `json:"title"`
	Statement string `json:"statement"`
	Level     Level  `json:"level"`
	// UnknownLevel is the level of "cannot tell"; empty when the rule is never unknown.
	UnknownLevel Level  `json:"unknown_level,omitempty"`
	Scope        Scope  `json:"scope"`
	Applies      string `json:"applies,omitempty"`
	When         string `json:"when"`
	Headline     string `json:"headline"`
	CannotTell   string `json:"cannot_tell,omitempty"`
	Do           string `json:"do"`
	// Acts are what Do asks for, in the words of the plan.
	Acts     []Act  `json:"acts"`
	Due      string `json:"due,omitempty"`
	Clears   string `json:"clears"`
	SourceID string `json:"source"`
	Locator  string `json:"locator"`
	Sure     Sure   `json:"sure"`
	// From and Until are midnights UTC; a zero Until means "until further notice".
	From   time.Time `json:"from"`
	Until  time.Time `json:"until,omitzero"`
	Values []Value   `json:"values,omitempty"`
	Cases  []Case    `json:"cases"`
	// Local tells that the whole rule came with the local protocol.
	Local     bool       `json:"local,omitempty"`
	Off       *Off       `json:"off,omitempty"`
	Withdrawn *Withdrawn `json:"withdrawn,omitempty"`

	use    []string // the shared values among Values
	source *Source
	file   string
	made   *made
}

// Source returns the source of the rule.
func (r *Rule) Source() Source { return *r.source }

// Reads tells whether the rule asks for a term whose name begins with the prefix, such as "canister.".
func (r *Rule) Reads(prefix string) bool {
	for _, text := range []string{r.Applies, r.When} {
		for i := strings.Index(text, prefix); i >= 0; i = strings.Index(text, prefix) {
			if i == 0 || !strings.ContainsRune("abcdefghijklmnopqrstuvwxyz_.", rune(text[i-1])) {
				return true
			}
			text = text[i+len(prefix):]
		}
	}
	return false
}

// Changed tells whether a local protocol added the rule, switched it off, or changed one of its values.
func (r *Rule) Changed() bool {
	if r.Local || r.Off != nil {
		return true
	}
	for _, v := range r.Values {
		if v.Local {
			return true
		}
	}
	return false
}

// Basis prints what the rule rests on: source, locator and how surely, in words.
func (r *Rule) Basis() string { return basis(r.source, r.Locator, r.Sure) }

func basis(src *Source, locator string, sure Sure) string {
	var parts []string
	switch {
	case src.ID == commonPractice:
		parts = []string{"common practice, no published source"}
	case src.Kind == kindMemory:
		return "from memory"
	case src.published():
		parts = []string{fmt.Sprintf("%s (%d)", src.Title, src.Year)}
	default:
		parts = []string{src.Title}
	}
	if locator != "" && src.ID != commonPractice {
		parts[0] += ", " + locator
	}
	if src.Kind == kindCommon && src.ID != commonPractice {
		parts = append(parts, kindCommon)
	}
	if src.ID != commonPractice || sure == Memory {
		parts = append(parts, sure.Words())
	}
	return strings.Join(parts, "; ")
}

// StatementText prints the statement with the values in it.
func (r *Rule) StatementText() string {
	if r.Withdrawn != nil {
		return r.Statement
	}
	list := r.editions()
	ed := list[len(list)-1]
	return ed.statement.print(nil, ed)
}

func rank[T comparable](list []T, x T) int {
	for i, y := range list {
		if x == y {
			return i
		}
	}
	return len(list)
}
