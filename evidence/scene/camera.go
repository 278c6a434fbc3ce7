// Package scene paints photos of a wound with scale strips whose true sizes are known: the other side of the
// outline's checks. Its camera is a pinhole with a lens of the Brown kind (a polynomial of the ideal radius), which
// is not the form that the program fits, and its strips are paper that can be raised, sloped and bent.
package scene

import (
	"math"

	"lowtide/outline"
)

// Camera looks at the plane z = 0, z upward, y of the plane downward in the picture when Roll is 0.
type Camera struct {
	WidthPx, HeightPx int
	FocalPx           float64
	// DistanceCm is along the axis to AimX, AimY on the plane.
	DistanceCm, AimX, AimY float64
	// Tilt, the direction of the tilt, and the turn around the axis, in degrees.
	TiltDeg, ToDeg, RollDeg float64
	// K1 and K2 are the lens's terms at the half diagonal; OffX and OffY move the axis from the photo's centre, px.
	K1, K2, OffX, OffY float64

	at         vec
	right, dwn vec
	ahead      vec
}

type vec struct{ x, y, z float64 }

func (a vec) dot(b vec) float64   { return a.x*b.x + a.y*b.y + a.z*b.z }
func (a vec) plus(b vec) vec      { return vec{a.x + b.x, a.y + b.y, a.z + b.z} }
func (a vec) times(f float64) vec { return vec{a.x * f, a.y * f, a.z * f} }
func (a vec) cross(b vec) vec     { return vec{a.y*b.z - a.z*b.y, a.z*b.x - a.x*b.z, a.x*b.y - a.y*b.x} }
func (a vec) unit() vec           { return a.times(1 / math.Sqrt(a.dot(a))) }
func rad(deg float64) float64     { return deg * math.Pi / 180 }
func (c *Camera) half() float64   { return math.Hypot(float64(c.WidthPx), float64(c.HeightPx)) / 2 }
func (c *Camera) centre() (x, y float64) {
	return float64(c.WidthPx)/2 + c.OffX, float64(c.HeightPx)/2 + c.OffY
}

// Set computes the camera's place from its numbers; call it after changing them.
func (c *Camera) Set() {
	t, d := rad(c.TiltDeg), rad(c.ToDeg)
	// From the aimed point back to the camera. z is toward the camera; x right, y down make z point into the
	// picture, so the frame is right-handed with ahead = −z when there is no tilt.
	back := vec{math.Sin(t) * math.Cos(d), math.Sin(t) * math.Sin(d), math.Cos(t)}
	c.at = vec{c.AimX, c.AimY, 0}.plus(back.times(c.DistanceCm))
	c.ahead = back.times(-1)
	x := vec{1, 0, 0}
	x = x.plus(c.ahead.times(-x.dot(c.ahead))).unit()
	y := c.ahead.cross(x).times(-1) // down in the picture: y of the plane, seen from above
	r := rad(c.RollDeg)
	c.right = x.times(math.Cos(r)).plus(y.times(math.Sin(r)))
	c.dwn = y.times(math.Cos(r)).plus(x.times(-math.Sin(r)))
}

// See is the pixel of a place.
func (c *Camera) See(x, y, z float64) outline.Point {
	p := vec{x, y, z}.plus(c.at.times(-1))
	w := p.dot(c.ahead)
	u, v := c.FocalPx*p.dot(c.right)/w/c.half(), c.FocalPx*p.dot(c.dwn)/w/c.half()
	q := u*u + v*v
	f := 1 + c.K1*q + c.K2*q*q
	cx, cy := c.centre()
	return outline.Point{X: cx + c.half()*u*f, Y: cy + c.half()*v*f}
}

// ray is the direction in which a pixel looks.
func (c *Camera) ray(px, py float64) vec {
	cx, cy := c.centre()
	u, v := (px-cx)/c.half(), (py-cy)/c.half()
	rd := math.Hypot(u, v)
	r := rd
	for range 4 { // Newton on r(1 + k₁r² + k₂r⁴) = rd
		q := r * r
		r -= (r*(1+c.K1*q+c.K2*q*q) - rd) / (1 + 3*c.K1*q + 5*c.K2*q*q)
	}
	f := c.half() / c.FocalPx
	if rd > 0 {
		f *= r / rd
	}
	return c.ahead.plus(c.right.times(u * f)).plus(c.dwn.times(v * f))
}
