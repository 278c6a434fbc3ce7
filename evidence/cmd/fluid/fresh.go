package main

import (
	"math"
	"math/rand/v2"
)

// habit is how a course is read, and how much the wound gives, where that differs from the first generators.
type habit struct {
	baseMLD [2]float64 // output between the two, even on the log scale; zero draws it from the area
	sizesML []float64
	everyH  []float64 // hours between readings, one of them a course
	stepML  float64   // readings are rounded to it
	// holidays leave out readings for two to five days, once or twice.
	holidays bool
	// unwritten is the share of canister changes that nobody writes down.
	unwritten float64
	// misread is the share of readings that are slips.
	misread float64
	// pauses put spells without therapy into the history.
	pauses bool
	// daily changes the canister at every reading.
	daily bool
	// first leaves the first reading alone, of a new canister or of one that somebody else put in.
	first bool
}

// fresh are courses and habits that the model had never met when it was fixed: their results chose no constant.
var fresh = []generator{
	{name: "gamma AR(1), nights, holidays", heldOut: true, logRate: gammaAR, habit: habit{holidays: true}},
	{name: "spikes, 50 mL, unwritten changes", heldOut: true, logRate: spikes, habit: habit{stepML: 50, unwritten: 0.25}},
	{name: "5 to 20 mL a day", heldOut: true, logRate: walk, habit: habit{baseMLD: [2]float64{5, 20}}},
	{name: "1 to 2 L a day", heldOut: true, logRate: gammaAR, habit: habit{baseMLD: [2]float64{1000, 2000}, sizesML: []float64{800, 1000, 1500}, everyH: []float64{4, 6, 8}}},
	{name: "canister changed daily", heldOut: true, logRate: reverting, habit: habit{daily: true, everyH: []float64{24}}},
	{name: "first reading only", heldOut: true, logRate: walk, habit: habit{first: true}},
}

// gammaAR is an autoregressive course of days, each a share of the day before and a gamma draw of mean one, with more by
// day than by night.
func gammaAR(r *rand.Rand, base float64, n int) []float64 {
	x := make([]float64, n)
	rho, shape := uniform(r, 0.3, 0.85), uniform(r, 1.5, 10)
	amp := uniform(r, 0.1, 0.6)
	g := gamma(r, shape)
	for i := range x {
		if i%(24*stepsPerH) == 0 {
			g = math.Max(0.05, rho*g+(1-rho)*gamma(r, shape))
		}
		hour := float64(i) / stepsPerH
		x[i] = math.Log(base*g) + math.Log(1+amp*math.Sin(2*math.Pi*(hour-9)/24))
	}
	return x
}

// spikes is an exponential decline with no floor but a trickle, and with days of two to five times as much.
func spikes(r *rand.Rand, base float64, n int) []float64 {
	x := make([]float64, n)
	perD, chance := uniform(r, 0.01, 0.1), uniform(r, 0.02, 0.12)
	up := 1.0
	for i := range x {
		if i%(24*stepsPerH) == 0 {
			if up = 1; r.Float64() < chance {
				up = uniform(r, 2, 5)
			}
		}
		d := float64(i) / (24 * stepsPerH)
		x[i] = math.Log(up * (2 + 1.5*base*math.Exp(-perD*d)))
	}
	days(r, x, uniform(r, 0.05, 0.25))
	return x
}

// holidays takes readings out: spells of two to five days without anybody who reads, never the first or the last.
func holidays(r *rand.Rand, times []float64) []float64 {
	last := len(times) - 1
	keep := append([]float64(nil), times...)
	for range 1 + r.IntN(2) {
		from := uniform(r, times[0], times[last])
		to := from + 24*uniform(r, 2, 5)
		var left []float64
		for i, h := range keep {
			if i == 0 || i == len(keep)-1 || h < from || h > to {
				left = append(left, h)
			}
		}
		keep = left
	}
	return keep
}
