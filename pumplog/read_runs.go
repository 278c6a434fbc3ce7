package pumplog

// run follows the times through the file: a run goes one way and has no gap, so that its rows lie evenly.
func (b *building) run(s Sample) {
	step := s.T - b.last
	dir := 0
	if step > 0 {
		dir = 1
	} else if step < 0 {
		dir = -1
	}
	n := len(b.runs)
	turned := n > 0 && dir != 0 && b.dir != 0 && dir != b.dir
	if turned {
		b.turns++
	}
	if dir != 0 && n > 0 {
		b.dir = dir
	}
	b.last = s.T
	if n > 0 && !turned && step <= longestStepMs && step >= -longestStepMs {
		r := &b.runs[n-1]
		r.rows++
		r.min, r.max = min(r.min, s.T), max(r.max, s.T)
		return
	}
	if n < maxRuns {
		if turned {
			b.dir = 0
		}
		b.runs = append(b.runs, run{firstRow: int(s.Row), rows: 1, min: s.T, max: s.T})
	}
}
