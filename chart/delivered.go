package chart

import (
	"math"
	"time"

	"lowtide/state"
	"lowtide/unit"
)

// deliveredPx is the least width of one step of the delivered suction: finer ones would only blacken the picture.
const deliveredPx = 4.0

// knownShare of a step has to be covered by the log for its mean to be drawn; else it is unknown.
const knownShare = 0.5

// delivered draws what the pumps' logs tell: a line at the mean suction of each step, and where a log has no rows the
// word "unknown" under a broken line at ambient.
func (p *plot) delivered(logs []state.Delivered, at func(float64) float64, y0 float64) (any bool) {
	for _, d := range logs {
		if d.Result == nil || len(d.Result.Hours) == 0 {
			continue
		}
		any = p.deliveredOf(d.Result, at, y0) || any
	}
	return any
}

func (p *plot) deliveredOf(r *state.LogResult, at func(float64) float64, y0 float64) (any bool) {
	span := p.a.To.Sub(p.a.From)
	step := max(1, int(math.Ceil(deliveredPx/(p.a.x1-p.a.x0)*span.Hours())))
	var runs [][]Point
	var run []Point
	var gaps [][2]Point
	for i := 0; i < len(r.Hours); i += step {
		from := r.Hours[i].At
		to := from.Add(time.Duration(step) * time.Hour)
		if to.Before(p.a.From) || from.After(p.a.To) || from.After(r.To) {
			continue
		}
		var sum, known float64
		for _, h := range r.Hours[i:min(i+step, len(r.Hours))] {
			sum, known = sum+h.MeanMmHg*h.KnownMin, known+h.KnownMin
		}
		begin, end := from, to
		if begin.Before(r.From) {
			begin = r.From
		}
		if end.After(r.To) {
			end = r.To
		}
		if !end.After(begin) {
			continue // a log that ends on the hour has a last hour without a minute
		}
		x0, x1 := p.a.x(p.a.cut(begin)), p.a.x(p.a.cut(end))
		any = true
		if known == 0 || known < knownShare*end.Sub(begin).Minutes() {
			if len(run) > 0 {
				runs, run = append(runs, run), nil
			}
			if n := len(gaps); n > 0 && math.Abs(gaps[n-1][1].X-x0) < 0.5 {
				gaps[n-1][1].X = x1
			} else {
				gaps = append(gaps, [2]Point{{x0, y0 + 4}, {x1, y0 + 4}})
			}
			continue
		}
		y := at(sum / known)
		run = append(run, Point{x0, y}, Point{x1, y})
	}
	if len(run) > 0 {
		runs = append(runs, run)
	}
	p.add(Polyline{runs, Pen{InkDeep, 1.25, nil}}, Lines{gaps, Pen{InkSoft, 2, []float64{2, 3}}})
	w := wide("unknown", axisPx)
	for _, g := range gaps {
		if g[1].X-g[0].X >= w+4 {
			p.text((g[0].X+g[1].X)/2, y0+17, "unknown", Middle, InkSoft)
		}
	}
	return any
}

// deliveredRows lists the logs' days for the table.
func deliveredRows(zone *time.Location, logs []state.Delivered, add func(at time.Time, what, value, entry string)) {
	for _, d := range logs {
		if d.Result == nil {
			continue
		}
		entry := d.Entries[len(d.Entries)-1]
		for _, x := range d.Result.Days {
			day, err := time.ParseInLocation(time.DateOnly, x.Date, zone)
			if err != nil {
				continue
			}
			value := state.LogDuration(x.AtTargetMin) + " at the ordered suction, " + state.LogDuration(x.OffMin) + " off, " + state.LogDuration(x.UnknownMin) + " unknown"
			if x.MeanMmHg != nil {
				value += "; mean " + unit.Suction(*x.MeanMmHg).String()
			}
			add(day, "Delivered by the log of pump "+d.Pump, value, entry)
		}
	}
}
