// Package painted makes invented wound photographs whose masks are known exactly, to try the outline's assisted edge
// on: five painters of different habits (one of them kept back while the method was made, one written after it), and rough
// loops as a finger draws them. It is test gear: nothing that a nurse sees is made here.
//
// A painted wound is not a real one. It has no anatomy, no true optics of wet tissue, and its author chose which
// troubles to paint. A score here says that the method copes with those troubles, not that it copes with a clinic.
package painted

import "image"

// Tissue is what a painted pixel is made of.
type Tissue uint8

// The tissues. Skin and everything else outside of the wound are Outside.
const (
	Outside Tissue = iota
	Granulation
	Slough
	Eschar
	Epithelium
)

// Scene is one painted photograph with its truth.
type Scene struct {
	Image  image.Image
	Width  int
	Height int
	Mask   []bool   // row by row, true inside the wound that the loop is about
	Tissue []Tissue // row by row
	Loop   []Point  // rough loop around that wound, upright pixels, origin top left

	Painter  string
	Tone     int    // 1 (very light) to 6 (very dark)
	Texture  string // the leading tissue: "granulation", "slough", "eschar" or "mixed"
	Glare    bool
	Share    float64 // of the frame that the wound fills
	Troubles string  // what else was painted, for people
}

// Point is a place in pixels, origin at the top left corner of the top left pixel.
type Point struct{ X, Y float64 }

// Painter makes one scene from a seed; side is the picture's width and height in pixels.
type Painter func(seed uint64, side int) Scene

// Painters by name. Held was written before the method was tuned and looked at only for the final table.
var (
	Pigment Painter = paintPigment // absorption of melanin and blood
	Palette Painter = paintPalette // colours drawn from a palette, tissues in cells
	Hard    Painter = paintHard    // edges that are hard to tell
	Held    Painter = paintHeld    // shapes by growth, colours in a perceptual space
	Room    Painter = paintRoom    // beside a bed: limb and sheet, gloves, hair, borders, coarse JPEG; written after the method
)
