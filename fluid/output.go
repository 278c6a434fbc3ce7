package fluid

import (
	"math"

	"lowtide/unit"
)

// Published figures of output under negative pressure.
const (
	// OutputPerArea is the mean collected under negative pressure: 1.3 g/cm² in 24 h (15 measures, 5 patients), with
	// 1 g taken as 1 mL. Source: Dealey, Cameron, Arrowsmith 2006, J Wound Care 15:149-153.
	OutputPerArea = 1.3
	// MedianSoftTissue and MedianOpenAbdomen are median daily outputs. Source: Hourigan 2010, Nutr Clin Pract
	// 25:510-516 (9 and 8 patients).
	MedianSoftTissue  unit.Rate = 245
	MedianOpenAbdomen unit.Rate = 1031
	// ProteinPerDL is the authors' rule for the protein in the fluid, g/dL. Source: Hourigan 2010.
	ProteinPerDL = 2.9
)

// Expected is the output to expect of a wound by its area alone: 1.3 mL per cm² a day. It is a mean of five
// patients: single wounds differ several-fold.
func Expected(a unit.Area) unit.Rate { return unit.Rate(OutputPerArea * float64(a)) }

// Protein is the protein lost a day, in g, at a rate of output: 2.9 g/dL of fluid (eq. 15). The factor comes from 17
// patients, whose fluids ranged widely (2.59 ± 0.6 and 2.9 ± 0.9 g/dL): it is an estimate for a dietitian, no
// measurement.
func Protein(r unit.Rate) float64 { return ProteinPerDL * float64(r) / 100 }

// priorLevel is the log of the output (mL/d) believed before any reading, with its sd.
func priorLevel(a unit.Area) (ln, sd float64) {
	area := float64(a)
	if !(area > 0) || math.IsInf(area, 0) {
		// No area: between the published output of a small wound and the published median of 245 mL a day.
		return math.Log(100), 1.2
	}
	area = math.Max(1, math.Min(2000, area))
	return math.Log(float64(Expected(unit.Area(area)))), 1.0
}
