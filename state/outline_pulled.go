package state

import "math"

// openSE is the share of the area that is open because the colours left the edge open. Where the nurse moved the line
// away from where it was pulled, the edge is hers: the rest of the line keeps its doubt. Her eye alone does not take it
// away, since what is left as it was may not have been looked at closely.
func (p *DrawnPart) openSE() float64 {
	if p.EdgeSE <= 0 || len(p.Edge) < 3 {
		return 0
	}
	if len(p.Pulled) < 3 {
		return p.EdgeSE
	}
	kept, all := 0.0, 0.0
	for i, a := range p.Edge {
		b := p.Edge[(i+1)%len(p.Edge)]
		l := math.Hypot(b[0]-a[0], b[1]-a[1])
		all += l
		if nearLine(p.Pulled, a) && nearLine(p.Pulled, b) && nearLine(p.Pulled, [2]float64{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2}) {
			kept += l
		}
	}
	if all == 0 {
		return p.EdgeSE
	}
	return p.EdgeSE * kept / all
}

// asPulledPx is how far a point may lie from the pulled line and still count as unmoved: what thinning moves it.
const asPulledPx = 1.5

func nearLine(line [][2]float64, at [2]float64) bool {
	for i, a := range line {
		b := line[(i+1)%len(line)]
		dx, dy := b[0]-a[0], b[1]-a[1]
		t := 0.0
		if l := dx*dx + dy*dy; l > 0 {
			t = math.Min(1, math.Max(0, ((at[0]-a[0])*dx+(at[1]-a[1])*dy)/l))
		}
		if math.Hypot(at[0]-a[0]-t*dx, at[1]-a[1]-t*dy) <= asPulledPx {
			return true
		}
	}
	return false
}

// radiusOf is the radius of a round limb, cm; 0 when nobody measured around it.
func radiusOf(girthCm *float64) float64 {
	if girthCm == nil {
		return 0
	}
	return *girthCm / (2 * math.Pi)
}
