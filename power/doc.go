// Package power computes how long a portable pump runs on its battery and whether a plan without mains works out:
// the reserve on return, the latest moment to plug in, and what ageing and a leak do to both.
//
//	paper  Go               unit    meaning
//	L      LevelPercent     %       charge shown by the pump, 100 is full
//	a      IdlePercentH     %/h     drain while the pump's motor rests
//	b      RunPercentH      %/h     further drain while it runs
//	d      duty             1       share of time for which it runs (package suction gives it)
//	k      Health           1       run time relative to a new battery
//
// Equations are numbered in docs/model/power.md. A charge is taken to fall on a straight line at constant duty.
//
// What it cannot do: it does not know the battery in front of you. A class's stated range of 10 to 20 hours is
// common practice, no published source; only observed discharges narrow it. A display that jumps, a cold battery
// or one that fails suddenly is outside the model. When in doubt, plug in.
package power
