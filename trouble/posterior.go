package trouble

// The answers to danger questions and to everything else that nobody could answer.
const (
	Yes     = "yes"
	No      = "no"
	Unknown = "unknown"
)

// What a check came to.
const (
	Fixed       = "fixed"
	NotFixed    = "not fixed"
	CouldNotDo  = "could not do"
	Said        = "said" // of a step for the patient: it was read out
	prefixCare  = "patient:"
	prefixLook  = "look:" // read out when nobody could answer
	prefixFirst = "danger:"
	// FillerOut is the step at the limit of time off; Visit is somebody who comes; End is the end of the call.
	FillerOut = "filler-out"
	Visit     = "visit"
	End       = "end"
)

// Outcome is what a check came to.
type Outcome struct {
	Check  string `json:"check"`
	Result string `json:"result"`
}

// Posterior is the chance of each cause, in the order of m.Causes, by eq. 1. Answers and checks that the model does not
// know, answers "unknown" and checks that could not be done change nothing. After a check that fixed it the chances are
// those of what it mended.
func (m *Model) Posterior(s State) []float64 {
	p := make([]float64, len(m.Causes))
	for i := range m.Causes {
		p[i] = m.Causes[i].Prior
	}
	for i := range m.Dangers {
		d := &m.Dangers[i]
		switch s.Danger[d.ID] {
		case Yes:
			m.scale(p, d.Chance)
		case No:
			m.scale(p, func(c string) float64 { return 1 - d.Chance(c) })
		}
	}
	dropped := m.replaced(s)
	for i := range m.Signs {
		g := &m.Signs[i]
		if a := g.Answer(s.Signs[g.ID]); a >= 0 && !dropped[g.ID] {
			m.scale(p, func(c string) float64 { return g.Chance(a, c) })
		}
	}
	for _, o := range s.Checks {
		c := m.Check(o.Check)
		if c == nil {
			continue
		}
		switch o.Result {
		case Fixed:
			m.scale(p, func(id string) float64 { return c.Finds[id] })
		case NotFixed:
			m.scale(p, func(id string) float64 { return 1 - c.Finds[id] })
		}
	}
	return p
}

// replaced are the signs that a better one which was answered stands for.
func (m *Model) replaced(s State) map[string]bool {
	out := map[string]bool{}
	for i := range m.Signs {
		if g := &m.Signs[i]; g.Answer(s.Signs[g.ID]) >= 0 {
			for _, r := range g.Replaces {
				out[r] = true
			}
		}
	}
	return out
}

// scale multiplies by the chance for each cause and norms. When nothing is left, as after a check that mends nothing the
// model knows and yet mended it, the chances stay as they were: "other" is what then was the matter, and the caller of
// [Model.Advise] names it.
func (m *Model) scale(p []float64, by func(cause string) float64) {
	sum := 0.0
	next := make([]float64, len(p))
	for i := range p {
		next[i] = p[i] * by(m.Causes[i].ID)
		sum += next[i]
	}
	if !(sum > 0) {
		return
	}
	for i := range p {
		p[i] = next[i] / sum
	}
}
