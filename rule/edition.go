package rule

import (
	"fmt"
	"sort"
	"sync"
	"time"
)

// edition is a rule as it holds from one instant to another, with its constants filled in.
type edition struct {
	from, until   time.Time // a zero until means no end
	values        map[string]constant
	applies, when *condition // applies may be nil
	due           *due
	clocked       bool // some leaf depends on the clock
	waits         bool // some value is empty until a local protocol sets it: the rule is not asked

	statement, headline, cannotTell, do, clears text
}

// made are the editions of a rule. Those of the rules that come with the program are made when they are first asked for:
// a test compiles them all.
type made struct {
	once sync.Once
	list []*edition
}

func madeOf(list []*edition) *made {
	m := &made{list: list}
	m.once.Do(func() {})
	return m
}

// editions are the rule as it holds from one date to another.
func (r *Rule) editions() []*edition {
	r.made.once.Do(func() {
		var found Problems
		if r.made.list = r.compiled(&found); len(found) > 0 {
			panic("rule: a rule that was checked is broken: " + found.Error())
		}
	})
	return r.made.list
}

// compile checks the expressions and texts of a rule and makes its editions now.
func (r *Rule) compile(found *Problems) { r.made = madeOf(r.compiled(found)) }

func (r *Rule) compiled(found *Problems) (out []*edition) {
	starts := []time.Time{r.From}
	for _, v := range r.Values {
		if v.Change != nil && v.Change.From.After(r.From) {
			starts = append(starts, v.Change.From)
		}
	}
	sort.Slice(starts, func(i, j int) bool { return starts[i].Before(starts[j]) })
	for i, from := range starts {
		if i > 0 && from.Equal(starts[i-1]) {
			continue
		}
		ed := r.edition(from, found)
		if n := len(out); n > 0 {
			out[n-1].until = from
		} else {
			r.check(ed, found)
		}
		ed.until = r.Until
		out = append(out, ed)
	}
	return out
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
	ed := r.editionOf(r.valuesAt(r.From, true), r.From, &found)
	ed.waits = false // the cases are run with the example values
	return ed
}

func (r *Rule) editionOf(values map[string]constant, from time.Time, found *Problems) *edition {
	key := ""
	c := &compiler{scope: r.Scope, values: map[string]constant{}, used: map[string]bool{}}
	c.say = func(what, remedy string) { *found = append(*found, Problem{r.file, key, what, remedy}) }
	ed := &edition{from: from, values: values}
	for _, v := range r.Values {
		k := values[v.Name]
		if v.Unset && k.value == nil {
			ed.waits = true
			k.value = v.Example // so that the expressions are checked all the same
		}
		c.values[v.Name] = k
	}
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
