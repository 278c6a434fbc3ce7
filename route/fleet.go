package route

import "math"

const (
	fleetShare = 0.7 // of the budget, at most, for making alike shifts fewer
	ejectShare = 0.3 // of what is left of that, for ejections before the search has its turn
	fillPrice  = 10  // typical legs that a stop left out costs then
	shakes     = 600 // random moves after an ejection
)

// shrink takes one tour after another away and finds its stops a place in the rest, until its time is over or the load
// needs every tour that is left: first by ejection, and where that gets stuck by the search itself, with a price on
// what is left out. It leaves the search at the best plan found.
func (x *search) shrink(spent func() float64, better func()) {
	f := x.f
	load := 0.0
	for _, d := range f.demand[:f.n] {
		load += d
	}
	x.dropEmpty()
	full := f.empty()
	for len(x.now.absent) == 0 && load <= float64(len(x.now.tours)-1)*f.p.Shifts[0].Capacity+slack && len(x.now.tours) > 1 {
		full.tours = full.tours[:len(x.now.tours)]
		f.copyState(full, x.now)
		from := spent()
		if from >= 1 {
			break
		}
		done := x.oneLess(func() float64 { return (spent() - from) / (ejectShare * (1 - from)) })
		x.adopt()
		if !done && !x.fill(spent) {
			x.now.tours = x.now.tours[:len(full.tours)]
			f.copyState(x.now, full)
			x.adopt()
			break
		}
		better()
	}
}

// fill searches, with a price of fillPrice typical legs on each stop left out, until none is.
func (x *search) fill(spent func() float64) bool {
	f := x.f
	miss := f.miss
	defer func() { f.miss = miss }()
	leg := f.leg(x.now)
	f.miss = make([]float64, f.n)
	for i := range f.miss {
		f.miss[i] = fillPrice * leg
	}
	x.adopt()
	from := spent()
	x.anneal(leg, hot, func() float64 {
		if len(x.top.absent) == 0 || from >= 1 {
			return 1
		}
		return (spent() - from) / (1 - from)
	}, func() {})
	f.copyState(x.now, x.top)
	x.adopt()
	return len(x.now.absent) == 0
}

// adopt makes now the plan to go on from, and the best.
func (x *search) adopt() {
	f := x.f
	for _, s := range []*state{x.kept, x.top} {
		s.tours = s.tours[:len(x.now.tours)]
		f.copyState(s, x.now)
	}
	clear(x.dirty)
	x.keptBy = f.total(x.now)
	x.topBy = x.keptBy
}

// dropEmpty leaves out tours without a stop.
func (x *search) dropEmpty() {
	for r := len(x.now.tours) - 1; r >= 0; r-- {
		if len(x.now.tours[r].seq) == 2 {
			x.closeTour(r)
		}
	}
	x.adopt()
}

// closeTour takes one of a set of alike tours out of the plan; its stops become absent.
func (x *search) closeTour(r int) {
	f, s := x.f, x.now
	for _, v := range s.tours[r].stops() {
		s.at[v] = -1
		s.absent = append(s.absent, v)
	}
	s.tours[r].seq = append(s.tours[r].seq[:1], s.tours[r].seq[len(s.tours[r].seq)-1])
	f.renew(s, r)
	last := len(s.tours) - 1
	s.tours[r], s.tours[last] = s.tours[last], s.tours[r]
	s.tours = s.tours[:last]
	if r < last {
		f.renew(s, r)
	}
}

// ejection looks for the way to force a stop into a tour that throws out the stops with the fewest failures.
type ejection struct {
	f      *frame
	s      *state
	fails  []int
	most   int
	v      int
	r, at  int
	out    []int32 // on the way
	by     int     // best sum of failures so far
	bestR  int
	bestAt int
	best   []int32
}

// tour tries every position of one tour.
func (e *ejection) tour(r int) {
	t := &e.s.tours[r]
	e.r = r
	for i := 0; i+1 < len(t.seq); i++ {
		e.at = i
		e.out = e.out[:0]
		e.step(1, int(t.seq[0]), t.early[0]+e.f.serve[t.seq[0]], 0, t.load+e.f.demand[e.v], false)
	}
}

