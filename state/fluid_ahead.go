package state

import "time"

// FillAhead is what the canister in place holds from its newest reading on, if nobody changes it, as pages draw it.
type FillAhead struct {
	// Cannot says why there is none; then Points is empty.
	Cannot string
	// Points are in order of time, from the newest reading on. Contents end at the canister's size.
	Points []FillPoint
	// SizeML is the canister's size and UsableML the content at which it counts as full.
	SizeML, UsableML float64
	// Early, Even and Late are when it is full with a chance of one in ten, even and nine in ten; zero is not within a year.
	Early, Even, Late time.Time
	// By is the entry of the newest reading.
	By string
}

// FillPoint is the content at one instant in mL: a median with its 80 % interval.
type FillPoint struct {
	At   time.Time
	Band Band
}

// fillStep is how far apart the points are; what lies between is joined by lines.
const fillStep = 12 * time.Hour

// Ahead forecasts the content of the canister in place until an instant; now is one of the points.
func (f *Fluid) Ahead(now, to time.Time) FillAhead {
	switch {
	case f.Why != "":
		return FillAhead{Cannot: f.Why}
	case !f.Read():
		return FillAhead{Cannot: "no canister reading is recorded"}
	case f.SizeML == 0:
		return FillAhead{Cannot: "the size of the canister is not recorded"}
	}
	out := FillAhead{SizeML: f.SizeML, UsableML: f.SizeML * f.Course.UsableShare, By: f.LastBy}
	var ok bool
	if out.Early, out.Even, out.Late, ok = f.fullAt(); !ok || !out.Even.IsZero() && !out.Even.After(f.LastAt) {
		return FillAhead{Cannot: "it was read as full"}
	}
	times := []time.Time{f.LastAt}
	if now.After(f.LastAt) {
		times = append(times, now)
	}
	for t := later(now, f.LastAt).Add(fillStep); t.Before(to); t = t.Add(fillStep) {
		times = append(times, t)
	}
	if last := times[len(times)-1]; to.After(last) {
		times = append(times, to)
	}
	for _, t := range times {
		q := f.track(t).Content()
		out.Points = append(out.Points, FillPoint{t, Band{Median: min(q.Median, f.SizeML), P10: min(q.P10, f.SizeML), P90: min(q.P90, f.SizeML)}})
	}
	return out
}
