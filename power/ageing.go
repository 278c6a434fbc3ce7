package power

import (
	"fmt"
	"math"
)

// Discharge is one stretch on battery that somebody noted: the display fell from one level to another.
type Discharge struct {
	FromPercent float64 `json:"from_percent"`
	ToPercent   float64 `json:"to_percent"`
	Hours       float64 `json:"hours"`
	Duty        float64 `json:"duty"`
}

// Ageing is what observed discharges tell about a battery.
type Ageing struct {
	// Model is the class's with Health replaced; equal to the class's when nothing could be used.
	Model Model `json:"model"`
	// Used are the run times of each usable discharge relative to a new battery, in the order given.
	Used    []float64 `json:"used"`
	Refused int       `json:"refused"`
	// Worn is true when the whole 80 % interval lies below 0.8 of a new battery.
	Worn     bool   `json:"worn"`
	Sentence string `json:"sentence"`
}

const (
	// leastDropPercent is the smallest fall worth using: a display rounds to whole percents.
	leastDropPercent = 5.0
	displayPercent   = 0.5
	// wornShare is the share of a new battery's run time below which it counts as worn: own choice.
	wornShare = 0.8
)

// Aged estimates the battery's health from discharges (eq. 4): the logarithms of observed over expected run time
// are combined with the class's spread, each weighted by its certainty (normal prior, normal errors). The interval
// is for the next discharge, so it keeps the spread between discharges however many were seen.
//
// A discharge that did not fall by at least 5 %, has no time, or levels outside 0..100 is refused and counted.
func (m Model) Aged(seen []Discharge) Ageing {
	out := Ageing{Model: m, Used: []float64{}}
	if !m.usable() {
		out.Sentence = "Cannot tell: the class has no battery model."
		return out
	}
	weight := 1 / (unitSpread * unitSpread)
	sum := 0.0
	for _, d := range seen {
		fall := d.FromPercent - d.ToPercent
		if !(fall >= leastDropPercent) || !(d.Hours > 0) || math.IsInf(d.Hours, 0) || d.FromPercent > 100 || d.ToPercent < 0 || !(d.Duty >= 0 && d.Duty <= 1) {
			out.Refused++
			continue
		}
		ratio := d.Hours / (fall / m.PercentH(d.Duty))
		// The display's rounding at both ends adds to the spread of a short fall.
		sd := math.Hypot(runSpread, math.Sqrt2*displayPercent/fall)
		w := 1 / (sd * sd)
		sum += w * math.Log(ratio)
		weight += w
		out.Used = append(out.Used, ratio)
	}
	n := len(out.Used)
	if n == 0 {
		out.Sentence = "No usable discharge is known; the run time is that of the class."
		return out
	}
	out.Model.setHealth(sum/weight, math.Sqrt(1/weight+runSpread*runSpread), n)
	out.Worn = out.Model.HealthHigh < wornShare
	out.Sentence = fmt.Sprintf("This battery lasts %.0f %% as long as the class's (four times in five between %.0f and %.0f).", 100*out.Model.Health, 100*out.Model.HealthLow, 100*out.Model.HealthHigh)
	if out.Worn {
		out.Sentence += " It is worn; ask for another."
	}
	return out
}
