package route

import (
	"cmp"
	"math"
	"slices"
)

// sortBy sorts stops by a value, the smallest first; equal ones by number.
func sortBy(stops []int32, by []float64) {
	slices.SortFunc(stops, func(a, b int32) int {
		if c := cmp.Compare(by[a], by[b]); c != 0 {
			return c
		}
		return cmp.Compare(a, b)
	})
}

const (
	stringMean = 10   // stops taken out a round, on average
	stringMost = 10   // longest string
	splitShare = 0.5  // strings that keep some stops in their middle
	splitMore  = 0.01 // and the chance that they keep no more
)

// A ruin takes stops out of a state: it marks them and calls lift.
type ruin func(*search)

var ruins = []ruin{(*search).strings, (*search).relatives, (*search).worst, (*search).anywhere, (*search).wholeTours}

// lift takes a placed stop out, unless it is fixed. The tour is swept later, once.
func (x *search) lift(v int32) bool {
	r := x.now.at[v]
	if r < 0 || x.f.p.Stops[v].Fixed {
		return false
	}
	x.now.at[v] = -1
	x.now.absent = append(x.now.absent, v)
	x.touch(int(r))
	x.torn[r] = true
	return true
}

// sweepTorn brings the tours up to date from which stops were lifted.
func (x *search) sweepTorn() {
	for r, torn := range x.torn {
		if torn {
			x.f.sweep(x.now, r)
			x.torn[r] = false
		}
	}
}

// strings takes strings of neighbouring stops out of neighbouring tours (Christiaens and Vanden Berghe 2020, section 5).
func (x *search) strings() {
	f, s := x.f, x.now
	placed, used := 0, 0
	for r := range s.tours {
		if k := len(s.tours[r].seq) - 2; k > 0 {
			placed, used = placed+k, used+1
		}
	}
	if placed == 0 {
		return
	}
	longest := min(stringMost, float64(placed)/float64(used))
	most := 4*float64(stringMean)/(1+longest) - 1
	count := int(f.rnd.unit()*most + 1)
	seed := int32(f.rnd.below(f.n))
	clear(x.hit)
	x.stringAt(seed, longest, &count)
	for _, v := range f.near[seed] {
		if count <= 0 {
			break
		}
		x.stringAt(v, longest, &count)
	}
}

// stringAt takes out one string that holds stop c.
func (x *search) stringAt(c int32, longest float64, count *int) {
	f, s := x.f, x.now
	r := s.at[c]
	if r < 0 || x.hit[r] {
		return
	}
	x.hit[r] = true
	*count--
	t := &s.tours[r]
	n := len(t.seq) - 2
	length := int(f.rnd.unit()*min(float64(n), longest) + 1)
	length = min(length, n)
	keep := 0
	if length > 1 && length < n && f.rnd.unit() < splitShare {
		keep = 1
		for length+keep < n && f.rnd.unit() > splitMore {
			keep++
		}
	}
	span := length + keep
	at := int(s.pos[c]) // 1..n
	lo, hi := max(1, at-span+1), min(at, n-span+1)
	from := lo + f.rnd.below(hi-lo+1)
	gapAt := from + span // no gap
	if keep > 0 {
		gapAt = from + 1 + f.rnd.below(length-1)
	}
	for i := from; i < from+span; i++ {
		if keep > 0 && i >= gapAt && i < gapAt+keep {
			continue
		}
		x.lift(t.seq[i])
	}
}

// relatives takes out stops that are alike in place and time, and sisters of a series (Shaw 1998).
func (x *search) relatives() {
	f := x.f
	want := 4 + f.rnd.below(max(1, min(30, f.n*2/5)-4+1))
	x.pool = x.pool[:0]
	v := int32(f.rnd.below(f.n))
	for tries := 0; len(x.pool) < want && tries < 4*want; tries++ {
		if x.lift(v) {
			x.pool = append(x.pool, v)
			for _, g := range f.gaps[v] {
				for _, u := range []int{g.First, g.Then} {
					if x.lift(int32(u)) {
						x.pool = append(x.pool, int32(u))
					}
				}
			}
		}
		from := v
		if len(x.pool) > 0 {
			from = x.pool[f.rnd.below(len(x.pool))]
		}
		if len(f.kin[from]) == 0 {
			return
		}
		y := f.rnd.unit()
		v = f.kin[from][int(y*y*y*y*y*y*float64(len(f.kin[from])))]
	}
}

// worst takes out stops whose tours would gain most without them, with some chance in the order.
func (x *search) worst() {
	f, s := x.f, x.now
	x.pool = x.pool[:0]
	for r := range s.tours {
		t := &s.tours[r]
		T, P := f.p.Times[f.p.Shifts[r].Band], f.p.Places
		for i := 1; i+1 < len(t.seq); i++ {
			a, v, b := int(f.place[t.seq[i-1]]), int(f.place[t.seq[i]]), int(f.place[t.seq[i+1]])
			gain := T[a*P+v] + T[v*P+b] - T[a*P+b]
			if f.cost != nil {
				gain += f.cost[int(t.seq[i])*len(s.tours)+r]
			}
			x.key[t.seq[i]] = -gain
			x.pool = append(x.pool, t.seq[i])
		}
	}
	sortBy(x.pool, x.key)
	want := 4 + f.rnd.below(max(1, min(20, f.n*2/5)-4+1))
	for k := 0; k < want && len(x.pool) > 0; k++ {
		i := int(math.Pow(f.rnd.unit(), 3) * float64(len(x.pool)))
		x.lift(x.pool[i])
		x.pool = append(x.pool[:i], x.pool[i+1:]...)
	}
}

// anywhere takes out stops at random.
func (x *search) anywhere() {
	want := 4 + x.f.rnd.below(max(1, min(20, x.f.n*2/5)-4+1))
	for range want {
		x.lift(int32(x.f.rnd.below(x.f.n)))
	}
}

// wholeTours empties one tour, and sometimes the tour of its nearest neighbour too.
func (x *search) wholeTours() {
	f, s := x.f, x.now
	seed := int32(f.rnd.below(f.n))
	r := s.at[seed]
	if r < 0 {
		return
	}
	second := int32(-1)
	if f.rnd.below(2) == 0 {
		for _, v := range f.near[seed] {
			if s.at[v] >= 0 && s.at[v] != r {
				second = s.at[v]
				break
			}
		}
	}
	for _, q := range []int32{r, second} {
		if q < 0 || len(s.tours[q].seq) > 40 {
			continue
		}
		for _, v := range s.tours[q].stops() {
			x.lift(v)
		}
	}
}
