package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"sort"
	"sync"
	"sync/atomic"

	"lowtide/healing"
)

// A form is one family of courses that can be written as a function of a few standard normal numbers, so that an oracle
// who knows the family, its spread and the noise can say the best forecast there is.
type form struct {
	name string
	dims int
	// area of a wound of numbers z, cm², at a time in weeks.
	area func(z []float64, wk float64) float64
}

// uni and lnu turn a standard normal number into one that is even from a to b, or even on the log scale.
func uni(z, a, b float64) float64 { return a + (b-a)*0.5*math.Erfc(-z/math.Sqrt2) }
func lnu(z, a, b float64) float64 { return math.Exp(uni(z, math.Log(a), math.Log(b))) }

// turnForms are eight families in two forms each. What is chosen on one half is judged on the other.
var turnForms = [2][]form{
	{
		{"exponential", 2, func(z []float64, wk float64) float64 { return start(z) * math.Exp(-lnu(z[1], 0.05, 0.35)*wk) }},
		{"edge", 2, func(z []float64, wk float64) float64 {
			r := math.Sqrt(start(z) / math.Pi)
			return math.Pi * sq(math.Max(0, r-r*lnu(z[1], 0.03, 0.15)*wk))
		}},
		{"sigmoid", 3, func(z []float64, wk float64) float64 {
			at, wide := uni(z[1], 2, 10), uni(z[2], 0.8, 2.5)
			return start(z) * (1 + math.Exp(-at/wide)) / (1 + math.Exp((wk-at)/wide))
		}},
		{"delayed", 3, func(z []float64, wk float64) float64 {
			return start(z) * math.Exp(-lnu(z[1], 0.1, 0.35)*math.Max(0, wk-uni(z[2], 1, 7)))
		}},
		{"stop and restart", 4, func(z []float64, wk float64) float64 {
			from, long := uni(z[2], 1, 6), uni(z[3], 2, 6)
			return start(z) * math.Exp(-lnu(z[1], 0.08, 0.3)*(wk-math.Max(0, math.Min(long, wk-from))))
		}},
		{"growth", 2, func(z []float64, wk float64) float64 { return start(z) * math.Exp(lnu(z[1], 0.02, 0.12)*wk) }},
		{"flat", 1, func(z []float64, wk float64) float64 { return start(z) }},
		{"slowing", 3, func(z []float64, wk float64) float64 {
			k, share := lnu(z[1], 0.15, 0.5), uni(z[2], 0.3, 0.8)
			return start(z) * (share*math.Exp(-k*wk) + (1-share)*math.Exp(-0.15*k*wk))
		}},
	},
	{
		{"exponential, slow and fast", 3, func(z []float64, wk float64) float64 {
			k := lnu(z[1], 0.03, 0.1)
			if z[2] > 0 {
				k = lnu(z[1], 0.1, 0.5)
			}
			return start(z) * math.Exp(-k*wk)
		}},
		{"steady fall to a remainder", 3, func(z []float64, wk float64) float64 {
			return start(z) * math.Max(uni(z[2], 0.02, 0.3), 1-lnu(z[1], 0.04, 0.15)*wk)
		}},
		{"gompertz", 3, func(z []float64, wk float64) float64 {
			return start(z) * math.Exp(-lnu(z[1], 0.01, 0.08)*math.Expm1(uni(z[2], 0.15, 0.45)*wk)/uni(z[2], 0.15, 0.45))
		}},
		{"slow, then faster", 4, func(z []float64, wk float64) float64 {
			at := uni(z[2], 1, 7)
			return start(z) * math.Exp(-uni(z[3], 0, 0.05)*math.Min(wk, at)-lnu(z[1], 0.1, 0.35)*math.Max(0, wk-at))
		}},
		{"widened, then on", 4, func(z []float64, wk float64) float64 {
			at, jump := uni(z[2], 1, 7), uni(z[3], 0.1, 0.5)
			return start(z) * math.Exp(-lnu(z[1], 0.08, 0.3)*wk+jump*math.Max(0, math.Min(1, wk-at)))
		}},
		{"growth after healing", 4, func(z []float64, wk float64) float64 {
			at := uni(z[2], 1, 8)
			return start(z) * math.Exp(-lnu(z[1], 0.05, 0.2)*math.Min(wk, at)+lnu(z[3], 0.02, 0.12)*math.Max(0, wk-at))
		}},
		{"hardly moves", 2, func(z []float64, wk float64) float64 { return start(z) * math.Exp(0.01*z[1]*wk) }},
		{"power law", 3, func(z []float64, wk float64) float64 {
			return start(z) * math.Pow(1+wk/uni(z[2], 1, 5), -uni(z[1], 0.4, 2))
		}},
	},
}

