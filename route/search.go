package route

import "math"

// Options say how long to look and what to report.
type Options struct {
	Seed   uint64
	Rounds int            // rounds of the search; zero with Spent: as many as the budget holds
	Spent  func() float64 // share of the budget that is spent, 0..1 and more; nil: counted in rounds
	Better func(Plan)     // called for each better plan; nil: none
	Heat   float64        // first temperature in typical legs; zero: hot, which suits a long look
	Start  [][]int        // tours to start from, one by shift; nil: none. What does not hold is left out
}

const (
	checkEvery = 64      // rounds between two looks at the budget
	learnEvery = 200     // rounds between two changes of the weights
	reaction   = 0.15    // how much a change weighs
	leastShare = 0.1     // no way of taking out or putting in is given up
	hot, cold  = 3, 0.05 // first and last temperature, in typical legs
)

// search is a running search: now is worked on, kept is the last one accepted, best the best.
type search struct {
	f              *frame
	now, kept, top *state
	keptBy, topBy  float64
	dirty          []bool // tours of now that differ from kept
	torn, hit      []bool
	key            []float64
	pool           []int32
	spare          []int32
	table          []spot
	weight         [2][]float64
	score, uses    [2][]float64
	rounds         int
}

func newSearch(f *frame, s *state) *search {
	m := len(s.tours)
	x := &search{f: f, now: s, kept: f.empty(), top: f.empty(), dirty: make([]bool, m), torn: make([]bool, m), hit: make([]bool, m), key: make([]float64, f.n)}
	for side, k := range []int{len(ruins), len(recreates)} {
		x.weight[side], x.score[side], x.uses[side] = make([]float64, k), make([]float64, k), make([]float64, k)
		for i := range x.weight[side] {
			x.weight[side][i] = 1
		}
	}
	x.weight[0][0], x.weight[1][0] = 6, 6
	x.keep()
	f.copyState(x.kept, x.now)
	f.copyState(x.top, x.now)
	x.keptBy = f.total(s)
	x.topBy = x.keptBy
	return x
}

func (x *search) touch(r int) { x.dirty[r] = true }

// keep takes now as the state to go on from; drop goes back to the last one kept.
func (x *search) keep() { x.exchange(x.kept, x.now) }
func (x *search) drop() { x.exchange(x.now, x.kept) }

func (x *search) exchange(to, from *state) {
	for r, d := range x.dirty {
		if d {
			x.f.copyTour(to, from, r)
			x.dirty[r] = false
		}
	}
	copy(to.at, from.at)
	copy(to.pos, from.pos)
	copy(to.work, from.work)
	to.absent = append(to.absent[:0], from.absent...)
}

func (x *search) draw(side int) int {
	sum := 0.0
	for _, w := range x.weight[side] {
		sum += w
	}
	at := x.f.rnd.unit() * sum
	for i, w := range x.weight[side] {
		if at -= w; at < 0 {
			return i
		}
	}
	return 0
}

// round makes one change and keeps it or not, at a temperature. It returns whether the best plan is better now.
func (x *search) round(heat float64) bool {
	a, b := x.draw(0), x.draw(1)
	ruins[a](x)
	x.sweepTorn()
	recreates[b](x)
	by := x.f.total(x.now)
	gain := 0.0
	better := false
	if by < x.topBy-1e-7 {
		x.improve()
		by = x.f.total(x.now)
		x.topBy = by
		gain, better = 20, true
	} else if by < x.keptBy-1e-9 {
		gain = 8
	} else if by < x.keptBy+heat*x.f.rnd.chill() {
		if by != x.keptBy {
			gain = 3
		}
	}
	if better || gain > 0 || by <= x.keptBy {
		x.keep()
		x.keptBy = by
	} else {
		x.drop()
	}
	if better {
		x.f.copyState(x.top, x.now)
	}
	for side, i := range []int{a, b} {
		x.score[side][i] += gain
		x.uses[side][i]++
	}
	x.rounds++
	if x.rounds%learnEvery == 0 {
		x.learn()
	}
	return better
}

