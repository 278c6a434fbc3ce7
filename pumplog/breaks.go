package pumplog

import (
	"math"
	"time"
)

// Break is a step in a series: Index is the first point after it.
type Break struct {
	Index         int     `json:"index"`
	Before, After float64 `json:"-"`
}

// leastStep is how many standard errors a step must have.
const leastStep = 4.5

// Breaks divides a series into parts of constant mean.
//
//	minimise  Σ_parts Σ (y − mean)²  over all divisions into m+1 parts of at least h points   (dynamic programming)
//	choose m  by BIC(m) = n (ln RSS/n + ln 2π + 1) + ln n · (2m + 2)
//
// and then, while a step is smaller than 4.5 standard errors, take the smallest away. The standard error counts that
// neighbouring points of a log are alike: the number of independent points is n (1−ρ)/(1+ρ), ρ the correlation of
// neighbours within parts. least is h, at least 2; most bounds m. n above 2000 is refused with none, for the cost grows
// with n².
//
// Source: Bai and Perron 2003 (J Appl Econometrics 18:1) for the division and BIC as in R's strucchange; the last step
// is our own. Checked: Nile flow and US ex-post real interest rate against strucchange 1.5-3, testdata/ref/strucchange.
func Breaks(y []float64, least, most int) []Break {
	n := len(y)
	least = max(2, least)
	if n < 2*least || n > 2000 || most < 1 {
		return nil
	}
	div := divide(y, least, most)
	cut := div.best()
	for len(cut) > 0 {
		k, z := weakest(y, cut)
		if z >= leastStep {
			break
		}
		cut = append(append([]int(nil), cut[:k]...), cut[k+1:]...)
	}
	out := make([]Break, len(cut))
	for i := range cut {
		a, z := 0, n
		if i > 0 {
			a = cut[i-1]
		}
		if i+1 < len(cut) {
			z = cut[i+1]
		}
		out[i] = Break{cut[i], mean(y[a:cut[i]]), mean(y[cut[i]:z])}
	}
	return out
}

// division holds the least sums of squares for each number of breaks.
type division struct {
	n, least int
	sum, sq  []float64
	rss      []float64 // by number of breaks
	cuts     [][]int
}

func divide(y []float64, least, most int) *division {
	n := len(y)
	d := &division{n: n, least: least, sum: make([]float64, n+1), sq: make([]float64, n+1)}
	mid := mean(y) // keeps the sums small
	for i, v := range y {
		d.sum[i+1], d.sq[i+1] = d.sum[i]+v-mid, d.sq[i]+(v-mid)*(v-mid)
	}
	cost := make([]float64, n+1)
	for e := range cost {
		cost[e] = d.cost(0, e)
	}
	d.rss, d.cuts = []float64{cost[n]}, [][]int{nil}
	var back [][]int
	for m := 1; m <= most && (m+1)*least <= n; m++ {
		next, from := make([]float64, n+1), make([]int, n+1)
		for e := range next {
			next[e] = math.Inf(1)
		}
		for e := (m + 1) * least; e <= n; e++ {
			for c := m * least; c <= e-least; c++ {
				if v := cost[c] + d.cost(c, e); v < next[e] {
					next[e], from[e] = v, c
				}
			}
		}
		back = append(back, from)
		cost = next
		var cut []int
		for e, k := n, m-1; k >= 0; k-- {
			e = back[k][e]
			cut = append([]int{e}, cut...)
		}
		d.rss, d.cuts = append(d.rss, cost[n]), append(d.cuts, cut)
	}
	return d
}

func (d *division) cost(a, b int) float64 {
	if b <= a {
		return 0
	}
	s := d.sum[b] - d.sum[a]
	return math.Max(0, d.sq[b]-d.sq[a]-s*s/float64(b-a))
}

// bic is the criterion for m breaks.
func (d *division) bic(m int) float64 {
	n := float64(d.n)
	return n*(math.Log(math.Max(d.rss[m], 1e-12)/n)+math.Log(2*math.Pi)+1) + math.Log(n)*float64(2*m+2)
}

func (d *division) best() []int {
	m := 0
	for k := range d.rss {
		if d.bic(k) < d.bic(m)-1e-9 {
			m = k
		}
	}
	return append([]int(nil), d.cuts[m]...)
}

