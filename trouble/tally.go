package trouble

// Tried counts what a check came to when a cause was there.
type Tried struct{ Fixed, Not int }

// Tally counts ended calls: how often each cause was found, and what the checks came to for the cause that was found.
type Tally struct {
	Calls int
	Found map[string]int
	Tried map[string]map[string]Tried
}

// Ended is a call that ended with something found.
type Ended struct {
	Found  string
	Checks []Outcome
}

// Count adds one ended call. A call in which nothing was found is not counted, and a cause that the model does not know
// counts as "other".
func (t *Tally) Count(m *Model, e Ended) {
	if e.Found == "" {
		return
	}
	if m.Cause(e.Found) == nil {
		e.Found = "other"
	}
	if t.Found == nil {
		t.Found, t.Tried = map[string]int{}, map[string]map[string]Tried{}
	}
	t.Calls++
	t.Found[e.Found]++
	for _, o := range e.Checks {
		if m.Check(o.Check) == nil || o.Result != Fixed && o.Result != NotFixed {
			continue
		}
		if t.Tried[o.Check] == nil {
			t.Tried[o.Check] = map[string]Tried{}
		}
		n := t.Tried[o.Check][e.Found]
		if o.Result == Fixed {
			n.Fixed++
		} else {
			n.Not++
		}
		t.Tried[o.Check][e.Found] = n
	}
}

// Add adds another tally.
func (t *Tally) Add(u Tally) {
	if u.Calls == 0 {
		return
	}
	if t.Found == nil {
		t.Found, t.Tried = map[string]int{}, map[string]map[string]Tried{}
	}
	t.Calls += u.Calls
	for c, n := range u.Found {
		t.Found[c] += n
	}
	for check, by := range u.Tried {
		if t.Tried[check] == nil {
			t.Tried[check] = map[string]Tried{}
		}
		for c, n := range by {
			have := t.Tried[check][c]
			t.Tried[check][c] = Tried{have.Fixed + n.Fixed, have.Not + n.Not}
		}
	}
}

// Counted is the model with the local calls counted in. Each cause has a Beta prior with mean P and weight S (setting
// prior_calls): after n findings in N calls its chance is (S P + n) / (S + N). Together these are one Dirichlet prior, so
// they go on summing to 1. Causes that are always listed never get less likely than stated; what they need for that is
// taken from the others in proportion. A check's chance for a cause has a weight of its own (check_calls).
func (m *Model) Counted(t Tally) *Model {
	out := *m
	out.Calls = t.Calls
	out.tried = t.Tried
	out.Causes = append([]Cause(nil), m.Causes...)
	weight, n := m.Setting("prior_calls"), float64(t.Calls)
	for i := range out.Causes {
		c := &out.Causes[i]
		c.Found = t.Found[c.ID]
		c.Prior = (weight*c.Prior + float64(c.Found)) / (weight + n)
	}
	out.hold(m.Causes)
	out.Checks = append([]Check(nil), m.Checks...)
	w := m.Setting("check_calls")
	for i := range out.Checks {
		c := &out.Checks[i]
		by := t.Tried[c.ID]
		if len(by) == 0 {
			continue
		}
		finds := make(map[string]float64, len(c.Finds))
		for id, p := range c.Finds {
			x := by[id]
			finds[id] = (w*p + float64(x.Fixed)) / (w + float64(x.Fixed+x.Not))
		}
		// A cause that the check was not meant for and yet mended starts from nothing.
		for id, x := range by {
			if _, stated := c.Finds[id]; !stated && x.Fixed > 0 {
				finds[id] = float64(x.Fixed) / (w + float64(x.Fixed+x.Not))
			}
		}
		c.Finds = finds
	}
	return &out
}

// hold lifts the causes that are always listed to what was stated, and lowers the others to keep the sum at 1. Lowering
// can bring another one under what was stated: it is then held as well, so there are at most as many rounds as causes.
func (m *Model) hold(stated []Cause) {
	held := make([]bool, len(m.Causes))
	for range m.Causes {
		fixed, rest := 0.0, 0.0
		for i := range m.Causes {
			if held[i] {
				fixed += m.Causes[i].Prior
			} else {
				rest += m.Causes[i].Prior
			}
		}
		again := false
		for i := range m.Causes {
			if c := &m.Causes[i]; !held[i] {
				c.Prior *= (1 - fixed) / rest
			}
		}
		for i := range m.Causes {
			if c := &m.Causes[i]; !held[i] && c.Always && c.Prior < stated[i].Prior {
				c.Prior, held[i], again = stated[i].Prior, true, true
			}
		}
		if !again {
			return
		}
	}
}

// TriedFor is what was counted for a check and a cause.
func (m *Model) TriedFor(check, cause string) Tried { return m.tried[check][cause] }
