package main

import (
	"math"
	"math/rand/v2"
)

// Families are courses that turn: declines, falls, rises, day and night, misread marks, gaps, pauses and mixes of them.
// They come in two halves that hold the same phenomena in other forms. What the model learns is learnt on one half and
// judged on the other, and the other way round.
var families = [2][]generator{
	{
		{name: "decline, 3 to 6 d", logRate: decline(3, 6, 0)},
		{name: "decline to a floor, 6 to 14 d", logRate: decline(6, 14, 0.3)},
		{name: "fall to a third", logRate: fall(1.0/3, 1.0/3)},
		{name: "rise, logistic", logRate: riseLogistic},
		{name: "day and night, sine", logRate: nightSine},
		{name: "misread marks, level", logRate: level, habit: habit{misread: 0.08}},
		{name: "gaps, decline", logRate: decline(5, 12, 0), habit: habit{holidays: true}},
		{name: "pauses, level", logRate: level, habit: habit{pauses: true}},
		{name: "mix of decline, fall, night", logRate: mixOne, habit: habit{misread: 0.03}},
	},
	{
		{name: "decline, 7 to 14 d", logRate: decline(7, 14, 0)},
		{name: "decline in two phases", logRate: biexponential},
		{name: "fall to a quarter to a half", logRate: fall(0.25, 0.5)},
		{name: "rise, straight", logRate: riseStraight},
		{name: "day and night, square", logRate: nightSquare},
		{name: "misread marks, decline", logRate: decline(4, 12, 0.1), habit: habit{misread: 0.08}},
		{name: "gaps, level", logRate: gammaAR, habit: habit{holidays: true}},
		{name: "pauses, decline", logRate: decline(4, 14, 0), habit: habit{pauses: true}},
		{name: "mix of power law, rise, night", logRate: mixTwo, habit: habit{misread: 0.03, holidays: true}},
	},
}

func inDays(i int) float64 { return float64(i) / (24 * stepsPerH) }

// decline is exponential with a time constant from shortest to longest days, to a floor of up to most of its start.
func decline(shortest, longest, most float64) func(*rand.Rand, float64, int) []float64 {
	return func(r *rand.Rand, base float64, n int) []float64 {
		x := make([]float64, n)
		tau, floor := math.Exp(uniform(r, math.Log(shortest), math.Log(longest))), uniform(r, 0, most)
		for i := range x {
			x[i] = math.Log(1.5*base*(floor+(1-floor)*math.Exp(-inDays(i)/tau)) + 0.5)
		}
		days(r, x, uniform(r, 0.05, 0.3))
		return x
	}
}

// biexponential falls fast at first and slowly after.
func biexponential(r *rand.Rand, base float64, n int) []float64 {
	x := make([]float64, n)
	fast, slow, share := uniform(r, 2, 4), uniform(r, 10, 25), uniform(r, 0.3, 0.7)
	for i := range x {
		d := inDays(i)
		x[i] = math.Log(1.6*base*(share*math.Exp(-d/fast)+(1-share)*math.Exp(-d/slow)) + 0.5)
	}
	days(r, x, uniform(r, 0.05, 0.3))
	return x
}

// fall is level until one moment of the first fortnight, and from then on a share of that.
func fall(least, most float64) func(*rand.Rand, float64, int) []float64 {
	return func(r *rand.Rand, base float64, n int) []float64 {
		x := make([]float64, n)
		at, to := uniform(r, 0.5, 14), uniform(r, least, most)
		for i := range x {
			x[i] = math.Log(1.3 * base)
			if inDays(i) > at {
				x[i] += math.Log(to)
			}
		}
		days(r, x, uniform(r, 0.05, 0.3))
		return x
	}
}

func riseLogistic(r *rand.Rand, base float64, n int) []float64 {
	x := make([]float64, n)
	up, mid, width := uniform(r, 1.5, 3.5), uniform(r, 2, 16), uniform(r, 0.5, 4)
	for i := range x {
		x[i] = math.Log(0.7 * base * (1 + (up-1)/(1+math.Exp(-(inDays(i)-mid)/width))))
	}
	days(r, x, uniform(r, 0.05, 0.3))
	return x
}

