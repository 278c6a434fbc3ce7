// Package healing computes from a wound's sizes whether it is closing, when it will have closed, and whether it has
// stopped improving: plain figures by their published definitions, a fit of competing curve families, forecasts with
// 80 % intervals, and published milestones.
//
// What it cannot do: it does not know why a wound stalls; it sees nothing of tissue, infection or perfusion; with two
// or three sizes it leans on published rates and says so; a wound closed by a surgeon looks like a wild last size.
//
// Each measure (area, depth, volume) is followed by a bank of Kalman filters, one for each node of a fixed quadrature
// over curve family, noise, wander of the rate and time of a change of course. Rates and sizes are integrated in
// closed form; nodes are joined by their posterior weight. Nothing is drawn at random. The equations are numbered in
// docs/model/healing.md.
//
//	symbol  name                    unit
//	x       state[stX]              log of the measure, or equivalent length in cm
//	β       state[stRate]           per week, lasting part of the rate
//	δ       state[stDrift]          per week, passing part
//	σ, T    sigma, relaxWk          per week, weeks
//	b       state[stRuler/stOther]  log factor of a method
//	s       noise                   factor on stated standard errors
//	k       DecayConstant           per week
//	d       LinearAdvance           cm
//
// Budgets: a series of 20 visits is fitted in under 5 ms (BenchmarkFit); 10,000 wounds in under 60 s on 2 cores
// (BenchmarkAssess under 12 ms).
package healing
