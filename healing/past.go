package healing

import "time"

// mostPast bounds the times at which the fitted curve is given.
const mostPast = 49

// past is what the fit says of the size at an earlier time, all readings taken together: the filter of each node is run
// again with that time's size kept beside the present one, so that later readings correct it too.
func (f *Fit) past(wk float64) forecast {
	out := forecast{m: f.Measure, terms: make([]term, 0, len(f.components))}
	for i := range f.components {
		c := &f.components[i]
		_, s := f.run(&c.cfg, f.readings, c.wild, wk)
		out.add(c.weight, s.mean[stRef], s.cov[stRef][stRef], c.cfg.scale)
	}
	return out
}

// setPast gives the fitted curve at the days of the sizes and halfway between them, oldest first.
func (a *Course) setPast(s *series, fits map[Measure]*Fit) {
	var days []time.Time
	for i, z := range s.sizes {
		if i > 0 {
			gap := z.At.Sub(s.sizes[i-1].At)
			if gap <= 0 {
				continue
			}
			days = append(days, s.sizes[i-1].At.Add(gap/2))
		}
		days = append(days, z.At)
	}
	for every := 1 + len(days)/mostPast; len(days) > 0; {
		a.Past = append(a.Past, pastAt(fits, a.AsOf, days[0]))
		days = days[min(every, len(days)):]
	}
}

func pastAt(fits map[Measure]*Fit, asOf, at time.Time) Ahead {
	out := Ahead{Days: at.Sub(asOf).Hours() / 24, Date: at}
	for _, m := range Measures {
		f := fits[m]
		if f == nil || at.Before(f.First) || at.After(f.Last) {
			continue
		}
		fc := f.past(weeksBetween(f.First, at))
		b := fc.band()
		out.put(m, &b)
	}
	return out
}

// put sets the band of a measure.
func (x *Ahead) put(m Measure, b *Band) {
	switch m {
	case Area:
		x.Area = b
	case Depth:
		x.Depth = b
	case Volume:
		x.Volume = b
	case Bare:
		x.Bare = b
	}
}
