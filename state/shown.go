package state

import (
	"lowtide/fluid"
	"lowtide/healing"
)

// The types below are results of the healing engine as a review carries them, so that pages and charts show them without
// knowing the engine.
type (
	// Band is a median with its 80 % interval.
	Band = healing.Band
	// Ahead is the size forecast for one day.
	Ahead = healing.Ahead
	// Cohort is the agency's own closed cases as curves.
	Cohort = healing.Cohort
	// Rates are what is believed of a wound before its first size.
	Rates = healing.Prior
	// CohortPoint is one week of it.
	CohortPoint = healing.CohortPoint
	// Measure is what was measured: area, depth or volume.
	Measure = healing.Measure
)

// What can be measured, and where a published marker stands that is not due yet.
const (
	MeasureArea     = healing.Area
	MeasureDepth    = healing.Depth
	MeasureVolume   = healing.Volume
	MarkerNotYetDue = healing.StateNotYetDue
)

// FluidBand is a median with its 80 % interval of the canister's model; FluidChange a sudden change of output; FullAt when
// a canister is full, with the kinds of answer that it can give.
type (
	FullAt      = fluid.FullAt
	FluidBand   = fluid.Quantiles
	FluidChange = fluid.Change
)

// What kind of answer a [FullAt] is.
const (
	FullNotTold = fluid.FullNotTold
	FullRead    = fluid.FullRead
	FullComes   = fluid.FullComes
	FullBeyond  = fluid.FullBeyond
)
