package pumplog

import (
	"math"
	"slices"
	"sort"
	"time"
)

// measure is the channel that tells the leak, smoothed, with its usual value hour by hour.
type measure struct {
	method, unit string
	x            []float64 // per sample, NaN where therapy is off or nothing is told
	smooth       []float64 // mean over widthMs
	widthMs      int64
	least        float64 // the smallest rise that matters
	usual        []float64
	firstHour    int64
	sigma        float64 // of smooth within an hour, robust
	wander       float64 // of the medians of hours from one hour to the next, robust
	// coarse tells that a reading is only "runs" or "rests": then readings is how many make up a smoothed value.
	coarse   bool
	readings float64
	// seldomNothing tells that the smoothed measure hardly ever comes to next to nothing of its usual value by its own
	// scatter, which grows with the value: then a spell of it stands out however far the rows scatter upward.
	seldomNothing bool
}

// How many times its noise a change must have to stand out. An hour's wander is slower than that of the rows, and the
// scatter of "runs or rests" is known from their number alone (own choice, from the simulations).
const (
	sigmas      = 6.0
	wanders     = 8.0
	coarseTimes = 5.0
)

// noise is the least change from the usual value u that stands out.
func (c *measure) noise(u float64) float64 {
	return math.Max(c.rowNoise(u), wanders*c.wander)
}

// rowNoise is the same without the wander.
func (c *measure) rowNoise(u float64) float64 {
	n := sigmas * c.sigma
	if p := u / 100; c.coarse && p >= 0 && p <= 1 {
		p = math.Max(p, 1/c.readings)
		n = math.Max(n, coarseTimes*100*math.Sqrt(p*(1-p)/c.readings))
	}
	return n
}

const hourMs = 3600_000

// Smallest rises of flow, share and decay that are called a leak: under them a change does no harm that a log could
// show (own choice).
const (
	leastFlow  = 4.0 // mL/min
	leastMotor = 1.0 // per cent
	leastDecay = 2.0 // mmHg/min
)

// channel chooses what tells the leak: the flow, or else the motor's share, or else the fall of the suction while the
// motor rests, which needs rows every few seconds.
func (j *judging) channel() *measure {
	s := j.l.Samples
	flow, motor, on := 0, 0, 0
	for i := range s {
		if j.state[i] == stateUnknown || j.state[i] == stateOff {
			continue
		}
		on++
		if known(s[i].FlowMLMin) {
			flow++
		}
		if known(s[i].MotorPct) {
			motor++
		}
	}
	c := &measure{x: make([]float64, len(s))}
	var get func(i int) float64
	switch {
	case on == 0:
		return nil
	case 2*flow >= on:
		c.method, c.unit, c.least = "flow", "mL/min", leastFlow
		get = func(i int) float64 { return float64(s[i].FlowMLMin) }
	case 2*motor >= on:
		c.method, c.unit, c.least = "motor's share", "%", leastMotor
		get = func(i int) float64 { return float64(s[i].MotorPct) }
	case j.dt <= 15_000 && j.l.JoinedMs == 0:
		c.method, c.unit, c.least = "decay", "mmHg/min", leastDecay
		get = func(i int) float64 {
			if i+1 < len(s) && j.end[i] == s[i+1].T && s[i+1].SuctionMmHg < s[i].SuctionMmHg {
				return float64(s[i].SuctionMmHg-s[i+1].SuctionMmHg) / float64(s[i+1].T-s[i].T) * 60e3
			}
			return math.NaN()
		}
	default:
		return nil
	}
	coarse := 0 // readings that are only "runs" or "rests"
	for i := range s {
		c.x[i] = math.NaN()
		if j.state[i] == stateOff && s[i].Therapy != No && c.method != "decay" {
			// No suction, and yet air flows: a leak so great that the pump cannot hold against it.
			if v := get(i); v > 2*c.least {
				c.x[i] = v
			}
		}
		if j.state[i] != stateUnknown && j.state[i] != stateOff {
			c.x[i] = get(i)
			if c.method == "motor's share" && (c.x[i] == 0 || c.x[i] == 100) {
				coarse++
			}
		}
	}
	c.widthMs = 5 * 60_000
	if c.coarse = coarse*10 > on*9; c.coarse {
		c.widthMs = min(30*60_000, max(10*60_000, 30*j.dt))
		c.readings = math.Max(1, float64(c.widthMs/j.dt))
	}
	steady := !c.coarse && c.method != "decay"
	for _, o := range j.orders {
		if m := int64(o.CycleMin() * 60e3); m > 0 && m < 3*hourMs {
			c.widthMs, steady = max(c.widthMs, m), false
		}
	}
	if steady {
		j.settle(c)
	} else {
		j.smooth(c)
	}
	j.baseline(c)
	return c
}

