package power

import (
	"fmt"
	"math"

	"lowtide/unit"
)

// Leg is one part of a plan: an outing, a transfer, a night, a meal beside a socket.
type Leg struct {
	Name  string  `json:"name"`
	Hours float64 `json:"hours"`
	Duty  float64 `json:"duty"`
	// Mains: plugged in during this leg.
	Mains bool `json:"mains"`
}

// Outcome of a plan. Levels are in percent of a full charge, times in hours from the plan's start; Low and High
// enclose 80 %.
type Outcome struct {
	// Status is "ok" (even the low end stays above the low mark), "doubtful" (the low end does not), "fails" (not
	// even the middle does) or "cannot tell".
	Status string `json:"status"`
	// ReservePercent is left at the end of the plan, 0 when the battery is empty before.
	ReservePercent float64 `json:"reserve_percent"`
	ReserveLow     float64 `json:"reserve_low"`
	ReserveHigh    float64 `json:"reserve_high"`
	// LowAtH is when the low mark is passed and EmptyAtH when the charge ends, for the middle case; LatestPlugInH
	// is the latest moment to plug in so that the low mark is not passed even at the low end. nil when the plan
	// never comes to it.
	LowAtH        *float64 `json:"low_at_h"`
	EmptyAtH      *float64 `json:"empty_at_h"`
	LatestPlugInH *float64 `json:"latest_plug_in_h"`
	// Levels are at the end of each leg, for the middle case.
	Levels   []float64 `json:"levels_percent"`
	Sentence string    `json:"sentence"`
}

// walk runs a plan with one health. It returns the levels at the ends of the legs and the first times at which the
// low mark and empty are passed (infinite when never).
func (m Model) walk(level, health float64, legs []Leg) (levels []float64, lowAt, emptyAt float64) {
	lowAt, emptyAt = math.Inf(1), math.Inf(1)
	if level <= m.LowPercent {
		lowAt = 0
	}
	t := 0.0
	for _, g := range legs {
		if g.Mains {
			// Eq. 5: a straight line to full; the last part is slower in fact, so a short charge is not flattered
			// but a nearly full one is.
			level = math.Min(100, level+100/m.ChargeH*g.Hours)
		} else {
			rate := m.PercentH(g.Duty) / health
			end := level - rate*g.Hours
			if level > m.LowPercent && end <= m.LowPercent && math.IsInf(lowAt, 1) {
				lowAt = t + (level-m.LowPercent)/rate
			}
			if end <= 0 && math.IsInf(emptyAt, 1) {
				emptyAt = t + level/rate
			}
			level = math.Max(0, end)
		}
		t += g.Hours
		levels = append(levels, level)
	}
	return levels, lowAt, emptyAt
}

// Plan says whether a charge lasts through the legs (eq. 5). level: percent now; levelError: how far that may be
// off, 0 means half a percent. Legs in time order. Bad numbers give Status "cannot tell".
func (m Model) Plan(level, levelError float64, legs []Leg) Outcome {
	out := Outcome{Status: "cannot tell", Levels: []float64{}}
	if levelError <= 0 {
		levelError = displayPercent
	}
	ok := m.usable() && m.ChargeH > 0 && m.LowPercent > 0 && level >= 0 && level <= 100 && !math.IsNaN(levelError) && len(legs) > 0
	for _, g := range legs {
		ok = ok && g.Hours >= 0 && !math.IsInf(g.Hours, 0) && g.Duty >= 0 && g.Duty <= 1
	}
	if !ok {
		out.Sentence = "Cannot tell whether the battery lasts: the charge, the pump's share of running or the plan's hours are missing."
		return out
	}
	mid, lowAt, emptyAt := m.walk(level, m.Health, legs)
	bad, badLowAt, _ := m.walk(math.Max(0, level-levelError), m.HealthLow, legs)
	good, _, _ := m.walk(math.Min(100, level+levelError), m.HealthHigh, legs)
	last := len(legs) - 1
	out.Levels, out.ReservePercent, out.ReserveLow, out.ReserveHigh = mid, mid[last], bad[last], good[last]
	out.LowAtH, out.EmptyAtH, out.LatestPlugInH = finite(lowAt), finite(emptyAt), finite(badLowAt)
	switch {
	case out.LowAtH != nil:
		out.Status = "fails"
		out.Sentence = fmt.Sprintf("The battery is expected to be low after %s; plug in within %s at the latest, or take a charger along.", unit.Duration(lowAt), unit.Duration(badLowAt))
	case out.LatestPlugInH != nil:
		out.Status = "doubtful"
		out.Sentence = fmt.Sprintf("The battery should last, with %s %% left, but it may not: to be safe plug in within %s.", unit.Number(out.ReservePercent, 0), unit.Duration(badLowAt))
	default:
		out.Status = "ok"
		out.Sentence = fmt.Sprintf("The battery should last: %s %% left at the end, four times in five between %s and %s.", unit.Number(out.ReservePercent, 0), unit.Number(out.ReserveLow, 0), unit.Number(out.ReserveHigh, 0))
	}
	return out
}

func finite(x float64) *float64 {
	if math.IsInf(x, 0) || math.IsNaN(x) {
		return nil
	}
	return &x
}
