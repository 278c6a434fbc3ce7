package pumplog

import (
	"fmt"
	"math"
	"sort"
	"strings"
)

// patternDays is how much of the end of a log the program is told from: a program that was changed shows there.
const patternDays = 3

// level apart and within: plateaus differ by more than apartMmHg, and vary by less within one.
const apartMmHg = 7.0

// plateau is a time at one depth.
type plateau struct {
	from, to int64
	mmHg     float64
	cluster  int
}

// pattern tells the program that the last days of the log show and compares it with the order in force at the end.
func (j *judging) pattern() {
	s := j.l.Samples
	p := &j.out.Pattern
	end := len(s)
	from := find(s, s[end-1].T-patternDays*dayMs)
	k := j.order[end-1]
	for k >= 0 && from < end && j.order[from] != k {
		from++
	}
	list := j.plateaus(from, end, k, j.leaking())
	var total int64
	for _, q := range list {
		total += q.to - q.from
	}
	if total < 30*60_000 {
		p.Words = "Less than half an hour of steady suction: the program cannot be told."
		return
	}
	levels := cluster(list)
	share := func(c int) float64 {
		var t int64
		for _, q := range list {
			if q.cluster == c {
				t += q.to - q.from
			}
		}
		return float64(t) / float64(total)
	}
	for c := range levels {
		if w := share(c); w >= 0.9 {
			p.Kind, p.SharePct, p.Stages = "continuous", 100*w, []Stage{{SuctionMmHg: levels[c], HoldMin: 0}}
		}
	}
	if p.Kind != "continuous" {
		j.repeating(list, levels, p)
	}
	j.compare(p, k)
}

// leaking marks the samples within leaks: what the pump reaches against one says nothing of how it is set.
func (j *judging) leaking() []bool {
	s := j.l.Samples
	out := make([]bool, len(s))
	for _, e := range j.out.Episodes {
		if e.Kind != Leak {
			continue
		}
		for i := find(s, e.From.UnixMilli()-j.dt); i < len(s) && s[i].T <= e.To.UnixMilli(); i++ {
			out[i] = true
		}
	}
	return out
}

// plateaus are the times at one depth; ways between them, times off and leaks are left out.
func (j *judging) plateaus(from, end int, k int16, leaking []bool) []plateau {
	s := j.l.Samples
	var out []plateau
	rest := false
	if k >= 0 {
		for _, st := range j.orders[k].Stages {
			rest = rest || st.SuctionMmHg < j.set.OffBelowMmHg+j.set.BandMmHg
		}
	}
	for i := from; i < end; {
		if leaking[i] || !known(s[i].SuctionMmHg) || j.state[i] == stateUnknown || (j.state[i] == stateOff && !rest && !j.shortOff(i)) {
			i++
			continue
		}
		sum, n := 0.0, 0
		e := i
		for e < end && !leaking[e] && known(s[e].SuctionMmHg) && (e == i || s[e].T == j.end[e-1]) {
			v := float64(s[e].SuctionMmHg)
			if n > 0 && math.Abs(v-sum/float64(n)) > apartMmHg {
				break
			}
			sum, n = sum+v, n+1
			e++
		}
		if n >= 2 {
			q := plateau{s[i].T, j.end[e-1], sum / float64(n), 0}
			if m := len(out); m > 0 && out[m-1].to == q.from && math.Abs(out[m-1].mmHg-q.mmHg) < apartMmHg {
				out[m-1].to = q.to
			} else {
				out = append(out, q)
			}
		}
		i = e
		if n == 1 && e == i {
			i++
		}
	}
	return out
}

// shortOff tells whether the low reading belongs to a time without suction of at most 30 minutes, as a program's rest.
func (j *judging) shortOff(i int) bool {
	s := j.l.Samples
	a, b := i, i
	for a > 0 && j.state[a-1] == stateOff && j.end[a-1] == s[a].T && s[i].T-s[a].T < 31*60_000 {
		a--
	}
	for b+1 < len(s) && j.state[b+1] == stateOff && j.end[b] == s[b+1].T && s[b].T-s[i].T < 31*60_000 {
		b++
	}
	return j.end[b]-s[a].T <= 30*60_000
}

// cluster numbers the plateaus by depth and returns the depth of each cluster, weighted by time.
func cluster(list []plateau) []float64 {
	idx := make([]int, len(list))
	for i := range idx {
		idx[i] = i
	}
	sort.SliceStable(idx, func(a, b int) bool { return list[idx[a]].mmHg < list[idx[b]].mmHg })
	var levels, weight []float64
	last := math.Inf(-1)
	for _, i := range idx {
		q := &list[i]
		if q.mmHg-last > apartMmHg {
			levels, weight = append(levels, 0), append(weight, 0)
		}
		last = q.mmHg
		c := len(levels) - 1
		q.cluster = c
		w := float64(q.to - q.from)
		levels[c] += q.mmHg * w
		weight[c] += w
	}
	for c := range levels {
		levels[c] /= math.Max(weight[c], 1)
	}
	return levels
}