func start(z []float64) float64 { return lnu(z[0], 3, 60) }
func sq(x float64) float64      { return x * x }

// seen is one chart of a wound: what was written, and how.
type seen struct {
	days  []int
	sizes []float64
	wild  int     // the visit that was a slip, or -1
	noise float64 // the true coefficient of variation
	said  bool    // a standard error was written, two thirds of the true one
}

// look visits a wound weekly, give or take two days, reads it with noise, and makes one slip in a twelfth of wounds.
func look(f form, z []float64, r *rand.Rand, visits int, noise float64, slips bool) seen {
	s := seen{wild: -1, noise: noise, said: r.Float64() < 0.5}
	if slips && r.Float64() < 1.0/12 {
		s.wild = 1 + r.IntN(visits-1)
	}
	day := 0
	for v := range visits {
		a := f.area(z, float64(day)/7) * math.Exp(noise*r.NormFloat64())
		if v == s.wild {
			a *= []float64{0.1, 0.5, 2, 10}[r.IntN(4)]
		}
		s.days, s.sizes = append(s.days, day), append(s.sizes, math.Max(0.05, a))
		day += 5 + r.IntN(5)
	}
	return s
}

func (s seen) input(visits int) healing.Input {
	in := healing.Input{WoundType: "surgical", Limits: limits(), AheadDays: []float64{14, 28}}
	for v := range visits {
		a := s.sizes[v]
		z := healing.Size{At: origin.AddDate(0, 0, s.days[v]), AreaCm2: &a, Method: "outline"}
		if s.said {
			se := a * s.noise * 2 / 3
			z.SECm2 = &se
		}
		in.Sizes = append(in.Sizes, z)
	}
	in.AsOf = in.Sizes[visits-1].At
	return in
}

// oracle knows the family, its spread, the noise and the slip, and gives the 10, 50 and 90 % points of the area on two days.
// It samples the posterior in four rounds, each from a normal with the mean and covariance of the round before (adaptive
// importance sampling), the first from the family's own spread.
func oracle(f form, s seen, visits int, r *rand.Rand) (out [2][3]float64, effective float64) {
	const draws = 1500
	d := f.dims
	mean, chol := make([]float64, d), make([][]float64, d)
	for i := range chol {
		chol[i] = make([]float64, d)
		chol[i][i] = 1.3
	}
	zs, ws := make([][]float64, draws), make([]float64, draws)
	for round := range 6 {
		// Early rounds believe less, so that the sample does not die in a narrow posterior.
		heat := []float64{0.03, 0.12, 0.35, 0.7, 1, 1}[round]
		top := math.Inf(-1)
		for k := range draws {
			z, e := make([]float64, d), make([]float64, d)
			lp := 0.0
			for i := range e {
				e[i] = r.NormFloat64()
				lp += 0.5 * e[i] * e[i]
			}
			for i := range z {
				z[i] = mean[i]
				for j := 0; j <= i; j++ {
					z[i] += chol[i][j] * e[j]
				}
				lp -= 0.5 * z[i] * z[i]
			}
			ll := 0.0
			for v := range visits {
				if v != s.wild {
					e := math.Log(s.sizes[v]/math.Max(0.05, f.area(z, float64(s.days[v])/7))) / s.noise
					ll -= 0.5 * e * e
				}
			}
			zs[k], ws[k] = z, lp+heat*ll
			top = math.Max(top, ws[k])
		}
		sum, sum2 := 0.0, 0.0
		for k := range ws {
			ws[k] = math.Exp(ws[k] - top)
			sum += ws[k]
			sum2 += ws[k] * ws[k]
		}
		effective = sum * sum / sum2
		if round == 5 {
			break
		}
		cov := make([][]float64, d)
		for i := range d {
			mean[i] = 0
			for k := range zs {
				mean[i] += ws[k] / sum * zs[k][i]
			}
		}
		for i := range d {
			cov[i] = make([]float64, d)
			for j := 0; j <= i; j++ {
				for k := range zs {
					cov[i][j] += ws[k] / sum * (zs[k][i] - mean[i]) * (zs[k][j] - mean[j])
				}
			}
			cov[i][i] += 1e-6
		}
		for i := range d { // Cholesky of 1.4 times the covariance: tails that are too long only cost draws
			for j := 0; j <= i; j++ {
				x := 1.4 * cov[i][j]
				for k := range j {
					x -= chol[i][k] * chol[j][k]
				}
				if i == j {
					chol[i][i] = math.Sqrt(math.Max(x, 1e-8))
				} else {
					chol[i][j] = x / chol[j][j]
				}
			}
		}
	}
	type drawn struct{ x, w float64 }
	for h, ahead := range []int{14, 28} {
		ds, sum := make([]drawn, draws), 0.0
		for k := range zs {
			ds[k] = drawn{f.area(zs[k], float64(s.days[visits-1]+ahead)/7), ws[k]}
			sum += ws[k]
		}
		sort.Slice(ds, func(a, b int) bool { return ds[a].x < ds[b].x })
		acc, q := 0.0, 0
		for _, p := range ds {
			for acc += p.w / sum; q < 3 && acc >= []float64{0.1, 0.5, 0.9}[q]; q++ {
				out[h][q] = p.x
			}
		}
		for ; q < 3; q++ {
			out[h][q] = ds[draws-1].x
		}
	}
	return out, effective
}