// step goes along the tour from position j: each stop is kept or, if that may still be better, thrown out.
func (e *ejection) step(j, prev int, leave float64, fails int, load float64, in bool) {
	f, t := e.f, &e.s.tours[e.r]
	sh := &f.p.Shifts[e.r]
	T, P, K, k := f.p.Times[sh.Band], f.p.Places, f.days, sh.Kind
	if !in && j == e.at+1 {
		begin := max(leave+T[int(f.place[prev])*P+int(f.place[e.v])], f.open[e.v*K+k])
		if begin > f.shut[e.v*K+k]+slack {
			return
		}
		prev, leave, in = e.v, begin+f.serve[e.v], true
	}
	node := int(t.seq[j])
	begin := max(leave+T[int(f.place[prev])*P+int(f.place[node])], f.open[node*K+k])
	if begin <= f.shut[node*K+k]+slack {
		if in && load <= sh.Capacity+slack && begin <= t.late[j]+slack {
			e.by, e.bestR, e.bestAt = fails, e.r, e.at
			e.best = append(e.best[:0], e.out...)
			return
		}
		if node < f.n {
			e.step(j+1, node, begin+f.serve[node], fails, load, in)
		}
	}
	if node < f.n && len(e.out) < e.most && fails+e.fails[node] < e.by && !f.p.Stops[node].Fixed {
		e.out = append(e.out, int32(node))
		e.step(j+1, prev, leave, fails+e.fails[node], load-f.demand[node], in)
		e.out = e.out[:len(e.out)-1]
	}
}

// oneLess closes a tour and places its stops in the others. It returns whether that worked before the time was over.
func (x *search) oneLess(spent func() float64) bool {
	f, s := x.f, x.now
	least := 0
	for r := range s.tours {
		if len(s.tours[r].seq) < len(s.tours[least].seq) {
			least = r
		}
	}
	x.closeTour(least)
	e := &ejection{f: f, s: s, fails: make([]int, f.n)}
	for i := range e.fails {
		e.fails[i] = 1
	}
	e.most = 5
	if f.n > 16*len(s.tours) {
		e.most = 3
	}
	order := make([]int, len(s.tours))
	for i := range order {
		order[i] = i
	}
	for turn := 0; len(s.absent) > 0; turn++ {
		if turn%8 == 0 && spent() >= 1 {
			return false
		}
		v := s.absent[len(s.absent)-1]
		s.absent = s.absent[:len(s.absent)-1]
		if at := x.someSpot(v); at.tour >= 0 {
			f.put(s, v, at)
			continue
		}
		e.fails[v]++
		e.v, e.by, e.bestR = int(v), math.MaxInt, -1
		for i := len(order) - 1; i > 0; i-- {
			j := f.rnd.below(i + 1)
			order[i], order[j] = order[j], order[i]
		}
		for _, r := range order {
			e.tour(r)
		}
		if e.bestR < 0 {
			s.absent = append([]int32{v}, s.absent...)
		} else {
			at := e.bestAt
			for _, u := range e.best {
				if int(s.pos[u]) <= e.bestAt {
					at--
				}
				s.at[u] = -1
				s.absent = append(s.absent, u)
			}
			f.sweep(s, e.bestR)
			f.put(s, v, spot{tour: int32(e.bestR), pos: int32(at)})
		}
		x.shake()
	}
	return true
}

// someSpot picks one of the places that a stop fits, each as likely; tour -1: none.
func (x *search) someSpot(v int32) spot {
	f, s := x.f, x.now
	out, seen := nowhere, 0
	for r := range s.tours {
		if !f.may(s, int(v), r) {
			continue
		}
		for i := range len(s.tours[r].seq) - 1 {
			if f.fitsAfter(s, int(v), r, i) {
				if seen++; f.rnd.below(seen) == 0 {
					out = spot{tour: int32(r), pos: int32(i)}
				}
			}
		}
	}
	return out
}

// shake makes random moves that hold, so that the next ejection meets other tours.
func (x *search) shake() {
	f, s := x.f, x.now
	for range shakes {
		v := int32(f.rnd.below(f.n))
		u := f.near[v][f.rnd.below(min(len(f.near[v]), 20))]
		a, b := s.at[v], s.at[u]
		if a < 0 || b < 0 || a == b {
			continue
		}
		i, j := int(s.pos[v]), int(s.pos[u])
		var m swap
		switch f.rnd.below(3) {
		case 0: // v moves behind u
			m = swap{a: int(a), i: i - 1, la: 1, b: int(b), j: j}
		case 1: // v and u change places
			m = swap{a: int(a), i: i - 1, la: 1, b: int(b), j: j - 1, lb: 1}
		default: // the rests of the tours change places: v goes on with u
			m = swap{a: int(a), i: i, la: len(s.tours[a].seq) - 2 - i, b: int(b), j: j - 1, lb: len(s.tours[b].seq) - 1 - j}
		}
		if _, ok := f.try(s, &m); ok {
			f.apply(s, &m, &x.pool, &x.spare)
		}
	}
}
