package suction

import (
	"fmt"
	"math"

	"lowtide/unit"
)

// Uncertainties of a seal check when the caller gives none: own choices, no published source.
const (
	readingMmHg   = 1.0  // of a pump's display, each way
	volumeShare   = 0.25 // of the gas volume between pump and wound
	freeFlowShare = 0.20 // of a pump's free flow
	deepestShare  = 0.10 // of its deepest suction
	dutyPoints    = 0.005
)

// SealEstimate is a leak worked out from what was seen at the bedside, in mL/min at the reference suction.
type SealEstimate struct {
	// OK is false when nothing can be told; Sentence then says why and the numbers are 0.
	OK        bool    `json:"ok"`
	Method    string  `json:"method"`
	LeakMLMin float64 `json:"leak_mL_min"`
	// LowMLMin and HighMLMin enclose the leak for every reading, volume and exponent inside their stated ranges;
	// HighMLMin is nil when the observation sets no upper limit.
	LowMLMin   float64  `json:"low_mL_min"`
	HighMLMin  *float64 `json:"high_mL_min"`
	LeakAtMmHg float64  `json:"leak_at_mmHg"`
	// VolumeML is the gas volume used (hold test), PumpMLMin the pump's flow at the suction seen (duty).
	VolumeML  float64 `json:"volume_mL,omitempty"`
	PumpMLMin float64 `json:"pump_mL_min,omitempty"`
	Sentence  string  `json:"sentence"`
}

// HoldTest is a bedside test: the pump is paused and the suction read twice.
type HoldTest struct {
	FirstMmHg  float64 `json:"first_mmHg"`
	SecondMmHg float64 `json:"second_mmHg"`
	Seconds    float64 `json:"seconds"`
	// ReadingMmHg is how far each reading may be off; 0 means 1 mmHg.
	ReadingMmHg float64 `json:"reading_mmHg"`
	// VolumeShare is how far the gas volume may be off, as a share of it; 0 means 0.25.
	VolumeShare float64 `json:"volume_share"`
}

// holdIntegral is ∫ s^-n ds from b to a.
func holdIntegral(a, b, n float64) float64 {
	if n == 1 {
		return math.Log(a / b)
	}
	return (math.Pow(a, 1-n) - math.Pow(b, 1-n)) / (1 - n)
}

// SealFromHold estimates the leak from a hold test:
//
//	Q_r = V s_r^n / (p_a t) ∫ s^-n ds from s_2 to s_1    (eq. 15 in docs/model/suction.md)
//
// s gives the volumes, the altitude, the reference suction and the exponent; the interval lets the exponent be
// anything from 0.5 to 1. Readings that rose, or readings within their own error of nothing, give OK false.
// Source: own derivation, closed form of eq. 2 for one volume. Checked: hold tests run through Simulate.
func SealFromHold(s Setup, h HoldTest) SealEstimate {
	out := SealEstimate{Method: "hold test", LeakAtMmHg: s.LeakAtMmHg}
	e, share := h.ReadingMmHg, h.VolumeShare
	if e <= 0 {
		e = readingMmHg
	}
	if share <= 0 {
		share = volumeShare
	}
	for _, x := range []float64{h.FirstMmHg, h.SecondMmHg, h.Seconds, e, share} {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			out.Sentence = "Cannot tell: a reading is not a number."
			return out
		}
	}
	p := PathOf(s)
	switch {
	case !(p.AmbientMmHg > 0) || s.CanisterML <= s.FluidML:
		out.Sentence = "Cannot tell: the canister is full, so the reading is not that of the wound."
		return out
	case h.Seconds <= 0:
		out.Sentence = "Cannot tell: give the time between the two readings."
		return out
	case h.SecondMmHg > h.FirstMmHg+2*e:
		out.Sentence = "Cannot tell: the suction rose during the pause. Was the pump really paused?"
		return out
	case h.FirstMmHg <= 2*e || h.FirstMmHg >= p.AmbientMmHg || h.SecondMmHg < 0:
		out.Sentence = "Cannot tell: the first reading must be a suction well above the reading error, and neither may be negative."
		return out
	}
	out.VolumeML = p.HeadspaceML + p.TubeML + s.VoidML
	leak := func(a, b, volume, n float64) float64 {
		if b >= a {
			return 0
		}
		return volume * math.Pow(s.LeakAtMmHg, n) / (p.AmbientMmHg * h.Seconds) * holdIntegral(a, b, n) * 60
	}
	lowest := math.Max(h.SecondMmHg, 1e-3)
	out.LeakMLMin = leak(h.FirstMmHg, lowest, out.VolumeML, s.LeakExponent)
	low, high := math.Inf(1), 0.0
	for _, n := range []float64{0.5, 1} {
		low = math.Min(low, leak(h.FirstMmHg-e, h.SecondMmHg+e, out.VolumeML*(1-share), n))
		if h.SecondMmHg > 2*e {
			high = math.Max(high, leak(h.FirstMmHg+e, h.SecondMmHg-e, out.VolumeML*(1+share), n))
		}
	}
	out.OK, out.LowMLMin = true, low
	if h.SecondMmHg > 2*e {
		out.HighMLMin = &high
	} else {
		// The suction was gone before the second reading: it may have gone at any moment before.
		out.LeakMLMin = low
	}
	out.say()
	return out
}

