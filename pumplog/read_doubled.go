package pumplog

import (
	"sort"
)

// doubled finds spans for which two runs of the file tell different things: more rows than the log's usual interval
// has room for.
func (b *building) doubled() (out [][2]int64) {
	if len(b.runs) < 2 || len(b.runs) == maxRuns || b.JoinedMs > 0 {
		return nil
	}
	dt := float64(b.Interval())
	var edges []int64
	for _, r := range b.runs {
		edges = append(edges, r.min, r.max+1)
	}
	sort.Slice(edges, func(i, j int) bool { return edges[i] < edges[j] })
	runs := append([]run(nil), b.runs...)
	sort.Slice(runs, func(i, j int) bool { return runs[i].min < runs[j].min })
	for i := 1; i < len(edges); i++ {
		from, to := edges[i-1], edges[i]
		if float64(to-from) < 1.5*dt {
			continue
		}
		rows := 0.0
		for _, r := range runs {
			if r.min >= to {
				break
			}
			if r.max < from || r.rows < 2 {
				continue
			}
			rows += float64(r.rows-r.repeated) * float64(to-from) / float64(r.max-r.min+1)
		}
		if rows*dt > 1.5*float64(to-from) {
			if n := len(out); n > 0 && out[n-1][1] >= from {
				out[n-1][1] = to
			} else {
				out = append(out, [2]int64{from, to})
			}
		}
	}
	return out
}

func without(s []Sample, d [2]int64, u *unused) []Sample {
	n := 0
	for i := range s {
		if s[i].T >= d[0] && s[i].T < d[1] {
			u.add(int(s[i].Row), "the file tells two different things for this time")
			continue
		}
		s[n] = s[i]
		n++
	}
	return s[:n]
}