// plain are the last value, the line through the logarithms and the line through the areas, on a day ahead.
func plain(s seen, visits, ahead int) [3]float64 {
	line := func(y func(int) float64) float64 {
		var n, sx, sy, sxx, sxy float64
		for v := range visits {
			x := float64(s.days[v])
			n, sx, sy, sxx, sxy = n+1, sx+x, sy+y(v), sxx+x*x, sxy+x*y(v)
		}
		b := (sxy - sx*sy/n) / (sxx - sx*sx/n)
		return (sy-b*sx)/n + b*float64(s.days[visits-1]+ahead)
	}
	return [3]float64{s.sizes[visits-1], math.Exp(line(func(v int) float64 { return math.Log(s.sizes[v]) })), math.Max(0, line(func(v int) float64 { return s.sizes[v] }))}
}

// formTally is what is counted of one family.
type formTally struct {
	n                      int
	in, low, high          [2]int
	oracleIn               [2]int
	width                  [2][]float64 // ours over the oracle's
	errs                   [2][5][]float64
	loss                   [2][2]float64 // pinball of ours and the oracle, over the size now
	calls, healing         int
	anyCall, healingWounds int
	flatN, flatCalled      int
}

// turnNoises are the coefficients of variation of a reading, one a wound in turn.
var turnNoises = []float64{0.05, 0.10, 0.20}

// turnsOf runs n wounds of every form; noise is the true one, or 0 for the three in turn.
func turnsOf(forms []form, n int, seed uint64, noise float64, stalls bool) []*formTally {
	out := make([]*formTally, len(forms))
	for g, f := range forms {
		parts := make([]*formTally, n)
		var next atomic.Int64
		var done sync.WaitGroup
		for range runtime.GOMAXPROCS(0) {
			done.Go(func() {
				for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
					cv := noise
					if cv == 0 {
						cv = turnNoises[i%len(turnNoises)]
					}
					parts[i] = oneTurn(f, newRand(seed+100*uint64(g), i), cv, stalls)
				}
			})
		}
		done.Wait()
		t := &formTally{}
		for _, p := range parts {
			t.join(p)
		}
		out[g] = t
	}
	return out
}

func (t *formTally) join(p *formTally) {
	t.n += p.n
	t.calls, t.healing, t.anyCall, t.healingWounds = t.calls+p.calls, t.healing+p.healing, t.anyCall+p.anyCall, t.healingWounds+p.healingWounds
	t.flatN, t.flatCalled = t.flatN+p.flatN, t.flatCalled+p.flatCalled
	for h := range 2 {
		t.in[h], t.low[h], t.high[h], t.oracleIn[h] = t.in[h]+p.in[h], t.low[h]+p.low[h], t.high[h]+p.high[h], t.oracleIn[h]+p.oracleIn[h]
		t.width[h] = append(t.width[h], p.width[h]...)
		for k := range 5 {
			t.errs[h][k] = append(t.errs[h][k], p.errs[h][k]...)
		}
		t.loss[h][0], t.loss[h][1] = t.loss[h][0]+p.loss[h][0], t.loss[h][1]+p.loss[h][1]
	}
}

func pinball(q [3]float64, truth float64) float64 {
	sum := 0.0
	for k, p := range []float64{0.1, 0.5, 0.9} {
		sum += math.Max(p*(truth-q[k]), (p-1)*(truth-q[k]))
	}
	return sum / 3
}

