package trouble

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// small draws a model of independent single faults: each cause has one check of its own, which surely finds it, and the
// rest is for a visit.
func small(t *rapid.T, n int) (m *Model, p []float64) {
	m = &Model{}
	sum := 0.0
	for i := range n {
		id := string(rune('a' + i))
		w := rapid.Float64Range(0.01, 1).Draw(t, "weight")
		m.Causes = append(m.Causes, Cause{ID: id})
		m.Checks = append(m.Checks, Check{ID: "check-" + id, Minutes: rapid.Float64Range(0.2, 12).Draw(t, "minutes"), Finds: map[string]float64{id: 1}})
		p = append(p, w)
		sum += w
	}
	m.Causes = append(m.Causes, Cause{ID: "other"})
	w := rapid.Float64Range(0.01, 1).Draw(t, "leak")
	p, sum = append(p, w), sum+w
	for i := range p {
		p[i] /= sum
	}
	return m, p
}

// cheapest is the least expected minutes over every order of every subset of the checks, each sequence closed by a
// visit. It is written from the definition of expectation and shares no code with the planner: minutes are summed over
// which cause is the true one.
func cheapest(m *Model, p []float64, visit float64) float64 {
	best := math.Inf(1)
	var seq []int
	used := make([]bool, len(m.Checks))
	var walk func()
	walk = func() {
		total := 0.0
		for c := range m.Causes {
			id := m.Causes[c].ID
			reach, minutes := 1.0, 0.0
			for _, k := range seq {
				minutes += reach * m.Checks[k].Minutes
				reach *= 1 - m.Checks[k].Finds[id]
			}
			total += p[c] * (minutes + reach*visit)
		}
		best = math.Min(best, total)
		for k := range m.Checks {
			if !used[k] {
				used[k] = true
				seq = append(seq, k)
				walk()
				seq = seq[:len(seq)-1]
				used[k] = false
			}
		}
	}
	walk()
	return best
}

func all(m *Model) []int {
	out := make([]int, len(m.Checks))
	for i := range out {
		out[i] = i
	}
	return out
}

// TestLawGreedyIsOptimal: with independent single faults the order by chance over minutes, closed by a visit at the
// best place, costs what the best of all sequences costs.
func TestLawGreedyIsOptimal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, p := small(t, rapid.IntRange(1, 6).Draw(t, "causes"))
		visit := rapid.Float64Range(0.5, 120).Draw(t, "visit")
		_, got := m.planner(visit).plan(p, all(m))
		if want := cheapest(m, p, visit); math.Abs(got-want) > 1e-9*(1+want) {
			t.Fatalf("greedy %.12g, best of all %.12g", got, want)
		}
	})
}

// TestLawUnsureChecks: the same when checks find their cause only sometimes.
func TestLawUnsureChecks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, p := small(t, rapid.IntRange(1, 5).Draw(t, "causes"))
		for i := range m.Checks {
			for id := range m.Checks[i].Finds {
				m.Checks[i].Finds[id] = rapid.Float64Range(0.05, 1).Draw(t, "finds")
			}
		}
		visit := rapid.Float64Range(0.5, 120).Draw(t, "visit")
		_, got := m.planner(visit).plan(p, all(m))
		if want := cheapest(m, p, visit); math.Abs(got-want) > 1e-9*(1+want) {
			t.Fatalf("greedy %.12g, best of all %.12g", got, want)
		}
	})
}

// TestOverlapGap says how far the greedy order is from the best one where checks share causes, for which it is not
// proven: never better than the best, which is a check on the brute force too.
func TestOverlapGap(t *testing.T) {
	worst, sum, n := 0.0, 0.0, 0
	rapid.Check(t, func(t *rapid.T) {
		m, p := small(t, 5)
		for i := range m.Checks {
			for c := range m.Causes {
				if rapid.IntRange(0, 2).Draw(t, "share") == 0 {
					m.Checks[i].Finds[m.Causes[c].ID] = rapid.Float64Range(0.05, 0.95).Draw(t, "finds")
				}
			}
		}
		_, got := m.planner(60).plan(p, all(m))
		want := cheapest(m, p, 60)
		if got < want-1e-9 {
			t.Fatalf("greedy %.12g below the best of all %.12g", got, want)
		}
		gap := got/want - 1
		worst, sum, n = math.Max(worst, gap), sum+gap, n+1
	})
	t.Logf("checks that share causes: greedy above the best by %.2f %% in the mean, %.1f %% at worst, %d models", 100*sum/float64(n), 100*worst, n)
	if mean := sum / float64(n); mean > 0.02 {
		t.Errorf("greedy is %.1f %% above the best in the mean", 100*mean)
	}
}
