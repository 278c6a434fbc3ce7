package route

import "math"

// blinkChance is the chance, out of 2^16, that an insertion overlooks a position (1 in 100).
const blinkChance = 655

// A recreate puts absent stops back where they may go; what fits nowhere stays absent.
type recreate func(*search)

var recreates = []recreate{(*search).blinks, (*search).regret2, (*search).regret3}

// order sorts the absent stops for insertion one by one.
func (x *search) order() {
	f, a := x.f, x.now.absent
	K := f.days
	depot := -1
	if len(f.p.Shifts) > 0 {
		depot = int(f.place[f.n])
	}
	by := func(key func(v int) float64) {
		for _, v := range a {
			x.key[v] = key(int(v))
		}
		sortBy(a, x.key)
	}
	width := func(v int) float64 {
		w := 0.0
		for k := range K {
			w += max(0, f.shut[v*K+k]-f.open[v*K+k])
		}
		return w
	}
	away := func(v int) float64 { return f.p.Times[0][depot*f.p.Places+int(f.place[v])] }
	switch w := f.rnd.below(15); {
	case w < 4: // at random
		for i := len(a) - 1; i > 0; i-- {
			j := f.rnd.below(i + 1)
			a[i], a[j] = a[j], a[i]
		}
	case w < 6:
		by(func(v int) float64 { return -f.demand[v] - f.serve[v] })
	case w < 8:
		by(func(v int) float64 { return -away(v) })
	case w < 9:
		by(away)
	case w < 12:
		by(width)
	case w < 14:
		by(f.middle)
	default:
		by(func(v int) float64 { return -f.miss[v] })
	}
}

// blinks inserts one stop after another at its cheapest place, overlooking a position now and then. An empty tour is
// used only where no other takes the stop, if shifts are alike.
func (x *search) blinks() {
	f, s := x.f, x.now
	x.order()
	left := x.pool[:0]
	for _, v := range s.absent {
		at, tried := nowhere, false
		for r := range s.tours {
			if f.p.Alike && len(s.tours[r].seq) == 2 {
				if tried {
					continue
				}
				tried = true
			}
			if c := f.best(s, int(v), r, blinkChance); c.cost < at.cost {
				at = c
			}
		}
		if at.tour < 0 {
			left = append(left, v)
			continue
		}
		x.touch(int(at.tour))
		f.put(s, v, at)
	}
	x.pool = left
	s.absent = append(s.absent[:0], left...)
}

func (x *search) regret2() { x.regret(2) }
func (x *search) regret3() { x.regret(3) }

// regret inserts next the stop that would lose most by waiting: the sum over its k best tours of how much dearer they
// are than the best (Ropke and Pisinger 2006, section 3.2.2).
func (x *search) regret(k int) {
	f, s := x.f, x.now
	m := len(s.tours)
	a := s.absent
	if cap(x.table) < len(a)*m {
		x.table = make([]spot, len(a)*m)
	}
	tab := x.table[:len(a)*m]
	blink := uint64(0)
	if f.rnd.below(2) == 0 {
		blink = blinkChance
	}
	for i, v := range a {
		for r := range m {
			tab[i*m+r] = f.best(s, int(v), r, blink)
		}
	}
	for {
		pick, pickAt, pickBy := -1, nowhere, math.Inf(-1)
		for i, v := range a {
			if s.at[v] >= 0 {
				continue
			}
			var top [3]float64
			for j := range top {
				top[j] = math.Inf(1)
			}
			at := nowhere
			for _, c := range tab[i*m : i*m+m] {
				if c.cost < at.cost {
					at = c
				}
				for j := range k {
					if c.cost < top[j] {
						copy(top[j+1:], top[j:])
						top[j] = c.cost
						break
					}
				}
			}
			if at.tour < 0 {
				continue
			}
			by := 0.0
			for j := 1; j < k; j++ {
				by += min(top[j], 1e7) - top[0]
			}
			by += 1e-3 * f.miss[v]
			if by > pickBy {
				pick, pickAt, pickBy = i, at, by
			}
		}
		if pick < 0 {
			break
		}
		v := a[pick]
		x.touch(int(pickAt.tour))
		f.put(s, v, pickAt)
		person := f.p.Shifts[pickAt.tour].Person
		for i, u := range a {
			if s.at[u] >= 0 {
				continue
			}
			sister := false
			for _, g := range f.gaps[u] {
				sister = sister || g.First == int(v) || g.Then == int(v)
			}
			for r := range m {
				if r == int(pickAt.tour) || sister || f.p.Fair > 0 && f.p.Shifts[r].Person == person {
					tab[i*m+r] = f.best(s, int(u), r, blink)
				}
			}
		}
	}
	k = 0
	for _, v := range a {
		if s.at[v] < 0 {
			a[k] = v
			k++
		}
	}
	s.absent = a[:k]
}