func oneTurn(f form, r *rand.Rand, noise float64, stalls bool) *formTally {
	t := &formTally{}
	z := make([]float64, f.dims)
	for i := range z {
		z[i] = r.NormFloat64()
	}
	s := look(f, z, r, 13, noise, true)
	visits := 3 + r.IntN(8)
	for visits > 3 && f.area(z, float64(s.days[visits-1])/7) < 0.5 {
		visits--
	}
	now := f.area(z, float64(s.days[visits-1])/7)
	if now < 0.3 {
		return t
	}
	a := healing.Assess(s.input(visits))
	if len(a.Ahead) == 2 && a.Ahead[0].Area != nil {
		t.n++
		best, _ := oracle(f, s, visits, r)
		for h, ahead := range []int{14, 28} {
			b, truth := a.Ahead[h].Area, f.area(z, float64(s.days[visits-1]+ahead)/7)
			// What is nearly closed counts as closed on both sides.
			nearly := func(x float64) float64 {
				if x < 0.3 {
					return 0
				}
				return x
			}
			lo, hi, x := nearly(b.P10), nearly(b.P90), nearly(truth)
			switch {
			case x < lo:
				t.low[h]++
			case x > hi:
				t.high[h]++
			default:
				t.in[h]++
			}
			if o := best[h]; x >= nearly(o[0]) && x <= nearly(o[2]) {
				t.oracleIn[h]++
			}
			t.width[h] = append(t.width[h], (b.P90-b.P10)/math.Max(0.02*now, best[h][2]-best[h][0]))
			e := plain(s, visits, ahead)
			for k, v := range []float64{b.Median, e[0], e[1], e[2], best[h][1]} {
				t.errs[h][k] = append(t.errs[h][k], math.Abs(v-truth)/now)
			}
			t.loss[h][0] += pinball([3]float64{b.P10, b.Median, b.P90}, truth) / now
			t.loss[h][1] += pinball(best[h], truth) / now
		}
	}
	if stalls {
		t.stalls(f, z, s)
	}
	return t
}

// stalls follows a wound visit by visit. A call while the area fell by a tenth or more over the two weeks before is false;
// a wound that moved by less than 3 % from the start should be called within 28 days.
func (t *formTally) stalls(f form, z []float64, s seen) {
	area := func(day int) float64 { return f.area(z, float64(day)/7) }
	flat := math.Abs(area(28)/area(0)-1) < 0.03
	any, heals, called := false, false, false
	for visits := 3; visits <= len(s.days); visits++ {
		day := s.days[visits-1]
		if area(day) < 0.5 {
			break
		}
		falls := day >= 14 && 1-area(day)/area(day-14) >= 0.10
		early := flat && day <= 28
		if !falls && !early {
			continue
		}
		c := healing.CourseOf(s.input(visits))
		call := c.NotImproving != nil && *c.NotImproving >= stallCall
		if falls {
			heals, any = true, any || call
			t.healing++
			if call {
				t.calls++
			}
		} else if call {
			called = true
		}
	}
	if heals {
		t.healingWounds++
		if any {
			t.anyCall++
		}
	}
	if flat {
		t.flatN++
		if called {
			t.flatCalled++
		}
	}
}

func median(v []float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	w := append([]float64(nil), v...)
	sort.Float64s(w)
	return w[len(w)/2]
}

// turnsTable prints the families of one half or both.
func turnsTable(forms []form, n int, seed uint64, noise float64, stalls bool) {
	fmt.Printf("%-28s %5s | 14 d: %5s %5s %5s %6s %6s | %s | 28 d: in, low, high, oracle, width/oracle | median errors | false calls, wounds | flat called\n", "family", "n", "in", "low", "high", "oracle", "width", "median error: ours last expo line oracle")
	total := &formTally{}
	ts := turnsOf(forms, n, seed, noise, stalls)
	row := func(name string, t *formTally) {
		p := func(a, of int) float64 { return 100 * float64(a) / float64(max(1, of)) }
		fmt.Printf("%-28s %5d", name, t.n)
		for h := range 2 {
			fmt.Printf(" | %5.1f %5.1f %5.1f %6.1f %6.2f |", p(t.in[h], t.n), p(t.low[h], t.n), p(t.high[h], t.n), p(t.oracleIn[h], t.n), median(t.width[h]))
			for k := range 5 {
				fmt.Printf(" %.3f", median(t.errs[h][k]))
			}
			fmt.Printf(" l %.2f", t.loss[h][0]/t.loss[h][1])
		}
		if stalls {
			fmt.Printf(" | %.1f of %d, %.1f of %d | %.1f of %d", p(t.calls, t.healing), t.healing, p(t.anyCall, t.healingWounds), t.healingWounds, p(t.flatCalled, t.flatN), t.flatN)
		}
		fmt.Println()
	}
	for _, t := range ts {
		total.join(t)
	}
	row("all", total)
	for g, t := range ts {
		row(forms[g].name, t)
	}
}
