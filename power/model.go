package power

import (
	"fmt"
	"math"

	"lowtide/unit"
)

// Model is a class's drain and charging.
type Model struct {
	Class        string  `json:"class"`
	IdlePercentH float64 `json:"idle_percent_h"`
	RunPercentH  float64 `json:"run_percent_h"`
	// ChargeH is the time for a full charge on mains while the pump works.
	ChargeH float64 `json:"charge_h"`
	// Health multiplies run times; HealthLow and HealthHigh enclose it with 80 % probability.
	Health     float64 `json:"health"`
	HealthLow  float64 `json:"health_low"`
	HealthHigh float64 `json:"health_high"`
	// Observed counts the discharges behind Health; 0 means it is only the class's spread.
	Observed int `json:"observed"`
	// LowPercent is the mark of the display at which the pump warns.
	LowPercent float64 `json:"low_percent"`
}

// criticalPercent is the mark of the display after the low one: common practice, no published source.
const criticalPercent = 1.0

// The class's range and the use to which its ends are assigned. 10 to 20 h by use and 3 h to charge: common
// practice, no published source. The duties are own choices: a tight seal hardly runs the pump; at half duty the
// leak is as large as a pump of the class can well hold.
const (
	longestH, LightDuty  = 20.0, 0.01
	shortestH, HeavyDuty = 10.0, 0.5
	fullChargeH          = 3.0
)

// Spread of run times around the model, as standard deviations of their logarithm: own choices, until discharges
// are observed. unitSpread is between batteries of one class, runSpread between discharges of one battery.
const (
	unitSpread = 0.15
	runSpread  = 0.08
)

// Class returns the model of an equipment class fitted to its stated range (eq. 2); false for a class that has no
// battery to rely on (bedside) or is not known. lowPercent is the mark at which its pumps warn.
func Class(name string, lowPercent float64) (Model, bool) {
	if name != "portable" {
		return Model{}, false
	}
	m := Fit(longestH, LightDuty, shortestH, HeavyDuty)
	m.Class, m.ChargeH, m.LowPercent = name, fullChargeH, lowPercent
	return m, true
}

// Fit solves 100/(a + b d) = T for two stated run times (eq. 2). Times that do not fall with duty, or are not
// positive, give a zero Model.
func Fit(longH, lowDuty, shortH, highDuty float64) Model {
	if !(longH > shortH) || !(shortH > 0) || !(highDuty > lowDuty) || !(lowDuty >= 0) {
		return Model{}
	}
	b := (100/shortH - 100/longH) / (highDuty - lowDuty)
	m := Model{IdlePercentH: 100/longH - b*lowDuty, RunPercentH: b}
	m.setHealth(0, math.Hypot(unitSpread, runSpread), 0)
	return m
}

// setHealth turns a normal law of the logarithm into the factor with its 80 % interval.
func (m *Model) setHealth(mean, sd float64, n int) {
	m.Health, m.HealthLow, m.HealthHigh = math.Exp(mean), math.Exp(mean-unit.Z80*sd), math.Exp(mean+unit.Z80*sd)
	m.Observed = n
}

// usable tells that the model can be divided by.
func (m Model) usable() bool {
	return m.IdlePercentH >= 0 && m.RunPercentH >= 0 && m.IdlePercentH+m.RunPercentH > 0 && m.Health > 0 && m.HealthLow > 0
}

// PercentH is the drain in percent an hour at a duty with the battery as new (eq. 1).
func (m Model) PercentH(duty float64) float64 {
	return m.IdlePercentH + m.RunPercentH*math.Max(0, math.Min(1, duty))
}

// RunTime is how long a full battery lasts at one duty. Hours; Low and High enclose 80 %.
type RunTime struct {
	OK       bool    `json:"ok"`
	Duty     float64 `json:"duty"`
	Hours    float64 `json:"hours"`
	LowH     float64 `json:"low_h"`
	HighH    float64 `json:"high_h"`
	PercentH float64 `json:"percent_h"`
	// LowMarkMin and CriticalMarkMin are the minutes left when the display shows the low mark and the one after it.
	LowMarkMin      float64 `json:"low_mark_min"`
	CriticalMarkMin float64 `json:"critical_mark_min"`
	Observed        int     `json:"observed"`
	Sentence        string  `json:"sentence"`
}

// RunTime computes k 100 / (a + b d) (eq. 3). A duty outside 0..1 or an unusable model gives OK false.
func (m Model) RunTime(duty float64) RunTime {
	out := RunTime{Duty: duty, Observed: m.Observed}
	if !(duty >= 0 && duty <= 1) || !m.usable() || m.PercentH(duty) == 0 {
		out.Sentence = "Cannot tell how long the battery lasts: the share of time for which the pump runs is not known."
		return out
	}
	h := 100 / m.PercentH(duty)
	out.OK = true
	out.Hours, out.LowH, out.HighH = h*m.Health, h*m.HealthLow, h*m.HealthHigh
	out.PercentH = 100 / out.Hours
	out.LowMarkMin, out.CriticalMarkMin = out.Hours*60*m.LowPercent/100, out.Hours*60*criticalPercent/100
	basis := "by the class alone; no discharge of this pump is known"
	if m.Observed > 0 {
		basis = fmt.Sprintf("from %d observed discharges", m.Observed)
		if m.Observed == 1 {
			basis = "from 1 observed discharge"
		}
	}
	out.Sentence = fmt.Sprintf("A full battery should last about %s, four times in five between %s and %s (%s).",
		unit.Duration(out.Hours), unit.Duration(out.LowH), unit.Duration(out.HighH), basis)
	return out
}
