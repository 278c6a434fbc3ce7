package main

import (
	"fmt"
	"math"
	"runtime"
	"sort"
	"sync"
	"time"

	"lowtide/fluid"
)

// shares are the times at which the chance of a full canister is asked for, as shares of the time that the three-day
// mean gives, one a course in turn: chances of every size come up.
var shares = [8]float64{0.4, 0.6, 0.75, 0.9, 1.1, 1.3, 1.6, 2.2}

// turn is one forecast of a course of the families, and the chance said beside what came.
type turn struct {
	outcome
	intervals int
	chance    float64
	happened  bool
	changed   bool // a sudden change was reported
	took      time.Duration
}

// turns forecasts n courses of each family. Courses are drawn in order from one seed and forecast on every core.
func turns(list []generator, n int, seed uint64, dated bool) [][]turn {
	out := make([][]turn, len(list))
	for g := range list {
		r := newRand(seed + 1000*uint64(g))
		var courses []simulated
		for len(courses) < n {
			if s, ok := simulate(list[g], r); ok {
				courses = append(courses, s)
			}
		}
		out[g] = make([]turn, n)
		var wait sync.WaitGroup
		cores := runtime.GOMAXPROCS(0)
		for core := range cores {
			wait.Go(func() {
				for i := core; i < n; i += cores {
					out[g][i] = forecastTurn(courses[i], i, dated)
				}
			})
		}
		wait.Wait()
	}
	return out
}

func forecastTurn(s simulated, i int, dated bool) turn {
	began := time.Now()
	t := fluid.Fit(s.course, s.asOf)
	q := turn{outcome: forecast(s), intervals: t.Intervals()}
	h := math.Max(1, math.Min(20*24, shares[i%len(shares)]*q.mean[0]))
	q.chance, _ = t.ChanceFull(s.asOf.Add(time.Duration(h * float64(time.Hour))))
	q.happened = s.fillH <= h
	q.took = time.Since(began)
	if dated {
		q.changed = len(fluid.Changes(s.course, s.asOf)) > 0
	}
	return q
}

// sums of one family.
type sums struct {
	n                 int
	in, early, late   [4]int
	loss, banded      [4]float64
	width, bandWidth  [4]float64
	changed           int
	manyN, manyIn     int // those with two intervals or more
	chanceN, chanceIn [10]int
	chanceSum         [10]float64
}

func (s *sums) add(t turn, band [4][3]float64) {
	s.n++
	for k := range targets {
		m, truth := t.model[k], t.truth[k]
		b := [3]float64{}
		for j := range b {
			b[j] = t.mean[k] * band[k][j]
		}
		side := 0
		switch {
		case truth < m[0]:
			s.early[k]++
			side = 1
		case truth > m[2]:
			s.late[k]++
			side = 2
		default:
			s.in[k]++
		}
		if k == 0 {
			if t.intervals >= 2 {
				s.manyN++
				if side == 0 {
					s.manyIn++
				}
			}
			truth = cap14(truth)
			for j := range m {
				m[j], b[j] = cap14(m[j]), cap14(b[j])
			}
		}
		s.loss[k] += pinball(m, truth)
		s.banded[k] += pinball(b, truth)
		s.width[k] += m[2] - m[0]
		s.bandWidth[k] += b[2] - b[0]
	}
	d := min(9, int(10*t.chance))
	s.chanceN[d]++
	s.chanceSum[d] += t.chance
	if t.happened {
		s.chanceIn[d]++
	}
	if t.changed {
		s.changed++
	}
}

// folds is how many parts the courses of all families are cut into to fit the bands of the three-day mean: a course is
// judged by the band of the parts that it is not in.
const folds = 5

func bandsOf(all [][]turn) [folds][4][3]float64 {
	var out [folds][4][3]float64
	for f := range folds {
		for k := range targets {
			var ratio []float64
			for _, list := range all {
				for i, t := range list {
					if i%folds != f {
						ratio = append(ratio, t.truth[k]/math.Max(1e-9, t.mean[k]))
					}
				}
			}
			sort.Float64s(ratio)
			for j, p := range probs {
				out[f][k][j] = ratio[int(p*float64(len(ratio)-1))]
			}
		}
	}
	return out
}

// turnsTable prints the families of one half, or of both, against the three-day mean with its band.
func turnsTable(list []generator, n int, seed uint64, dated bool) {
	all := turns(list, n, seed, dated)
	bands := bandsOf(all)
	each, total := make([]sums, len(list)), sums{}
	var took time.Duration
	for g := range all {
		for i, t := range all[g] {
			each[g].add(t, bands[i%folds])
			total.add(t, bands[i%folds])
			took += t.took
		}
	}
	fmt.Printf("%-31s %5s  fill: %5s %5s %5s %6s %6s %6s %6s |  24 h: in  gain |  48 h | 72 h: in (early late) gain width | change\n", "family", "n", "in", "early", "late", ">=2", "gain", "width", "band's")
	row := func(name string, s sums) {
		p := func(a int) float64 { return 100 * float64(a) / float64(s.n) }
		w := func(k int) float64 { return s.width[k] / float64(s.n) }
		fmt.Printf("%-31s %5d  %11.1f %5.1f %5.1f %6.1f %6.1f %6.0f %6.0f | %8.1f %5.1f | %5.1f | %8.1f (%4.1f %4.1f) %5.1f %6.0f | %5.1f\n", name, s.n, p(s.in[0]), p(s.early[0]), p(s.late[0]),
			100*float64(s.manyIn)/float64(max(1, s.manyN)), 100*better(s.loss[0], s.banded[0]), w(0), s.bandWidth[0]/float64(s.n), p(s.in[1]), 100*better(s.loss[1], s.banded[1]), p(s.in[2]), p(s.in[3]),
			p(s.early[3]), p(s.late[3]), 100*better(s.loss[3], s.banded[3]), w(3), p(s.changed))
	}
	row("all", total)
	for g := range list {
		row(list[g].name, each[g])
	}
	fmt.Printf("\nchance said / seen (n):")
	for d := range total.chanceN {
		if c := total.chanceN[d]; c > 0 {
			fmt.Printf("  %.2f/%.2f (%d)", total.chanceSum[d]/float64(c), float64(total.chanceIn[d])/float64(c), c)
		}
	}
	fmt.Printf("\ntime of a fit and its forecasts: %v\n", took/time.Duration(total.n))
}
