package pumplog

import (
	"math"
	"time"
)

// Flags of a sample.
const (
	flagLeak  = 1
	flagBlock = 2
	flagLow   = 3
)

// Thresholds of episodes (own choice, from the simulations of docs/model/pumplog.md).
const (
	leakRise    = 0.5  // of the usual value
	blockFall   = 0.65 // of the usual value
	nothing     = 0.12 // of the usual value: next to nothing
	joinEpisode = 5 * 60_000
)

// episodes finds leaks, blockages and low suction. A leak is a rise of flow or motor's share above its usual value, or
// less suction than ordered with such a rise; a blockage is a fall to next to nothing with the suction held at the
// pump. Less suction without either is low suction, whose cause the log does not tell.
//
// Source of the distinction: clinical reference 11.14 (more flow with less suction is a leak, flow near zero a
// blockage or a full canister).
func (j *judging) episodes(c *measure) {
	s := j.l.Samples
	flags := make([]uint8, len(s))
	low := j.lowSuction()
	blockable := c != nil
	if c != nil {
		usual := medianOf(c.usual)
		if !(usual*blockFall > c.noise(usual) || usual*(1-nothing) > c.rowNoise(usual) || c.seldomNothing) || usual < c.least/4 {
			blockable = false
			j.out.Cannot = append(j.out.Cannot, "The usual "+c.method+" is so small that a blockage would not show in it.")
		}
	}
	for i := range s {
		if low[i] {
			flags[i] = flagLow
		}
		if c == nil {
			continue
		}
		v, u := c.smooth[i], c.at(s[i].T)
		if v != v || u != u {
			continue
		}
		noise := c.noise(u)
		rise := math.Max(c.least, math.Max(leakRise*u, noise))
		switch {
		case v > u+rise, low[i] && v > u+rise/2:
			flags[i] = flagLeak
		case !blockable || low[i]:
		case v < u*(1-blockFall) && v < u-noise, v < nothing*u && (c.seldomNothing || v < u-c.rowNoise(u)):
			// However much a flow wanders over the hours, it does not come to next to nothing.
			flags[i] = flagBlock
		}
	}
	j.byAlarm(c, flags)
	for _, kind := range []uint8{flagLeak, flagBlock, flagLow} {
		j.collect(c, flags, kind)
	}
	sortEpisodes(j.out.Episodes)
}

// lowSuction marks samples with less suction than ordered that are not off: for a program of stages by the mean over a
// cycle.
func (j *judging) lowSuction() []bool {
	s := j.l.Samples
	low := make([]bool, len(s))
	a, b, sum, n := 0, 0, 0.0, 0
	for i := range s {
		k := j.order[i]
		if k < 0 || j.state[i] == stateOff || j.state[i] == stateUnknown {
			continue
		}
		o := &j.orders[k]
		if len(o.Stages) == 1 {
			low[i] = j.state[i] == stateBelow
			continue
		}
		half := int64(o.CycleMin() * 60e3 / 2)
		counts := func(q int) bool { return known(s[q].SuctionMmHg) && j.state[q] != stateOff }
		for b < len(s) && s[b].T < s[i].T+half {
			if counts(b) {
				sum, n = sum+float64(s[b].SuctionMmHg), n+1
			}
			b++
		}
		for s[a].T < s[i].T-half {
			if counts(a) {
				sum, n = sum-float64(s[a].SuctionMmHg), n-1
			}
			a++
		}
		mean := o.MeanMmHg()
		// Less than a cycle beside a time off or a gap may hold the low stages alone.
		whole := float64(n)*float64(j.dt) >= 0.95*o.CycleMin()*60e3-float64(j.dt)
		low[i] = whole && n > 0 && sum/float64(n) < mean-math.Max(j.set.BandMmHg, 0.15*mean)
	}
	return low
}

// collect joins flagged samples of one kind to episodes and measures them.
func (j *judging) collect(c *measure, flags []uint8, kind uint8) {
	s := j.l.Samples
	least := int64(j.set.EpisodeMin * 60e3)
	join := int64(joinEpisode)
	if c != nil && kind != flagLow {
		join = max(join, c.widthMs)
	}
	begun, done := 0, -1 // the episode before, by its samples
	for i := 0; i < len(s); i++ {
		if flags[i] != kind {
			continue
		}
		// Rows that lie halfway to the flag keep a spell together: its evidence is that of all its rows.
		first, last, near, held := i, i, i, 1
		for k := i + 1; k < len(s) && s[k].T-j.end[near] <= join; k++ {
			// A time off ends an episode; the low stage of a program may read as off while air leaks in.
			if j.end[k-1] != s[k].T || j.state[k] == stateUnknown || (j.state[k] == stateOff && (s[k].Therapy == No || len(j.stagesAt(k)) < 2) && flags[k] != kind) {
				break
			}
			switch {
			case flags[k] == kind:
				last, near, held = k, k, held+1
			case c != nil && kind != flagLow && flags[k] == 0 && c.agrees(s[k].T, k, kind):
				near = k
			}
		}
		i = last
		if held < 2 || 3*held < last-first+1 {
			continue // single rows here and there, joined by nothing; however far apart rows are, one is no spell
		}
		open := last+1 >= len(s) || j.end[last] != s[last+1].T
		if kind != flagLow && c != nil {
			first, last = j.edges(c, first, last)
		}
		again := first <= done // both were moved to the same middle: one episode
		if again {
			first, last = begun, max(last, done)
		}
		length := j.end[last] - s[first].T
		// A smoothed flank is half a width longer or shorter than the truth; the shortest that is listed is the setting.
		few := last-first < 2
		if length < least || (few && j.dt < least/2) || (few && kind == flagLow && j.dt <= least/2) {
			continue
		}
		if e, ok := j.episode(c, kind, first, last); ok {
			e.Open = open
			if again {
				j.out.Episodes = j.out.Episodes[:len(j.out.Episodes)-1]
			}
			j.out.Episodes = append(j.out.Episodes, e)
			begun, done = first, last
		}
	}
}