// weakest returns the step that is smallest in standard errors.
func weakest(y []float64, cut []int) (at int, z float64) {
	ends := append(append([]int{0}, cut...), len(y))
	var ss, cross, before float64
	have := false
	for p := 0; p+1 < len(ends); p++ {
		m := mean(y[ends[p]:ends[p+1]])
		have = false
		for _, v := range y[ends[p]:ends[p+1]] {
			e := v - m
			ss += e * e
			if have {
				cross += e * before
			}
			before, have = e, true
		}
	}
	rho := 0.0
	if ss > 0 {
		// Taking means off makes neighbours look less alike than they are, by (1+3ρ)/n in each part (Kendall 1954; from memory).
		rho = cross / ss
		rho = math.Max(0, math.Min(0.95, rho+(1+3*rho)*float64(len(cut)+1)/float64(len(y))))
	}
	sd := math.Sqrt(ss / math.Max(1, float64(len(y)-len(cut)-1)))
	stretch := math.Sqrt((1 + rho) / (1 - rho))
	z = math.Inf(1)
	for k := range cut {
		n1, n2 := float64(cut[k]-ends[k]), float64(ends[k+2]-cut[k])
		se := math.Max(sd*stretch*math.Sqrt(1/n1+1/n2), 1e-9)
		if v := math.Abs(mean(y[ends[k]:cut[k]])-mean(y[cut[k]:ends[k+2]])) / se; v < z {
			at, z = k, v
		}
	}
	return at, z
}

func mean(v []float64) float64 {
	s := 0.0
	for _, x := range v {
		s += x
	}
	return s / float64(max(1, len(v)))
}

// changes looks for steps in the suction and in the leak's measure, in medians of six hours with the usual course of a
// day taken off, so that a log that goes up and down every day has none.
func (j *judging) changes(c *measure) {
	s := j.l.Samples
	suction := make([]float64, len(s))
	for i := range s {
		suction[i] = math.NaN()
		if j.state[i] != stateOff && j.state[i] != stateUnknown && known(s[i].SuctionMmHg) {
			suction[i] = float64(s[i].SuctionMmHg)
		}
	}
	staged := false
	for _, o := range j.orders {
		staged = staged || len(o.Stages) > 1
	}
	j.changesOf("suction", "mmHg", suction, 3, staged)
	if c != nil {
		j.changesOf(c.method, c.unit, c.x, c.least/2, staged)
	}
}

const stepMs = 6 * hourMs

func (j *judging) changesOf(of, unit string, x []float64, least float64, useMean bool) {
	s := j.l.Samples
	var y []float64
	var at []int64
	for t := s[0].T - s[0].T%stepMs; t <= s[len(s)-1].T; t += stepMs {
		a, b := find(s, t), find(s, t+stepMs)
		v := medianOf(x[a:b])
		if useMean { // a program of stages has no single level
			v = meanOf(x[a:b])
		}
		if !math.IsNaN(v) {
			y, at = append(y, v), append(at, t)
		}
	}
	if len(y) > 1600 {
		y, at = y[len(y)-1600:], at[len(at)-1600:]
	}
	flat := withoutDay(y, at)
	for _, b := range Breaks(flat, 4, 8) {
		if math.Abs(b.After-b.Before) < least {
			continue
		}
		j.out.Breaks = append(j.out.Breaks, Change{of, time.UnixMilli(j.sharpen(x, at[b.Index], b)).In(j.zone), b.Before, b.After, b.After - b.Before, unit})
	}
}

func meanOf(v []float64) float64 {
	sum, n := 0.0, 0
	for _, x := range v {
		if !math.IsNaN(x) {
			sum, n = sum+x, n+1
		}
	}
	if n == 0 {
		return math.NaN()
	}
	return sum / float64(n)
}

// withoutDay takes the median of each quarter of the day off, about the median of all, when there are three days.
func withoutDay(y []float64, at []int64) []float64 {
	if len(y) < 12 {
		return y
	}
	var part [4][]float64
	// Steps are taken off first, so that a step does not look like a quarter's habit: a quarter is compared with the
	// median of the day about it.
	local := make([]float64, len(y))
	for i := range y {
		a, b := max(0, i-2), min(len(y), i+3)
		local[i] = median(append([]float64(nil), y[a:b]...))
		q := int(at[i] / stepMs % 4)
		part[q] = append(part[q], y[i]-local[i])
	}
	out := make([]float64, len(y))
	var habit [4]float64
	for q := range part {
		if habit[q] = median(part[q]); habit[q] != habit[q] {
			habit[q] = 0
		}
	}
	for i := range y {
		out[i] = y[i] - habit[int(at[i]/stepMs%4)]
	}
	return out
}

// sharpen places a step found in six-hour medians among the samples within six hours of it.
func (j *judging) sharpen(x []float64, t int64, b Break) int64 {
	s := j.l.Samples
	a, z := find(s, t-stepMs), find(s, t+stepMs)
	best, least, sum := t, math.Inf(1), 0.0
	for i := a; i < z; i++ {
		if sum < least {
			least, best = sum, s[i].T
		}
		if x[i] == x[i] {
			p, q := x[i]-b.Before, x[i]-b.After
			sum += p*p - q*q
		}
	}
	return best
}
