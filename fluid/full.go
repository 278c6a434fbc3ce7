package fluid

import (
	"math"
	"time"
)

// Horizon is how far ahead a filling time is looked for. A canister is changed weekly; what is not full in a year will
// not fill.
const Horizon = horizonD * 24 * time.Hour

const horizonD = 365

// When is a point of a forecast in time: an instant, or that it lies beyond the [Horizon]. The zero When is not told.
type When struct {
	At     time.Time `json:"at,omitzero"`
	Beyond bool      `json:"beyond,omitempty"`
}

// Within tells that an instant is given.
func (w When) Within() bool { return !w.At.IsZero() }

// By tells whether the point has come by an instant.
func (w When) By(t time.Time) bool { return w.Within() && !w.At.After(t) }

// After tells whether the point is known to come later than an instant.
func (w When) After(t time.Time) bool { return w.Beyond || w.At.After(t) }

// Before tells whether the point comes before another; what lies beyond comes after every instant.
func (w When) Before(v When) bool { return w.Within() && (v.Beyond || w.At.Before(v.At)) }

func (w When) truncate(d time.Duration) When { return When{w.At.Truncate(d), w.Beyond} }

// FullStatus says what kind of answer a [FullAt] is.
type FullStatus string

const (
	// FullNotTold: no reading of the canister in place, or no size. Nothing else is set. The zero FullStatus is as good.
	FullNotTold FullStatus = "cannot_tell"
	// FullRead: the newest reading is at or above the usable volume. All points are the time of that reading.
	FullRead FullStatus = "read_as_full"
	// FullComes: Early is an instant; Even and Late may lie beyond the horizon. Points at the time of the newest reading say
	// that it may have been full already then, although less was read.
	FullComes FullStatus = "comes"
	// FullBeyond: even Early lies beyond the horizon.
	FullBeyond FullStatus = "beyond"
)

// FullAt is when the canister in place is full if nobody changes it: with a chance of one in ten, even, and nine in ten.
type FullAt struct {
	Status FullStatus `json:"status"`
	Early  When       `json:"p10"`
	Even   When       `json:"median"`
	Late   When       `json:"p90"`
}

// Told tells whether anything is known.
func (f FullAt) Told() bool { return f.Status != "" && f.Status != FullNotTold }

// MayBeFullBy tells whether by an instant the canister was read as full, or is full with a chance of at least one half.
func (f FullAt) MayBeFullBy(t time.Time) bool { return f.Status == FullRead || f.Even.By(t) }

// Lasts tells whether up to an instant the chance of a full canister stays under one in ten. It is false where nothing
// is told.
func (f FullAt) Lasts(until time.Time) bool {
	return f.Told() && f.Status != FullRead && f.Early.After(until)
}

// Before tells whether the canister is full before another: which of two comes first.
func (f FullAt) Before(g FullAt) bool {
	if f.Even.Beyond && g.Even.Beyond {
		return f.Early.Before(g.Early)
	}
	return f.Even.Before(g.Even)
}

// Truncate rounds forecast points down to a multiple of d. The time of a reading stays as it is.
func (f FullAt) Truncate(d time.Duration) FullAt {
	if f.Status == FullRead {
		return f
	}
	return FullAt{f.Status, f.Early.truncate(d), f.Even.truncate(d), f.Late.truncate(d)}
}

// FullAt is when the usable volume is reached if nobody changes the canister.
func (t Track) FullAt() FullAt {
	q, ok := t.FillDays()
	switch {
	case !ok:
		return FullAt{Status: FullNotTold}
	case t.full():
		seen := When{At: t.seen}
		return FullAt{FullRead, seen, seen, seen}
	}
	f := FullAt{FullComes, t.moment(q.P10), t.moment(q.Median), t.moment(q.P90)}
	if f.Early.Beyond {
		f.Status = FullBeyond
	}
	return f
}

// moment is the wall time d days of therapy after the latest reading, to the minute; +Inf is beyond the horizon.
func (t Track) moment(d float64) When {
	if math.IsInf(d, 0) || math.IsNaN(d) {
		return When{Beyond: true}
	}
	return When{At: t.clock.after(t.seen, d).Round(time.Minute)}
}
