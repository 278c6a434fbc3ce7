package route

import "math"

// Bound returns a cost that no plan of the problem can go below (eq. 4 in docs/model/route.md).
//
// Every stop has one that comes before it and one that goes after it, or is left out. Of all ways to choose them, tours
// or not, an assignment finds the cheapest; an arc counts with its least travel and the least entry of the cost table
// over the shifts that may hold both ends in that order. Uneven work is bounded from below by even work, and that by its
// tangent at all work that there is. Wake is left out. The bound is weak where windows are wide.
func Bound(p *Problem) float64 {
	if bad := p.Check(); len(bad) > 0 {
		panic("route: " + bad[0])
	}
	f := newFrame(p, 1)
	n, m := f.n, len(p.Shifts)
	if n == 0 || m == 0 {
		sum := 0.0
		for _, v := range f.miss {
			sum += v
		}
		return sum
	}
	size := n + m
	work, hours := 0.0, 0.0
	for _, h := range f.hours {
		hours += h
	}
	for _, s := range f.serve[:n] {
		work += s
	}
	slope, off := 0.0, 0.0
	if p.Fair > 0 && hours > 0 {
		slope, off = 2*p.Fair*work/hours, p.Fair*work*work/hours
	}
	inf := math.Inf(1)
	arc := make([]float64, size*size)
	for i := range arc {
		arc[i] = inf
	}
	low := func(i, j int, c float64) {
		if c < arc[i*size+j] {
			arc[i*size+j] = c
		}
	}
	none := f.empty()
	for r := range p.Shifts {
		sh := &p.Shifts[r]
		T, P, K, k := p.Times[sh.Band], p.Places, f.days, sh.Kind
		low(n+r, n+r, 0)
		var in []int
		for v := range n {
			if f.best(none, v, r, 0).tour >= 0 {
				in = append(in, v)
			}
		}
		for _, v := range in {
			c := 0.0
			if f.cost != nil {
				c = f.cost[v*m+r]
			}
			c += slope * f.serve[v]
			pv := int(f.place[v])
			low(n+r, v, c+(1+slope)*T[sh.From*P+pv])
			low(v, n+r, (1+slope)*T[pv*P+sh.To])
			for _, u := range in {
				leg := T[int(f.place[u])*P+pv]
				if u != v && max(f.open[u*K+k], sh.Open+T[sh.From*P+int(f.place[u])])+f.serve[u]+leg <= f.shut[v*K+k]+slack {
					low(u, v, c+(1+slope)*leg)
				}
			}
		}
	}
	for v := range n {
		low(v, v, f.miss[v])
	}
	// The end of any shift may follow the start of any other: an unused shift costs nothing, and one end is as near as
	// the nearest.
	for r := range m {
		for q := range m {
			low(n+r, n+q, 0)
		}
	}
	return assign(arc, size) - off
}

// assign is the least sum of one entry a row and column (Kuhn 1955, Munkres 1957, by shortest augmenting paths). Some
// finite choice must exist.
func assign(cost []float64, n int) float64 {
	u, v := make([]float64, n+1), make([]float64, n+1)
	row, way := make([]int, n+1), make([]int, n+1) // row of each column, 1-based
	for i := 1; i <= n; i++ {
		row[0] = i
		j0 := 0
		least, used := make([]float64, n+1), make([]bool, n+1)
		for j := range least {
			least[j] = math.Inf(1)
		}
		for {
			used[j0] = true
			i0, j1, d := row[j0], 0, math.Inf(1)
			for j := 1; j <= n; j++ {
				if used[j] {
					continue
				}
				if c := cost[(i0-1)*n+j-1] - u[i0] - v[j]; c < least[j] {
					least[j], way[j] = c, j0
				}
				if least[j] < d {
					d, j1 = least[j], j
				}
			}
			for j := range used {
				if used[j] {
					u[row[j]] += d
					v[j] -= d
				} else {
					least[j] -= d
				}
			}
			j0 = j1
			if row[j0] == 0 {
				break
			}
		}
		for j0 != 0 {
			j1 := way[j0]
			row[j0] = row[j1]
			j0 = j1
		}
	}
	sum := 0.0
	for j := 1; j <= n; j++ {
		sum += cost[(row[j]-1)*n+j-1]
	}
	return sum
}