// repeating looks for the shortest list of stages that the plateaus repeat. A stage lasts from its plateau's start to
// the start of the next, so the way to it counts to the stage before.
func (j *judging) repeating(list []plateau, levels []float64, p *Pattern) {
	p.Kind, p.SharePct = "irregular", 0
	n := len(list)
	for period := 2; period <= 6 && 3*period <= n; period++ {
		hit, all := 0, 0
		for i := 0; i+period < n; i++ {
			all++
			if list[i].cluster == list[i+period].cluster {
				hit++
			}
		}
		if float64(hit) < 0.85*float64(all) {
			continue
		}
		// Times at each place of the cycle, by matching the sequence of the first cycle that repeats itself at once.
		var seq []int
		for i := 0; i+2*period <= n && seq == nil; i++ {
			ok := true
			for k := 0; k < period; k++ {
				ok = ok && list[i+k].cluster == list[i+period+k].cluster
			}
			if ok {
				for k := 0; k < period; k++ {
					seq = append(seq, list[i+k].cluster)
				}
			}
		}
		if seq == nil {
			continue
		}
		held := make([][]float64, period)
		matched, total := 0.0, 0.0
		for i := 0; i+1 < n; i++ {
			d := float64(list[i+1].from-list[i].from) / 60e3
			total += d
			for k := range seq {
				if list[i].cluster == seq[k] && list[i+1].cluster == seq[(k+1)%period] && (i == 0 || list[i-1].cluster == seq[(k+period-1)%period]) {
					held[k] = append(held[k], d)
					matched += d
					break
				}
			}
		}
		var stages []Stage
		for k := range seq {
			if len(held[k]) == 0 {
				return
			}
			stages = append(stages, Stage{SuctionMmHg: levels[seq[k]], HoldMin: median(held[k])})
		}
		p.Kind, p.Stages, p.SharePct = "stages", stages, 100*matched/math.Max(total, 1e-9)
		return
	}
}

// compare says how the pattern differs from the order.
func (j *judging) compare(p *Pattern, k int16) {
	p.Words = "The log shows " + p.seen() + "."
	if p.Kind == "irregular" {
		p.Words = "The log shows no program that repeats."
	}
	if k < 0 {
		p.Words += " No order is known for that time."
		return
	}
	o := j.orders[k]
	ordered := stagesWords(o.Stages)
	shortest := math.Inf(1)
	for _, s := range o.Stages {
		if len(o.Stages) > 1 {
			shortest = math.Min(shortest, s.HoldMin+s.RampMin)
		}
	}
	if shortest*60e3 < 2*float64(j.dt) {
		p.Words = fmt.Sprintf("The rows are %s min apart, too far to see stages of %s min; the program cannot be compared with the order of %s.", short(float64(j.dt)/60e3), short(shortest), ordered)
		return
	}
	p.Matches = "no"
	switch {
	case p.Kind == "irregular":
	case len(o.Stages) == 1 && p.Kind == "continuous":
		if math.Abs(p.Stages[0].SuctionMmHg-o.Stages[0].SuctionMmHg) <= j.set.BandMmHg {
			p.Matches = "yes"
		}
	case len(o.Stages) == len(p.Stages):
		for turn := range o.Stages {
			if j.sameStages(o.Stages, p.Stages, turn) {
				p.Matches = "yes"
			}
		}
	}
	if p.Matches == "yes" {
		p.Words += " That is the ordered program."
	} else {
		p.Words += " Ordered is " + ordered + "."
	}
}

// sameStages compares within the band, and holds within 15 % or two steps of the log.
func (j *judging) sameStages(o, p []Stage, turn int) bool {
	for i := range o {
		a, b := o[i], p[(i+turn)%len(p)]
		next := o[(i+1)%len(o)]
		// Between two plateaus lies the next stage's ramp.
		length := a.HoldMin + next.RampMin
		slack := math.Max(0.15*length, 2*float64(j.dt)/60e3)
		if math.Abs(a.SuctionMmHg-b.SuctionMmHg) > j.set.BandMmHg || math.Abs(length-b.HoldMin) > slack {
			return false
		}
	}
	return true
}

func (p *Pattern) seen() string { return stagesWords(p.Stages) }

// stagesWords prints a program as a nurse says it.
func stagesWords(list []Stage) string {
	if len(list) == 1 {
		return short(list[0].SuctionMmHg) + " mmHg continuously"
	}
	var parts []string
	for _, s := range list {
		parts = append(parts, short(s.SuctionMmHg)+" mmHg for "+short(s.HoldMin)+" min")
	}
	return strings.Join(parts, ", then ")
}

// short prints a number with three digits at most.
func short(x float64) string {
	if math.Abs(x) >= 20 {
		return fmt.Sprintf("%.0f", x)
	}
	return strings.TrimSuffix(fmt.Sprintf("%.1f", x), ".0")
}
