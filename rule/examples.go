package rule

import (
	"time"

	"lowtide/rule/value"
)

// CaseResult is one example case that was run.
type CaseResult struct {
	Rule *Rule
	Case Case
	// Got is the state with the values that the case was written for: the built-in ones, or for a case that came
	// with a local change the local ones.
	Got State
	// WithLocal is the state once every local change is in force.
	WithLocal State
}

// OK tells whether the rule does what its case says.
func (c CaseResult) OK() bool { return c.Got == c.Case.Want }

// Test runs every example case of every rule that is not withdrawn. Rules that are switched off are run too.
func (s *Set) Test() []CaseResult {
	var out []CaseResult
	j := newJudge()
	for _, r := range s.Rules() {
		list := r.editions()
		builtin, local := r.builtin(), list[len(list)-1]
		for _, c := range r.Cases {
			out = append(out, CaseResult{r, c, j.example(r, builtin, c), j.example(r, local, c)})
		}
		for _, v := range r.Values {
			if v.Change == nil {
				continue
			}
			for _, c := range v.Change.cases {
				if c.rule != r.ID {
					continue
				}
				got := j.example(r, local, c)
				out = append(out, CaseResult{r, c, got, got})
			}
		}
	}
	return out
}

// exampleNow is the instant at which examples are judged. Their times are relative, so that it does not matter.
var exampleNow = time.Date(2026, 3, 2, 9, 30, 0, 0, time.UTC)

func (j *judge) example(r *Rule, ed *edition, c Case) State {
	f := NewFacts(func(t time.Time) string { return t.Format("Mon 2 Jan 15:04") })
	ask := f
	if r.Scope != ScopeCase {
		ask = f.over(r.Scope, "example")
	}
	for name, v := range c.Facts {
		t := Vocabulary[index[name]]
		if h, ok := v.(float64); ok && t.Type == Time {
			v = exampleNow.Add(value.Span(h))
		}
		ask.layer(t.Scope).Set(name, v)
	}
	for _, l := range []*Facts{f, ask.pump, ask} {
		if l != nil {
			j.lay(l)
		}
	}
	defer j.clear()
	if ed.waits {
		return NotAsked
	}
	j.wipe(ed)
	state, _ := j.state(ed, exampleNow)
	return state
}
