package healing

import (
	"math"
	"sort"
)

// simplex searches the least value of f near start, by the rule of Nelder and Mead 1965 (Computer Journal 7:308) with
// reflection 1, expansion 2, contraction and shrinking 1/2. It ends when the values at the corners agree to tolerance, or
// the corners themselves to a part in 10⁹, where values differ by rounding only; or after most evaluations. ok is false
// for the last.
func simplex(f func([]float64) float64, start []float64, step, tolerance float64, most int) (x []float64, least float64, ok bool) {
	type corner struct {
		x []float64
		f float64
	}
	n, evaluations := len(start), 0
	at := func(x []float64) corner {
		evaluations++
		return corner{x, f(x)}
	}
	all := []corner{at(start)}
	for i := range n {
		x := append([]float64(nil), start...)
		x[i] += step
		all = append(all, at(x))
	}
	along := func(middle, from []float64, by float64) corner {
		x := make([]float64, n)
		for i := range x {
			x[i] = middle[i] + by*(from[i]-middle[i])
		}
		return at(x)
	}
	for evaluations < most {
		sort.SliceStable(all, func(i, j int) bool { return all[i].f < all[j].f })
		worst := &all[n]
		widest := 0.0
		for _, c := range all[1:] {
			for i, v := range c.x {
				widest = math.Max(widest, math.Abs(v-all[0].x[i])/(1+math.Abs(v)))
			}
		}
		if worst.f-all[0].f <= tolerance || widest < 1e-9 {
			return all[0].x, all[0].f, !math.IsInf(all[0].f, 0)
		}
		middle := make([]float64, n)
		for _, c := range all[:n] {
			for i, v := range c.x {
				middle[i] += v / float64(n)
			}
		}
		r := along(middle, worst.x, -1)
		switch {
		case r.f < all[0].f:
			if e := along(middle, worst.x, -2); e.f < r.f {
				r = e
			}
			*worst = r
			continue
		case r.f < all[n-1].f:
			*worst = r
			continue
		case r.f < worst.f:
			*worst = r
		}
		if c := along(middle, worst.x, 0.5); c.f < worst.f {
			*worst = c
			continue
		}
		for i := 1; i <= n; i++ {
			all[i] = along(all[0].x, all[i].x, 0.5)
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].f < all[j].f })
	return all[0].x, all[0].f, false
}
