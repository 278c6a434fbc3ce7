package rule

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"sort"
	"strings"
	"sync"
	"time"
)

// Set is a checked pack of rules, with a local protocol laid over it if there is one. It does not change, and may
// be used from several goroutines at once.
type Set struct {
	// Protocol is the name of the local protocol, empty without one.
	Protocol string

	rules   []*Rule // by area, then ID; withdrawn ones too
	sources []*Source
	hash    string
	scratch sync.Pool

	asked                 []*Rule // neither withdrawn nor off
	caseRules, woundRules int
}

// Rules returns the rules by area, then ID. Those that a local protocol switched off are among them, with Off set;
// withdrawn ones are not.
func (s *Set) Rules() []*Rule {
	var out []*Rule
	for _, r := range s.rules {
		if r.Withdrawn == nil {
			out = append(out, r)
		}
	}
	return out
}

// Withdrawn returns the rules that were taken out of use.
func (s *Set) Withdrawn() []*Rule {
	var out []*Rule
	for _, r := range s.rules {
		if r.Withdrawn != nil {
			out = append(out, r)
		}
	}
	return out
}

// Rule returns the rule with that ID, withdrawn or not, or nil.
func (s *Set) Rule(id string) *Rule {
	for _, r := range s.rules {
		if r.ID == id {
			return r
		}
	}
	return nil
}

// Sources returns the sources by ID.
func (s *Set) Sources() []Source {
	out := make([]Source, len(s.sources))
	for i := range s.sources {
		out[i] = *s.sources[i]
	}
	return out
}

// Hash is the SHA-256, in hexadecimal, over the canonical content of the set: every rule and source with the local
// changes in it, as JSON in the order of the set. The layout of files and of TOML does not enter.
func (s *Set) Hash() string { return s.hash }

// edition is a rule as it holds from one instant to another, with its constants filled in.
type edition struct {
	from, until   time.Time // a zero until means no end
	values        map[string]constant
	applies, when *condition // applies may be nil
	due           *due
	clocked       bool // some leaf depends on the clock

	statement, headline, cannotTell, do, clears text
}

// link checks what needs more than one file, and compiles every rule.
func (s *Set) link(found *Problems) {
	sources := map[string]*Source{}
	used := map[string]bool{}
	for _, src := range s.sources {
		if sources[src.ID] != nil {
			*found = append(*found, Problem{"source/" + src.ID + ".toml", "id", "there are two sources with this ID", "rename one"})
		}
		sources[src.ID] = src
	}
	files := map[string]string{}
	for _, r := range s.rules {
		if other, twice := files[r.ID]; twice && r.ID != "" {
			*found = append(*found, Problem{r.file, "id", r.ID + " is also in " + other, "IDs are never reused; take the next number"})
		}
		files[r.ID] = r.file
		used[r.SourceID] = true
		if r.source = sources[r.SourceID]; r.source == nil && r.SourceID != "" {
			*found = append(*found, Problem{r.file, "source", "there is no source " + r.SourceID, "add source/" + r.SourceID + ".toml or correct the name"})
		}
		if src := r.source; src != nil && r.Locator == "" && src.published() {
			*found = append(*found, Problem{r.file, "locator", "is missing", "say where in the source: chapter, table, section"})
		}
		if r.editions == nil && r.Withdrawn == nil { // a withdrawn rule may use terms that are gone
			r.compile(found)
		}
	}
	for _, src := range s.sources {
		if src.ID != "" && !used[src.ID] {
			*found = append(*found, Problem{"source/" + src.ID + ".toml", "", "no rule rests on this source", "take it out or cite it"})
		}
	}
}

// finish sorts and hashes a set that has no problems.
func (s *Set) finish() {
	sort.Slice(s.rules, func(i, j int) bool {
		a, b := s.rules[i], s.rules[j]
		if x, y := rank(Areas, a.Area), rank(Areas, b.Area); x != y {
			return x < y
		}
		return a.ID < b.ID
	})
	sort.Slice(s.sources, func(i, j int) bool { return s.sources[i].ID < s.sources[j].ID })
	raw, err := json.Marshal(struct {
		Protocol string
		Rules    []*Rule
		Sources  []*Source
	}{s.Protocol, s.rules, s.sources})
	if err != nil {
		panic("rule: a checked set has no JSON: " + err.Error())
	}
	sum := sha256.Sum256(raw)
	s.hash = hex.EncodeToString(sum[:])
	for _, r := range s.rules {
		if r.Withdrawn != nil || r.Off != nil {
			continue
		}
		s.asked = append(s.asked, r)
		if r.Scope == ScopeWound {
			s.woundRules++
		} else {
			s.caseRules++
		}
	}
	s.scratch.New = func() any { return newJudge() }
}

