package route

import "math"

// slack is how far a time may pass a limit by rounding alone.
const slack = 1e-9

// tour is the tour of one shift with what is known of it before and after each position.
type tour struct {
	seq   []int32   // the shift's start, stops, the shift's end
	early []float64 // earliest start of work at a position
	late  []float64 // latest start there so that all after it is in time
	time  float64   // travel
	load  float64
	work  float64 // travel and service
	cost  float64 // cost table
	alien int     // stops that are not at home here
}

func (t *tour) stops() []int32 { return t.seq[1 : len(t.seq)-1] }

// state is a plan being worked on. at and pos say where a stop stands; at is -1 for one that is left out.
type state struct {
	tours  []tour
	at     []int32
	pos    []int32
	absent []int32
	work   []float64 // by person
}

// frame is a problem laid out for speed. Nodes are the stops, then start and end of each shift.
type frame struct {
	p      *Problem
	n      int // stops
	days   int // kinds of shift
	people int
	place  []int32
	serve  []float64
	demand []float64
	open   []float64 // node*kinds+kind
	shut   []float64
	cost   []float64 // stop*shifts+shift; nil: none
	miss   []float64
	hours  []float64 // by person
	near   [][]int32 // other stops, nearest first, in travel
	kin    [][]int32 // other stops, most alike first, in travel and window
	gaps   [][]Gap   // by stop
	rnd    rng
}

func newFrame(p *Problem, seed uint64) *frame {
	n, m := len(p.Stops), len(p.Shifts)
	f := &frame{p: p, n: n, rnd: rng(seed)}
	for _, s := range p.Shifts {
		f.days, f.people = max(f.days, s.Kind+1), max(f.people, s.Person+1)
	}
	nodes := n + 2*m
	f.place, f.serve, f.demand = make([]int32, nodes), make([]float64, nodes), make([]float64, nodes)
	f.open, f.shut = make([]float64, nodes*f.days), make([]float64, nodes*f.days)
	f.miss, f.gaps, f.hours = make([]float64, n), make([][]Gap, n), make([]float64, f.people)
	for i, s := range p.Stops {
		f.place[i], f.serve[i], f.demand[i], f.miss[i] = int32(s.Place), s.Service, s.Demand, s.Miss
		for k := range f.days {
			f.open[i*f.days+k], f.shut[i*f.days+k] = s.Windows[k].Open, s.Windows[k].Close
		}
		if s.Cost != nil && f.cost == nil {
			f.cost = make([]float64, n*m)
		}
	}
	for i, s := range p.Stops {
		if s.Cost != nil {
			copy(f.cost[i*m:(i+1)*m], s.Cost)
		}
	}
	for i, s := range p.Shifts {
		f.hours[s.Person] += s.Close - s.Open
		for e, at := range []int{s.From, s.To} {
			v := n + 2*i + e
			f.place[v] = int32(at)
			for k := range f.days {
				f.open[v*f.days+k], f.shut[v*f.days+k] = s.Open, s.Close
			}
		}
	}
	for _, g := range p.Gaps {
		f.gaps[g.First] = append(f.gaps[g.First], g)
		f.gaps[g.Then] = append(f.gaps[g.Then], g)
	}
	f.near, f.kin = f.neighbours()
	return f
}

// middle is the middle of a stop's windows, over the kinds where it has one.
func (f *frame) middle(v int) float64 {
	sum, k := 0.0, 0.0
	for d := range f.days {
		if o, s := f.open[v*f.days+d], f.shut[v*f.days+d]; o <= s {
			sum, k = sum+(o+s)/2, k+1
		}
	}
	return sum / max(k, 1)
}

func (f *frame) neighbours() (near, kin [][]int32) {
	near, kin = make([][]int32, f.n), make([][]int32, f.n)
	t := f.p.Times
	if len(t) == 0 {
		return near, kin
	}
	mid := make([]float64, f.n)
	for v := range f.n {
		mid[v] = f.middle(v)
	}
	way, like := make([]float64, f.n), make([]float64, f.n)
	for v := range f.n {
		near[v], kin[v] = make([]int32, 0, f.n), make([]int32, 0, f.n)
		a := int(f.place[v])
		for u := range f.n {
			b := int(f.place[u])
			way[u] = t[0][a*f.p.Places+b] + t[0][b*f.p.Places+a]
			like[u] = way[u] + 0.2*math.Abs(mid[u]-mid[v])
			if u != v {
				near[v], kin[v] = append(near[v], int32(u)), append(kin[v], int32(u))
			}
		}
		sortBy(near[v], way)
		sortBy(kin[v], like)
	}
	return near, kin
}

