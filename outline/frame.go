package outline

// FrameCm takes a pixel to the frame of EdgeCm: the plane, turned so that it is seen from above as the photo is. ok is
// false for a place beyond the horizon, and for a plane that cannot be used.
func (p *Plane) FrameCm(px Point) (cm Point, ok bool) {
	if !p.prepare() {
		return Point{}, false
	}
	at, ok := p.toCm([]Point{px})
	if !ok {
		return Point{}, false
	}
	if p.mirrored() {
		at[0].Y = -at[0].Y
	}
	return at[0], true
}
