package healing

import "time"

// Size is one measurement of one wound, as written at a visit. Fields that were not measured are nil.
type Size struct {
	// At is when the wound was measured.
	At time.Time `json:"at"`
	// AreaCm2 is the area as the method reads it, cm². Zero means closed.
	AreaCm2 *float64 `json:"area_cm2,omitempty"`
	// Method names how the area was taken; see Methods. Empty counts as unknown.
	Method string `json:"method,omitempty"`
	// SECm2 is the standard error of the area, cm²; nil takes the method's own.
	SECm2 *float64 `json:"se_cm2,omitempty"`
	// LengthCm and WidthCm give the perimeter of an ellipse when PerimeterCm is missing.
	LengthCm *float64 `json:"length_cm,omitempty"`
	WidthCm  *float64 `json:"width_cm,omitempty"`
	// DepthCm is the greatest depth, cm; DepthSECm its standard error.
	DepthCm   *float64 `json:"depth_cm,omitempty"`
	DepthSECm *float64 `json:"depth_se_cm,omitempty"`
	// VolumeCm3 is the volume, cm³; VolumeSECm3 its standard error.
	VolumeCm3   *float64 `json:"volume_cm3,omitempty"`
	VolumeSECm3 *float64 `json:"volume_se_cm3,omitempty"`
	// PerimeterCm is the length of the edge, cm.
	PerimeterCm *float64 `json:"perimeter_cm,omitempty"`
	// BarePct is the share of the bed that is covered by neither granulation nor epithelium, judged by eye, percent.
	BarePct *float64 `json:"bare_pct,omitempty"`

	// place is its index in the list that was given.
	place int
}

// Measure is what of a wound is followed over time.
type Measure string

// The three measures that are fitted.
const (
	Area   Measure = "area_cm2"
	Depth  Measure = "depth_cm"
	Volume Measure = "volume_cm3"
)

// Bare is the share of the bed that is not granulated, percent. It is fitted for the goal of therapy only: no published
// rate says how fast it falls, and it says nothing of a stall.
const Bare Measure = "bare_pct"

// words names a measure in a sentence.
func (m Measure) words() string {
	switch m {
	case Area:
		return "the area"
	case Depth:
		return "the depth"
	case Bare:
		return "the share of the bed that is not granulated"
	}
	return "the volume"
}

// Measures lists them in the order in which they are reported.
var Measures = []Measure{Area, Depth, Volume}

// fitted are the measures with a curve of their own.
var fitted = []Measure{Area, Depth, Volume, Bare}

// power is the exponent that turns a measure into a length: area 1/2, depth 1, volume 1/3.
func (m Measure) power() float64 {
	switch m {
	case Area:
		return 0.5
	case Volume:
		return 1.0 / 3
	}
	return 1
}

// of returns the measure of one size, nil when it was not taken.
func (m Measure) of(s Size) *float64 {
	switch m {
	case Area:
		return s.AreaCm2
	case Depth:
		return s.DepthCm
	case Bare:
		return s.BarePct
	}
	return s.VolumeCm3
}

// se returns the stated standard error, nil when there is none.
func (m Measure) se(s Size) *float64 {
	switch m {
	case Area:
		return s.SECm2
	case Depth:
		return s.DepthSECm
	case Bare:
		return nil
	}
	return s.VolumeSECm3
}
