package trouble

// planner holds what planning needs of a model, by place.
type planner struct {
	m *Model
	// finds[check][cause] is the chance that the check finds and mends the cause; answers[sign][answer][cause] that the
	// sign is answered so.
	finds   [][]float64
	answers [][][]float64
	visit   float64
}

func (m *Model) planner(visitMin float64) planner {
	pl := planner{m: m, visit: visitMin}
	for i := range m.Checks {
		row := make([]float64, len(m.Causes))
		for c := range m.Causes {
			row[c] = m.Checks[i].Finds[m.Causes[c].ID]
		}
		pl.finds = append(pl.finds, row)
	}
	for i := range m.Signs {
		g := &m.Signs[i]
		table := make([][]float64, len(g.Answers))
		for a := range table {
			table[a] = make([]float64, len(m.Causes))
			for c := range m.Causes {
				table[a][c] = g.Chance(a, m.Causes[c].ID)
			}
		}
		pl.answers = append(pl.answers, table)
	}
	return pl
}

// plan orders the checks that are left by chance over minutes, each time with what the failed ones before leave, and
// closes the sequence with a visit where that is best: eq. 2. It returns the places of the checks in m.Checks and the
// expected minutes to resolution. With equal ratios the one that stands first in the file comes first.
func (pl planner) plan(p []float64, left []int) (order []int, expect float64) {
	rest := append([]float64(nil), p...)
	open := append([]int(nil), left...)
	cost, remain := 0.0, 1.0
	best, keep := pl.visit, 0
	var all []int
	for len(open) > 0 {
		at, ratio, hit := -1, 0.0, 0.0
		for k, i := range open {
			h := 0.0
			for c, s := range pl.finds[i] {
				h += rest[c] * s
			}
			if r := h / pl.m.Checks[i].Minutes; r > ratio*(1+1e-12) {
				at, ratio, hit = k, r, h
			}
		}
		if at < 0 {
			break // none of them can find anything that is left
		}
		i := open[at]
		open = append(open[:at], open[at+1:]...)
		all = append(all, i)
		cost += pl.m.Checks[i].Minutes * remain
		for c, s := range pl.finds[i] {
			rest[c] *= 1 - s
		}
		remain -= hit
		if e := cost + max(remain, 0)*pl.visit; e < best {
			best, keep = e, len(all)
		}
	}
	return all[:keep], best
}

// question is what asking a sign would be worth.
type question struct {
	sign int
	// saves is how many minutes less are expected after it, before its own are counted.
	saves float64
}

// ask finds the question with the best gain for its minutes, among those that save more than they take: eq. 3. ok is
// false when none does. now is what is expected without asking.
func (pl planner) ask(p []float64, s State, left []int, now float64) (best question, ok bool) {
	rate := 1.0
	q := make([]float64, len(p))
	for i := range pl.m.Signs {
		g := &pl.m.Signs[i]
		if g.Ask == "" || s.Signs[g.ID] != "" {
			continue
		}
		after := 0.0
		for _, chance := range pl.answers[i] {
			pa := 0.0
			for c := range q {
				q[c] = p[c] * chance[c]
				pa += q[c]
			}
			for c := range q {
				q[c] /= pa
			}
			_, e := pl.plan(q, left)
			after += pa * e
		}
		if saves := now - after; saves/g.Minutes > rate*(1+1e-12) {
			best, ok, rate = question{i, saves}, true, saves/g.Minutes
		}
	}
	return best, ok
}

// left are the checks that were not tried yet.
func (m *Model) left(s State) []int {
	done := map[string]bool{}
	for _, o := range s.Checks {
		done[o.Check] = true
	}
	var out []int
	for i := range m.Checks {
		if !done[m.Checks[i].ID] {
			out = append(out, i)
		}
	}
	return out
}

// Plan is the order of the checks that are left with the expected minutes to resolution, when nothing more is asked:
// eq. 2. State.VisitMin must be above 0.
func (m *Model) Plan(s State) (order []string, minutes float64) {
	places, minutes := m.planner(s.VisitMin).plan(m.Posterior(s), m.left(s))
	for _, i := range places {
		order = append(order, m.Checks[i].ID)
	}
	return order, minutes
}
