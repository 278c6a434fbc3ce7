package supply

import (
	"math"

	"lowtide/unit"
)

// Kit is a dressing kit of the agency's list. Covers is the area of filler in it, Layer the thickness of that filler.
type Kit struct {
	Item   string
	Filler string
	Covers unit.Area
	Layer  unit.Length
}

// Status says whether a need could be told.
type Status string

// The statuses of a need.
const (
	OK       Status = "ok"
	NoSize   Status = "no size of the wound is recorded"
	NoFiller Status = "the filler is not known"
	NoKit    Status = "no kit of this filler is in the list of equipment"
	NoOutput Status = "the output is not known"
	NoSizeML Status = "the canister's size is not known"
)

// Wound is what decides which kit one change takes. Area and Depth are of the last measurement; a negative one is not
// known. An unknown depth counts as one layer.
type Wound struct {
	Filler string
	Area   unit.Area
	Depth  unit.Length
}

// Need is a number of one item for one change.
type Need struct {
	Item  string
	Count int
	// Layers is how many sheets deep the wound is packed.
	Layers int
}

// Kits returns the kit that one change of the wound takes: the smallest that holds area × layers of filler, or several
// of the largest (eq. 1). Pieces are cut from the filler of a kit, so their number does not change how many kits are
// needed. kits may be in any order.
func Kits(w Wound, kits []Kit) (Need, Status) {
	switch {
	case w.Filler == "":
		return Need{}, NoFiller
	case !(w.Area >= 0) || math.IsInf(float64(w.Area), 0):
		return Need{}, NoSize
	}
	var best, largest *Kit
	layers := func(k *Kit) float64 {
		if k.Layer > 0 && w.Depth > 0 {
			return math.Ceil(float64(w.Depth) / float64(k.Layer))
		}
		return 1
	}
	for i := range kits {
		k := &kits[i]
		if k.Filler != w.Filler || !(k.Covers > 0) {
			continue
		}
		if largest == nil || k.Covers > largest.Covers || k.Covers == largest.Covers && k.Item < largest.Item {
			largest = k
		}
		if float64(w.Area)*layers(k) <= float64(k.Covers) && (best == nil || k.Covers < best.Covers || k.Covers == best.Covers && k.Item < best.Item) {
			best = k
		}
	}
	switch {
	case best != nil:
		return Need{best.Item, 1, int(layers(best))}, OK
	case largest != nil:
		n := layers(largest)
		return Need{largest.Item, int(math.Ceil(float64(w.Area) * n / float64(largest.Covers))), int(n)}, OK
	}
	return Need{}, NoKit
}
