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
	sigmas      = 6.0  // how many standard deviations of the smoothed measure a change must have
	leakRise    = 0.5  // of the usual value
	blockFall   = 0.65 // of the usual value
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
		if !(usual*blockFall > sigmas*c.sigma) || usual < c.least/4 {
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
		rise := math.Max(c.least, math.Max(leakRise*u, sigmas*c.sigma))
		switch {
		case v > u+rise, low[i] && v > u+rise/2:
			flags[i] = flagLeak
		case blockable && v < u*(1-blockFall) && v < u-sigmas*c.sigma && !low[i]:
			flags[i] = flagBlock
		}
	}
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
		for b < len(s) && s[b].T < s[i].T+half {
			if known(s[b].SuctionMmHg) {
				sum, n = sum+float64(s[b].SuctionMmHg), n+1
			}
			b++
		}
		for s[a].T < s[i].T-half {
			if known(s[a].SuctionMmHg) {
				sum, n = sum-float64(s[a].SuctionMmHg), n-1
			}
			a++
		}
		mean := o.MeanMmHg()
		low[i] = n > 0 && sum/float64(n) < mean-math.Max(j.set.BandMmHg, 0.15*mean)
	}
	return low
}

// collect joins flagged samples of one kind to episodes and measures them.
func (j *judging) collect(c *measure, flags []uint8, kind uint8) {
	s := j.l.Samples
	least := int64(j.set.EpisodeMin * 60e3)
	for i := 0; i < len(s); i++ {
		if flags[i] != kind {
			continue
		}
		first, last := i, i
		for k := i + 1; k < len(s) && s[k].T-j.end[last] <= joinEpisode; k++ {
			if j.end[k-1] != s[k].T || j.state[k] == stateOff || j.state[k] == stateUnknown {
				break
			}
			if flags[k] == kind {
				last = k
			}
		}
		i = last
		open := last+1 >= len(s) || j.end[last] != s[last+1].T
		if kind != flagLow {
			first, last = j.edges(c, first, last)
		}
		length := j.end[last] - s[first].T
		// A smoothed flank is half a width longer or shorter than the truth; the shortest that is listed is the setting.
		if length < least || (last-first < 2 && j.dt < least/2) {
			continue
		}
		if e, ok := j.episode(c, kind, first, last); ok {
			e.Open = open
			j.out.Episodes = append(j.out.Episodes, e)
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
	e := Episode{From: time.UnixMilli(s[first].T).In(j.zone), To: time.UnixMilli(j.end[last]).In(j.zone), Minutes: float64(j.end[last]-s[first].T) / 60e3}
	if kind == flagLow {
		var short []float64
		for i := first; i <= last; i += max(1, (last-first)/500) {
			if k := j.order[i]; k >= 0 && known(s[i].SuctionMmHg) {
				short = append(short, j.orders[k].MeanMmHg()-float64(s[i].SuctionMmHg))
			}
		}
		e.Kind, e.Unit, e.Size = LowSuction, "mmHg", median(short)
		if k := j.order[first]; k >= 0 {
			e.Usual = j.orders[k].MeanMmHg()
			e.Level = e.Usual - e.Size
		}
		return e, e.Size == e.Size
	}
	e.Kind, e.Unit = Leak, c.unit
	if kind == flagBlock {
		e.Kind = Blockage
	}
	e.Level, e.Usual = medianOf(c.x[first:last+1]), c.at(s[(first+last)/2].T)
	if e.Level != e.Level {
		e.Level = medianOf(c.smooth[first : last+1])
	}
	e.Size = math.Abs(e.Level - e.Usual)
	// A level that stays is a step in the course, not an episode: the hours after are nearer to it than to the usual.
	if kind == flagBlock || e.Minutes < 90 {
		after := medianOf(c.smooth[find(s, j.end[last]+c.widthMs):find(s, j.end[last]+6*hourMs)])
		before := medianOf(c.smooth[find(s, s[first].T-6*hourMs):find(s, s[first].T-c.widthMs)])
		if after == after && before == before && math.Abs(after-e.Level) < math.Abs(after-before)/2 {
			return e, false
		}
	}
	return e, e.Size > 0
}

func sortEpisodes(list []Episode) {
	for i := 1; i < len(list); i++ {
		for k := i; k > 0 && list[k].From.Before(list[k-1].From); k-- {
			list[k], list[k-1] = list[k-1], list[k]
		}
	}
}
