package fluid

import (
	"math"
	"slices"
	"sort"
	"time"

	"lowtide/unit"
)

// Reading is one look at the canister.
type Reading struct {
	// At is when it was read.
	At time.Time `json:"at"`
	// Content is what the canister held, as read.
	Content unit.Volume `json:"mL"`
	// NewCanister says that a new canister was put in at this time (or since the last reading, when Content is
	// not zero) and that Content is what the new one held.
	NewCanister bool `json:"new_canister,omitempty"`
	// Spilled says that an unknown amount left the canister since the reading before.
	Spilled bool `json:"spilled,omitempty"`
	// SpilledVolume is the amount that left the canister since the reading before, when it is known.
	SpilledVolume unit.Volume `json:"spilled_mL,omitempty"`
	// Size is that of the canister that was read; zero means that of [Course.Canister].
	Size unit.Volume `json:"size_mL,omitempty"`
}

// Pause is a time without therapy. A zero To means that it still lasts.
type Pause struct {
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
}

// Course is all that is known about one pump's canister. The zero value is a course about which nothing is known.
type Course struct {
	// Canister is the size of the canister in place; zero means unknown.
	Canister unit.Volume
	// UsableShare is the share of Canister at which it counts as full, above 0 and at most 1; zero means unknown,
	// and [DefaultUsableShare] is then used and said.
	UsableShare float64
	// Area is that of all wounds on the pump together; zero means unknown.
	Area unit.Area
	// Readings in any order; nil is allowed. They are not kept or changed.
	Readings []Reading
	// Pauses in any order; overlapping ones count once.
	Pauses []Pause
}

// DefaultUsableShare is assumed when a course has none. Common practice, no published source.
const DefaultUsableShare = 0.9

// usable is the content at which the canister counts as full, in mL; zero when the size is unknown.
func (c Course) usable() float64 {
	share := c.UsableShare
	if !(share > 0 && share <= 1) {
		share = DefaultUsableShare
	}
	return math.Max(0, float64(c.Canister)*share)
}

// ordered returns the usable readings up to asOf in order of time (those at one time stay in the order given),
// and the number left out because they are later than asOf or not numbers.
func (c Course) ordered(asOf time.Time) (rs []Reading, later, unusable int) {
	rs = slices.Grow(rs, len(c.Readings))
	for _, r := range c.Readings {
		v := float64(r.Content)
		switch {
		case r.At.After(asOf):
			later++
		case math.IsNaN(v) || math.IsInf(v, 0) || v < 0 || !(float64(r.SpilledVolume) >= 0) || math.IsInf(float64(r.SpilledVolume), 0):
			unusable++
		default:
			rs = append(rs, r)
		}
	}
	sort.SliceStable(rs, func(i, j int) bool { return rs[i].At.Before(rs[j].At) })
	for i := 1; i+1 < len(rs); i++ {
		// The old canister's last reading, written down after the new canister at the same minute.
		if rs[i].NewCanister && !rs[i+1].NewCanister && rs[i].At.Equal(rs[i+1].At) && rs[i+1].Content >= rs[i-1].Content && rs[i+1].Content > rs[i].Content {
			rs[i], rs[i+1] = rs[i+1], rs[i]
		}
	}
	return rs, later, unusable
}

// therapyClock counts days of therapy: wall time without the pauses.
type therapyClock struct{ pauses []Pause }

// clock merges the pauses. A pause that still lasts ends at asOf: forecasts count as if therapy went on then.
func (c Course) clock(asOf time.Time) therapyClock {
	ps := make([]Pause, 0, len(c.Pauses))
	for _, p := range c.Pauses {
		if p.To.IsZero() {
			p.To = asOf.Add(1) // one nanosecond, so that asOf itself is inside
		}
		if p.To.After(p.From) {
			ps = append(ps, p)
		}
	}
	sort.Slice(ps, func(i, j int) bool { return ps[i].From.Before(ps[j].From) })
	out := ps[:0]
	for _, p := range ps {
		if n := len(out); n > 0 && !p.From.After(out[n-1].To) {
			if p.To.After(out[n-1].To) {
				out[n-1].To = p.To
			}
			continue
		}
		out = append(out, p)
	}
	return therapyClock{out}
}

// days is the therapy time from a to b in days; zero when b is not after a.
func (k therapyClock) days(a, b time.Time) float64 {
	d := b.Sub(a)
	for _, p := range k.pauses {
		from, to := p.From, p.To
		if from.Before(a) {
			from = a
		}
		if to.After(b) {
			to = b
		}
		if to.After(from) {
			d -= to.Sub(from)
		}
	}
	return math.Max(0, d.Hours()/24)
}

// after is the wall time at which d days of therapy have passed since a.
func (k therapyClock) after(a time.Time, d float64) time.Time {
	t := a.Add(time.Duration(d * 24 * float64(time.Hour)))
	for _, p := range k.pauses {
		if p.To.After(a) && p.From.Before(t) {
			from := p.From
			if from.Before(a) {
				from = a
			}
			t = t.Add(p.To.Sub(from))
		}
	}
	return t
}

// paused tells whether therapy is paused at t.
func (k therapyClock) paused(t time.Time) bool {
	for _, p := range k.pauses {
		if !t.Before(p.From) && t.Before(p.To) {
			return true
		}
	}
	return false
}

// marks are the steps that people round readings to, in mL, with the belief before any reading.
var marks = []struct{ stepML, weight float64 }{{1, 0.1}, {5, 0.15}, {10, 0.2}, {25, 0.3}, {50, 0.2}, {100, 0.05}}

// eyes are the errors of reading a scale by eye besides rounding, sd in mL, careful and careless, with the belief before
// any reading. Common practice, no published source.
var eyes = [2]choice{{5, 0.85}, {18, 0.15}}

// roundingVar is the variance of rounding to the step that the readings show: a step fits when every reading but zeros
// is a multiple of it; readings that all fit favour a coarser step by the square root of its ratio, each. A root,
// because readings of one course repeat each other.
func roundingVar(rs []Reading) float64 {
	var lw [8]float64
	top := math.Inf(-1)
	for k, m := range marks {
		on, off := 0.0, 0.0
		for _, r := range rs {
			v := float64(r.Content)
			switch {
			case v == 0:
			case math.Abs(v-m.stepML*math.Round(v/m.stepML)) > 1e-6 && m.stepML > 1:
				off++
			default:
				on++
			}
		}
		lw[k] = math.Log(m.weight) + off*math.Log(0.02) + on*math.Log(m.stepML)/2
		top = math.Max(top, lw[k])
	}
	sum, mean := 0.0, 0.0
	for k, m := range marks {
		w := math.Exp(lw[k] - top)
		sum += w
		mean += w * m.stepML * m.stepML / 12
	}
	return mean / sum
}
