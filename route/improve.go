package route

import "math"

// swap is a move between two tours: the la stops behind position i of tour a and the lb stops behind position j of tour
// b change places. One stop for none is a relocation, one for one an exchange, pieces for pieces a cross exchange, and
// the whole rests of both tours a 2-opt*.
type swap struct{ a, i, la, b, j, lb int }

// half checks one side: tour r keeps its stops up to i, takes those of the other tour in from..from+l, and goes on
// behind position to. It returns the change of travel and cost table.
func (f *frame) half(s *state, r, i, to int, other, from, l int) (float64, bool) {
	t, o, sh := &s.tours[r], &s.tours[other], &f.p.Shifts[r]
	T, P, K, k := f.p.Times[sh.Band], f.p.Places, f.days, sh.Kind
	load := t.load
	d := 0.0
	p := int(f.place[t.seq[i]])
	for x := i + 1; x <= to; x++ {
		v := int(t.seq[x])
		load -= f.demand[v]
		q := int(f.place[v])
		d -= T[p*P+q]
		p = q
		if f.cost != nil {
			d -= f.cost[v*len(s.tours)+r]
		}
	}
	d -= T[p*P+int(f.place[t.seq[to+1]])]
	p = int(f.place[t.seq[i]])
	leave := t.early[i] + f.serve[t.seq[i]]
	for x := from + 1; x <= from+l; x++ {
		v := int(o.seq[x])
		load += f.demand[v]
		if load > sh.Capacity+slack {
			return 0, false
		}
		q := int(f.place[v])
		d += T[p*P+q]
		begin := max(leave+T[p*P+q], f.open[v*K+k])
		if begin > f.shut[v*K+k]+slack {
			return 0, false
		}
		leave = begin + f.serve[v]
		p = q
		if f.cost != nil {
			c := f.cost[v*len(s.tours)+r]
			if math.IsInf(c, 1) {
				return 0, false
			}
			d += c
		}
		if f.p.Stops[v].Fixed || len(f.gaps[v]) > 0 && f.p.Shifts[other].Day != sh.Day {
			return 0, false
		}
	}
	if load > sh.Capacity+slack {
		return 0, false
	}
	q := int(f.place[t.seq[to+1]])
	return d + T[p*P+q], leave+T[p*P+q] <= t.late[to+1]+slack
}

func (f *frame) try(s *state, m *swap) (float64, bool) {
	da, ok := f.half(s, m.a, m.i, m.i+m.la, m.b, m.j, m.lb)
	if !ok {
		return 0, false
	}
	db, ok := f.half(s, m.b, m.j, m.j+m.lb, m.a, m.i, m.la)
	return da + db, ok
}

func (f *frame) apply(s *state, m *swap, one, two *[]int32) {
	a, b := &s.tours[m.a], &s.tours[m.b]
	sa := append((*one)[:0], a.seq[m.i+1:m.i+1+m.la]...)
	sb := append((*two)[:0], b.seq[m.j+1:m.j+1+m.lb]...)
	a.seq = splice(a.seq, m.i+1, m.la, sb)
	b.seq = splice(b.seq, m.j+1, m.lb, sa)
	*one, *two = sa, sb
	f.renew(s, m.a)
	f.renew(s, m.b)
}

// splice replaces l values at i by in.
func splice(seq []int32, i, l int, in []int32) []int32 {
	rest := len(seq) - i - l
	if d := len(in) - l; d > 0 {
		for range d {
			seq = append(seq, 0)
		}
		copy(seq[i+len(in):], seq[i+l:i+l+rest])
	} else {
		copy(seq[i+len(in):], seq[i+l:])
		seq = seq[:len(seq)+d]
	}
	copy(seq[i:], in)
	return seq
}

const (
	piece     = 3  // longest piece of a cross exchange or or-opt
	neighbour = 25 // stops near by that a move looks at
)

// improve is a descent over the moves between two tours and the moves of a piece within one; it stops where none is
// better.
func (x *search) improve() {
	f, s := x.f, x.now
	for again := true; again; {
		again = false
		for v := range f.n {
			if s.at[v] < 0 {
				continue
			}
			for _, u := range f.near[v][:min(neighbour, len(f.near[v]))] {
				if s.at[u] >= 0 && x.pair(int32(v), u) {
					again = true
				}
			}
		}
	}
}

// pair tries the moves that put u right before v, and takes the first that is better.
func (x *search) pair(v, u int32) bool {
	s := x.now
	a, b := int(s.at[v]), int(s.at[u])
	i, j := int(s.pos[v])-1, int(s.pos[u])
	if a == b {
		return x.within(a, i, j)
	}
	na, nb := len(s.tours[a].seq)-2, len(s.tours[b].seq)-2
	// The piece of b that ends with u goes between v and what is before it, for a piece of a that ends before v.
	for lb := 1; lb <= min(piece, j); lb++ {
		for la := 0; la <= min(piece, i); la++ {
			if x.better(swap{a: a, i: i - la, la: la, b: b, j: j - lb, lb: lb}) {
				return true
			}
		}
	}
	// u goes on with v and what follows it; what was before v goes on with what followed u.
	return x.better(swap{a: a, i: i, la: na - i, b: b, j: j, lb: nb - j})
}

// better makes a move if road and cost table are less with it, and the whole plan costs less too.
func (x *search) better(m swap) bool {
	f, s := x.f, x.now
	d, ok := f.try(s, &m)
	if !ok {
		return false
	}
	plain := f.p.Fair == 0 && f.p.Shifts[m.a].Home == nil && f.p.Shifts[m.b].Home == nil
	if d > -1e-7 {
		return false
	}
	before := 0.0
	if !plain {
		before = f.total(s)
	}
	f.apply(s, &m, &x.pool, &x.spare)
	if !plain && f.total(s) > before-1e-7 {
		back := swap{a: m.a, i: m.i, la: m.lb, b: m.b, j: m.j, lb: m.la}
		f.apply(s, &back, &x.pool, &x.spare)
		return false
	}
	x.touch(m.a)
	x.touch(m.b)
	return true
}

// within moves a piece that ends at position j of a tour behind position i, if that is shorter and holds.
func (x *search) within(r, i, j int) bool {
	f, s := x.f, x.now
	t, sh := &s.tours[r], &f.p.Shifts[r]
	T, P, K, k := f.p.Times[sh.Band], f.p.Places, f.days, sh.Kind
	n := len(t.seq)
	for l := 1; l <= piece; l++ {
		from := j - l + 1
		if from < 1 || i >= from-1 && i <= j {
			break
		}
		x.pool = x.pool[:0]
		for q, v := range t.seq {
			if q < from || q > j {
				x.pool = append(x.pool, v)
			}
			if q == i {
				x.pool = append(x.pool, t.seq[from:j+1]...)
			}
		}
		leave, d, ok := sh.Open, -t.time, true
		prev := int(x.pool[0])
		for q := 1; q < n; q++ {
			v := int(x.pool[q])
			leg := T[int(f.place[prev])*P+int(f.place[v])]
			d += leg
			begin := max(leave+leg, f.open[v*K+k])
			if begin > f.shut[v*K+k]+slack {
				ok = false
				break
			}
			leave, prev = begin+f.serve[v], v
		}
		if ok && d < -1e-7 {
			copy(t.seq, x.pool)
			x.touch(r)
			f.renew(s, r)
			return true
		}
	}
	return false
}