// settle takes centred medians over widthMs: a cough or a turn in bed gives single rows of much air, which are no leak,
// and a step stays as steep as it is.
func (j *judging) settle(c *measure) {
	s := j.l.Samples
	c.smooth = make([]float64, len(s))
	half := c.widthMs / 2
	if j.dt >= c.widthMs {
		copy(c.smooth, c.x)
		return
	}
	window := make([]float64, 0, 64)
	a, b := 0, 0
	for i := range s {
		for ; b < len(s) && s[b].T <= s[i].T+half; b++ {
			if v := c.x[b]; !math.IsNaN(v) {
				k, _ := slices.BinarySearch(window, v)
				window = slices.Insert(window, k, v)
			}
		}
		for ; s[a].T < s[i].T-half; a++ {
			if v := c.x[a]; !math.IsNaN(v) {
				k, _ := slices.BinarySearch(window, v)
				window = slices.Delete(window, k, k+1)
			}
		}
		c.smooth[i] = math.NaN()
		if n := len(window); n > 0 && c.x[i] == c.x[i] {
			c.smooth[i] = (window[(n-1)/2] + window[n/2]) / 2
		}
	}
}

// smooth takes centred means over widthMs, within stretches that have no gap.
func (j *judging) smooth(c *measure) {
	s := j.l.Samples
	c.smooth = make([]float64, len(s))
	half := c.widthMs / 2
	if j.dt >= c.widthMs {
		copy(c.smooth, c.x)
		return
	}
	sum, n, a, b := 0.0, 0, 0, 0
	for i := range s {
		for b < len(s) && s[b].T <= s[i].T+half {
			if c.x[b] == c.x[b] {
				sum += c.x[b]
				n++
			}
			b++
		}
		for s[a].T < s[i].T-half {
			if c.x[a] == c.x[a] {
				sum -= c.x[a]
				n--
			}
			a++
		}
		c.smooth[i] = math.NaN()
		if n > 0 && (c.x[i] == c.x[i] || c.method == "decay" && j.state[i] != stateUnknown && j.state[i] != stateOff) {
			c.smooth[i] = sum / float64(n)
		}
	}
}

// spanHours is how far the usual value looks to each side: an episode may last up to that long and still stand out.
const spanHours = 36

// baseline takes the median of each hour and then, for each hour, the median of those within 36 hours on both sides.
func (j *judging) baseline(c *measure) {
	s := j.l.Samples
	c.firstHour = s[0].T / hourMs
	n := int(s[len(s)-1].T/hourMs-c.firstHour) + 1
	if n > 100_000 {
		n = 100_000
	}
	hourly := make([]float64, n)
	for h := range hourly {
		hourly[h] = math.NaN()
	}
	buf := make([]float64, 0, 128)
	for i := 0; i < len(s); {
		h := s[i].T / hourMs
		buf = buf[:0]
		for ; i < len(s) && s[i].T/hourMs == h; i++ {
			if v := c.smooth[i]; !math.IsNaN(v) && len(buf) < 4096 {
				buf = append(buf, v)
			}
		}
		if k := int(h - c.firstHour); len(buf) > 0 && k < n {
			hourly[k] = median(buf)
		}
	}
	c.usual = make([]float64, n)
	window := make([]float64, 0, 2*spanHours+1)
	put := func(h int) {
		if h < n && hourly[h] == hourly[h] {
			k, _ := slices.BinarySearch(window, hourly[h])
			window = slices.Insert(window, k, hourly[h])
		}
	}
	for h := 0; h < min(spanHours, n); h++ {
		put(h)
	}
	for h := range c.usual {
		put(h + spanHours)
		if old := h - spanHours - 1; old >= 0 && hourly[old] == hourly[old] {
			k, _ := slices.BinarySearch(window, hourly[old])
			window = slices.Delete(window, k, k+1)
		}
		if c.usual[h] = math.NaN(); len(window) > 0 {
			c.usual[h] = window[len(window)/2]
		}
	}
	c.habit(hourly)
	// Noise is told against the median of the hour, so that a course over the day does not count as noise.
	var dev []float64
	for i := 0; i < len(s); i += max(1, len(s)/5000) {
		h := int(s[i].T/hourMs - c.firstHour)
		if h >= n {
			break
		}
		if v := math.Abs(c.smooth[i] - hourly[h]); !math.IsNaN(v) {
			dev = append(dev, v)
		}
	}
	c.sigma = 1.4826 * median(dev)
	c.seldomNothing = !c.coarse && c.lnSigma(s) < -math.Log(nothing)/sigmas*2
	dev = dev[:0]
	for h := 1; h < n; h++ {
		if v := math.Abs(hourly[h] - hourly[h-1]); !math.IsNaN(v) {
			dev = append(dev, v)
		}
	}
	if len(dev) >= 24 {
		sort.Float64s(dev)
		// Told by the calmest tenth, of which a normal scatter has 0.1257 standard deviations: where a leak or a blockage
		// comes every few hours, most steps between hours are theirs.
		c.wander = dev[len(dev)/10] / 0.1257 / math.Sqrt2
	}
}