// edges moves both ends to where the smoothed measure crosses the middle between usual and the episode's level: for a
// step that is where the step is.
func (j *judging) edges(c *measure, first, last int) (int, int) {
	s := j.l.Samples
	level := medianOf(c.smooth[first : last+1])
	inside := func(k int) bool {
		v, u := c.smooth[k], c.at(s[k].T)
		if v != v || u != u {
			return false
		}
		if level > u {
			return v >= (u+level)/2
		}
		return v <= (u+level)/2
	}
	for first < last && !inside(first) {
		first++
	}
	for first > 0 && j.end[first-1] == s[first].T && inside(first-1) {
		first--
	}
	for last > first && !inside(last) {
		last--
	}
	for last+1 < len(s) && j.end[last] == s[last+1].T && inside(last+1) {
		last++
	}
	return first, last
}

func (j *judging) episode(c *measure, kind uint8, first, last int) (Episode, bool) {
	s := j.l.Samples
	from, to := j.between(first, last)
	e := Episode{From: time.UnixMilli(from).In(j.zone), To: time.UnixMilli(to).In(j.zone), Minutes: float64(to-from) / 60e3}
	if kind == flagLow || c == nil {
		var short []float64
		for i := first; i <= last; i += max(1, (last-first)/500) {
			if k := j.order[i]; k >= 0 && known(s[i].SuctionMmHg) {
				short = append(short, j.orders[k].MeanMmHg()-float64(s[i].SuctionMmHg))
			}
		}
		e.Kind, e.Unit, e.Size = LowSuction, "mmHg", median(short)
		if kind != flagLow {
			e.Kind, e.ToldBy = map[uint8]string{flagLeak: Leak, flagBlock: Blockage}[kind], "alarm"
			e.Size = max(0, e.Size) // NaN stays
			if e.Size != e.Size {
				e.Size = 0
			}
		}
		if k := j.order[first]; k >= 0 {
			e.Usual = j.orders[k].MeanMmHg()
			e.Level = e.Usual - e.Size
		}
		return e, e.Size > 0 || e.ToldBy != ""
	}
	e.Kind, e.Unit, e.ToldBy = Leak, c.unit, c.method
	if kind == flagBlock {
		e.Kind = Blockage
	}
	e.Level, e.Usual = medianOf(c.x[first:last+1]), c.at(s[(first+last)/2].T)
	if e.Level != e.Level {
		e.Level = medianOf(c.smooth[first : last+1])
	}
	e.Size = math.Abs(e.Level - e.Usual)
	// A level that stays is a step in the course, not an episode: the day after is nearer to it than to the usual. A day,
	// because a second blockage soon after must not pass for the level that stays.
	if kind == flagBlock || e.Minutes < 90 {
		after := medianOf(c.smooth[find(s, j.end[last]+c.widthMs):find(s, j.end[last]+dayMs)])
		before := medianOf(c.smooth[find(s, s[first].T-dayMs):find(s, s[first].T-c.widthMs)])
		if !math.IsNaN(after) && !math.IsNaN(before) && math.Abs(after-e.Level) < math.Abs(after-before)/2 {
			return e, false
		}
	}
	return e, e.Size > 0
}

// between gives an episode's ends. A change is seen at the first row after it, so with rows far apart both ends lie half
// a step earlier in the mean.
func (j *judging) between(first, last int) (from, to int64) {
	s := j.l.Samples
	from, to = s[first].T, j.end[last]
	if j.dt < farRows {
		return from, to
	}
	if first > 0 && j.end[first-1] == s[first].T {
		from -= (s[first].T - s[first-1].T) / 2
	}
	if last+1 < len(s) && j.end[last] == s[last+1].T {
		to -= (j.end[last] - s[last].T) / 2
	}
	return from, to
}

// farRows is the step from which it matters that a change lies between two rows.
const farRows = 10 * 60_000

func sortEpisodes(list []Episode) {
	for i := 1; i < len(list); i++ {
		for k := i; k > 0 && list[k].From.Before(list[k-1].From); k-- {
			list[k], list[k-1] = list[k-1], list[k]
		}
	}
}
