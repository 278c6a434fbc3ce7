package healing

import (
	"math"
	"sort"
)

// wildSet names at most two readings that count as wild, each by its place plus one; 0 is none.
type wildSet [2]int

func (w wildSet) has(j int) bool { return w[0] == j+1 || w[1] == j+1 }

func (w wildSet) len() int {
	n := 0
	for _, j := range w {
		if j > 0 {
			n++
		}
	}
	return n
}

// wildSets returns the sets of readings that may be wild: none, each suspect, and a pair. A small grid screens the
// suspects; the full grid then weighs the sets that it left (eq. 10).
func (f *Fit) wildSets(grid []config, readings []reading) []wildSet {
	sets := []wildSet{{}}
	n := len(readings)
	switch {
	case n < 2:
		return sets
	case n == 2:
		// Which of two is wrong nobody can tell; that one of them may be is weighed all the same.
		return append(sets, wildSet{1}, wildSet{2})
	}
	var small []config
	for _, c := range grid {
		if c.noise == noises[1].factor && math.IsNaN(c.changeWk) && (c.relaxWk == 3 || c.relaxWk == 10) && c.rate != f.prior.Fast {
			small = append(small, c)
		}
	}
	screen := func(wild wildSet) float64 {
		total := math.Inf(-1)
		for i := range small {
			ll, _ := f.run(&small[i], readings, wild, f.refWk(readings))
			total = logAdd(total, ll+small[i].logPrior)
		}
		return total
	}
	all := suspects(readings)
	odds := math.Log(f.prior.Wild / (1 - f.prior.Wild))
	none := screen(wildSet{})
	best, second, bestOdds, secondOdds := -1, -1, -4.0, -4.0
	for _, j := range all {
		switch o := screen(wildSet{j + 1}) + odds - none; {
		case o > bestOdds:
			second, secondOdds = best, bestOdds
			best, bestOdds = j, o
		case o > secondOdds:
			second, secondOdds = j, o
		}
	}
	if best < 0 {
		return sets
	}
	sets = append(sets, wildSet{best + 1})
	if second >= 0 {
		sets = append(sets, wildSet{second + 1})
	}
	if n < 5 || bestOdds < 1 {
		return sets
	}
	one := screen(wildSet{best + 1})
	pair, pairOdds := -1, -2.0
	for _, j := range all {
		if j == best {
			continue
		}
		if o := screen(wildSet{best + 1, j + 1}) + odds - one; o > pairOdds {
			pair, pairOdds = j, o
		}
	}
	if pair >= 0 {
		sets = append(sets, wildSet{best + 1, pair + 1})
	}
	return sets
}

// Up to screenAll readings every one is screened. Of more, the mostSuspects that lie farthest from their neighbours
// are: screening costs the square of the number otherwise.
const screenAll, mostSuspects = 64, 24

// suspects lists the readings, in their order, that are worth a screening.
func suspects(readings []reading) []int {
	n := len(readings)
	out := make([]int, n)
	for j := range out {
		out[j] = j
	}
	if n <= screenAll {
		return out
	}
	off := make([]float64, n)
	for j := range readings {
		var near []float64
		for k := max(0, j-2); k <= min(n-1, j+2); k++ {
			if k != j {
				near = append(near, readings[k].log)
			}
		}
		sort.Float64s(near)
		middle := (near[(len(near)-1)/2] + near[len(near)/2]) / 2
		off[j] = math.Abs(readings[j].log-middle) / readings[j].cv
	}
	sort.SliceStable(out, func(a, b int) bool { return off[out[a]] > off[out[b]] })
	out = out[:mostSuspects]
	sort.Ints(out)
	return out
}