// compile checks the expressions and texts of a rule and makes its editions.
func (r *Rule) compile(found *Problems) {
	starts := []time.Time{r.From}
	for _, v := range r.Values {
		if v.Change != nil && v.Change.From.After(r.From) {
			starts = append(starts, v.Change.From)
		}
	}
	sort.Slice(starts, func(i, j int) bool { return starts[i].Before(starts[j]) })
	r.editions = nil
	for i, from := range starts {
		if i > 0 && from.Equal(starts[i-1]) {
			continue
		}
		ed := r.edition(from, found)
		if n := len(r.editions); n > 0 {
			r.editions[n-1].until = from
		} else {
			r.check(ed, found)
		}
		ed.until = r.Until
		r.editions = append(r.editions, ed)
	}
}

// valuesAt returns the constants in force at an instant; builtin leaves local changes out.
func (r *Rule) valuesAt(at time.Time, builtin bool) map[string]constant {
	out := make(map[string]constant, len(r.Values))
	for _, v := range r.Values {
		out[v.Name] = constant{v.Value, v.Unit}
		if v.Local && (builtin || at.Before(v.Change.From)) {
			out[v.Name] = constant{v.Original, v.Unit}
		}
	}
	return out
}

func (r *Rule) edition(from time.Time, found *Problems) *edition {
	return r.editionOf(r.valuesAt(from, false), from, found)
}

// builtin returns the rule without local changes, for its own example cases.
func (r *Rule) builtin() *edition {
	var found Problems
	return r.editionOf(r.valuesAt(r.From, true), r.From, &found)
}

func (r *Rule) editionOf(values map[string]constant, from time.Time, found *Problems) *edition {
	key := ""
	c := &compiler{scope: r.Scope, values: values, used: map[string]bool{}}
	c.say = func(what, remedy string) { *found = append(*found, Problem{r.file, key, what, remedy}) }
	ed := &edition{from: from, values: c.values}
	if r.Applies != "" {
		key = "applies"
		ed.applies = c.compile(r.Applies)
	}
	if r.When != "" {
		key = "when"
		ed.when = c.compile(r.When)
	}
	ed.clocked = ed.applies.clocked() || ed.when.clocked()
	if r.Due != "" {
		key = "due"
		ed.due = c.parseDue(r.Due)
	}
	for _, t := range []struct {
		key, text string
		into      *text
	}{{"statement", r.Statement, &ed.statement}, {"headline", r.Headline, &ed.headline},
		{"cannot_tell", r.CannotTell, &ed.cannotTell}, {"do", r.Do, &ed.do}, {"clears", r.Clears, &ed.clears}} {
		key = t.key
		*t.into = c.parseText(t.text)
	}
	for i, v := range r.Values {
		if v.Name != "" && !c.used[v.Name] {
			key = fmt.Sprintf("value[%d].name", i+1)
			c.say(v.Name+" is used nowhere in the rule", "use it or take it out")
		}
	}
	return ed
}

// check asks for the example cases and for the texts of "cannot tell".
func (r *Rule) check(ed *edition, found *Problems) {
	say := func(key, what, remedy string) { *found = append(*found, Problem{r.file, key, what, remedy}) }
	wants := map[State]bool{}
	for _, c := range r.Cases {
		wants[c.Want] = true
	}
	for _, w := range []State{Yes, No} {
		if !wants[w] {
			say("case", fmt.Sprintf("no case wants %q", w), "add one just beyond the limit and one just before it")
		}
	}
	if ed.when == nil || (r.Applies != "" && ed.applies == nil) {
		return
	}
	if ed.mayBeUnknown() {
		if r.UnknownLevel == "" {
			say("unknown_level", "is missing, and the rule can be unknown", "write the level of \"cannot tell\", or guard the terms with known(TERM) in applies")
		}
		if r.CannotTell == "" {
			say("cannot_tell", "is missing, and the rule can be unknown", "write what cannot be told and which entry is missing")
		}
		if !wants[CannotTell] {
			say("case", "no case wants \"cannot tell\", and the rule can be unknown", "add one with the input missing")
		}
	}
}