// lnSigma is the robust standard deviation of the logarithm of the smoothed measure's share of its usual value.
func (c *measure) lnSigma(s []Sample) float64 {
	var dev []float64
	for i := 0; i < len(s); i += max(1, len(s)/5000) {
		if v, u := c.smooth[i], c.at(s[i].T); v > 0 && u > 0 {
			dev = append(dev, math.Abs(math.Log(v/u)))
		}
	}
	return 1.4826 * median(dev)
}

func (c *measure) at(t int64) float64 {
	h := int(t/hourMs - c.firstHour)
	if h < 0 || h >= len(c.usual) {
		return math.NaN()
	}
	return c.usual[h]
}

// median reorders v; NaN for none.
func median(v []float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	sort.Float64s(v)
	if n := len(v); n%2 == 0 {
		return (v[n/2-1] + v[n/2]) / 2
	}
	return v[len(v)/2]
}

// course gives the leak's daily medians and its trend over the last week, by the median of slopes (Theil 1950, Sen
// 1968) and the test of Mann (1945) and Kendall on medians of six hours.
func (j *judging) course(c *measure) {
	l := &j.out.Leak
	if c == nil {
		j.out.Cannot = append(j.out.Cannot, "The log has neither flow nor the motor's share, and its rows are too far apart to see the suction fall: it cannot tell the leak, nor a leak from a blockage.")
		return
	}
	l.Method, l.Unit = c.method, c.unit
	s := j.l.Samples
	for i := range j.out.Days {
		d := &j.out.Days[i]
		a, b := find(s, d.start), find(s, d.end)
		if v := medianOf(c.x[a:b]); !math.IsNaN(v) {
			l.Points = append(l.Points, Point{time.UnixMilli((max(d.start, j.out.From.UnixMilli()) + min(d.end, j.out.To.UnixMilli())) / 2).In(j.zone), v})
		}
	}
	end := s[len(s)-1].T
	var at, y []float64
	from := max(s[0].T, end-7*dayMs)
	if !j.set.TrendFrom.IsZero() {
		from = max(from, j.set.TrendFrom.UnixMilli())
	}
	for t := from; t < end; t += 6 * hourMs {
		if v := medianOf(c.x[find(s, t):find(s, t+6*hourMs)]); !math.IsNaN(v) {
			at, y = append(at, float64(t)/dayMs), append(y, v)
		}
	}
	if len(y) < 8 {
		return
	}
	slope, z := trend(at, y)
	l.SpanDays = at[len(at)-1] - at[0]
	l.PerDay, l.Z = &slope, &z
	mid := medianOf(y)
	start := mid - slope*l.SpanDays/2
	grown := slope * l.SpanDays
	if start > 0 {
		g := 100 * grown / start
		l.GrowthPct = &g
	}
	if l.Growing = "no"; z > 3 && grown > c.least && (start <= 0 || grown > 0.3*start) {
		l.Growing = "yes"
	}
}

func find(s []Sample, t int64) int {
	return sort.Search(len(s), func(i int) bool { return s[i].T >= t })
}

// medianOf leaves v as it is, and leaves out what is not told; long series are thinned evenly.
func medianOf(v []float64) float64 {
	out := make([]float64, 0, min(len(v), 1024))
	for i := 0; i < len(v); i += max(1, len(v)/720) {
		if v[i] == v[i] {
			out = append(out, v[i])
		}
	}
	return median(out)
}

// trend is the median of all slopes between two points, and Mann's statistic divided by its standard deviation, with
// the correction for ties.
func trend(at, y []float64) (slope, z float64) {
	var slopes []float64
	score := 0
	for i := range y {
		for k := i + 1; k < len(y); k++ {
			slopes = append(slopes, (y[k]-y[i])/(at[k]-at[i]))
			if y[k] > y[i] {
				score++
			} else if y[k] < y[i] {
				score--
			}
		}
	}
	n := float64(len(y))
	v := n * (n - 1) * (2*n + 5)
	sorted := append([]float64(nil), y...)
	sort.Float64s(sorted)
	for i := 0; i < len(sorted); {
		e := i
		for e < len(sorted) && sorted[e] == sorted[i] {
			e++
		}
		t := float64(e - i)
		v -= t * (t - 1) * (2*t + 5)
		i = e
	}
	if v /= 18; v > 0 && score != 0 {
		z = (float64(score) - math.Copysign(1, float64(score))) / math.Sqrt(v)
	}
	return median(slopes), z
}