func (f *frame) empty() *state {
	m := len(f.p.Shifts)
	s := &state{tours: make([]tour, m), at: make([]int32, f.n), pos: make([]int32, f.n), work: make([]float64, f.people)}
	for i := range s.tours {
		s.tours[i].seq = append(make([]int32, 0, 16), int32(f.n+2*i), int32(f.n+2*i+1))
		f.renew(s, i)
	}
	for v := range f.n {
		s.at[v] = -1
		s.absent = append(s.absent, int32(v))
	}
	return s
}

// renew computes a tour again after its sequence changed.
func (f *frame) renew(s *state, r int) {
	t, sh := &s.tours[r], &f.p.Shifts[r]
	T, P, k, K := f.p.Times[sh.Band], f.p.Places, sh.Kind, f.days
	n := len(t.seq)
	if cap(t.early) < n {
		t.early, t.late = make([]float64, n, 2*n), make([]float64, n, 2*n)
	}
	t.early, t.late = t.early[:n], t.late[:n]
	s.work[sh.Person] -= t.work
	t.time, t.load, t.work, t.cost, t.alien = 0, 0, 0, 0, 0
	t.early[0] = sh.Open
	prev := int(t.seq[0])
	for i := 1; i < n; i++ {
		v := int(t.seq[i])
		leg := T[int(f.place[prev])*P+int(f.place[v])]
		t.time += leg
		t.early[i] = max(t.early[i-1]+f.serve[prev]+leg, f.open[v*K+k])
		if v < f.n {
			s.at[v], s.pos[v] = int32(r), int32(i)
			t.load += f.demand[v]
			t.work += f.serve[v]
			if f.cost != nil {
				t.cost += f.cost[v*len(s.tours)+r]
			}
			if sh.Home != nil && !sh.Home[v] {
				t.alien++
			}
		}
		prev = v
	}
	t.work += t.time
	s.work[sh.Person] += t.work
	next := prev
	t.late[n-1] = f.shut[next*K+k]
	for i := n - 2; i >= 0; i-- {
		v := int(t.seq[i])
		t.late[i] = min(t.late[i+1]-f.serve[v]-T[int(f.place[v])*P+int(f.place[next])], f.shut[v*K+k])
		next = v
	}
}

func (f *frame) total(s *state) float64 {
	c := 0.0
	for i := range s.tours {
		t := &s.tours[i]
		c += t.time + t.cost
		if t.alien > 0 {
			c += f.p.Shifts[i].Wake
		}
	}
	if f.p.Fair > 0 {
		for p, w := range s.work {
			if f.hours[p] > 0 {
				c += f.p.Fair * w * w / f.hours[p]
			}
		}
	}
	for _, v := range s.absent {
		c += f.miss[v]
	}
	return c
}

// may says whether a stop may be in a shift at all, by cost table, fixing, window, load and gaps.
func (f *frame) may(s *state, v, r int) bool {
	sh := &f.p.Shifts[r]
	if f.open[v*f.days+sh.Kind] > f.shut[v*f.days+sh.Kind] || s.tours[r].load+f.demand[v] > sh.Capacity+slack {
		return false
	}
	if f.cost != nil && math.IsInf(f.cost[v*len(s.tours)+r], 1) {
		return false
	}
	if st := &f.p.Stops[v]; st.Fixed && st.In != r {
		return false
	}
	for _, g := range f.gaps[v] {
		first, then := sh.Day, sh.Day
		if g.First == v {
			if s.at[g.Then] < 0 {
				continue
			}
			then = f.p.Shifts[s.at[g.Then]].Day
		} else {
			if s.at[g.First] < 0 {
				continue
			}
			first = f.p.Shifts[s.at[g.First]].Day
		}
		if d := then - first; d < g.Least || d > g.Most {
			return false
		}
	}
	return true
}

