package pumplog

import (
	"math"
	"sort"
	"time"
)

// shortOnMs is an interruption of an off-spell that does not end it.
const shortOnMs = 2 * 60_000

// spells lists the times off. A spell ends where suction is back for more than two minutes, and at a gap.
func (j *judging) spells() {
	s := j.l.Samples
	from, to := j.out.From.UnixMilli(), j.out.To.UnixMilli()
	var list []Spell
	type edge struct{ a, b int64 }
	var raw []edge
	for i := range s {
		if j.state[i] != stateOff {
			continue
		}
		a, b := max(s[i].T, from), min(j.end[i], to)
		if a >= b {
			continue
		}
		if n := len(raw); n > 0 && (raw[n-1].b == a || (a-raw[n-1].b <= shortOnMs && j.coveredBetween(raw[n-1].b, i))) {
			raw[n-1].b = b
			continue
		}
		raw = append(raw, edge{a, b})
	}
	// Unknown time on both sides: from the end of the last known sample to the start of the next.
	for k, r := range raw {
		i := sort.Search(len(s), func(i int) bool { return s[i].T >= r.a })
		lo, hi := from, to
		for q := i - 1; q >= 0; q-- {
			if j.state[q] != stateUnknown {
				lo = max(from, j.end[q])
				break
			}
		}
		e := sort.Search(len(s), func(i int) bool { return s[i].T >= r.b })
		for q := e; q < len(s); q++ {
			if j.state[q] != stateUnknown {
				hi = min(to, s[q].T)
				break
			}
		}
		// Where an unknown time joins two spells, off may have lasted through.
		if k > 0 && lo == raw[k-1].b && lo < r.a {
			lo = raw[k-1].a
		}
		if k+1 < len(raw) && hi == raw[k+1].a && hi > r.b {
			hi = raw[k+1].b
		}
		list = append(list, Spell{time.UnixMilli(r.a).In(j.zone), time.UnixMilli(r.b).In(j.zone), float64(r.b-r.a) / 60e3, float64(hi-lo) / 60e3})
		for d := range j.out.Days {
			if x := &j.out.Days[d]; r.a < x.end && r.b > x.start {
				x.LongestOffMin = math.Max(x.LongestOffMin, float64(r.b-r.a)/60e3)
			}
		}
	}
	if list != nil {
		j.out.OffSpell = list
	}
}

// coveredBetween tells whether the samples before i reach back to t without a gap.
func (j *judging) coveredBetween(t int64, i int) bool {
	for i--; i >= 0 && j.l.Samples[i].T >= t; i-- {
		if j.end[i] != j.l.Samples[i+1].T || j.state[i] == stateUnknown {
			return false
		}
	}
	return true
}

// LongestOff returns the longest spell off; false when there is none.
func (r *Result) LongestOff() (Spell, bool) {
	var best Spell
	for _, s := range r.OffSpell {
		if s.Minutes > best.Minutes {
			best = s
		}
	}
	return best, best.Minutes > 0
}
