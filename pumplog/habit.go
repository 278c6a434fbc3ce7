package pumplog

import "math"

// Bounds of the habit of the day (own choice): fewer days cannot tell it, a smaller one does not matter, and a greater
// one is no habit.
const (
	habitDays  = 4
	habitLeast = 0.1
	habitMost  = 0.6
)

// habit lets the usual value follow the day: a patient lies at night and walks by day, and the flow rises and falls with
// it. One wave of 24 hours is taken, fitted to the medians over all days of each hour's share of the usual value; shares
// count from 0.5 to 1.5 only, so that a leak of a few hours, even one that comes every night, bends it little and still
// stands out.
func (c *measure) habit(hourly []float64) {
	if len(hourly) < 24*habitDays {
		return
	}
	var cos, sin float64
	for h := range 24 {
		var share []float64
		for i := h; i < len(hourly); i += 24 {
			if r := hourly[i] / c.usual[i]; c.usual[i] > 0 && !math.IsNaN(r) {
				share = append(share, math.Min(1.5, math.Max(0.5, r)))
			}
		}
		if len(share) < habitDays {
			return
		}
		m := median(share) - 1
		a := 2 * math.Pi * (float64(h) + 0.5) / 24
		cos, sin = cos+m*math.Cos(a)/12, sin+m*math.Sin(a)/12
	}
	size := math.Hypot(cos, sin)
	if size < habitLeast {
		return
	}
	if size > habitMost {
		cos, sin = cos*habitMost/size, sin*habitMost/size
	}
	for i := range c.usual {
		a := 2 * math.Pi * (float64(i%24) + 0.5) / 24
		c.usual[i] *= 1 + cos*math.Cos(a) + sin*math.Sin(a)
	}
}
