package state

import (
	"lowtide/casebook"
)

// Drawn is what a nurse drew on a photo, with the numbers that she typed beside it. Points are pixels of the upright photo.
type Drawn struct {
	Parts []DrawnPart
	// Ruler is empty, or two points RulerCm apart.
	Ruler   [][2]float64
	RulerCm *float64
	// CheckRulerMm is what the check ruler of the printed strips measures; nil when it was not looked at.
	CheckRulerMm *float64
	// OneLaid is the nurse's word that only one strip was laid, level with the wound.
	OneLaid bool
	Depths  []casebook.DepthAt
	// Marks are places of the skin that do not move.
	Marks [][2]float64
	// GirthCm is how far it is around the limb at the wound; nil on a flat part, or when nobody measured.
	GirthCm *float64
	// DepthCm is the greatest depth, when its place was not marked.
	DepthCm *float64
}

// DrawnPart is one closed line around open wound.
type DrawnPart struct {
	Wound   string
	Edge    [][2]float64
	Islands [][][2]float64
	// EdgeSE is how far the colours leave the edge open, as a share of the area, and Pulled the line as it was pulled to
	// the edge; zero and empty for a line that was only drawn.
	EdgeSE float64
	Pulled [][2]float64
}

// OutlineSizes is what a drawing measures.
type OutlineSizes struct {
	// Refused says why nothing can be measured; Wounds is then empty.
	Refused *Refusal
	Wounds  []OutlineOfWound
	// Notes are sentences about photo and scale.
	Notes []string
}

// OutlineOfWound is what is drawn around one wound.
type OutlineOfWound struct {
	Wound   string
	Refused *Refusal
	// Entry is what a confirmed outline would say; Photo, AddsTo, Tissue and the volume are for the nurse to choose.
	Entry casebook.OutlineTraced
	// Roundness is 4π·area/perimeter² of the edge, 1 for a circle; CentrePx is the centre of area in the photo. Both are
	// nil for a wound in several parts.
	Roundness *float64
	CentrePx  *[2]float64
	// Volumes are by model, from the smallest; empty without a depth.
	Volumes []VolumeByModel
	// Tissue is suggested by colour; TissueWords says how far to trust it. TissueWhy says why there is none.
	Tissue      *casebook.Tissue
	TissueWords string
	TissueWhy   string
	// CannotTell is what this scale cannot show; empty with two strips.
	CannotTell string
	Notes      []string
}

// VolumeByModel is a volume with the model that it rests on.
type VolumeByModel struct {
	Model, Words string
	Cm3          float64
}