// learn moves the weights towards what each way of taking out or putting in has brought (Ropke and Pisinger 2006,
// section 3.4).
func (x *search) learn() {
	for side := range x.weight {
		sum := 0.0
		for i, w := range x.weight[side] {
			if u := x.uses[side][i]; u > 0 {
				w = (1-reaction)*w + reaction*x.score[side][i]/u
			}
			x.weight[side][i] = w
			x.score[side][i], x.uses[side][i] = 0, 0
			sum += w
		}
		for i := range x.weight[side] {
			x.weight[side][i] = max(x.weight[side][i], leastShare*sum, 1e-6)
		}
	}
}

// anneal searches from where x stands until done says so. scale is a typical leg; heat falls from first to cold times it.
func (x *search) anneal(scale, first float64, spent func() float64, better func()) {
	heat := first * scale
	for i := 0; ; i++ {
		if i%checkEvery == 0 {
			share := spent()
			if share >= 1 {
				return
			}
			heat = scale * first * math.Pow(min(1, cold/first), share)
		}
		if x.round(heat) {
			better()
		}
	}
}

// Solve plans. It panics on a problem with faults (Check).
func Solve(p *Problem, o Options) Plan {
	if bad := p.Check(); len(bad) > 0 {
		panic("route: " + bad[0])
	}
	f := newFrame(p, o.Seed)
	s := f.empty()
	f.begin(s, o.Start)
	if f.n == 0 || len(p.Shifts) == 0 {
		return f.plan(s)
	}
	rounds := 0
	spent := o.Spent
	if spent == nil {
		spent = func() float64 {
			rounds++
			return float64((rounds-1)*checkEvery) / float64(max(o.Rounds, 1))
		}
	}
	x := newSearch(f, s)
	tell := func() {
		if o.Better != nil {
			o.Better(f.plan(x.top))
		}
	}
	x.recreateAll()
	tell()
	from := 0.0
	if p.Alike {
		x.shrink(func() float64 { return spent() / fleetShare }, tell)
		from = min(spent(), fleetShare)
	}
	share := func() float64 { return (spent() - from) / (1 - from) }
	first := o.Heat
	if first == 0 {
		first = hot
	}
	x.anneal(f.leg(x.top), first, share, tell)
	return f.plan(x.top)
}

// begin puts the tours of an earlier plan into an empty state, as far as they still hold.
func (f *frame) begin(s *state, tours [][]int) {
	for r, t := range tours {
		if r >= len(s.tours) {
			break
		}
		for _, v := range t {
			if v < 0 || v >= f.n || s.at[v] >= 0 || !f.may(s, v, r) {
				continue
			}
			end := int32(len(s.tours[r].seq) - 2)
			if f.fitsAfter(s, v, r, int(end)) {
				f.put(s, int32(v), spot{tour: int32(r), pos: end})
			}
		}
	}
	k := 0
	for _, v := range s.absent {
		if s.at[v] < 0 {
			s.absent[k] = v
			k++
		}
	}
	s.absent = s.absent[:k]
}

// fitsAfter says whether a stop may stand right after a position of a tour, by time alone.
func (f *frame) fitsAfter(s *state, v, r, i int) bool {
	t, sh := &s.tours[r], &f.p.Shifts[r]
	T, P, K := f.p.Times[sh.Band], f.p.Places, f.days
	a, b := int(t.seq[i]), int(t.seq[i+1])
	begin := max(t.early[i]+f.serve[a]+T[int(f.place[a])*P+int(f.place[v])], f.open[v*K+sh.Kind])
	return begin <= f.shut[v*K+sh.Kind]+slack && begin+f.serve[v]+T[int(f.place[v])*P+int(f.place[b])] <= t.late[i+1]+slack
}

// recreateAll inserts all that is absent, and takes the result as the first plan.
func (x *search) recreateAll() {
	x.regret(2)
	x.improve()
	for r := range x.dirty {
		x.dirty[r] = true
	}
	x.keep()
	x.keptBy = x.f.total(x.now)
	x.topBy = x.keptBy
	x.f.copyState(x.top, x.now)
}

// leg is the mean travel between two stops of a plan, the scale of the temperature.
func (f *frame) leg(s *state) float64 {
	sum, k := 0.0, 0
	for r := range s.tours {
		if n := len(s.tours[r].seq); n > 2 {
			sum, k = sum+s.tours[r].time, k+n-1
		}
	}
	if k == 0 || sum == 0 {
		return 1
	}
	return sum / float64(k)
}
