package chart

import (
	"time"

	"lowtide/state"
	"lowtide/unit"
)

// aheadTo is until when the fill of a canister is forecast on a tide chart: three days, or the range's end when that is
// later.
func aheadTo(s *state.State, r Range) time.Time {
	to := s.NextDay(s.AsOf.AddDate(0, 0, 3))
	if r.To.After(to) {
		return r.To
	}
	return to
}

// until is the range with a later end.
func (r Range) until(to time.Time) Range {
	if to.After(r.To) {
		r.To = to
	}
	return r
}

// fillAhead draws the forecast of the canister in place: median, 80 % band, and from now on the content at which it
// counts as full.
func (p *plot) fillAhead(f *state.FillAhead, at func(float64) float64) {
	if f == nil || len(f.Points) < 2 {
		return
	}
	var list []bandAt
	for i := range f.Points {
		q := &f.Points[i]
		if p.a.Holds(q.At) {
			list = append(list, bandAt{q.At, &q.Band})
		}
	}
	p.band(list, at, []float64{5, 3})
	if y := at(f.UsableML); p.a.Holds(p.now) {
		p.add(Line{Point{p.a.x(p.now), y}, Point{p.a.x1, y}, Pen{InkText, 0.75, []float64{2, 2}}})
	}
}

// fillRow is a line of the table that tells the forecast.
type fillRow struct {
	at                 time.Time
	what, value, entry string
}

// fillAheadRows are the numbers of the band, at now and at each day after, and when the canister is full.
func fillAheadRows(f *state.FillAhead, of string, now time.Time) []fillRow {
	if f == nil {
		return nil
	}
	if f.Cannot != "" {
		return []fillRow{{now, "Canister" + of + " forecast", "cannot forecast: " + f.Cannot, ""}}
	}
	var out []fillRow
	next := now
	for _, q := range f.Points {
		if q.At.Before(next) {
			continue
		}
		out = append(out, fillRow{q.At, "Canister" + of + " forecast", "about " + unit.Rough(q.Band.Median, 0) + " mL, " + unit.Between(q.Band.P10, q.Band.P90, 0, "mL"), f.By})
		next = q.At.Add(24 * time.Hour)
	}
	full := f.Full.Truncate(30 * time.Minute)
	for _, x := range []struct {
		at    time.Time
		words string
	}{{full.Early.At, "one in ten"}, {full.Even.At, "even"}, {full.Late.At, "nine in ten"}} {
		if !x.at.IsZero() {
			out = append(out, fillRow{x.at, "Chance that the canister" + of + " is full, at " + unit.Volume(f.UsableML).String(), x.words, f.By})
		}
	}
	return out
}