// riseStraight rises by a steady amount a day for a while.
func riseStraight(r *rand.Rand, base float64, n int) []float64 {
	x := make([]float64, n)
	perD, from, lasts := uniform(r, 0.05, 0.25), uniform(r, 0, 8), uniform(r, 4, 12)
	for i := range x {
		x[i] = math.Log(0.7 * base * (1 + perD*math.Max(0, math.Min(lasts, inDays(i)-from))))
	}
	days(r, x, uniform(r, 0.05, 0.3))
	return x
}

func level(r *rand.Rand, base float64, n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = math.Log(base)
	}
	days(r, x, uniform(r, 0.05, 0.35))
	return x
}

// nightSine is most at a moment of the day and least twelve hours on.
func nightSine(r *rand.Rand, base float64, n int) []float64 {
	x := make([]float64, n)
	amp, phase := uniform(r, 0.2, 0.7), uniform(r, 8, 18)
	slope := uniform(r, -0.03, 0.02)
	for i := range x {
		x[i] = math.Log(base*(1+amp*math.Cos(2*math.Pi*(float64(i)/stepsPerH-phase)/24))) + slope*math.Min(20, inDays(i))
	}
	days(r, x, uniform(r, 0.03, 0.2))
	return x
}

// nightSquare gives less from ten to six.
func nightSquare(r *rand.Rand, base float64, n int) []float64 {
	x := make([]float64, n)
	share := uniform(r, 0.2, 0.7)
	for i := range x {
		x[i] = math.Log(1.2 * base)
		if h := math.Mod(float64(i)/stepsPerH, 24); h < 6 || h >= 22 {
			x[i] += math.Log(share)
		}
	}
	days(r, x, uniform(r, 0.05, 0.35))
	return x
}

func mixOne(r *rand.Rand, base float64, n int) []float64 {
	x := level(r, base, n)
	if r.Float64() < 0.6 {
		perD := 1 / uniform(r, 4, 14)
		for i := range x {
			x[i] -= perD * math.Min(30, inDays(i))
		}
	}
	if r.Float64() < 0.5 {
		at, by := uniform(r, 1, 20), math.Log(uniform(r, 0.25, 0.6))
		if r.Float64() < 0.3 {
			by = -by
		}
		for i := range x {
			if inDays(i) > at {
				x[i] += by
			}
		}
	}
	if r.Float64() < 0.5 {
		amp := uniform(r, 0.1, 0.5)
		for i := range x {
			x[i] += math.Log(1 + amp*math.Cos(2*math.Pi*(float64(i)/stepsPerH-14)/24))
		}
	}
	return x
}

func mixTwo(r *rand.Rand, base float64, n int) []float64 {
	x := gammaAR(r, base, n)
	switch r.IntN(3) {
	case 0:
		power, since := uniform(r, 0.4, 1.5), uniform(r, 1, 5)
		for i := range x {
			x[i] -= power * math.Log(1+inDays(i)/since)
		}
	case 1:
		perD := uniform(r, 0.03, 0.12)
		for i := range x {
			x[i] += perD * math.Min(10, inDays(i))
		}
	}
	return x
}

// misreadings changes some of the marks as read: one mark beside the true one, a digit lost, or anything.
func misread(r *rand.Rand, ml, size float64) float64 {
	switch p := r.Float64(); {
	case p < 0.6:
		ml += []float64{50, 100}[r.IntN(2)] * math.Copysign(1, r.Float64()-0.5)
	case p < 0.8:
		ml = math.Round(ml / 10)
	default:
		ml = uniform(r, 0, size)
	}
	return math.Max(0, math.Min(size, ml))
}

// pauseSpans are spells of 2 to 30 hours without therapy, in hours from the start: a spell every four days or so.
func pauseSpans(r *rand.Rand, endH float64) [][2]float64 {
	var out [][2]float64
	for h := uniform(r, 6, 96); h < endH; {
		long := math.Exp(uniform(r, math.Log(2), math.Log(30)))
		out = append(out, [2]float64{h, math.Min(endH, h+long)})
		h += long + uniform(r, 24, 144)
	}
	return out
}