// maxGuards bounds the terms whose being known or not is tried in every combination.
const maxGuards = 12

// mayBeUnknown tells whether the rule can be asked and yet have no answer. Terms that applies uses, or that known()
// asks for, are tried both ways; above maxGuards of them the answer errs towards yes.
func (ed *edition) mayBeUnknown() bool {
	guards := map[int]bool{}
	for _, c := range []*condition{ed.applies, ed.when} {
		if c == nil {
			continue
		}
		for _, l := range c.leaves {
			for _, t := range l.terms {
				if l.asks || c == ed.applies {
					guards[t] = true
				}
			}
		}
	}
	order := make([]int, 0, len(guards))
	for t := range guards {
		order = append(order, t)
	}
	sort.Ints(order)
	if len(order) > maxGuards {
		order = order[:maxGuards]
	}
	for set := range 1 << len(order) {
		known := map[int]bool{}
		for i, t := range order {
			known[t] = set&(1<<i) != 0
		}
		if ed.applies != nil && ed.applies.possible(known)&mayYes == 0 {
			continue
		}
		if ed.when.possible(known)&mayUnknown != 0 {
			return true
		}
	}
	return false
}

func (c *condition) clocked() bool {
	if c == nil {
		return false
	}
	for i := range c.leaves {
		if c.leaves[i].clock != nil {
			return true
		}
	}
	return false
}

// possible returns what a condition may be when it is settled for some terms whether they are known.
func (c *condition) possible(known map[int]bool) possible {
	return c.root.possible(func(i int) possible {
		l := &c.leaves[i]
		if l.fixed != nil {
			return 1 << *l.fixed
		}
		var set possible = mayNo | mayYes
		for _, t := range l.terms {
			k, settled := known[t]
			switch {
			case l.asks && settled:
				return 1 << truthOf(k)
			case l.asks:
			case settled && !k:
				return mayUnknown
			case !settled:
				set |= mayUnknown
			}
		}
		return set
	})
}

// due is a term of type time, plus or minus a span of hours.
type due struct {
	term  int
	sign  float64
	hours float64 // constant span
	span  int     // term that gives the span, or -1
	unitH float64 // hours in one unit of that term
}

// parseDue reads "TERM", "TERM + SPAN" or "TERM - SPAN", SPAN a value or a number term in a unit of time.
func (c *compiler) parseDue(s string) *due {
	parts := strings.Fields(strings.NewReplacer("+", " + ", "-", " - ").Replace(s))
	if len(parts) != 1 && (len(parts) != 3 || (parts[1] != "+" && parts[1] != "-")) {
		c.say(fmt.Sprintf("%q is not a due time", s), "write TERM, TERM + SPAN or TERM - SPAN")
		return nil
	}
	i, ok := c.find(parts[0])
	if !ok {
		return nil
	}
	if Vocabulary[i].Type != Time {
		c.say(parts[0]+" is a "+string(Vocabulary[i].Type), "start with a term that is a time")
		return nil
	}
	d := &due{term: i, span: -1, sign: 1}
	if len(parts) == 1 {
		return d
	}
	if parts[1] == "-" {
		d.sign = -1
	}
	var u string
	if v, ok := c.values[parts[2]]; ok {
		c.used[parts[2]] = true
		d.hours, _ = v.value.(float64)
		u = v.unit
	} else if strings.Contains(parts[2], ".") {
		if d.span, ok = c.find(parts[2]); !ok {
			return nil
		}
		u = Vocabulary[d.span].Unit
	} else {
		c.say("there is no value "+parts[2], "add a [[value]] of that name")
		return nil
	}
	d.unitH, ok = hoursIn(u)
	d.hours *= d.unitH
	if !ok || d.hours > maxLimitH || d.hours < -maxLimitH {
		c.say(parts[2]+" is not a span of time", "give it in h or d")
		return nil
	}
	return d
}