// DutySeen is what was seen of a pump that runs by itself.
type DutySeen struct {
	// Duty is the share of time for which it ran while holding SuctionMmHg.
	Duty        float64 `json:"duty"`
	SuctionMmHg float64 `json:"suction_mmHg"`
	// DutyError is how far Duty may be off; 0 means 0.005.
	DutyError float64 `json:"duty_error"`
	// FlowShare is how far the pump's free flow may be off, as a share; 0 means 0.2.
	FlowShare float64 `json:"flow_share"`
}

// SealFromDuty estimates the leak from the pump's duty in a hold: in a settled hold the pump moves what leaks,
//
//	Q(s) = duty Q_f (1 - s / s_d),  Q_r = Q(s) (s_r / s)^n    (eq. 16)
//
// The interval lets the free flow be off by FlowShare, the deepest suction by a tenth, the exponent be 0.5 to 1.
func SealFromDuty(s Setup, d DutySeen) SealEstimate {
	out := SealEstimate{Method: "pump duty", LeakAtMmHg: s.LeakAtMmHg}
	e, share := d.DutyError, d.FlowShare
	if e <= 0 {
		e = dutyPoints
	}
	if share <= 0 {
		share = freeFlowShare
	}
	p := PathOf(s)
	switch {
	case !(d.Duty >= 0 && d.Duty <= 1):
		out.Sentence = "Cannot tell: the share of time for which the pump runs must lie between 0 and 1."
		return out
	case !(d.SuctionMmHg > 0) || d.SuctionMmHg >= p.DeepestMmHg:
		out.Sentence = "Cannot tell: the suction must lie between 0 and the pump's deepest."
		return out
	case !(p.FreeFlowMLS > 0) || math.IsNaN(e) || math.IsNaN(share):
		out.Sentence = "Cannot tell: the pump's free flow is not known."
		return out
	}
	flow := func(duty, share, deepest, n float64) float64 {
		q := duty * p.FreeFlowMLS * 60 * share * math.Max(0, 1-d.SuctionMmHg/deepest)
		return q * math.Pow(s.LeakAtMmHg/d.SuctionMmHg, n)
	}
	out.PumpMLMin = p.FreeFlowMLS * 60 * (1 - d.SuctionMmHg/p.DeepestMmHg)
	out.LeakMLMin = flow(d.Duty, 1, p.DeepestMmHg, s.LeakExponent)
	low, high := math.Inf(1), 0.0
	for _, n := range []float64{0.5, 1} {
		low = math.Min(low, flow(math.Max(0, d.Duty-e), 1-share, p.DeepestMmHg*(1-deepestShare), n))
		high = math.Max(high, flow(math.Min(1, d.Duty+e), 1+share, p.DeepestMmHg*(1+deepestShare), n))
	}
	out.OK, out.LowMLMin = true, low
	if d.Duty+e < 1 {
		out.HighMLMin = &high
	}
	out.say()
	return out
}

func (e *SealEstimate) say() {
	if e.HighMLMin == nil {
		e.Sentence = fmt.Sprintf("The leak is at least %s mL/min at %s mmHg (%s); how much more cannot be told.", unit.Rough(e.LowMLMin, 1), unit.Number(e.LeakAtMmHg, 0), e.Method)
		return
	}
	e.Sentence = fmt.Sprintf("The leak is about %s mL/min at %s mmHg (%s), between %s and %s for the stated uncertainties.",
		unit.Rough(e.LeakMLMin, 1), unit.Number(e.LeakAtMmHg, 0), e.Method, unit.Rough(e.LowMLMin, 1), unit.Rough(*e.HighMLMin, 1))
}