// place of a stop in a tour: after position pos, at a cost.
type spot struct {
	tour, pos int32
	cost      float64
}

var nowhere = spot{tour: -1, cost: math.Inf(1)}

// best finds the cheapest place for a stop in one tour. With blink > 0 each position is overlooked with that chance
// (out of 2^16).
func (f *frame) best(s *state, v, r int, blink uint64) spot {
	if !f.may(s, v, r) {
		return nowhere
	}
	t, sh := &s.tours[r], &f.p.Shifts[r]
	T, P, K := f.p.Times[sh.Band], f.p.Places, f.days
	pv := int(f.place[v])
	open, shut, serve := f.open[v*K+sh.Kind], f.shut[v*K+sh.Kind]+slack, f.serve[v]
	out := T[pv*P : pv*P+P]
	bestAt, bestBy := -1, math.Inf(1)
	seq, early, late := t.seq, t.early, t.late
	prev := int(seq[0])
	pp := int(f.place[prev])
	for i := 0; i+1 < len(seq); i++ {
		next := int(seq[i+1])
		pn := int(f.place[next])
		leave := early[i] + f.serve[prev]
		if leave > shut {
			break
		}
		in := T[pp*P+pv]
		by := in + out[pn] - T[pp*P+pn]
		if by < bestBy {
			begin := leave + in
			if begin < open {
				begin = open
			}
			if begin <= shut && begin+serve+out[pn] <= late[i+1]+slack &&
				(blink == 0 || f.rnd.next()&0xffff >= blink) {
				bestAt, bestBy = i, by
			}
		}
		prev, pp = next, pn
	}
	if bestAt < 0 {
		return nowhere
	}
	c := bestBy
	if f.cost != nil {
		c += f.cost[v*len(s.tours)+r]
	}
	if sh.Home != nil && !sh.Home[v] && t.alien == 0 {
		c += sh.Wake
	}
	if f.p.Fair > 0 && f.hours[sh.Person] > 0 {
		w, d := s.work[sh.Person], bestBy+serve
		c += f.p.Fair * d * (2*w + d) / f.hours[sh.Person]
	}
	return spot{tour: int32(r), pos: int32(bestAt), cost: c}
}

// put inserts a stop; the caller takes it out of absent.
func (f *frame) put(s *state, v int32, at spot) {
	t := &s.tours[at.tour]
	t.seq = append(t.seq, 0)
	copy(t.seq[at.pos+2:], t.seq[at.pos+1:])
	t.seq[at.pos+1] = v
	f.renew(s, int(at.tour))
}

// take removes every stop that is marked (at set to -1) from a tour.
func (f *frame) sweep(s *state, r int) {
	t := &s.tours[r]
	k := 0
	for _, v := range t.seq {
		if int(v) >= f.n || s.at[v] == int32(r) {
			t.seq[k] = v
			k++
		}
	}
	t.seq = t.seq[:k]
	f.renew(s, r)
}

// copyTour copies one tour of a state to another.
func (f *frame) copyTour(to, from *state, r int) {
	a, b := &to.tours[r], &from.tours[r]
	a.seq = append(a.seq[:0], b.seq...)
	a.early = append(a.early[:0], b.early...)
	a.late = append(a.late[:0], b.late...)
	a.time, a.load, a.work, a.cost, a.alien = b.time, b.load, b.work, b.cost, b.alien
}

// copyState makes to equal from.
func (f *frame) copyState(to, from *state) {
	for r := range from.tours {
		f.copyTour(to, from, r)
	}
	copy(to.at, from.at)
	copy(to.pos, from.pos)
	copy(to.work, from.work)
	to.absent = append(to.absent[:0], from.absent...)
}

func (f *frame) plan(s *state) Plan {
	p := Plan{Tours: make([][]int, len(s.tours)), Cost: f.total(s)}
	for r := range s.tours {
		p.Travel += s.tours[r].time
		for _, v := range s.tours[r].stops() {
			p.Tours[r] = append(p.Tours[r], int(v))
		}
		if len(p.Tours[r]) > 0 {
			p.Used++
		}
	}
	for _, v := range s.absent {
		p.Absent = append(p.Absent, int(v))
	}
	return p
}
