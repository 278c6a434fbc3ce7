package outline

import (
	"encoding/json"
	"fmt"
)

// Point is a place in an upright photo, in pixels from its top left corner, or in a plane, in centimetres.
//
// The corner of the top left pixel is (0, 0) and its centre (0.5, 0.5): pixel (i, j) covers [i, i+1) × [j, j+1).
// y grows downward in photo and plane. In JSON a point is [x, y].
type Point struct{ X, Y float64 }

// MarshalJSON writes [x, y].
func (p Point) MarshalJSON() ([]byte, error) { return json.Marshal([2]float64{p.X, p.Y}) }

// UnmarshalJSON reads [x, y].
func (p *Point) UnmarshalJSON(raw []byte) error {
	var xy []float64
	if err := json.Unmarshal(raw, &xy); err != nil || len(xy) != 2 {
		return fmt.Errorf("a point is [x, y], two numbers")
	}
	p.X, p.Y = xy[0], xy[1]
	return nil
}

// Traced is the edge of one wound in pixels of the upright photo. Loops are closed: the last point joins the
// first, which is not repeated; either way round is allowed.
type Traced struct {
	// Outer is the wound's edge.
	Outer []Point `json:"outline"`
	// Holes are islands of healed skin, taken off the area.
	Holes [][]Point `json:"holes,omitempty"`
	// Status says how the edge came about, in words.
	Status string `json:"status,omitempty"`
	// EdgeSE is one standard error of the area from tracing alone, as a share of the area; 0 when not known.
	EdgeSE float64 `json:"edge_se,omitempty"`
}

// Reason names why a photo or an outline was refused.
type Reason string

// Reasons for a refusal.
const (
	NotAnImage   Reason = "not an image"
	WrongFormat  Reason = "format not read"
	TooLarge     Reason = "photo too large"
	TooTiny      Reason = "photo too small"
	Damaged      Reason = "photo damaged"
	StripMissing Reason = "strip missing"
	// OneStripOnly is the refusal of a photo that shows one strip when two are expected.
	OneStripOnly Reason = "second strip not seen"
	StripCutOff  Reason = "strip cut off"
	StripBent    Reason = "strip bent"
	StripSmall   Reason = "strip too small"
	StripsMany   Reason = "too many strips"
	StripOther   Reason = "strip of another kind"
	Oblique      Reason = "too oblique"
	Blurred      Reason = "blurred"
	PrintScale   Reason = "wrong print scale"
	MarksPoor    Reason = "marks do not fit one plane"
	LoopPoor     Reason = "outline not usable"
)

// Refusal is the error of everything that cannot be measured: what is wrong, and what to do.
type Refusal struct {
	Reason Reason `json:"reason"`
	Words  string `json:"words"`
	Remedy string `json:"remedy"`
}

// Error says both in one sentence each.
func (r *Refusal) Error() string { return r.Words + " " + r.Remedy }

func refuse(reason Reason, remedy, words string, args ...any) *Refusal {
	return &Refusal{Reason: reason, Words: fmt.Sprintf(words, args...), Remedy: remedy}
}

// Mark is a place whose pixel and plane coordinates are both known.
type Mark struct {
	Px Point `json:"px"`
	Cm Point `json:"cm"`
}

// Part is one share of a standard error, in the unit of what it belongs to.
type Part struct {
	Name string  `json:"name"`
	SE   float64 `json:"se"`
}

// Quality is what was seen of the strips, also when the photo was refused.
type Quality struct {
	Strips []StripSeen `json:"strips"`
	// TiltDeg is the angle between the line of sight and the square view of the plane.
	TiltDeg float64 `json:"tilt_deg"`
	// PxPerCm is the scale midway between the strips.
	PxPerCm float64 `json:"px_per_cm"`
	// BlurPx is the standard deviation of the blur, from the width of the marks' edges.
	BlurPx float64 `json:"blur_px"`
	// MisfitPx is the root mean square distance of the marks from the fitted plane.
	MisfitPx float64 `json:"misfit_px"`
	// Notes are sentences for the nurse: what makes the figure less sure.
	Notes []string `json:"notes,omitempty"`
}

// StripSeen is one strip in the photo.
type StripSeen struct {
	// Which is "A" or "B".
	Which string `json:"which"`
	// Corners are the paper's corners in pixels of the upright photo, from its own top left clockwise.
	Corners [4]Point `json:"corners"`
	// Marks is how many round marks were used, MisfitPx how far they lie from a flat strip.
	Marks    int     `json:"marks"`
	MisfitPx float64 `json:"misfit_px"`
}

// Measures are the sizes of one outlined wound. Lengths and areas are in the plane of the strips.
type Measures struct {
	AreaCm2     float64 `json:"area_cm2"`
	PerimeterCm float64 `json:"perimeter_cm"`
	// IslandsCm2 and IslandsCm are the area already taken off AreaCm2 and the edge of the islands.
	IslandsCm2 float64 `json:"islands_cm2,omitempty"`
	IslandsCm  float64 `json:"islands_cm,omitempty"`
	// LengthCm is the greatest distance between two points of the edge, WidthCm the wound's extent square to it.
	LengthCm float64 `json:"length_cm"`
	WidthCm  float64 `json:"width_cm"`
	// HeadToToeCm and AcrossCm are the extents along and square to the body; nil when the photo's up is not known.
	HeadToToeCm *float64 `json:"head_to_toe_cm,omitempty"`
	AcrossCm    *float64 `json:"across_cm,omitempty"`
	// UpCm points to the head in the frame of EdgeCm, a unit vector; nil when not known.
	UpCm *Point `json:"up_cm,omitempty"`
	// Roundness is 4π·area/perimeter² of the outer edge: 1 for a circle.
	Roundness float64 `json:"roundness"`
	// CentroidPx and CentroidCm are the centre of area, islands taken off.
	CentroidPx Point `json:"centroid_px"`
	CentroidCm Point `json:"centroid_cm"`
	// EdgeCm is the outer edge in the plane, HolesCm the islands: what Compare takes. They turn the same way round as
	// in the photo, also when marks were given with y upward.
	EdgeCm  []Point   `json:"edge_cm,omitempty"`
	HolesCm [][]Point `json:"holes_cm,omitempty"`
	// SE is one standard error of AreaCm2, SEParts its shares (they add in squares); LengthSE that of LengthCm.
	SE       float64 `json:"se"`
	SEParts  []Part  `json:"se_parts"`
	LengthSE float64 `json:"length_se"`
	// TiltDeg and PxPerCm are taken at the wound.
	TiltDeg float64 `json:"tilt_deg"`
	PxPerCm float64 `json:"px_per_cm"`
	// Scale says where the centimetres come from: "two strips", "one strip", "marks" or "ruler".
	Scale string `json:"scale"`
	// CannotTell is what this kind of scale cannot show, in one sentence; empty with two strips and with marks.
	CannotTell string `json:"cannot_tell,omitempty"`
	// Notes are sentences for the nurse: what the figure leaves out.
	Notes []string `json:"notes,omitempty"`
}
