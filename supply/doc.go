// Package supply computes what will be used, what to bring and what to order.
//
// From the planned changes of a wound, its size and the output forecast it gives the expected use of an item over any
// period with an 80 % interval: [Changes] for dressing kits, [Canisters] for canisters. [Kits] says which kit a wound
// takes. [Add] sums the use of many patients, [ReorderPoint] is the stock at which to order for a lead time and a
// service level, [Left] what of a lot will not be used before it expires.
//
// It cannot know what nobody recorded: a kit whose size is not in the agency's list, a wound without a size, an output
// without readings. Such inputs give a Status and no number.
//
// Derivation and numbered equations: docs/model/supply.md. Symbols there and here:
//
//	I      EveryH      planned time between changes, h
//	k, D   Early, WatchedD   changes that came early, over the days that were watched
//	a, b   priorEarly, priorDays   the prior of the rate of extra changes
//	r, U   rate, UsableML   output a day and what a canister takes, mL
//	d, σd  use a day, mean and standard deviation
//	L, σL  lead time in days, mean and standard deviation
//	z      standard normal quantile of the service level
//
// The package is pure: no clock, no randomness, no goroutines, no I/O.
package supply
