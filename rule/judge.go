package rule

import (
	"math"
	"time"

	"github.com/expr-lang/expr/vm"

	"lowtide/rule/value"
	"lowtide/unit"
)

// State is the answer of a rule.
type State string

// The states. NotAsked: the rule does not apply, or it is not known whether it does, or it is not in force.
const (
	Yes        State = "yes"
	No         State = "no"
	CannotTell State = "cannot tell"
	NotAsked   State = "not asked"
)

var states = []State{Yes, No, CannotTell, NotAsked}

// Judge asks every rule that is neither withdrawn nor switched off, in the order of [Set.Rules]: once for the case,
// or once for each wound, pump or canister in the order in which they were added to the facts.
func (s *Set) Judge(facts *Facts, now time.Time) []Outcome {
	if facts.base != nil {
		panic("rule: Judge needs the facts of a case, not of a " + string(facts.scope))
	}
	now = now.Round(0) // without the monotonic reading, which would not compare with recorded times
	j := s.scratch.Get().(*judge)
	defer s.scratch.Put(j)
	asked := map[Scope]int{ScopeCase: 1} // how often a rule of the scope is
	for _, f := range facts.under {
		asked[f.scope]++
	}
	total := 0
	for _, r := range s.asked {
		total += asked[r.Scope]
	}
	out := make([]Outcome, total)
	// One wound, pump or canister after the other, so that its terms are laid out once; each outcome goes to its place.
	nth := map[Scope]int{}
	for _, f := range append([]*Facts{facts}, facts.under...) {
		if f.pump != nil {
			j.lay(f.pump)
		}
		j.lay(f)
		place := 0
		for _, r := range s.asked {
			if r.Scope == f.scope {
				j.rule(&out[place+nth[f.scope]], r, f, now)
			}
			place += asked[r.Scope]
		}
		nth[f.scope]++
	}
	j.clear()
	return out
}

func sooner(a, b time.Time) time.Time {
	if a.IsZero() || (!b.IsZero() && b.Before(a)) {
		return b
	}
	return a
}

// judge is the scratch space of one evaluation.
type judge struct {
	machine vm.VM
	env     map[string]any // what the expression library sees: alias -> value
	facts   *Facts
	at      time.Time
	current *condition
	slate   [2]slate // of applies and of when
	on      *slate
	ask     func(int) truth
}

// slate keeps the leaves of one condition that were computed already.
type slate struct {
	value [maxLeaves]truth // unset, or the value; of a clock leaf: whether its edge is known
	edge  [maxLeaves]time.Time
}

const unset truth = -1

func newJudge() *judge {
	j := &judge{env: make(map[string]any, len(Vocabulary))}
	j.ask = j.leaf
	return j
}

// lay shows the values of a layer of facts to the expression library. Terms of an earlier wound, pump or canister that this one
// lacks stay in env and are never read: a leaf runs only when all its terms are known.
func (j *judge) lay(f *Facts) {
	j.facts = f
	for i := range Vocabulary {
		t := &Vocabulary[i]
		if t.Type == Time || t.Scope != f.scope {
			continue
		}
		if v := f.slots[slots[i]].value; v != nil {
			j.env[alias[i]] = v
		}
	}
}

func (j *judge) clear() {
	clear(j.env)
	j.facts, j.current, j.on = nil, nil, nil
}

// rule judges one rule, and finds the next instant at which the answer or its reasons differ.
func (j *judge) rule(out *Outcome, r *Rule, f *Facts, now time.Time) {
	*out = Outcome{Rule: r, State: NotAsked, facts: f, at: now}
	switch f.scope {
	case ScopeWound:
		out.Wound = f.of
	case ScopePump, ScopeCanister:
		out.Pump = f.of
	}
	for _, ed := range r.editions() {
		if now.Before(ed.from) {
			out.Until = ed.from
			return
		}
		if ed.until.IsZero() || now.Before(ed.until) {
			out.edition = ed
			break
		}
	}
	if out.edition == nil {
		return
	}
	if out.edition.waits {
		out.Until = out.edition.until
		return
	}
	j.wipe(out.edition)
	out.State, out.reasons = j.state(out.edition, now)
	out.Until = out.edition.until
	if out.edition.clocked {
		out.Until = sooner(j.nextChange(out), out.Until)
	}
}

