package healing

import (
	"math"
	"sort"
	"time"
)

// reading is one value of one measure, on the one scale, ready for the filter.
type reading struct {
	wk   float64 // weeks since the first reading
	log  float64 // logarithm of the value
	val  float64 // the value
	cv   float64 // standard error as a share of the value
	bias int     // state of its method's factor, 0 for none
	size int     // index into the series that was given
}

// component is one node of the posterior.
type component struct {
	weight float64
	cfg    config
	wild   wildSet // which readings count as wild
	state  state
}

// Fit is the posterior of one measure of one wound: a weighted sum of normal beliefs on either scale.
type Fit struct {
	Measure Measure
	// First and Last are the times of the first and the last reading used.
	First, Last time.Time
	// Readings is how many readings were used.
	Readings int
	// FamilyWeight is the posterior weight of each family, in the order of Families.
	FamilyWeight []FamilyWeight
	// WildChance is for each reading the chance that it is wild, by index into the series.
	WildChance map[int]float64
	// WindowWk is the length of the window that ends at Last over which progress is judged, weeks.
	WindowWk float64

	prior      Prior
	power      float64
	spanWk     float64
	biasSD     [2]float64
	closedAt   []float64
	components []component
	readings   []reading
	decays     *decays // while fitting
}

// FamilyWeight is the posterior weight of one family.
type FamilyWeight struct {
	Family Family  `json:"family"`
	Weight float64 `json:"weight"`
}

// lengthOf turns a value into an equivalent length, cm: the radius of a circle, a depth, the radius of a hemisphere.
func lengthOf(m Measure, value float64) float64 {
	switch m {
	case Area:
		return math.Sqrt(value / math.Pi)
	case Volume:
		return math.Cbrt(value * 3 / (2 * math.Pi))
	}
	return value
}

// scale is the scale on which a family's curve is straight.
type scale int

const (
	onLog    scale = iota // the logarithm
	onLength              // the equivalent length
	onValue               // the value itself
)

// of brings a value onto the scale.
func (sc scale) of(m Measure, value float64) float64 {
	switch sc {
	case onLog:
		return math.Log(value)
	case onLength:
		return lengthOf(m, value)
	}
	return value
}

// exponent is that of the value on the scale; p is the exponent of a length.
func (sc scale) exponent(p float64) float64 {
	if sc == onLength {
		return p
	}
	return 1
}

const (
	// diffuseSDLog is the spread of the first size before it is read: a factor of about three
	diffuseSDLog = 1.0
	// wildLogDensity is the density of a wild reading: anywhere within a factor of twelve up or down
	wildLogDensity = -1.609437912434100375 // log(1/5)
	// keepShare is the smallest weight, relative to the heaviest node, that is kept
	keepShare = 5e-3
)

// fitReadings computes the posterior (eqs. 3 to 11). readings: at least two at different times, increasing in wk. Progress is
// judged over the last windowWk, over all of them where they span less.
func fitReadings(m Measure, readings []reading, pr Prior, biasSD [2]float64, windowWk float64) *Fit {
	p := m.power()
	times := make([]float64, len(readings))
	for i, r := range readings {
		times[i] = r.wk
	}
	f := &Fit{Measure: m, Readings: len(readings), prior: pr, power: p, biasSD: biasSD, readings: readings,
		decays: &decays{}, spanWk: times[len(times)-1] - times[0], WildChance: map[int]float64{}, closedAt: closedSizes(m, readings[len(readings)-1].val)}
	f.WindowWk = math.Min(windowWk, f.spanWk)
	grid := configs(pr, m, firstValue(readings), times)
	for _, wild := range f.wildSets(grid, readings) {
		f.addComponents(grid, readings, wild)
	}
	f.normalise(readings)
	f.decays = nil
	return f
}

// firstValue is a robust size of the wound at the start: the median of the first three values.
func firstValue(readings []reading) float64 {
	var l []float64
	for _, r := range readings[:min(3, len(readings))] {
		l = append(l, r.val)
	}
	sort.Float64s(l)
	return math.Max(l[len(l)/2], 0.01)
}

func (f *Fit) addComponents(grid []config, readings []reading, wild wildSet) {
	lp := float64(wild.len())*math.Log(f.prior.Wild) + float64(len(readings)-wild.len())*math.Log1p(-f.prior.Wild)
	// legs are the shared beginnings of nodes that change course
	legs := map[int]*leg{}
	for i := range grid {
		c := &grid[i]
		var l leg
		if c.trunk == 0 {
			l = f.begin(c, readings, wild)
		} else {
			t := legs[c.trunk]
			if t == nil {
				l := f.begin(c, readings, wild)
				t, legs[c.trunk] = &l, &l
			}
			f.follow(t, c, readings, c.changeWk)
			l = *t
			f.change(&l.state, c)
		}
		f.finish(&l, c, readings)
		// weight holds its logarithm until normalise
		f.components = append(f.components, component{weight: l.logLik + lp + c.logPrior, cfg: *c, wild: wild, state: l.state})
	}
}

// normalise turns logarithms into weights, drops the lightest nodes and sums up families and wild readings.
func (f *Fit) normalise(readings []reading) {
	top := math.Inf(-1)
	for _, c := range f.components {
		top = math.Max(top, c.weight)
	}
	kept, total := f.components[:0], 0.0
	for _, c := range f.components {
		c.weight = math.Exp(c.weight - top)
		if c.weight < keepShare {
			continue
		}
		kept = append(kept, c)
		total += c.weight
	}
	f.components = kept
	family := map[Family]float64{}
	for i := range f.components {
		c := &f.components[i]
		c.weight /= total
		family[c.cfg.family] += c.weight
		for j, r := range readings {
			if c.wild.has(j) {
				f.WildChance[r.size] += c.weight
			}
		}
	}
	for _, name := range Families {
		f.FamilyWeight = append(f.FamilyWeight, FamilyWeight{name, family[name]})
	}
}

// refWk is the start of the window over which progress is judged.
func (f *Fit) refWk(readings []reading) float64 { return readings[len(readings)-1].wk - f.WindowWk }

func logAdd(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(b, -1) {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}