func (j *judge) wipe(ed *edition) {
	for k, c := range []*condition{ed.applies, ed.when} {
		if c != nil {
			for i := range c.leaves {
				j.slate[k].value[i] = unset
			}
		}
	}
}

// state evaluates an edition at an instant, leaning on the leaves that were computed since wipe.
func (j *judge) state(ed *edition, at time.Time) (State, uint64) {
	j.at = at
	if ed.applies != nil {
		j.current, j.on = ed.applies, &j.slate[0]
		if ed.applies.root.value(j.ask) != yes {
			return NotAsked, 0
		}
	}
	j.current, j.on = ed.when, &j.slate[1]
	switch ed.when.root.value(j.ask) {
	case yes:
		return Yes, ed.when.root.reasons(j.ask)
	case no:
		return No, 0
	}
	return CannotTell, ed.when.root.reasons(j.ask)
}

// nextChange tries the edges of the clock leaves after now, soonest first. Between two edges nothing can change,
// because facts do not and every leaf is constant there.
func (j *judge) nextChange(out *Outcome) time.Time {
	at := out.at
	for {
		var next time.Time
		for k, c := range []*condition{out.edition.applies, out.edition.when} {
			if c == nil {
				continue
			}
			for i := range c.leaves {
				if c.leaves[i].clock == nil {
					continue
				}
				j.current, j.on = c, &j.slate[k]
				if edge, ok := j.change(i); ok && edge.After(at) {
					next = sooner(next, edge)
				}
			}
		}
		if next.IsZero() {
			return next
		}
		state, reasons := j.state(out.edition, next)
		if state != out.State || reasons != out.reasons {
			return next
		}
		at = next
	}
}

// leaf computes leaf i of the current condition at j.at.
func (j *judge) leaf(i int) truth {
	l := &j.current.leaves[i]
	v := j.on.value[i]
	if v == unset {
		v = j.compute(l, i)
		j.on.value[i] = v
	}
	if l.clock == nil || v == unknown {
		return v
	}
	c := j.at.Compare(j.on.edge[i])
	switch l.clock.op {
	case ">":
		return truthOf(c > 0)
	case ">=":
		return truthOf(c >= 0)
	case "<":
		return truthOf(c < 0)
	}
	return truthOf(c <= 0)
}

// change returns the first instant at which clock leaf i has its later answer.
func (j *judge) change(i int) (time.Time, bool) {
	if j.on.value[i] == unset {
		j.on.value[i] = j.compute(&j.current.leaves[i], i)
	}
	if j.on.value[i] == unknown {
		return time.Time{}, false
	}
	edge := j.on.edge[i]
	if op := j.current.leaves[i].clock.op; op == ">" || op == "<=" {
		edge = edge.Add(1)
	}
	return edge, true
}

// compute finds the value of a leaf that does not depend on the clock; of a clock leaf it finds the edge, and
// returns yes when there is one.
func (j *judge) compute(l *leaf, i int) truth {
	if l.asks {
		return truthOf(j.facts.at(l.terms[0]).value != nil)
	}
	for _, t := range l.terms {
		if j.facts.at(t).value == nil {
			return unknown
		}
	}
	switch {
	case l.fixed != nil:
		return *l.fixed
	case l.flag:
		return truthOf(j.facts.at(l.terms[0]).value.(bool))
	case l.clock != nil:
		h := l.clock.limitH
		if l.clock.program != nil {
			v, err := j.machine.Run(l.clock.program, j.env)
			x, ok := v.(float64)
			if err != nil || !ok || !(math.Abs(x) <= value.MaxHours) {
				return unknown
			}
			h = x
		}
		t := j.facts.at(l.clock.term).value.(time.Time)
		j.on.edge[i] = t.Round(0).Add(value.Span(l.clock.sign * h))
		return yes
	}
	v, err := j.machine.Run(l.program, j.env)
	b, ok := v.(bool)
	if err != nil || !ok {
		return unknown
	}
	return truthOf(b)
}

// hoursIn returns the hours in one unit of time.
func hoursIn(u string) (float64, bool) {
	if u == "" {
		return 0, false
	}
	h, err := unit.Convert(1, u, "h")
	return h, err == nil
}
